"""Copying what must last between the state and the kernels' scratch array."""

from __future__ import annotations

from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit
from edgewear.mechanics.movement.hang_load import fill_line, totals
from edgewear.mechanics.step.regime import enter_regime, lengths
from edgewear.terms import GRAVITY_M_S2


@njit
def store_totals(w: Floats, state: Any, out: Floats) -> Any:
    """Copy the running energies between scratch row and state."""
    if out:
        state.device_j = w[r.TOTAL + r.DEVICE]
        state.leaves_j = w[r.TOTAL + r.LEAVES]
        state.feed_j = w[r.TOTAL + r.FEED_WORK]
        state.mover_j = w[r.TOTAL + r.MOVER]
        state.viscous_j = w[r.TOTAL + r.VISCOUS]
        state.friction_j = w[r.TOTAL + r.FRICTION]
        state.mixing_j = w[r.TOTAL + r.MIXING]
        state.flows_j = w[r.TOTAL + r.FLOWS]
    else:
        w[r.TOTAL + r.DEVICE] = state.device_j
        w[r.TOTAL + r.LEAVES] = state.leaves_j
        w[r.TOTAL + r.FEED_WORK] = state.feed_j
        w[r.TOTAL + r.MOVER] = state.mover_j
        w[r.TOTAL + r.VISCOUS] = state.viscous_j
        w[r.TOTAL + r.FRICTION] = state.friction_j
        w[r.TOTAL + r.MIXING] = state.mixing_j
        w[r.TOTAL + r.FLOWS] = state.flows_j


@njit
def fetch(
    w: Floats, state: Any, line: Any, edges: Any, person: Any, wear: Any, regimes: Any
) -> Any:
    """Fill the scratch rows from the state."""
    fill_line(w, line, person, wear, state.mass_kg, GRAVITY_M_S2)
    enter_regime(state.regime, w, state, line, edges, wear, regimes)
    w[r.REGIME_P + r.OFFSET_M] = state.offset_m
    for i in range(state.count + 1):
        w[r.SPAN + i] = state.span_m[i]
        w[r.TAUT + i] = state.taut[i]
        w[r.T + i] = state.tension_n[i]
        w[r.STRAIN + i] = state.tension_n[i] / line.stiffness_n
    for j in range(state.count):
        w[r.MODE + j + 1] = state.slipping[j]
        if edges[int(w[r.ROW + j + 1])].static_ratio > 1.0:
            w[r.ALLOWED + j + 1] = state.allowed[j]
    w[r.PIECE + state.count] = state.device_piece
    store_totals(w, state, False)


@njit
def store(w: Floats, state: Any) -> Any:
    """Copy what must last from the scratch rows to the state."""
    for i in range(state.count + 1):
        state.span_m[i] = w[r.SPAN + i]
        state.taut[i] = int(w[r.TAUT + i])
        if state.loaded != 0:
            state.tension_n[i] = w[r.T + i]
    for i in range(state.count + 1, state.span_m.shape[0]):  # nothing left of a longer contact set
        state.span_m[i] = 0.0
        state.taut[i] = 0
        state.tension_n[i] = 0.0
    for j in range(state.count):
        state.allowed[j] = int(w[r.ALLOWED + j + 1])
        state.slipping[j] = int(w[r.MODE + j + 1])
    for j in range(state.count, state.allowed.shape[0]):
        state.allowed[j] = 0
        state.slipping[j] = 0
    state.device_piece = int(w[r.PIECE + state.count])
    store_totals(w, state, True)
    totals(state, w, state.phase, state.phase_tick * TICK_S)


@njit
def end_phase(state: Any, w: Floats) -> Any:
    """No phase is under way; where work in place left the body, it stays."""
    n = state.count
    if state.phase == r.WORK and state.loaded != 0:
        lengths(n, w, r.WORK, state.depth_m, 0.0, state.phase_tick * TICK_S)
        length = w[r.KINK + n]
        lengths(n, w, r.NO_PHASE, state.depth_m, 0.0, 0.0)
        state.offset_m += w[r.KINK + n] - length
    state.phase = r.NO_PHASE
    state.phase_tick = 0
