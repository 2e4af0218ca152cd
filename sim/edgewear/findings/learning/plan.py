"""Which tests to make next, and what would be known after each."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from edgewear.cautions import CAUTIONS
from edgewear.findings.plain import plain

SCHEMA = "edgewear.next-tests/1"


@dataclass(frozen=True)
class NextTest:
    """One test of a plan."""

    name: str
    cost: float
    alone: float  # share of what can be known that this test alone tells [1]
    factor: float  # the wanted number is known to within so many times, 90 %, after it
    factor_low: float  # central 90 % over what may come out
    factor_high: float
    told: float  # share of what can be known that the plan up to here tells [1]
    worlds: float  # worlds that count then, on average


@dataclass(frozen=True)
class NextTests:
    """A ranked plan."""

    wanted: str
    factor: float  # now, 90 %
    floor: float  # what no test of these takes away: this rope, the law's discrepancy
    tests: tuple[NextTest, ...]  # in the order to make them
    others: tuple[NextTest, ...]  # not in the plan; what each would tell alone
    worlds: int
    seed: int

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {"schema": SCHEMA, **plain(asdict(self)), "cautions": list(CAUTIONS)}
