"""Getting somebody who hangs to a place where they can stand: who, how, with what, by when."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from edgewear import spelt
from edgewear.findings.plain import APART, plain

STAGES = ("noticed", "called", "reach", "release", "ground")
"""What a rescue comes to one after the other; every time counts from the fault."""

SUSPENSION = "suspension"
"""Beside the stages: hanging still, which has a limit of its own."""

ANY = "any"
"""Stands for every way where nobody notices that one is needed."""


@dataclass(frozen=True)
class Reached:
    """When a stage is reached, from the fault [s]."""

    middle_s: float
    p95_s: float  # 19 of 20 such rescues are quicker
    p95_low_s: float  # the 19-of-20 value lies between these ends with 95 % confidence
    p95_high_s: float
    limit_s: float | None = None

    @property
    def keeps(self) -> bool | None:
        """Whether 19 of 20 keep to the limit; None: there is none."""
        return None if self.limit_s is None else self.p95_s <= self.limit_s

    def later(self, by_s: float) -> Reached:
        """The same reached so much later, with the same limit."""
        times_s = (self.middle_s, self.p95_s, self.p95_low_s, self.p95_high_s)
        middle, p95, low, high = (time_s + by_s for time_s in times_s)
        return Reached(middle, p95, low, high, self.limit_s)

    def as_json(self) -> dict[str, Any]:
        """The stage as documents have it, with whether it keeps to its limit."""
        return {**vars(self), "keeps": self.keeps}


def hangs_too_long(still: Reached | None) -> str:
    """Say that somebody hangs still for longer than they may; nothing where they do not."""
    if still is None or still.keeps is not False:
        return ""
    return f"hangs still longer than the suspension limit of {spelt.duration(still.limit_s)}"


@dataclass(frozen=True)
class WornAt:
    """What a rescue does to one line at one edge."""

    line: str
    edge: str
    demand: float
    peak_n: float


@dataclass(frozen=True)
class OnTheWay:
    """An edge that the rescue loads, and what lies on it."""

    edge: str
    cover: str | None


@dataclass(frozen=True)
class Rescue:
    """One way of getting one person from where they hang; without times it is not shown."""

    person: str
    method: str  # pick-off, haul, lower, as planned, or `ANY`
    depth_m: float
    rescuer: str | None = None
    rescuer_at: str = ""  # on top, or at which depth
    hands: tuple[str, ...] = ()  # who pulls, at a haul
    missing: tuple[str, ...] = ()  # what it lacks; empty: it is shown
    load_kg: float | None = None
    pull_n: float | None = None  # of each at a haul
    pull_limit_n: float | None = None
    advantage: float | None = None
    rope_needed_m: float | None = None
    rope_has_m: float | None = None
    sideways_m: float | None = None
    edges: tuple[OnTheWay, ...] = ()
    kit: str = ""  # the piece that it needs, and where that comes from
    ends_at: str = ""
    noticed_by: str = ""
    noticed_how: str = ""
    instead_of: str = ""  # the way under way that a later fault ended; this one begins with it
    times: dict[str, Reached] = field(default_factory=dict)  # by stage, and hanging still
    wear: tuple[WornAt, ...] = ()
    worked_at: str = field(default="", metadata=APART)

    @property
    def shown(self) -> bool:
        """Whether it could be done by somebody there."""
        return not self.missing and "ground" in self.times

    @property
    def named(self) -> str:
        """The way by its name, with who would come where several might."""
        return f"{self.method}{f' by {self.rescuer}' * (self.method == 'pick-off')}"

    @property
    def lacking(self) -> str:
        """What is missing, after the way's name; where nobody notices, no way is named."""
        return self.why if self.method == ANY else f"no {self.named}: {self.why}"

    @property
    def why(self) -> str:
        """What is missing, in words; nothing where it is shown."""
        return "; ".join(self.missing)

    def keeps(self, stage: str) -> bool | None:
        """Whether a stage keeps to its limit; None: no limit, or no time."""
        return self.times[stage].keeps if stage in self.times else None

    @property
    def late(self) -> tuple[str, ...]:
        """The stages that do not keep to their limit, and hanging still if that does not."""
        return tuple(stage for stage, one in self.times.items() if one.keeps is False)

    @property
    def hangs_too_long(self) -> str:
        """That the casualty hangs still for too long until they are down, in words."""
        return hangs_too_long(self.times.get(SUSPENSION))

    def careful_s(self, stage: str) -> float | None:
        """The time until a stage that 19 of 20 keep to, from the fault [s]."""
        return self.times[stage].p95_s if stage in self.times else None

    def as_json(self) -> dict[str, Any]:
        """The rescue as documents have it, with what follows from its parts."""
        found = {name: plain(value) for name, value in vars(self).items() if name != "worked_at"}
        return {**found, "possible": self.shown, "why": self.why}


@dataclass(frozen=True)
class PlaceRescue:
    """Somebody who cannot help themself any more at the end of one of their steps."""

    person: str
    step: int
    step_words: str
    ways: tuple[Rescue, ...]  # the quickest that is shown first
