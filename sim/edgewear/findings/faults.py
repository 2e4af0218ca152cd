"""What faults do to a procedure: alone, in pairs, at every step, with the rates given."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Spread:
    """Percentiles over the trials."""

    p5: float
    p50: float
    p95: float


@dataclass(frozen=True)
class Soonest:
    """A time at its careful end; None: never, or none of the trials tells."""

    p5: float | None


@dataclass(frozen=True)
class Baseline:
    """The procedure with nothing wrong."""

    margin: Spread | None
    p_core_visible: float | None
    trials: int


@dataclass(frozen=True)
class FaultRow:
    """What one fault, or a pair, comes to over the trials in which it came about."""

    names: tuple[str, ...]
    trials: int
    failed: int  # trials that could not be computed
    did_not_come: int
    margin_lost: float | None
    margin: Spread | None
    p_core_visible: float | None
    p_parted: float | None
    p_nothing_holds: float | None
    p_left_hanging: float | None  # somebody, before anybody comes
    fault_to_core_visible_s: Soonest
    seen_by: str | None  # who sees most often first what has happened, from the first fault on
    seen_share: float | None  # of the trials in which anybody does
    seen_after_share: float | None  # of those in which anybody does once the last has happened
    time_to_act_s: Soonest
    worst_place: str | None


@dataclass(frozen=True)
class _At:
    """Where in the procedure a fault comes."""

    fault: str
    person: str
    step: int
    words: str  # of the step


@dataclass(frozen=True)
class StepRow(FaultRow, _At):
    """A fault at one step of the procedure."""


@dataclass(frozen=True)
class Rated:
    """A fault that a rate was given for."""

    p: float  # that it happens in the job
    source: str | None


@dataclass(frozen=True)
class Rate:
    """How likely the rated faults make an outcome in one job."""

    what: str
    through: dict[str, Rated]  # by the fault's name
    p: float
    low: float
    high: float
    confidence: float
    trials: int
