"""Booking an accepted step: sums of each edge, deposition, energy."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.step.regime import bend_at
from edgewear.mechanics.wear.exposure_bound import grows
from edgewear.mechanics.wear.wear import deposit, window_m
from edgewear.terms import LOADED_BEND_RAD, LOADED_N

CARRIES_N = 1.0
"""Tension above which a rope carries load, for the wrap and the strokes of an edge [N]."""


@inlined
def book(
    n: int,
    w: Floats,
    state: Any,
    sums: Any,
    pending: Floats,
    line: Any,
    y: float,
    ticks: int,
    cells: Floats,
) -> Any:
    """Book an accepted step: sums of each edge, deposition, energy. False: rope is used up."""
    inside = True
    at = state.anchor_at_m
    growth = 0.0
    per_cell = w[r.REGIME_P + r.PER_CELL]
    for j in range(1, n + 1):
        at += w[r.SPAN + j - 1]
        edge = sums[int(w[r.ROW + j])]
        before = w[r.T_START + j - 1]
        after = w[r.T_START + j]
        high = max(max(before, after), max(w[r.T_MIDDLE + j - 1], w[r.T_MIDDLE + j]))
        if high > edge.peak_n:
            edge.peak_n = high
        if high > edge.cycle_peak_n:
            edge.cycle_peak_n = high
        bend = bend_at(j, n, w, y)
        if high > CARRIES_N:
            edge.wrap_rad = max(edge.wrap_rad, bend)
            edge.cycle_ticks += ticks
            if high > LOADED_N and bend > LOADED_BEND_RAD:
                if edge.bare_tick < 0:
                    edge.bare_tick = state.tick
                edge.bare_ticks += ticks
        friction = abs(after - before)
        if friction > edge.cycle_friction_n:
            edge.cycle_friction_n = friction
        slip = w[r.D_SLIP + j]
        way = 0
        if w[r.D_PATH + j] > 0.0:
            way = 1 if slip > 0.0 else -1
            edge.slip_m += w[r.D_PATH + j]
            edge.cycle_slip_m += w[r.D_PATH + j]
            edge.energy_j += w[r.D_ENERGY + j]
            edge.exposure_j += w[r.D_EXPOSURE + j]
            edge.travel_m += slip
            edge.cycle_low_m = min(edge.cycle_low_m, edge.travel_m)
            edge.cycle_high_m = max(edge.cycle_high_m, edge.travel_m)
            for half in range(2):
                tension = w[r.T_START + 32 * half + j] - w[r.T_START + 32 * half + j - 1]
                speed = abs(w[r.Q_START + 32 * half + j]) * (1.0 + w[r.STRAIN + j])
                measure = tension * tension * speed
                if measure > edge.flash_measure:
                    edge.flash_measure = measure
                    edge.flash_n = abs(tension)
                    edge.flash_speed_m_s = speed
                    edge.flash_wrap_rad = bend
            amount = w[r.D_EXPOSURE + j]
            if amount > 0.0:
                window = window_m(w[r.RADIUS + j], bend, line.diameter_m)
                if window != w[r.WINDOW + j]:
                    w[r.AREA + j] *= window / w[r.WINDOW + j]
                    w[r.WINDOW + j] = window
                low, top = deposit(
                    pending[int(w[r.ROW + j])],
                    (at - cells[1]) * per_cell,
                    (at - slip - cells[1]) * per_cell,
                    window * per_cell,
                    amount * per_cell,
                )
                if top < 0:
                    inside = False
                edge.pending_low = min(edge.pending_low, low if top >= 0 else edge.pending_low)
                edge.pending_high = max(edge.pending_high, top)
                growth += grows(edge, at, slip, amount, window)
        if way != 0 and way != state.mode[j - 1]:
            edge.slips += 1
        state.mode[j - 1] = way
    state.bound_j_m += growth
    stretch = 0.0
    top_n = state.peak_n
    for i in range(n + 1):
        w[r.SPAN + i] += w[r.D_SPAN + i]
        stretch += w[r.STRAIN + i] * w[r.SPAN + i]
        top_n = max(top_n, max(w[r.T_START + i], w[r.T_MIDDLE + i]))
    state.peak_n = top_n
    state.stretch_m = max(state.stretch_m, stretch)
    state.anchor_peak_n = max(state.anchor_peak_n, max(w[r.T_START + 0], w[r.T_MIDDLE + 0]))
    state.anchor_at_m -= w[r.D_SLIP + 0]
    state.fed_m += w[r.D_SLIP + 0]
    state.drawn_m += w[r.D_SLIP + n + 1]
    flows = 0.0
    for i in range(r.FLOWS):
        w[r.TOTAL + i] += w[r.GLOBAL + i]
        flows += abs(w[r.GLOBAL + i])
    w[r.TOTAL + r.FLOWS] += flows
    return inside


@njit
def book_rest(ticks: int, state: Any, sums: Any, w: Floats) -> Any:
    """Count the time that a line at rest lies loaded over its edges."""
    for j in range(1, state.count + 1):
        edge = sums[int(w[r.ROW + j])]
        high = max(w[r.T + j - 1], w[r.T + j])
        if high > LOADED_N and bend_at(j, state.count, w, state.depth_m) > LOADED_BEND_RAD:
            if edge.bare_tick < 0:
                edge.bare_tick = state.tick
            edge.bare_ticks += ticks
