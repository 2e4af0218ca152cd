"""What a search for a limit finds: places judged, ranges that meet the target, and their ends."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from edgewear import terms
from edgewear.cautions import all_for

SCHEMA = "edgewear.how-far/1"


@dataclass(frozen=True)
class Place:
    """An option judged with one value of the input."""

    value: float  # SI
    left: float | None  # sheath left at the careful end [1]; None: no number is given
    low: float | None  # interval of `left` from finite trials, 90 % [1]
    high: float | None
    meets: bool  # the judge of a comparison says that the target is met
    status: tuple[str, ...] = ()
    refused: str = ""  # why it cannot be rigged or computed
    trials: int = 0
    melts: tuple[str, ...] = ()  # edges where most trials melt the sheath: it is not in `left`

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {**vars(self), "status": list(self.status), "melts": list(self.melts)}


@dataclass(frozen=True)
class End:
    """Where a range that meets the target ends: between two places judged."""

    inside: float  # the last value found to meet it, SI
    outside: float | None  # the next one found not to; None: nothing was tried beyond
    cautious: float | None  # where even the low end of the trials' interval meets it; None: nowhere
    hopeful: float | None  # further outside: up to where its high end still does; None: everywhere

    @property
    def open(self) -> bool:
        """Whether the range goes on to the end of what was tried."""
        return self.outside is None

    def as_json(self) -> dict[str, float | None]:
        """All of it as a JSON object."""
        return dict(vars(self))


@dataclass(frozen=True)
class Stretch:
    """A range of values that all meet the target, as far as was tried."""

    least: End
    most: End

    def as_json(self) -> dict[str, Any]:
        """Both ends as a JSON object."""
        return {"least": self.least.as_json(), "most": self.most.as_json()}


@dataclass(frozen=True)
class Given:
    """A value of a second input, under which a limit was looked for."""

    address: str
    value: float  # SI
    dimension: str  # of the quantity; "" a count

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return dict(vars(self))


@dataclass(frozen=True)
class Limit:
    """How far one input of one option may go."""

    option: str
    address: str
    unit: str  # of the values, SI
    dimension: str  # of the quantity; "" a count
    present: float | None  # what the scenario says
    tried: tuple[float, float]
    stretches: tuple[Stretch, ...]
    places: tuple[Place, ...] = field(repr=False)
    closest: Place | None  # where nothing meets the target: what comes closest
    given: Given | None = None

    @property
    def meets_now(self) -> bool | None:
        """Whether the present value lies in a range that meets the target; None: none is typed."""
        if self.present is None:
            return None
        return any(s.least.inside <= self.present <= s.most.inside for s in self.stretches)

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object; values in SI."""
        return {
            "option": self.option,
            "address": self.address,
            "unit": self.unit,
            "given": None if self.given is None else self.given.as_json(),
            "present": self.present,
            "meets_now": self.meets_now,
            "tried": list(self.tried),
            "stretches": [one.as_json() for one in self.stretches],
            "closest": None if self.closest is None else self.closest.as_json(),
            "places": [one.as_json() for one in self.places],
        }


@dataclass(frozen=True)
class HowFar:
    """All limits asked for, in the order of the options and of what was typed."""

    title: str
    target: float
    replicates: int
    seed: int
    limits: tuple[Limit, ...]
    changes: tuple[str, ...] = ()  # what was set beside the file, as typed

    @property
    def cautions(self) -> tuple[str, ...]:
        """What must stand beside the figures."""
        statuses = {s for one in self.limits for place in one.places for s in place.status}
        return all_for(statuses - {terms.MISSES, terms.LINE_LOST})

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object; values in SI."""
        return {
            "schema": SCHEMA,
            "title": self.title,
            "target": self.target,
            "replicates": self.replicates,
            "seed": self.seed,
            "changes": list(self.changes),
            "limits": [one.as_json() for one in self.limits],
            "cautions": list(self.cautions),
        }
