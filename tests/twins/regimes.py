"""Contact sets of a section in space, as a table of affine pieces over the depth of its load.

For lines that do not lie in one plane across the face: led aside by a deviation or frame, over
edges that do not run along the face, or anchored far to one side. Within a piece the contact
set stays and free lengths and bends are affine in the depth; the pieces join without a step.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import hypot

import numpy as np

from edgewear.rigging.laying import Laid, lay
from edgewear.rigging.model import Section

LENGTH_M = 1e-4
"""Largest error of a free length inside a piece [m], far below any survey's accuracy."""

BEND_RAD = 1e-3
"""Largest error of a bend inside a piece [rad]."""

ASIDE = 0.1
"""A line anchored less than this share of its length aside counts as lying in a plane.

Its lengths are then longer than in the plane by at most a factor sqrt(1 + 0.1^2), 0.5 %.
"""

BELOW_M = 3.0
"""A line's length is judged with the load this far below its last point [m]."""

_SKEW = 0.02
"""Edges that leave the direction along the face by less than this slope count as along it."""

_BOUNDARY_M = 1e-6


@dataclass(frozen=True)
class Piece:
    """One contact set over a range of depths."""

    low_m: float
    high_m: float
    edges: tuple[int, ...]  # rows of the section's edges, from the fixed point on
    free_m: tuple[float, ...]  # at depth low, one more than edges
    free_slope: tuple[float, ...]  # per metre of depth
    bend_rad: tuple[float, ...]
    bend_slope: tuple[float, ...]


def in_space(section: Section) -> bool:
    """Tell whether a section must be laid in space rather than in a plane across the face.

    So are lines led through deviations or frames, lines whose load follows a stepped face, lines
    over edges askew, and lines anchored more than a tenth of their length aside; the length is
    taken in the plane, over the middles of all edges to 3 m below the last one.
    """
    if section.direct:
        return False
    if section.track_m or any(item.kind != "edge" for item in section.edges):
        return True
    points = [section.anchor_m]
    for item in section.edges:
        along = np.subtract(item.end_m, item.start_m)
        if abs(along[0]) + abs(along[2]) > _SKEW * abs(along[1]):
            return True
        a, b = item.start_m, item.end_m
        points.append((0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]), 0.5 * (a[2] + b[2])))
    points.append((section.load_m[0], section.load_m[1], points[-1][2] - BELOW_M))
    flat_m = sum(hypot(b[0] - a[0], b[2] - a[2]) for a, b in pairwise(points))
    return abs(section.load_m[1] - section.anchor_m[1]) > ASIDE * flat_m


def pieces(
    section: Section,
    top_m: float,
    bottom_m: float,
    length_m: float = LENGTH_M,
    bend_rad: float = BEND_RAD,
) -> list[Piece]:
    """Return the pieces that cover the depths top..bottom, from the top down.

    Parameters: `length_m`, `bend_rad`: errors allowed inside a piece.

    Raises: ValueError where the range is empty.
    """
    if not bottom_m > top_m:
        raise ValueError(f"no depths between {top_m} m and {bottom_m} m")
    found: list[Piece] = []
    low, at_low = top_m, lay(section, top_m)
    while low < bottom_m - _BOUNDARY_M:
        high, at_high, after = _same_set(section, low, at_low, bottom_m)
        found += _refined(section, (low, at_low), (high, at_high), (length_m, bend_rad))
        low, at_low = (high, after) if after is not None else (bottom_m, at_high)
    return found


def _same_set(
    section: Section, low: float, at_low: Laid, bottom: float
) -> tuple[float, Laid, Laid | None]:
    """Return how far down a contact set holds, how the line lies there and just below.

    Looks ahead in steps, then halves the step in which the set changes.
    """
    step = max((bottom - low) / 64.0, _BOUNDARY_M)
    depth, here = low, at_low
    while depth < bottom:
        further = min(depth + step, bottom)
        there = lay(section, further)
        if there.edges != at_low.edges:
            depth, here, below = _boundary(section, (depth, here), (further, there))
            return depth, here, below
        depth, here = further, there
    return bottom, here, None


def _boundary(
    section: Section, above: tuple[float, Laid], below: tuple[float, Laid]
) -> tuple[float, Laid, Laid]:
    """Halve a range of depths until the change of the contact set lies within 1e-6 m."""
    (high, held), (low, changed) = above, below
    while low - high > _BOUNDARY_M:
        middle = 0.5 * (low + high)
        laid = lay(section, middle)
        if laid.edges == held.edges:
            high, held = middle, laid
        else:
            low, changed = middle, laid
    return low, held, changed


def _refined(
    section: Section,
    upper: tuple[float, Laid],
    lower: tuple[float, Laid],
    allowed: tuple[float, float],
) -> list[Piece]:
    """Cut a range of one contact set in halves until straight lines describe each."""
    (low, at_low), (high, at_high) = upper, lower
    middle = 0.5 * (low + high)
    between = lay(section, middle)
    even = between.edges == at_low.edges == at_high.edges
    if not even or high - low < 4 * _BOUNDARY_M or _fits(at_low, between, at_high, allowed):
        return [_piece(low, at_low, high, at_high)]
    here = (middle, between)
    return _refined(section, upper, here, allowed) + _refined(section, here, lower, allowed)


def _fits(a: Laid, middle: Laid, b: Laid, allowed: tuple[float, float]) -> bool:
    def worst(x: tuple[float, ...], y: tuple[float, ...], z: tuple[float, ...]) -> float:
        mean = 0.5 * (np.array(x) + np.array(z))
        return float(np.abs(mean - np.array(y)).max(initial=0.0))

    return (
        worst(a.free_m, middle.free_m, b.free_m) <= allowed[0]
        and worst(a.bends_rad, middle.bends_rad, b.bends_rad) <= allowed[1]
    )


def _piece(low: float, at_low: Laid, high: float, at_high: Laid) -> Piece:
    def slopes(x: tuple[float, ...], y: tuple[float, ...]) -> tuple[float, ...]:
        return tuple((b - a) / (high - low) for a, b in zip(x, y, strict=True))

    return Piece(
        low_m=low,
        high_m=high,
        edges=at_low.edges,
        free_m=at_low.free_m,
        free_slope=slopes(at_low.free_m, at_high.free_m),
        bend_rad=at_low.bends_rad,
        bend_slope=slopes(at_low.bends_rad, at_high.bends_rad),
    )
