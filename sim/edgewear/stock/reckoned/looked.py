"""Which looks count after something happened: later ones, and where it happened."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from edgewear.stock.entries import Entry
from edgewear.stock.past_wear import CELL_M


class Span(NamedTuple):
    """A stretch of a rope, from end A [m]."""

    from_m: float
    to_m: float


class Happened(NamedTuple):
    """Something that asks for a look: when, where, and what it is called."""

    on: str  # ISO
    entry: int
    where: Span
    what: str


def span_of(entry: Entry, length_m: float) -> Span:
    """Give the stretch that an entry is about; the whole length where it names none.

    Parameters:
        entry: of any kind.
        length_m: of the rope.
    """
    low, high = entry.body.get("from_m", 0.0), entry.body.get("to_m", length_m)
    return Span(float(low), min(float(high), length_m))


def covered(wanted: Span, seen: Iterable[Span]) -> bool:
    """Tell whether stretches together reach from one end of another to its other end.

    A gap of one cell, the finest place that a record knows, is none.
    """
    reached: float | None = None
    for one in sorted(seen):
        if one.to_m < wanted.from_m - CELL_M:
            continue
        if one.from_m > (wanted.from_m if reached is None else reached) + CELL_M:
            break
        reached = one.to_m if reached is None else max(reached, one.to_m)
    return reached is not None and reached >= wanted.to_m - CELL_M


def unanswered(looks: Sequence[Entry], to: Happened, on: str, length_m: float) -> str:
    """Say why looks do not answer something that happened; empty: they do.

    Those of the same day count where they were entered after it.

    Parameters:
        looks: in any order.
        to: what happened.
        on: the day up to which looks count, ISO.
        length_m: of the rope.
    """
    if to.on > on:
        return f"a decision of {on} lies before {to.what}"
    later = [one for one in looks if (one.on, one.number) >= (to.on, to.entry)]
    counted = [span_of(one, length_m) for one in later if one.on <= on]
    if covered(to.where, counted):
        return ""
    if counted:
        return (
            f"it was looked at since {to.what} {in_words(counted)} alone, where "
            f"{in_words([to.where], length_m)} is due: enter a look there"
        )
    return _too_soon_or_late([one.on for one in looks], to, on)


def _too_soon_or_late(days: Sequence[str], to: Happened, on: str) -> str:
    """Say that all looks lie before what happened, or after the day that counts."""
    late = [day for day in days if day > on]
    if late:
        return f"it was looked at on {min(late)}, which is after a decision of {on}"
    if days:
        entered = ", entered" if max(days) == to.on else ","
        return (
            f"nobody has looked at it since: looked at on {max(days)}{entered} before {to.what}: "
            "enter a later look"
        )
    return "nobody has looked at it since; enter an inspection first"


def in_words(spans: Iterable[Span], length_m: float | None = None) -> str:
    """Give stretches as people read them.

    Parameters:
        spans: of one rope.
        length_m: of the rope; where it is given, all of it is called so.
    """
    told = []
    for one in sorted(set(spans)):
        whole = length_m is not None and covered(Span(0.0, length_m), [one])
        told.append("the whole length" if whole else f"from {one.from_m:g} m to {one.to_m:g} m")
    return " and ".join(told)


def whole_days(looks: Iterable[Entry], length_m: float) -> Iterator[str]:
    """Give each day on which the whole length was looked at, in one look or in several.

    Parameters:
        looks: in any order.
        length_m: of the rope.
    """
    by_day: dict[str, list[Span]] = {}
    for one in looks:
        by_day.setdefault(one.on, []).append(span_of(one, length_m))
    whole = Span(0.0, length_m)
    yield from (day for day, spans in by_day.items() if covered(whole, spans))
