"""The taut string: how a line lies from a fixed point over straight edges to a load.

An edge is an oriented straight segment; the structure is on the right hand of a line that is
seen along it, so a line bends over an edge only one way and lifts off it otherwise. Radii are
small beside the free lengths and are left out of the lengths.

Awkward cases, defined here:

- A load above an edge has not passed it: the edge does not touch.
- An edge that lies exactly on the straight line between its neighbours has no bend: it does not
  touch (zero bend equals no edge).
- An anchor below an edge is no special case: the line rises to the edge and turns by more.
- Edges may lie closer together than the rope's contact with them; each keeps its own bend.
- A line pressed against the end of an edge is held there and marked: it would slide off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import atan2, dist, hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from edgewear.geometry.flat_string import Chain, flat_chain
from edgewear.geometry.points import Point

Array = NDArray[np.float64]
Segment = tuple[Point, Point]

BEND_FLOOR_RAD = 1e-9
"""A smaller bend counts as none."""

_SIDE_FLOOR_M = 1e-10
"""A line that passes this close inside an edge counts as touching it from outside."""

_SOFTENING_M = 1e-9
"""Keeps lengths differentiable where two edges cross; far below any survey's accuracy."""


@dataclass(frozen=True)
class Path:
    """A taut line: its points from the fixed point over the touched edges to the load."""

    points: tuple[Point, ...]  # fixed point, crossings, load [m]
    edges: tuple[int, ...]  # touched edges, by their place in the list given
    bends_rad: tuple[float, ...]  # at each touched edge
    along_m: tuple[float, ...]  # crossing, from the edge's start along it
    at_end: tuple[bool, ...]  # the crossing lies at an end of its edge

    @property
    def free_m(self) -> tuple[float, ...]:
        """Free lengths from the fixed point to the load, one more than edges touched [m]."""
        return tuple(dist(a, b) for a, b in pairwise(self.points))

    @property
    def length_m(self) -> float:
        """Length of the line from the fixed point to the load [m]."""
        return sum(self.free_m)

    @property
    def directions(self) -> tuple[Point, ...]:
        """Unit vectors of the free lengths, from the fixed point to the load."""
        return tuple(unit(_minus(after, before)) for before, after in pairwise(self.points))


def taut(anchor: Point, edges: Sequence[Segment], load: Point) -> Path:
    """Return the taut line from `anchor` over `edges` to `load`.

    Parameters: `anchor`, `load`: points [m]; `edges`: segments [m] in the order in which the
    line passes them.

    The shortest of all lines that pass outside every edge below which the load hangs: for a
    given set of touched edges the length is a convex function of the crossings; edges whose
    bend has the wrong sense are let go and edges that the line would cut through are taken up
    until neither is left.
    """
    flat = flat_chain(anchor, edges, load)
    if flat is not None:
        return _flat_path(anchor, edges, load, flat)
    return _taut_in_space(anchor, edges, load)


def _flat_path(anchor: Point, edges: Sequence[Segment], load: Point, chain: Chain) -> Path:
    touched, crossings, bends = chain
    return Path(
        points=(anchor, *crossings, load),
        edges=tuple(touched),
        bends_rad=tuple(bends),
        along_m=tuple(
            abs(at[1] - edges[j][0][1]) for at, j in zip(crossings, touched, strict=True)
        ),
        at_end=tuple(False for _ in touched),
    )


def _taut_in_space(anchor: Point, edges: Sequence[Segment], load: Point) -> Path:
    """Return the taut line, wherever its edges run."""
    way = _Way(anchor, edges, load)
    touched = _scan(way)
    seen = set()
    while touched not in seen:
        seen.add(touched)
        crossings = _shortest(way, touched)
        changed = _correct(way, touched, crossings)
        if changed == touched:
            return _path(way, touched, crossings)
        touched = changed
    return _by_trial(way)


