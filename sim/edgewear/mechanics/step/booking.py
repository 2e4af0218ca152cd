"""Booking an accepted step: sums of each edge, deposition, energy."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Buffers, Floats
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.step.regime import bend_at
from edgewear.mechanics.wear.exposure_bound import grows
from edgewear.mechanics.wear.field import LEAST_CELLS, first_half, travel_on
from edgewear.mechanics.wear.wear import window_m
from edgewear.terms import LOADED_BEND_RAD, LOADED_N

CARRIES_N = 1.0
"""Tension above which a rope carries load, for the wrap and the strokes of an edge [N]."""


@inlined
def _book_load(j: int, edge: Any, bend: float, ticks: int, p: Buffers) -> None:
    """Peaks and times under load at edge j."""
    w, state = p.work, p.state[0]
    before = w[r.T_START + j - 1]
    after = w[r.T_START + j]
    high = max(max(before, after), max(w[r.T_MIDDLE + j - 1], w[r.T_MIDDLE + j]))
    if high > edge.peak_n:
        edge.peak_n = high
    if high > edge.cycle_peak_n:
        edge.cycle_peak_n = high
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


@inlined
def _book_slip(j: int, edge: Any, bend: float, w: Floats) -> Any:
    """Sliding at edge j, something slid; returns 1 toward the load, -1 toward the anchor."""
    slip = w[r.D_SLIP + j]
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
    return 1 if slip > 0.0 else -1


@inlined
def _wear_over(
    j: int, edge: Any, at: float, slip: float, amount: float, window: float, per_window: float,
    p: Buffers,
) -> Any:  # fmt: skip
    """Deposit of edge j over a slip; (by contact length and travel [J/m2], within the cells)."""
    w, cells = p.work, p.cells
    if amount <= 0.0:
        return 0.0, True
    per_cell = w[r.REGIME_P + r.PER_CELL]
    dense = amount * per_window * (1.0 / max(abs(slip), LEAST_CELLS * cells[0]))
    inside = travel_on(
        p.pending[int(w[r.ROW + j])],
        edge,
        (at - cells[1]) * per_cell,
        (at - slip - cells[1]) * per_cell,
        window * per_cell,
        dense * cells[0],
    )
    return dense, inside


@inlined
def _book_wear(j: int, edge: Any, bend: float, at: float, p: Buffers) -> Any:
    """Deposit of edge j; returns (by how much the worst place can have grown, within the cells).

    In two halves: within a long step, wear a metre of slip may double. at: material at the edge
    at the step's begin [m].
    """
    w = p.work
    window = window_m(w[r.RADIUS + j], bend, p.line[0].diameter_m)
    if window != w[r.WINDOW + j]:
        w[r.AREA + j] *= window / w[r.WINDOW + j]
        w[r.WINDOW + j] = window
    slip, worn = w[r.D_SLIP + j], w[r.D_EXPOSURE + j]
    first, early = first_half(
        slip, w[r.EARLY_SLIP + j], worn, w[r.EARLY_EXPOSURE + j], w[r.Q_START + j], w[r.Q + j]
    )
    per_window = 1.0 / window
    early_dense, within = _wear_over(j, edge, at, first, early, window, per_window, p)
    late, rest = slip - first, worn - early
    late_dense, inside = _wear_over(j, edge, at - first, late, rest, window, per_window, p)
    more = grows(
        edge, at, slip, first * late < 0.0, worn * per_window, max(early_dense, late_dense), window
    )
    return more, within and inside


@inlined
def _book_line(n: int, state: Any, w: Floats) -> None:
    """Spans, peaks and energy of the whole line."""
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


@inlined
def book(n: int, p: Buffers, y: float, ticks: int) -> Any:
    """Book an accepted step from depth y: sums of each edge, deposition, energy.

    False: rope is used up.
    """
    w, state = p.work, p.state[0]
    inside = True
    at = state.anchor_at_m
    growth = 0.0
    for j in range(1, n + 1):
        at += w[r.SPAN + j - 1]
        edge = p.sums[int(w[r.ROW + j])]
        bend = bend_at(j, n, w, y)
        _book_load(j, edge, bend, ticks, p)
        way = 0
        if w[r.D_PATH + j] > 0.0:
            way = _book_slip(j, edge, bend, w)
            if w[r.D_EXPOSURE + j] > 0.0:
                more, within = _book_wear(j, edge, bend, at, p)
                growth += more
                inside = inside and within
        if way != 0 and way != state.mode[j - 1]:
            edge.slips += 1
        state.mode[j - 1] = way
    state.bound_j_m += growth
    _book_line(n, state, w)
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
