"""What has come about on a line: levels of wear, strength, samples of the timeline."""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit
from edgewear.mechanics.wear.exposure_bound import forget_slides
from edgewear.mechanics.wear.wear import strength_n
from edgewear.mechanics.wear.worst_place import scan, scan_on

DONE, UNTIL, CORE, PARTED, SLACK, WATCH, FULL, DRAWS, FAILED = (1 << bit for bit in range(9))

READY = 1 << 9
"""The next step is one that can be taken beside those of other runs; never leaves the kernels."""

THIRDS = 3
"""Sheath worn is marked at a third, at two thirds and whole: the moments to look at the rope."""


@njit
def next_mark(state: Any, sums: Any, wear: Any) -> Any:
    """Bound of the largest exposure at which some edge may have come to its next mark [J/m].

    No edge's own worst place grows by more than the bound of the whole line does.
    """
    nearest = math.inf
    for row in range(sums.shape[0]):
        for k in range(THIRDS):
            if sums[row].worn_tick[k] < 0:
                left = wear.sheath_j_m * (k + 1) / THIRDS - sums[row].largest_j_m
                nearest = min(nearest, left)
    for k in range(THIRDS - 1):
        if state.worn_tick[k] < 0:
            nearest = min(nearest, wear.sheath_j_m * (k + 1) / THIRDS - state.largest_j_m)
    return state.largest_j_m + nearest


@njit
def mark_worn(state: Any, sums: Any, wear: Any, w: Floats) -> Any:
    """Write down when an edge alone, and all together, have worn each third of the sheath.

    After a scan. The last third of all together is the core that shows, which `look` tells.
    """
    several = sums.shape[0] > 1  # one is all together
    for row in range(sums.shape[0]):
        sums[row].largest_j_m = w[r.SCAN_MOST + row] if several else state.largest_j_m
    for k in range(THIRDS):
        level = wear.sheath_j_m * (k + 1) / THIRDS
        if k < THIRDS - 1 and state.worn_tick[k] < 0 and state.largest_j_m >= level:
            state.worn_tick[k] = state.tick
            state.worn_ascended_m[k] = ascended(state)
        for row in range(sums.shape[0]):
            if sums[row].worn_tick[k] < 0 and sums[row].largest_j_m >= level:
                sums[row].worn_tick[k] = state.tick
                sums[row].worn_ascended_m[k] = ascended(state)


@njit
def set_levels(state: Any, sums: Any, wear: Any, armed: int, watch: float) -> Any:
    """Exposure up to which nothing can happen, and the tension the rope surely holds there.

    Looking costs as much as many steps, so the level is as far off as the strength it leaves is
    twice the largest tension so far; a larger tension than `holds_n` makes a look of its own.
    """
    largest = state.largest_j_m
    level = next_mark(state, sums, wear)
    if armed & WATCH and largest < watch * wear.sheath_j_m:
        level = min(level, watch * wear.sheath_j_m)
    if largest < wear.sheath_j_m:
        level = min(level, wear.sheath_j_m)
    ahead = 0.25 * wear.sheath_j_m
    for _ in range(12):
        twice = largest + 2.0 * ahead
        if largest + ahead >= level or strength_n(twice, wear) <= 2.0 * state.peak_n:
            break
        ahead *= 2.0
    level = min(level, largest + ahead)
    state.rescan_j_m = level
    state.holds_n = strength_n(level, wear)


@njit
def ascended(state: Any) -> Any:
    """Rope climbed so far, the stroke under way by its progress."""
    if state.phase == r.RISE and state.rise_s > 0.0:
        return state.ascended_m + state.net_m * min(1.0, state.part_s / state.rise_s)
    if state.phase == r.DROP or state.phase == r.PAUSE or state.phase == r.WAIT:
        return state.ascended_m + state.net_m
    return state.ascended_m


@njit
def look(
    state: Any,
    pending: Floats,
    exposure: Floats,
    sums: Any,
    wear: Any,
    w: Floats,
    armed: int,
    watch: float,
    tension_n: float,
) -> Any:
    """Scan for the worst place and tell what has come about; returns status bits that stand."""
    largest = scan_on(pending, exposure, sums, 1.0 + state.skipped, w)
    state.largest_j_m = largest
    state.bound_j_m = largest
    forget_slides(sums)
    state.residual_n = strength_n(largest, wear)
    bits = 0
    if largest >= wear.sheath_j_m:
        bits |= CORE
        if state.core_tick < 0:
            state.core_tick = state.tick
            state.core_ascended_m = ascended(state)
    if largest >= watch * wear.sheath_j_m:
        bits |= WATCH
    if tension_n > state.residual_n:
        bits |= PARTED
        if state.parted_tick < 0:
            state.parted_tick = state.tick
            state.parted_ascended_m = ascended(state)
    mark_worn(state, sums, wear, w)
    set_levels(state, sums, wear, armed, watch)
    return bits


@njit
def sample(
    state: Any,
    trace: Any,
    trace_ticks: int,
    pending: Floats,
    exposure: Floats,
    sums: Any,
    wear: Any,
    w: Floats,
) -> Any:
    """Write a sample of the timeline."""
    if state.samples >= trace.shape[0]:
        return
    row = trace[state.samples]
    row.tick = state.tick
    row.depth_m = state.depth_m
    row.tension_n = w[r.T + state.count] if state.loaded != 0 else 0.0
    row.anchor_n = w[r.T + 0] if state.loaded != 0 else 0.0
    slip = 0.0
    for edge in range(sums.shape[0]):
        slip += sums[edge].slip_m
    row.slip_m = slip
    largest, _ = scan(pending, exposure, sums, 1.0 + state.skipped, w)
    row.demand = largest / wear.sheath_j_m
    state.samples += 1
    state.next_sample = state.tick + trace_ticks