class _Way:
    """A fixed point, oriented edges and a load as arrays, with the edges the load has passed."""

    def __init__(self, anchor: Point, edges: Sequence[Segment], load: Point) -> None:
        self.anchor = np.array(anchor, dtype=float)
        self.load = np.array(load, dtype=float)
        self.start = np.array([e[0] for e in edges], dtype=float).reshape(-1, 3)
        span = np.array([e[1] for e in edges], dtype=float).reshape(-1, 3) - self.start
        self.extent: Array = np.sqrt((span * span).sum(axis=1))
        self.along: Array = span / np.maximum(self.extent, 1e-300)[:, None]
        self.turn = np.array(
            [oriented(a, self.load - self.anchor) for a in self.along], dtype=float
        ).reshape(-1, 3)
        self.passed = tuple(j for j in range(len(edges)) if self._is_passed(j))

    def _is_passed(self, j: int) -> bool:
        """Tell whether the load hangs below edge `j`; always so for an upright edge."""
        turn = self.turn[j]
        outward = np.array([turn[1], -turn[0], 0.0])
        if float(np.linalg.norm(outward)) < 1e-6:
            return True
        below = _cross(turn, outward)
        return float((self.load - self.start[j]) @ below) > 0.0


def oriented(along: Array, travel: Array) -> Array:
    """Return an edge's unit direction, turned so that the structure is on the right hand.

    An edge along the face points to growing `y`. One that runs straight out or up is turned by
    the side from which the line comes (`travel`: from the fixed point to the load).
    """
    if abs(float(along[1])) > 1e-6:
        return along if along[1] > 0 else -along
    outward = np.array([1.0, 0.0, 1.0])
    outward = outward - (outward @ along) * along
    return along if float(travel @ _cross(along, outward)) >= 0 else -along


def unit(vector: Point) -> Point:
    """Return `vector` at length one; a vector without length stays as it is."""
    length = hypot(*vector)
    if length == 0.0:
        return vector
    return vector[0] / length, vector[1] / length, vector[2] / length


