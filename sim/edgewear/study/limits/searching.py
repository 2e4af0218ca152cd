"""Find every range of one input that meets a target, from as few judged places as will do.

A grid of places first, then places where the course between them may yet cross the target (the
vertex of a parabola through three neighbours), then each crossing closed in by secants and halves.
Nothing assumes that more of the input is worse.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from edgewear.findings.inquiries.how_far import End, Place, Stretch

GRID = 13
"""Places judged at first, both ends among them."""

ROUNDS = 3
"""How often the neighbours of a turning point are looked at more closely."""

EVEN = tuple(index / (GRID - 1) for index in range(GRID))

NEAR = 0.25
"""A turning point may cross the target if the parabola comes so near, in shares of its swing."""

CLOSE = 1.0 / 200.0
"""A crossing is closed in until two places lie within this share of what was tried."""

ROUGHLY = 1.0 / 20.0
"""The ends of the trials' interval are closed in to this share of what was tried."""

Judge = Callable[[Sequence[float]], Sequence[Place]]
"""Judges values (SI), in any order."""


class Axis:
    """The input's range on a scale on which its steps are even: by ratio where no sign changes."""

    def __init__(self, low: float, high: float, whole: bool = False) -> None:
        """Take the ends [SI]; `whole`: only whole numbers."""
        self.low, self.high, self.whole = low, high, whole
        self.by_ratio = (
            low * high > 0.0
            and not whole
            and max(abs(low), abs(high)) > 3.0 * min(abs(low), abs(high))
        )

    def values(self, shares: Sequence[float]) -> list[float]:
        """Give the values at shares of the range, from 0 to 1, each once, ascending."""
        found = [self.value(share) for share in shares]
        return sorted(set(found))

    def value(self, share: float) -> float:
        """Give the value at a share of the range."""
        if share <= 0.0 or share >= 1.0:
            return self.low if share <= 0.0 else self.high
        if self.by_ratio:
            value = self.low * (self.high / self.low) ** share
        else:
            value = self.low + share * (self.high - self.low)
        return float(round(value)) if self.whole else value

    def share(self, value: float) -> float:
        """Give the share of the range at a value."""
        if self.by_ratio:
            return float(np.log(value / self.low) / np.log(self.high / self.low))
        return (value - self.low) / (self.high - self.low)

    def apart(self, one: float, other: float) -> bool:
        """Whether two values are too far apart to count as one place."""
        if self.whole:
            return abs(other - one) > 1.0
        return abs(self.share(other) - self.share(one)) > CLOSE


def search(judge: Judge, axis: Axis, target: float) -> tuple[list[Place], tuple[Stretch, ...]]:
    """Judge places of an axis until every crossing found is closed in.

    Parameters:
        judge: gives places for values.
        axis: the range.
        target: sheath left that is asked for [1].

    Returns:
        All places in order of value, and the ranges that meet the target.
    """
    first = _counted(judge, axis) if axis.whole else judge(axis.values(EVEN))
    places = {place.value: place for place in first}

    def more(values: Sequence[float]) -> bool:
        new = [value for value in dict.fromkeys(values) if value not in places]
        places.update((place.value, place) for place in (judge(new) if new else ()))
        return bool(new)

    for _ in range(ROUNDS):
        if not more(_turns(_ordered(places), axis, target)):
            break
    while more(_between(_ordered(places), axis, target)):
        pass
    while more(_bounds(_ordered(places), axis, target)):
        pass
    ordered = _ordered(places)
    return ordered, stretches(ordered, target)


def _counted(judge: Judge, axis: Axis) -> list[Place]:
    """Double a count until two in a row miss the target: each costs as much as all before it."""
    places: list[Place] = []
    value = axis.low
    while value < axis.high and not (len(places) > 1 and not any(p.meets for p in places[-2:])):
        places += judge([value])
        value = min(2.0 * value, axis.high)
    return places if places and not places[-1].meets else [*places, *judge([axis.high])]


def stretches(places: Sequence[Place], target: float) -> tuple[Stretch, ...]:
    """Gather neighbours that meet the target into ranges.

    Parameters:
        places: in order of value.
        target: sheath left that is asked for [1].
    """
    found, start = [], None
    for index, place in enumerate(places):
        if place.meets and start is None:
            start = index
        if start is not None and (not place.meets or index == len(places) - 1):
            last = index if place.meets else index - 1
            found.append(Stretch(_end(places, start, -1, target), _end(places, last, 1, target)))
            start = None
    return tuple(found)


def _ordered(places: dict[float, Place]) -> list[Place]:
    return [places[value] for value in sorted(places)]


def _turns(places: Sequence[Place], axis: Axis, target: float) -> list[float]:
    """Where the course turns between three places on one side of the target, and may cross it."""
    wanted = []
    for before, here, after in zip(places, places[1:], places[2:], strict=False):
        if before.meets == here.meets == after.meets:
            at = _vertex(before, here, after, axis, target)
            wanted += [] if at is None else [at]
    return wanted


