"""Contact sets of a line in space, as short affine pieces: the jitted twin of `twins.regimes`.

For lines that a plane across the face does not hold: led through deviations or pulleys, over
edges askew, or anchored far to one side. Deterministic: a table depends on its line alone.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from edgewear.layout import EDGE, LINE, MAX_EDGES
from edgewear.mechanics.arrays import REGIME, SPANS, Floats, Records
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.contacts.led_line import Ground, ground_of, lay
from edgewear.mechanics.jit import entry, njit

LENGTH_M = 1e-4
"""Largest error of a free length inside a piece [m]."""

BEND_RAD = 1e-3
"""Largest error of a bend inside a piece [rad]."""

ASIDE = 0.1
"""A line anchored less than this share of its length aside counts as lying in a plane."""

SKEW = 0.02
"""Edges that leave the direction along the face by less than this slope count as along it."""

BELOW_M = 3.0
"""A line's length is judged with the load this far below its last point [m]."""

FAR_M = 1e6
_BOUNDARY_M = 1e-6
_NODE = SPANS + MAX_EDGES + 1
_ROWS = 1500
_DEEP = 40
BEGIN, LAST, NEXT, BELOW, MIDDLE, SPARE, STACK = 0, 1, 2, 3, 4, 5, 6


@njit
def _node(g: Ground, depth: float, nodes: Floats, row: int, items: Any) -> Any:
    """Lay the line and note depth, free lengths and bends in a row; returns the count."""
    count = lay(g, depth)
    p = g.points
    nodes[row, 0] = depth
    for i in range(count + 1):
        x, y, z = p[i + 1, 0] - p[i, 0], p[i + 1, 1] - p[i, 1], p[i + 1, 2] - p[i, 2]
        nodes[row, 1 + i] = math.sqrt(x * x + y * y + z * z)
        if i > 0:
            ax, ay, az = p[i, 0] - p[i - 1, 0], p[i, 1] - p[i - 1, 1], p[i, 2] - p[i - 1, 2]
            u, v, w = ay * z - az * y, az * x - ax * z, ax * y - ay * x
            nodes[row, SPANS + i] = math.atan2(
                math.sqrt(u * u + v * v + w * w), ax * x + ay * y + az * z
            )
            items[row, i - 1] = g.item[i - 1]
    return count


@njit
def _same(items: Any, a: int, count_a: int, b: int, count_b: int) -> Any:
    same = count_a == count_b
    for j in range(min(count_a, count_b)):
        same = same and items[a, j] == items[b, j]
    return same


@njit
def _copy(nodes: Floats, items: Any, a: int, b: int) -> None:
    for c in range(nodes.shape[1]):
        nodes[b, c] = nodes[a, c]
    for c in range(items.shape[1]):
        items[b, c] = items[a, c]


@njit
def _fits(nodes: Floats, a: int, middle: int, b: int, count: int, allow: Floats) -> Any:
    """Whether the middle lies within the tolerances of the straight line between two rows."""
    for i in range(count + 1):
        if abs(0.5 * (nodes[a, 1 + i] + nodes[b, 1 + i]) - nodes[middle, 1 + i]) > allow[0]:
            return False
        at = SPANS + i
        if i > 0 and abs(0.5 * (nodes[a, at] + nodes[b, at]) - nodes[middle, at]) > allow[1]:
            return False
    return True


@njit
def _emit(nodes: Floats, items: Any, a: int, b: int, count: int, regime: Any) -> None:
    """Write the piece between two rows."""
    low, high = nodes[a, 0], nodes[b, 0]
    regime.low_m, regime.high_m = low, high
    regime.count = count
    regime.closed, regime.fixed_bend = 0, 0
    for i in range(count + 1):
        regime.free_m[i] = nodes[a, 1 + i]
        regime.free_slope[i] = (nodes[b, 1 + i] - nodes[a, 1 + i]) / (high - low)
        if i > 0:
            regime.edge[i - 1] = items[a, i - 1]
            regime.bend_rad[i - 1] = nodes[a, SPANS + i]
            at = SPANS + i
            regime.bend_slope[i - 1] = (nodes[b, at] - nodes[a, at]) / (high - low)


@njit
def _boundary(g: Ground, nodes: Floats, items: Any, held: int, other: int, count: int) -> Any:
    """Halve rows held .. other until the set changes within 1e-6 m; returns other's count."""
    spare = np.int64(SPARE)
    changed = -1
    while nodes[other, 0] - nodes[held, 0] > _BOUNDARY_M or changed < 0:
        middle = 0.5 * (nodes[held, 0] + nodes[other, 0])
        found = _node(g, middle, nodes, spare, items)
        if _same(items, spare, found, held, count):
            _copy(nodes, items, spare, held)
        else:
            _copy(nodes, items, spare, other)
            changed = found
    return changed


