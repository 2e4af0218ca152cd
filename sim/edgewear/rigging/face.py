"""How far out a person hangs at each depth: along a stepped face, plumb where it leaves air below.

The face is taken to be the taut string over the edges that stand out further than all above them,
as far out as a face between such edges can be. Along it the person's load has room to follow; plumb
below the last of them. Whoever hangs on a rope that slopes by phi from the plumb and sinks on a
way that recedes by tan(phi/2) gives it as much rope as they lose height: the rope bears their
weight, and no more. So the way recedes at least by that.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from math import atan2, pi, tan
from typing import NamedTuple

from edgewear.geometry.points import Point
from edgewear.rigging.model import Section

CLEAR_M = 0.02
"""A person passes an edge this far out from it [m]; assumed."""

PLUMB_BELOW_M = 1.5
"""Where somebody hangs further out than their stand-off, they get there this far below the last
edge [m]; assumed."""

MOST_POINTS = 40
"""A way has no more points; its pieces grow until that holds."""

_LEAST_M = 0.02


class FacePoint(NamedTuple):
    """A point of the way along a face."""

    depth_m: float
    out_m: float


def face(edges: Mapping[str, Point], plumb_m: float) -> tuple[FacePoint, ...]:
    """Return the way of a load along a stepped face, from the top down; empty for a plain one.

    Parameters: `edges`: middles of the edges that a person's lines may meet, by name; `plumb_m`:
    how far out they hang below all of them. Below the last point they hang there.
    """
    return _face(tuple(edges.items()), plumb_m)


@lru_cache(maxsize=64)
def _face(edges: tuple[tuple[str, Point], ...], plumb_m: float) -> tuple[FacePoint, ...]:
    """Lay the way once for a person's lines, which share it."""
    standing = _standing_out(dict(edges))
    if len(standing) < 2:
        return ()
    for longer in range(10):
        way = _way(standing, plumb_m, 0.3 * 2.0**longer)
        if len(way) <= MOST_POINTS:
            break
    return tuple(p._replace(out_m=min(p.out_m, plumb_m)) for p in way)


def _standing_out(edges: Mapping[str, Point]) -> list[tuple[str, float, float]]:
    """Return (name, out, depth) of the edges further out than all above them, from the top down."""
    found: list[tuple[str, float, float]] = []
    for name, point in sorted(edges.items(), key=lambda item: (-item[1][2], item[1][0])):
        if found and point[0] <= found[-1][1] + CLEAR_M:
            continue
        while found and -point[2] <= found[-1][2] + _LEAST_M:  # at one height the outer one counts
            found.pop()
        found.append((name, point[0], -point[2]))
    return found


def _way(standing: list[tuple[str, float, float]], plumb_m: float, grows: float) -> list[FacePoint]:
    """Go down from edge to edge, each piece at the slope that its upper end asks for."""
    way: list[FacePoint] = []
    out_m = standing[0][1] + CLEAR_M
    for k, (_, edge_out_m, edge_m) in enumerate(standing):
        last = k + 1 == len(standing)
        end_out_m, end_m = (
            (plumb_m, edge_m + PLUMB_BELOW_M)
            if last
            else (standing[k + 1][1] + CLEAR_M, standing[k + 1][2])
        )
        depth_m = edge_m
        out_m = max(out_m, edge_out_m + CLEAR_M)
        while depth_m < end_m - 1e-9 and not (last and out_m >= plumb_m):
            way.append(FacePoint(depth_m, out_m))
            straight = (end_out_m - out_m) / (end_m - depth_m)
            least = tan(0.5 * _slope(standing[: k + 1], out_m, depth_m))
            step_m = end_m - depth_m
            if least > straight:
                step_m = min(step_m, max(grows * (depth_m - edge_m), _LEAST_M))
                if last and out_m + least * step_m > plumb_m:
                    step_m = max((plumb_m - out_m) / least, 1e-6)
            out_m += max(least, straight) * step_m
            depth_m += step_m
        if last:
            way.append(FacePoint(depth_m, max(out_m, plumb_m)))
    return way


def _slope(passed: list[tuple[str, float, float]], out_m: float, depth_m: float) -> float:
    """Return how far the rope to a load slopes from the plumb below the edges passed [rad].

    Before it touches the next edge it comes straight over from the one before; over the first it
    may come level.
    """
    slopes = [
        atan2(out_m - edge_out_m, depth_m - edge_m)
        for _, edge_out_m, edge_m in passed
        if depth_m > edge_m
    ]
    return max(min(slopes, default=0.5 * pi), 0.0)


def plumb_from(section: Section, depth_m: float, along_m: float) -> Section:
    """Return a section with its load free to sink from a depth, plumb or along the face below.

    Parameters: `along_m`: where along the face it hangs then.
    """
    out_m = section.load_at(depth_m)[0]
    below = tuple((d, max(o, out_m), along_m) for d, o, _ in section.face_m if d > depth_m)
    if not below:
        return replace(section, load_m=(out_m, along_m), track_m=(), face_m=())
    way = ((depth_m, out_m, along_m), *below)
    return replace(section, load_m=(way[-1][1], along_m), track_m=way, face_m=way)