def _vertex(before: Place, here: Place, after: Place, axis: Axis, target: float) -> float | None:
    """Value at which a parabola through three places turns toward the target and comes near it."""
    if before.left is None or here.left is None or after.left is None:
        return None
    y = np.array([before.left, here.left, after.left]) - target
    if np.ptp(y) == 0.0:
        return None
    toward = 1.0 if here.meets else -1.0
    if toward * y[1] > toward * y[0] or toward * y[1] > toward * y[2]:
        return None  # no turning point toward the target here
    x = np.array([axis.share(place.value) for place in (before, here, after)])
    a, b, c = np.polyfit(x, y, 2)
    at = -b / (2.0 * a) if a != 0.0 else x[1]
    at = float(np.clip(at, 0.5 * (x[0] + x[1]), 0.5 * (x[1] + x[2])))
    if toward * float(np.polyval((a, b, c), at)) > NEAR * float(np.ptp(y)):
        return None
    value = axis.value(at)
    near = min((abs(axis.share(value) - one), one) for one in x)[0]
    return value if near > CLOSE else axis.value(0.5 * (x[1] + (x[0] if at < x[1] else x[2])))


def _between(places: Sequence[Place], axis: Axis, target: float) -> list[float]:
    """One more value inside each pair of neighbours that the target lies between."""
    wanted = []
    for one, other in pairwise(places):
        if one.meets != other.meets and axis.apart(one.value, other.value):
            wanted.append(_inside(one, other, axis, target))
    return wanted


def _bounds(places: Sequence[Place], axis: Axis, target: float) -> list[float]:
    """One more value inside each wide pair between which a bound of the interval crosses."""
    wanted = []
    for one, other in pairwise(places):
        wide = axis.share(other.value) - axis.share(one.value) > ROUGHLY
        if wide and axis.apart(one.value, other.value) and _bound_between(one, other, target):
            middle = axis.value(0.5 * (axis.share(one.value) + axis.share(other.value)))
            wanted += [] if middle in (one.value, other.value) else [middle]
    return wanted


def _bound_between(one: Place, other: Place, target: float) -> bool:
    """Whether the low or the high end of the trials' interval crosses the target."""
    pairs = (one.low, other.low), (one.high, other.high)
    return any(a is not None and b is not None and (a < target) != (b < target) for a, b in pairs)


def _inside(one: Place, other: Place, axis: Axis, target: float) -> float:
    """The secant's value, kept off the ends so that the pair at least shrinks by a tenth."""
    low, high = axis.share(one.value), axis.share(other.value)
    share = 0.5
    if one.left is not None and other.left is not None and one.left != other.left:
        share = (one.left - target) / (one.left - other.left)
    share = low + min(max(share, 0.1), 0.9) * (high - low)
    value = axis.value(share)
    if value in (one.value, other.value):  # whole numbers: the one in the middle
        value = axis.value(0.5 * (low + high))
    return value


def _end(places: Sequence[Place], at: int, way: int, target: float) -> End:
    """Describe where a range ends; `way`: -1 its least end, 1 its most."""
    beyond = at + way
    outside = places[beyond].value if 0 <= beyond < len(places) else None
    return End(
        inside=places[at].value,
        outside=outside,
        cautious=_cautious(places, at, way, target),
        hopeful=_hopeful(places, at, way, target) if outside is not None else None,
    )


def _cautious(places: Sequence[Place], at: int, way: int, target: float) -> float | None:
    """Go inward until the low end of the trials' interval meets the target too."""
    while 0 <= at < len(places) and places[at].meets:
        here = places[at]
        if here.low is not None and here.low >= target:
            return _crossing(places, at, at + way, "low", target, here.value)
        at -= way
    return None


def _hopeful(places: Sequence[Place], at: int, way: int, target: float) -> float | None:
    """Go outward until even the high end of the trials' interval misses the target."""
    at += way
    while 0 <= at < len(places):
        here = places[at]
        if here.high is None or here.high < target:
            return _crossing(places, at - way, at, "high", target, here.value)
        at += way
    return None


def _crossing(
    places: Sequence[Place], inner: int, outer: int, which: str, target: float, otherwise: float
) -> float:
    """Where a bound of the interval crosses the target between two places."""
    if not (0 <= inner < len(places) and 0 <= outer < len(places)):
        return otherwise
    one, other = places[inner], places[outer]
    y0, y1 = getattr(one, which), getattr(other, which)
    if y0 is None or y1 is None or y0 == y1 or not y1 < target <= y0:
        return otherwise
    return float(one.value + (y0 - target) / (y0 - y1) * (other.value - one.value))
