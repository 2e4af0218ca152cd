"""The course of one run for a picture."""

from __future__ import annotations

from dataclasses import dataclass


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
    """The largest sheath demand of a line over time."""

    line: str
    time_s: tuple[float, ...]
    demand: tuple[float, ...]


@dataclass(frozen=True)
class Timeline:
    """One run over time."""

    title: str
    people: tuple[Course, ...] = ()
    marks: tuple[Mark, ...] = ()
    demand: tuple[Demand, ...] = ()
