"""The taut string over the edges, as a table of contact sets by depth of the load.

The load's track is vertical. In the plane of the survey (x out, z up; depth = -z) the rope runs
from the fixed point over edges in list order; it touches an edge that is higher than the load
and at which it turns downwards on its way out. So the contact set is the upper hull.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from edgewear.layout import EDGE, LINE, MAX_EDGES
from edgewear.mechanics.arrays import REGIME, Floats, Records
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.contacts.contacts_in_space import in_space, route_in_space
from edgewear.mechanics.jit import entry, njit

FAR_M = 1e6
"""Depth that stands for the end of the last regime [m]."""


@njit
def _contacts(
    out: Floats, down: Floats, count: int, load_out: float, depth: float, found: Any
) -> Any:
    """Edges touched with the load at `depth`: numbers into found, returns how many.

    out, down: coordinates of the fixed point (0) and the edges (1 .. count) [m].
    """
    touched = 0
    for point in range(1, count + 2):
        if point <= count:
            if down[point] >= depth:
                continue
            x, z = out[point], down[point]
        else:
            x, z = load_out, depth
        while touched > 0:
            top = found[touched - 1]
            before = found[touched - 2] if touched > 1 else 0
            turn = (out[top] - out[before]) * (z - down[top]) - (down[top] - down[before]) * (
                x - out[top]
            )
            if turn > 1e-12:  # turns downwards: the edge bends the rope
                break
            touched -= 1
        if point <= count:
            found[touched] = point
            touched += 1
    return touched


@njit
def _breaks(out: Floats, down: Floats, count: int, load_out: float, depths: Floats) -> Any:
    """Depths at which the contact set can change, sorted; returns how many."""
    total = 0
    for j in range(count + 1):
        if j > 0:
            depths[total] = down[j]
            total += 1
        for i in range(j):
            if out[j] != out[i]:
                depths[total] = down[j] + (down[j] - down[i]) * (load_out - out[j]) / (
                    out[j] - out[i]
                )
                total += 1
    for k in range(1, total):  # by insertion: there are at most ninety
        value = depths[k]
        before = k - 1
        while before >= 0 and depths[before] > value:
            depths[before + 1] = depths[before]
            before -= 1
        depths[before + 1] = value
    return total


@njit
def _fill(regime: Any, out: Floats, down: Floats, found: Any, touched: int, load_out: float) -> Any:
    """Write one contact set: free lengths, bends and the closed form of the last span."""
    before = 0
    in_out = 0.0
    in_down = 1.0
    for j in range(touched):
        point = found[j]
        step_out = out[point] - out[before]
        step_down = down[point] - down[before]
        length = math.hypot(step_out, step_down)
        if j > 0:
            across = in_out * step_down - in_down * step_out
            regime.bend_rad[j - 1] = math.atan2(
                abs(across), in_out * step_out + in_down * step_down
            )
        in_out = step_out / length
        in_down = step_down / length
        regime.free_m[j] = length
        regime.edge[j] = point - 1
        before = point
    regime.count = touched
    regime.closed = 1
    regime.fixed_bend = 0
    regime.out_m = load_out - out[before]
    regime.point_depth_m = down[before]
    regime.incoming_out = in_out
    regime.incoming_down = in_down


@entry(CACHE)
def _table(out: Floats, down: Floats, count: int, load_out: float, regimes: Any) -> Any:
    """All contact sets from the top down; returns how many."""
    depths = np.empty((count + 1) * (count + 2) // 2 + count + 1)
    found = np.empty(count + 1, np.int64)
    last = np.empty(count + 1, np.int64)
    total = _breaks(out, down, count, load_out, depths)
    rows = 0
    last_touched = -1
    low = -FAR_M
    for k in range(total + 1):
        high = depths[k] if k < total else FAR_M
        if high - low < 1e-9:
            continue
        touched = _contacts(out, down, count, load_out, 0.5 * (low + high), found)
        same = touched == last_touched
        for j in range(touched):
            same = same and found[j] == last[j]
        if not same:
            if rows > 0:
                regimes[rows - 1].high_m = low
            regimes[rows].low_m = low
            _fill(regimes[rows], out, down, found, touched, load_out)
            rows += 1
            last_touched = touched
            last[:touched] = found[:touched]
        regimes[rows - 1].high_m = high
        low = high
    return rows


def _given(line: Records, edges: Records) -> Records:
    """The one regime of a line whose bends and free lengths are given; depth is the last span."""
    regime = np.zeros(1, REGIME)
    count = len(edges)
    regime["low_m"] = -FAR_M
    regime["high_m"] = FAR_M
    regime["count"] = count
    regime["edge"][0, :count] = np.arange(count)
    regime["free_m"][0, :count] = edges["after_m"]
    regime["bend_rad"][0, :count] = edges["bend_rad"]
    regime["closed"] = 1
    regime["fixed_bend"] = 1
    regime["incoming_down"] = 1.0
    return regime


def route(line: Records, edges: Records) -> Records:
    """Contact sets of a line by depth of the load, REGIME (r,).

    line: one LINE record; edges: EDGE (n,), in order from the fixed point, n <= 12.
    With coordinates the points are the middles of the edges, in the plane of out and up; a line
    that this plane does not hold is laid in space, by short affine pieces.
    Raises ValueError for more edges than a line can have.
    """
    record = np.atleast_1d(np.asarray(line, LINE))[0]
    edges = np.asarray(edges, EDGE)
    count = len(edges)
    if count > MAX_EDGES:
        raise ValueError(f"{count} edges on one line, at most {MAX_EDGES} are allowed")
    if record["direct"]:
        return _given(line, edges)
    if in_space(line, edges):
        return route_in_space(line, edges)
    middle = 0.5 * (edges["start_m"] + edges["end_m"])
    out = np.concatenate(([record["anchor_m"][0]], middle[:, 0]))
    down = -np.concatenate(([record["anchor_m"][2]], middle[:, 2]))
    regimes = np.zeros((count + 1) * (count + 4), REGIME)
    rows = _table(out, down, count, float(record["load_out_m"]), regimes)
    return regimes[:rows].copy()
