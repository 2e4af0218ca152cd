"""What a programme of tests taught of the wear law, and whether anybody may use it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from enum import Enum
from typing import Any

from edgewear.spelt import counted

SCHEMA = "edgewear.learned/1"


def tests_and_ropes(tests: int, ropes: int) -> str:
    """Count tests, and their ropes where some test had several."""
    told = counted(tests, "test")
    return told if ropes == tests else f"{told} of {counted(ropes, 'rope')}"


class Standing(Enum):
    """What can be said of what was learned."""

    LEARNED = "learned"
    UNDETERMINED = "not determined"
    CONTRADICTED = "tests contradict"
    UNSETTLED = "not settled"
    PROVISIONAL = "provisional"


@dataclass(frozen=True)
class Interval:
    """A median with its central 90 %; of a sample, each end outward by its error."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Number:
    """A number that was asked for."""

    address: str
    unit: str
    distribution: str
    before: Interval
    after: Interval
    left: float
    """Spread after the tests over the spread before, on the scale of the belief [1]."""
    agreement: float
    """Potential scale reduction of the populations [1]; 1: they agree."""
    ends_error: float
    """Error of the worse end over the width of the interval [1], 9 in 10 sure to be no larger."""
    determined: bool


@dataclass(frozen=True)
class Tested:
    """One outcome of a test beside what all tests together predict for it."""

    test: str
    line: int
    word: str
    early: float
    """Predicted chance of an outcome as early or small as the one seen [1]."""
    late: float
    """Predicted chance of one as late or large [1]."""
    agrees: bool


@dataclass(frozen=True)
class HeldOut:
    """A law scored by tests that it was not given."""

    law: str
    tests: int
    ropes: int
    """Tested in them."""
    log_score: float
    """Log probability of what they came to, given the others; larger is better."""
    error: float
    """Of it, one standard deviation, between populations."""


@dataclass(frozen=True)
class Learned:
    """The posterior of a programme in numbers."""

    title: str
    file: str
    sha256: str
    tests: int
    ropes: int
    """Tested in them; more than one in a test with samples."""
    law: str
    model: int
    particles: int
    """Of each pass."""
    passes: int
    """Samples drawn apart from each other, whose particles are taken together."""
    seed: int
    powers: int
    effective: float
    """Least number of effective particles on the way."""
    distinct: float
    """Share of particles that differ from each other at the end [1]."""
    numbers: tuple[Number, ...]
    correlation: dict[str, dict[str, float]]
    tested: tuple[Tested, ...]
    standing: Standing
    rivals: tuple[HeldOut, ...] = ()

    @property
    def learned_from(self) -> str:
        """What was counted: tests, and their ropes where some test had several."""
        return tests_and_ropes(self.tests, self.ropes)

    @property
    def pedigree(self) -> str:
        """Where the numbers of the library come from."""
        how = "provisional" if self.standing is Standing.PROVISIONAL else "calibrated"
        return f"{how}: {self.learned_from}, {self.file}, sha256 {self.sha256[:12]}"

    @property
    def usable(self) -> bool:
        """Whether a library was written."""
        return self.standing in (Standing.LEARNED, Standing.PROVISIONAL)

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        document = asdict(self) | {"standing": self.standing.value, "pedigree": self.pedigree}
        return {"schema": SCHEMA, **document}
