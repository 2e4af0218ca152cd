"""The taut string where everything lies in one plane across the face: plain and quick.

What `path` finds in space, found here by one walk along the edges that keeps a chain which turns
one way only. Most sites are of this kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2

from edgewear.rigging.model import Point

Segment = tuple[Point, Point]

_FLOOR_RAD = 1e-9


def flat_chain(
    anchor: Point, edges: Sequence[Segment], load: Point
) -> tuple[list[int], list[float]] | None:
    """Return the touched edges and their bends [rad]; None where a plane does not hold the line.

    Parameters: as for `path.taut`. A plane holds a line whose ends lie equally far along the face
    and whose edges run along the face past it.
    """
    if anchor[1] != load[1] or not all(_passes(edge, anchor[1]) for edge in edges):
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
    return _checked(chain, passed, corners, first, last)


def _passes(edge: Segment, along: float) -> bool:
    """Tell whether an edge runs exactly along the face, past a place along it."""
    (x, y, z), (u, v, w) = edge
    return x == u and z == w and min(y, v) < along < max(y, v)


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    """Return the angle by which a line a-b-c turns downwards on its way out [rad]."""
    dx, dz, ex, ez = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
    return atan2(dz * ex - dx * ez, dx * ex + dz * ez)


def _checked(
    chain: list[int],
    passed: list[int],
    corners: list[tuple[float, float]],
    first: tuple[float, float],
    last: tuple[float, float],
) -> tuple[list[int], list[float]] | None:
    """Return the chain with its bends, unless it cuts through an edge that was let go."""
    points = [first, *(corners[j] for j in chain), last]
    for j in passed:
        if j not in chain:
            at = sum(1 for k in chain if k < j)
            if _turn(points[at], corners[j], points[at + 1]) > _FLOOR_RAD:
                return None
    bends = [_turn(points[k], points[k + 1], points[k + 2]) for k in range(len(chain))]
    return chain, bends
