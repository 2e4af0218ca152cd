"""Cycles at the edges: sawing amplitude, strokes that stuck, creep, sideways travel."""

from __future__ import annotations

import math
from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit
from edgewear.mechanics.step.regime import bend_at, lengths
from edgewear.mechanics.wear.field import deposit, touches
from edgewear.mechanics.wear.wear import exposure_rate, window_m

STUCK_M = 1e-6
"""A cycle whose sliding path stays below this stayed inside the stick band [m]."""


@njit
def spread(
    field: Floats, edge: Any, at: float, creep: float, window: float, amount: float, cells: Floats
) -> Any:
    """Deposit creep to and fro about the material at an edge."""
    from_cell = (at - 0.5 * creep - cells[1]) / cells[0]
    to_cell = (at + 0.5 * creep - cells[1]) / cells[0]
    low, high = deposit(field, from_cell, to_cell, window / cells[0], amount / cells[0])
    if high >= 0:
        touches(edge, low, high)


@njit
def open_cycle(state: Any, sums: Any, w: Floats) -> Any:
    """Begin counting a cycle at every edge touched."""
    for row in range(sums.shape[0]):
        edge = sums[row]
        edge.cycle_low_m = edge.travel_m
        edge.cycle_high_m = edge.travel_m
        edge.cycle_slip_m = 0.0
        edge.cycle_friction_n = 0.0
        edge.cycle_peak_n = 0.0
        edge.cycle_ticks = 0


@njit
def close_cycle(
    state: Any,
    sums: Any,
    wear: Any,
    w: Floats,
    travel: Floats,
    creeps: float,
    pending: Floats,
    line: Any,
    cells: Floats,
) -> Any:
    """End a cycle: sawing amplitude, strokes that stuck, creep inside the stick band.

    creeps: whether the load varied, so that a contact that did not slide still crept.
    The creep is booked as wear over one contact length, apart from slip and energy.
    """
    at = state.anchor_at_m
    for j in range(1, state.count + 1):
        at += w[r.SPAN + j - 1]
        edge = sums[int(w[r.ROW + j])]
        if edge.cycle_ticks == 0:
            continue
        edge.strokes += 1
        span_m = edge.cycle_high_m - edge.cycle_low_m
        edge.sawing_m = max(edge.sawing_m, span_m)
        if edge.cycle_slip_m < STUCK_M:
            edge.strokes_stuck += 1
        if creeps:
            creep = max(0.0, wear.presliding_m - edge.cycle_slip_m)
            if creep > 0.0:
                speed = creep / (edge.cycle_ticks * TICK_S)
                amount = exposure_rate(edge.cycle_friction_n, creep, edge.cycle_peak_n, speed, j, w)
                edge.presliding_m += creep
                edge.presliding_j += edge.cycle_friction_n * creep
                edge.presliding_exposure_j += amount
                bend = bend_at(j, state.count, w, state.depth_m)
                window = window_m(w[r.RADIUS + j], bend, w[r.REGIME_P + r.DIAMETER])
                spread(pending[int(w[r.ROW + j])], edge, at, creep, window, amount, cells)
                state.bound_j_m += amount / window
        if state.travels < travel.shape[1] and creeps:
            travel[int(w[r.ROW + j]), state.travels] = span_m
    if creeps:
        state.travels += 1


@njit
def book_sway(
    state: Any, movement: Any, sums: Any, w: Floats, pending: Floats, cells: Floats
) -> Any:
    """Path along each edge while swaying, and the wear of it, apart from slip and energy.

    A load a aside pulls the crossing along the edge with T*a/b, b the rope below it. Friction
    mu*N, N = 2*T*sin(theta/2), holds it up to there; beyond, the crossing follows by the share
    that the rope behind it has of the whole. Friction points against all sliding together: rope
    that slides toward its ends as well is held the less.
    """
    lengths(state.count, w, r.NO_PHASE, state.depth_m, 0.0, 0.0)
    total = 0.0
    for i in range(state.count + 1):
        total += w[r.KINK + i]
    ways = 4.0 * state.sways / state.bounces
    period_s = state.bounce_ticks * TICK_S
    behind = 0.0
    material = state.anchor_at_m
    for j in range(1, state.count + 1):
        behind += w[r.KINK + j - 1]
        material += w[r.SPAN + j - 1]
        row = int(w[r.ROW + j])
        edge = sums[row]
        bend = bend_at(j, state.count, w, state.depth_m)
        normal = 2.0 * math.sin(0.5 * bend)
        free = ways * movement.sway_m * behind / total
        aslant = free / math.hypot(free, edge.cycle_slip_m) if free > 0.0 else 0.0
        held_m = w[r.MU + j] * normal * (total - behind) * aslant
        path = ways * max(0.0, movement.sway_m - held_m) * behind / total
        if path <= 0.0:
            continue
        tension = max(w[r.T + j - 1], w[r.T + j])
        friction = w[r.MU + j] * normal * tension * path / math.hypot(path, edge.cycle_slip_m)
        amount = exposure_rate(friction, path, tension, path / period_s, j, w)
        edge.lateral_m += path
        edge.lateral_j += friction * path
        edge.lateral_exposure_j += amount
        window = window_m(w[r.RADIUS + j], bend, w[r.REGIME_P + r.DIAMETER])
        edge.lateral_j_m += amount / window
        spread(pending[row], edge, material, 0.0, window, amount, cells)
        state.bound_j_m += amount / window