@entry(CACHE)
def _pieces(
    g: Ground, top: float, bottom: float, allow: Floats, nodes: Floats, items: Any, regimes: Records
) -> Any:
    """All pieces from top to bottom; returns how many, -1: more than there are rows.

    Rows of nodes: BEGIN of a piece, LAST of the same set, NEXT further down, BELOW a change,
    MIDDLE of a piece, SPARE; from STACK on the ends still to reach. As plain int64: numba
    compiles a function anew for every literal number.
    """
    begin, end, ahead = np.int64(BEGIN), np.int64(LAST), np.int64(NEXT)
    below, half, stack = np.int64(BELOW), np.int64(MIDDLE), np.int64(STACK)
    rows = 0
    count = _node(g, top, nodes, begin, items)
    while nodes[begin, 0] < bottom - _BOUNDARY_M:
        step = max((bottom - nodes[begin, 0]) / 64.0, _BOUNDARY_M)
        _copy(nodes, items, begin, end)
        after = -1
        while nodes[end, 0] < bottom:
            found = _node(g, min(nodes[end, 0] + step, bottom), nodes, ahead, items)
            if not _same(items, begin, count, ahead, found):
                after = _boundary(g, nodes, items, end, ahead, count)
                _copy(nodes, items, ahead, below)
                nodes[end, 0] = nodes[ahead, 0]
                break
            _copy(nodes, items, ahead, end)
        depth = stack
        _copy(nodes, items, end, depth)
        while depth >= stack:
            low, high = nodes[begin, 0], nodes[depth, 0]
            between = _node(g, 0.5 * (low + high), nodes, half, items)
            even = _same(items, begin, count, half, between) and depth < nodes.shape[0] - 1
            if (
                not even
                or high - low < 4.0 * _BOUNDARY_M
                or _fits(nodes, begin, half, depth, count, allow)
            ):
                if rows >= regimes.shape[0]:
                    return -1
                _emit(nodes, items, begin, depth, count, regimes[rows])
                rows += 1
                _copy(nodes, items, depth, begin)
                depth -= 1
            else:
                depth += 1
                _copy(nodes, items, half, depth)
        if after < 0:
            break
        _copy(nodes, items, below, begin)
        count = after
    return rows


def table(
    line: Records,
    edges: Records,
    top_m: float,
    bottom_m: float,
    length_m: float = LENGTH_M,
    bend_rad: float = BEND_RAD,
) -> Records:
    """Pieces that cover the depths top..bottom, REGIME (r,), the first and last without end.

    line: one LINE record; edges: EDGE (n,), in order from the fixed point, n <= 12.
    length_m, bend_rad: errors allowed inside a piece; widened where the table would not fit.
    """
    ground = ground_of(line, edges)
    nodes = np.zeros((STACK + _DEEP, _NODE))
    items = np.zeros((STACK + _DEEP, MAX_EDGES), np.int64)
    regimes = np.zeros(_ROWS, REGIME)
    allow = np.array([length_m, bend_rad])
    rows = _pieces(ground, float(top_m), float(bottom_m), allow, nodes, items, regimes)
    while rows < 0:
        allow *= 4.0
        rows = _pieces(ground, float(top_m), float(bottom_m), allow, nodes, items, regimes)
    found: Records = regimes[:rows].copy()
    return found


def in_space(line: Records, edges: Records) -> bool:
    """Whether a line must be laid in space: the rule of `twins.regimes.in_space`."""
    record = np.atleast_1d(np.asarray(line, LINE))[0]
    edges = np.asarray(edges, EDGE)
    if record["direct"]:
        return False
    if np.any(edges["led"] != 0) or record["track_count"] > 0:
        return True
    span = edges["end_m"] - edges["start_m"]
    if np.any(np.abs(span[:, 0]) + np.abs(span[:, 2]) > SKEW * np.abs(span[:, 1])):
        return True
    middle = 0.5 * (edges["start_m"] + edges["end_m"])
    points = np.vstack([record["anchor_m"][None], middle])
    load = [record["load_out_m"], record["load_along_m"], points[-1, 2] - BELOW_M]
    steps = np.diff(np.vstack([points, load])[:, [0, 2]], axis=0)
    flat_m = float(np.sqrt((steps * steps).sum(axis=1)).sum())
    return bool(abs(record["load_along_m"] - record["anchor_m"][1]) > ASIDE * flat_m)


def route_in_space(line: Records, edges: Records) -> Records:
    """Contact sets of a line in space, from above its points to the end of its rope."""
    record = np.atleast_1d(np.asarray(line, LINE))[0]
    depths = -np.concatenate(([record["anchor_m"][2]], np.asarray(edges, EDGE)["start_m"][:, 2]))
    rope_m = min(float(record["rope_m"]), 1e3)
    found = table(line, edges, float(depths.min()) - 2.0, float(depths.max()) + 1.1 * rope_m + 1.0)
    found[0]["low_m"], found[-1]["high_m"] = _widened(found)
    return found


def _widened(found: Records) -> tuple[float, float]:
    """Depths without end for the first and the last piece; the first keeps its line."""
    first = found[0]
    back_m = float(first["low_m"]) + FAR_M
    first["free_m"] -= back_m * first["free_slope"]
    first["bend_rad"] -= back_m * first["bend_slope"]
    return -FAR_M, FAR_M
