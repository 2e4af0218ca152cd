"""Forecasts beside what came out, one by one and together."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from edgewear.cautions import CAUTIONS
from edgewear.findings.plain import plain

SCHEMA = "edgewear.forecast-scores/1"


@dataclass(frozen=True)
class Scored:
    """One forecast beside what came out of its test; figures in SI."""

    name: str
    looked_for: str
    dimension: str
    frozen: str  # the day
    on: str  # the day of the test
    blind: bool  # frozen no later than the day of the test
    p5: float  # infinite: not before the job ends
    p50: float
    p95: float
    low: float  # what was seen
    high: float
    place: tuple[float, float]  # where in the forecast that lies, from share to share
    inside: float  # how much of it lies in the central 90 % [1]
    log_score: float  # [nat]
    crps: float
    interval_score: float
    seal: str
    test: int = 1  # which test of the folder it is of, from 1


@dataclass(frozen=True)
class Part:
    """A share of forecasts or a factor, with its 90 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Discrepancy:
    """What the blind forecasts say the discrepancy of the law is."""

    count: int  # tests
    forecasts: int  # of them; several figures of one test weigh as one
    bias: Part
    spread: Part
    factor: Part
    now: Part
    verdict: str
    entry: str  # as a line of a library


@dataclass(frozen=True)
class Scores:
    """Every forecast of a folder."""

    folder: str
    scored: tuple[Scored, ...]
    waiting: tuple[str, ...]  # forecasts whose tests were not entered
    refused: tuple[tuple[str, str], ...]  # file, why it is not counted
    coverage: Part | None  # share of what came out inside the central 90 %
    mean_log_score: float | None
    reliability: tuple[tuple[float, Part], ...]  # level, share of outcomes at or below it
    discrepancy: Discrepancy | None  # none: no blind forecast of wear was scored

    @property
    def tests(self) -> int:
        """How many tests were scored, however many figures of each."""
        return len({one.test for one in self.scored})

    @property
    def blind_tests(self) -> int:
        """How many of them have a blind forecast."""
        return len({one.test for one in self.scored if one.blind})

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        counted = {"tests": self.tests, "blind_tests": self.blind_tests}
        found: dict[str, Any] = plain({**asdict(self), **counted, "cautions": CAUTIONS})
        found["reliability"] = [
            {"level": level, **part} for level, part in found.pop("reliability")
        ]
        found["refused"] = [{"file": file, "reason": why} for file, why in found["refused"]]
        return {"schema": SCHEMA, **found}