def _cross(a: Array, b: Array) -> Array:
    """Return the cross product; numpy's own costs ten times as much for one pair."""
    return np.array(
        [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
    )


def _minus(a: Point, b: Point) -> Point:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def _scan(way: _Way) -> tuple[int, ...]:
    """Guess the touched edges as a flat line's are found: keep a chain that turns one way.

    Each edge stands for the point of it that is nearest the straight line; exact in a plane.
    """
    nearest = {j: _nearest_to_straight(way, j) for j in way.passed}
    kept: list[int] = []
    for j in (*way.passed, -1):
        after = way.load if j < 0 else nearest[j]
        while kept:
            before = nearest[kept[-2]] if len(kept) > 1 else way.anchor
            here = nearest[kept[-1]]
            if _bend(here - before, after - here, way.turn[kept[-1]]) > BEND_FLOOR_RAD:
                break
            kept.pop()
        if j >= 0:
            kept.append(j)
    return tuple(kept)


def _nearest_to_straight(way: _Way, j: int) -> Array:
    """Return the point of edge `j` nearest the straight line from fixed point to load."""
    d = way.load - way.anchor
    d = d / max(float(np.linalg.norm(d)), 1e-300)
    gap = way.anchor - way.start[j]
    slope = float(way.along[j] @ d)
    flat = 1.0 - slope * slope
    place = float(gap @ way.along[j] - (gap @ d) * slope) / flat if flat > 1e-12 else 0.0
    point: Array = way.start[j] + min(max(place, 0.0), way.extent[j]) * way.along[j]
    return point


def _bend(before: Array, after: Array, turn: Array) -> float:
    """Return the angle by which a line turns about `turn` [rad]; negative: the other way."""
    axis = _cross(before, after)
    angle = atan2(sqrt(float(axis @ axis)), float(before @ after))
    return angle if float(axis @ turn) >= 0.0 else -angle


def _points(way: _Way, touched: tuple[int, ...], crossings: Array) -> Array:
    inner = way.start[list(touched)] + crossings[:, None] * way.along[list(touched)]
    points: Array = np.vstack([way.anchor, inner.reshape(-1, 3), way.load])
    return points


def _length(points: Array) -> float:
    steps = np.diff(points, axis=0)
    return float(np.sqrt((steps * steps).sum(axis=1) + _SOFTENING_M**2).sum())


def _shortest(way: _Way, touched: tuple[int, ...]) -> Array:
    """Return the crossings along the touched edges that make the line shortest [m].

    Newton steps on a convex function with bounds: coordinates held at a bound by the slope are
    left out of the step, and a step is halved until the line gets shorter.
    """
    rows = list(touched)
    upper: Array = way.extent[rows]
    if not rows:
        return upper
    middle = np.array([_nearest_to_straight(way, j) for j in rows])
    place: Array = ((middle - way.start[rows]) * way.along[rows]).sum(axis=1)
    length = _length(_points(way, touched, place))
    for _ in range(200):
        step, steepest = _newton(way, touched, place)
        if steepest < 1e-14:
            return place
        moved, shorter = _line_search(way, touched, place, step, length)
        gain, place, length = length - shorter, moved, shorter
        if gain <= 1e-9 * length:
            break
    return _polish(way, touched, place)


def _newton(way: _Way, touched: tuple[int, ...], place: Array) -> tuple[Array, float]:
    """Return the Newton step, and the steepest slope of those crossings that are free to move."""
    rows = list(touched)
    slope, curvature = _derivatives(_points(way, touched, place), way.along[rows])
    free = ~(((place <= 0.0) & (slope > 0.0)) | ((place >= way.extent[rows]) & (slope < 0.0)))
    step = np.zeros_like(place)
    if not free.any():
        return step, 0.0
    step[free] = _solve(curvature[np.ix_(free, free)], slope[free])
    return step, float(np.abs(slope[free]).max())


def _polish(way: _Way, touched: tuple[int, ...], place: Array) -> Array:
    """Take whole steps while the slope still falls: lengths no longer tell crossings apart."""
    step, steepest = _newton(way, touched, place)
    for _ in range(6):
        moved = np.clip(place + step, 0.0, way.extent[list(touched)])
        step, flatter = _newton(way, touched, moved)
        if flatter >= steepest:
            break
        place, steepest = moved, flatter
    return place


def _solve(curvature: Array, slope: Array) -> Array:
    """Return the Newton step; a hair on the diagonal keeps a rope along its edge solvable."""
    scale = 1e-13 * max(float(np.trace(curvature)), 1e-300)
    step = np.linalg.solve(curvature + scale * np.eye(len(slope)), -slope)
    return np.asarray(step, dtype=np.float64)


def _line_search(
    way: _Way, touched: tuple[int, ...], place: Array, step: Array, length: float
) -> tuple[Array, float]:
    """Return the furthest halving of `step` that does not lengthen the line, and its length."""
    share = 1.0
    while share > 1e-9:
        moved = np.clip(place + share * step, 0.0, way.extent[list(touched)])
        shorter = _length(_points(way, touched, moved))
        if shorter <= length:
            return moved, shorter
        share *= 0.5
    return place, length


def _derivatives(points: Array, along: Array) -> tuple[Array, Array]:
    """Return slope and curvature of the length in the crossings."""
    steps = np.diff(points, axis=0)
    lengths = np.sqrt((steps * steps).sum(axis=1) + _SOFTENING_M**2)
    units = steps / lengths[:, None]
    before, after = (along * units[:-1]).sum(axis=1), (along * units[1:]).sum(axis=1)
    curvature = np.diag((1 - before**2) / lengths[:-1] + (1 - after**2) / lengths[1:])
    for j in range(len(along) - 1):
        mixed = -(along[j] @ along[j + 1] - after[j] * before[j + 1]) / lengths[j + 1]
        curvature[j, j + 1] = curvature[j + 1, j] = mixed
    return before - after, curvature


def _correct(way: _Way, touched: tuple[int, ...], crossings: Array) -> tuple[int, ...]:
    """Let go the edge bent most the wrong way, else take up the edge cut through deepest."""
    points = _points(way, touched, crossings)
    bends = [
        _bend(points[k + 1] - points[k], points[k + 2] - points[k + 1], way.turn[j])
        for k, j in enumerate(touched)
    ]
    if bends and min(bends) <= BEND_FLOOR_RAD:
        worst = touched[bends.index(min(bends))]
        return tuple(j for j in touched if j != worst)
    inside = {j: _depth_inside(way, touched, points, j) for j in way.passed if j not in touched}
    if inside and max(inside.values()) > _SIDE_FLOOR_M:
        deepest = max(inside, key=lambda j: inside[j])
        return tuple(sorted((*touched, deepest)))
    return touched


def _depth_inside(way: _Way, touched: tuple[int, ...], points: Array, j: int) -> float:
    """Return how deep the line cuts into the structure at edge `j` [m]; negative: clear of it."""
    piece = sum(1 for k in touched if k < j)
    here, there = points[piece], points[piece + 1]
    out = _cross(there - here, way.turn[j])
    size = float(np.linalg.norm(out))
    if size < 1e-12:
        return -np.inf
    trial = np.array([here, _between(way, here, there, j), there])
    if _bend(trial[1] - here, there - trial[1], way.turn[j]) <= BEND_FLOOR_RAD:
        return -np.inf
    return float((way.start[j] - here) @ out) / size


def _between(way: _Way, here: Array, there: Array, j: int) -> Array:
    """Return the point of edge `j` over which the line from `here` to `there` is shortest.

    Seen along the edge both ends are turned into one plane; the straight line there crosses.
    """
    a, b = here - way.start[j], there - way.start[j]
    along = way.along[j]
    at_a, at_b = float(a @ along), float(b @ along)
    off_a = float(np.linalg.norm(a - at_a * along))
    off_b = float(np.linalg.norm(b - at_b * along))
    share = off_a / (off_a + off_b) if off_a + off_b > 0 else 0.5
    place = min(max(at_a + share * (at_b - at_a), 0.0), float(way.extent[j]))
    point: Array = way.start[j] + place * along
    return point


def _path(way: _Way, touched: tuple[int, ...], crossings: Array) -> Path:
    points = _points(way, touched, crossings)
    bends = [
        _bend(points[k + 1] - points[k], points[k + 2] - points[k + 1], way.turn[j])
        for k, j in enumerate(touched)
    ]
    ends = [
        bool(min(c, way.extent[j] - c) <= 1e-9) for c, j in zip(crossings, touched, strict=True)
    ]
    return Path(
        points=tuple((float(x), float(y), float(z)) for x, y, z in points),
        edges=touched,
        bends_rad=tuple(bends),
        along_m=tuple(float(c) for c in crossings),
        at_end=tuple(ends),
    )


def _by_trial(way: _Way) -> Path:
    """Try every set of edges and return the shortest line that bends right and cuts nothing.

    The fall-back where letting go and taking up ran in a circle; if rounding leaves no set
    without fault, the line over all edges that bend the right way.
    """
    best: tuple[float, tuple[int, ...], Array] | None = None
    for count in range(len(way.passed) + 1):
        for touched in combinations(way.passed, count):
            crossings = _shortest(way, touched)
            length = _length(_points(way, touched, crossings))
            fits = _correct(way, touched, crossings) == touched
            if fits and (best is None or length < best[0]):
                best = (length, touched, crossings)
    if best is None:
        touched = _scan(way)
        return _path(way, touched, _shortest(way, touched))
    return _path(way, best[1], best[2])
