"""The taut string over edges that run along the face: plain and quick.

What `path` finds in space, found here by one walk along the edges that keeps a chain which turns
one way only, seen along the face. Rolled out into a plane the line is straight: its crossings
move along the face evenly with the length. Most sites are of this kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import asin, atan2, cos, dist, sin

from edgewear.geometry.points import Point

Segment = tuple[Point, Point]

Chain = tuple[list[int], list[Point], list[float]]
"""Touched edges, their crossings [m], their bends [rad]."""

_FLOOR_RAD = 1e-9


def flat_chain(anchor: Point, edges: Sequence[Segment], load: Point) -> Chain | None:
    """Return the touched edges, crossings and bends; None where an edge runs otherwise.

    Parameters: as for `path.taut`.
    """
    found = _chain(anchor, edges, load)
    if found is None:
        return None
    chain, points, crossings = found
    tilt = atan2(load[1] - anchor[1], sum(dist(a, b) for a, b in pairwise(points)))
    bends = []
    for k in range(len(chain)):
        flat = _turn(points[k], points[k + 1], points[k + 2])
        bends.append(2.0 * asin(min(cos(tilt) * sin(0.5 * flat), 1.0)))
    return chain, crossings, bends


def flat_length_m(anchor: Point, edges: Sequence[Segment], load: Point) -> float | None:
    """Return the length of the same line alone; None where an edge runs otherwise.

    To the last bit the length of the line through the crossings of `flat_chain`.
    """
    found = _chain(anchor, edges, load)
    if found is None:
        return None
    return sum(dist(a, b) for a, b in pairwise((anchor, *found[2], load)))


def _chain(
    anchor: Point, edges: Sequence[Segment], load: Point
) -> tuple[list[int], list[tuple[float, float]], list[Point]] | None:
    """Return the touched edges, the line seen along the face, and the crossings."""
    if any(start[0] != end[0] or start[2] != end[2] for start, end in edges):
        return None
    corners = [(start[0], start[2]) for start, _ in edges]
    passed = [j for j, (_, up) in enumerate(corners) if load[2] < up]
    first, last = (anchor[0], anchor[2]), (load[0], load[2])
    chain: list[int] = []
    for j in (*passed, -1):
        after = last if j < 0 else corners[j]
        while chain:
            before = corners[chain[-2]] if len(chain) > 1 else first
            if _turn(before, corners[chain[-1]], after) > _FLOOR_RAD:
                break
            chain.pop()
        if j >= 0:
            chain.append(j)
    points = [first, *(corners[j] for j in chain), last]
    if _cuts(chain, passed, corners, points):
        return None
    crossings = _rolled_out(chain, edges, points, anchor[1], load[1])
    return None if crossings is None else (chain, points, crossings)


def _rolled_out(
    chain: list[int],
    edges: Sequence[Segment],
    points: list[tuple[float, float]],
    begin: float,
    end: float,
) -> list[Point] | None:
    """Place the crossings along the face; None where one lies past the end of its edge."""
    steps = [dist(a, b) for a, b in pairwise(points)]
    whole = sum(steps)
    crossings, gone = [], 0.0
    for k, j in enumerate(chain):
        gone += steps[k]
        along = begin + (end - begin) * gone / whole
        low, high = sorted((edges[j][0][1], edges[j][1][1]))
        if not low < along < high:
            return None
        crossings.append((points[k + 1][0], along, points[k + 1][1]))
    return crossings


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    """Return the angle by which a line a-b-c turns downwards on its way out [rad]."""
    dx, dz, ex, ez = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
    return atan2(dz * ex - dx * ez, dx * ex + dz * ez)


def _cuts(
    chain: list[int],
    passed: list[int],
    corners: list[tuple[float, float]],
    points: list[tuple[float, float]],
) -> bool:
    """Tell whether the chain cuts through an edge that was let go."""
    for j in passed:
        if j not in chain:
            at = sum(1 for k in chain if k < j)
            if _turn(points[at], corners[j], points[at + 1]) > _FLOOR_RAD:
                return True
    return False
