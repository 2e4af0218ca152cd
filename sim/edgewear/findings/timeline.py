"""The course of one run: for a picture, and who does not come to the end of their plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from edgewear.terms import STOPS, WAITS_IN_VAIN


@dataclass(frozen=True)
class Span:
    """A stretch of somebody's time."""

    from_s: float
    to_s: float
    what: str
    kind: str  # activity, waiting or rest


@dataclass(frozen=True)
class Course:
    """What somebody does, one stretch after the other."""

    name: str
    spans: tuple[Span, ...]


@dataclass(frozen=True)
class Mark:
    """Something that happened."""

    time_s: float
    who: str
    what: str


@dataclass(frozen=True)
class Demand:
    """The largest sheath demand of a rope over time."""

    line: str  # with which of its ropes, where it had several
    time_s: tuple[float, ...]
    demand: tuple[float, ...]


@dataclass(frozen=True)
class Timeline:
    """One run over time."""

    title: str
    people: tuple[Course, ...] = ()
    marks: tuple[Mark, ...] = ()
    demand: tuple[Demand, ...] = ()


@dataclass(frozen=True)
class EndedEarly:
    """Somebody whose plan ended before its last step."""

    who: str
    step: int  # of their plan, from 1
    why: str
    waits: bool = False  # for what somebody else would have done

    @property
    def words(self) -> str:
        """The finding in words."""
        why = f"waits in vain for {self.why}" if self.waits else self.why
        return (
            f"with middle values {self.who} does not finish the plan: at step {self.step}, {why}; "
            "wear is told up to there"
        )

    def as_json(self) -> dict[str, Any]:
        """The finding as documents have it."""
        return {**vars(self), "words": self.words}


def ended_early(events: Iterable[Any]) -> tuple[EndedEarly, ...]:
    """Find them in what happened, each once.

    Parameters:
        events: rows of `records.EVENT`, in the order they happened.
    """
    found: dict[str, EndedEarly] = {}
    for one in events:
        if one["what"] in (STOPS, WAITS_IN_VAIN):
            who, waits = str(one["who"]), one["what"] == WAITS_IN_VAIN
            early = EndedEarly(who, int(one["step"]), str(one["detail"]), waits)
            found.setdefault(who, early)
    return tuple(found.values())


def with_ended_early(rigged: Mapping[str, Any], found: Iterable[EndedEarly]) -> dict[str, Any]:
    """Put who ends early into what rigging says of an option, before all else."""
    early = list(found)
    mind = [*(one.words for one in early), *rigged.get("mind", ())]
    return {**rigged, "ended_early": [one.as_json() for one in early], "mind": mind}
