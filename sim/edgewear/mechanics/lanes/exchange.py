"""Between a run's own records and its lane: what steps read, and what they change."""

from __future__ import annotations

import math
from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as s
from edgewear.mechanics.arrays import Buffers, Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.rows import NEXT
from edgewear.mechanics.step.balance import stored
from edgewear.mechanics.wear.field import touches
from edgewear.terms import LOADED_BEND_RAD

NO_ROPE_M, JUST_TAUT = 1e-30, 1.0 + 1e-9
"""Rope above an edge that a contact set lacks [m], and how much longer it hangs there."""


@inlined
def _edge(j: int, p: Buffers) -> Any:
    """What the edge touched as the j-th (1 ..) has seen."""
    return p.sums[int(p.work[s.ROW + j])]


@inlined
def _lead(i: int, edges: int, p: Buffers) -> Any:
    """Place of the first edge of lane i: those that its contact set lacks come before it."""
    return (edges - p.state[0].count) * NEXT + i


@inlined
def fill_phase(f: Floats, i: int, edges: int, p: Buffers) -> None:
    """Write what a phase begins with, and what the end of the one before changed."""
    state, w = p.state[0], p.work
    f[r.LIMITED + i] = 1.0 if state.phase == s.RISE else 0.0
    f[r.PAYS + i] = 1.0 if state.phase == s.PAYOUT else 0.0
    f[r.HANGS + i] = 1.0 if state.phase == s.STILL else 0.0
    f[r.RATE + i], f[r.TOOL + i] = w[s.PHASE_P + s.RATE_P], w[s.PHASE_P + s.TOOL]
    f[r.DURATION + i], f[r.PER_RAMP + i] = w[s.PHASE_P + s.DURATION], w[s.PHASE_P + s.PER_RAMP]
    f[r.OMEGA + i], f[r.BOUNCE + i] = w[s.PHASE_P + s.OMEGA], w[s.PHASE_P + s.BOUNCE]
    f[r.SWAY_OMEGA + i], f[r.SWAY + i] = w[s.PHASE_P + s.SWAY_OMEGA], w[s.PHASE_P + s.SWAY]
    f[r.OFFSET_S + i] = w[s.PHASE_P + s.OFFSET_S]
    f[r.PER_DURATION + i] = w[s.PHASE_P + s.PER_DURATION]
    f[r.STEP_TICKS + i] = state.step_ticks
    f[r.PHASE_END + i] = state.phase_end if state.phase_end >= 0 else math.inf
    f[r.RISE_S + i] = state.rise_s if state.phase == s.RISE else math.inf
    f[r.PART + i], f[r.PHASE_TICK + i] = state.part_s, state.phase_tick
    f[r.GUESS + i], f[r.LAST + i] = 0.0, 0.0
    f[r.BOUND + i] = state.bound_j_m
    lead = _lead(i, edges, p)
    for j in range(1, state.count + 1):
        edge, at = _edge(j, p), lead + (j - 1) * NEXT
        f[r.CYCLE_TICKS + at], f[r.CYCLE_PEAK + at] = edge.cycle_ticks, edge.cycle_peak_n
        f[r.RUBBING + at], f[r.CYCLE_SLIP + at] = edge.cycle_friction_n, edge.cycle_slip_m
        f[r.CYCLE_LOW + at], f[r.CYCLE_HIGH + at] = edge.cycle_low_m, edge.cycle_high_m
        f[r.WORN_LOW + at], f[r.WORN_HIGH + at] = math.inf, -1.0
        f[r.OPEN_AT + at], f[r.OPEN_CELLS + at] = edge.open_at, edge.open_cells
        f[r.OPEN_J + at] = edge.open_j_m


@inlined
def fill_levels(f: Floats, i: int, edges: int, p: Buffers) -> None:
    """Write up to where nothing has to be looked at, as a look leaves it."""
    state = p.state[0]
    f[r.BOUND + i], f[r.RESCAN + i] = state.bound_j_m, state.rescan_j_m
    f[r.HOLDS + i] = state.holds_n
    lead = _lead(i, edges, p)
    for j in range(1, state.count + 1):
        at = lead + (j - 1) * NEXT
        f[r.RUN_WAY + at] = _edge(j, p).run_way
        f[r.WORN_LOW + at], f[r.WORN_HIGH + at] = math.inf, -1.0


@inlined
def _keep_travel(f: Floats, at: int, edge: Any) -> None:
    """Write back what cells are worn, and the travel under way."""
    if f[r.WORN_HIGH + at] >= 0.0:
        touches(edge, int(f[r.WORN_LOW + at]), int(f[r.WORN_HIGH + at]))
    edge.open_at, edge.open_cells = f[r.OPEN_AT + at], f[r.OPEN_CELLS + at]
    edge.open_j_m = f[r.OPEN_J + at]


@inlined
def tell_turn(f: Floats, i: int, edges: int, p: Buffers) -> None:
    """Write to the records what the end of a phase, or a look, reads of them."""
    state, w = p.state[0], p.work
    state.part_s, state.phase_tick = f[r.PART + i], int(f[r.PHASE_TICK + i])
    state.tick, state.bound_j_m = int(f[r.TICK + i]), f[r.BOUND + i]
    state.peak_n, state.depth_m, state.speed_m_s = f[r.PEAK + i], f[r.Y + i], f[r.V + i]
    lead = _lead(i, edges, p)
    w[s.SPAN], w[s.T + state.count] = f[r.S + lead], f[r.T_4 + edges * NEXT + i]
    for j in range(1, state.count + 1):
        edge, at = _edge(j, p), lead + (j - 1) * NEXT
        w[s.SPAN + j] = f[r.S + NEXT + at]
        edge.cycle_ticks, edge.cycle_peak_n = int(f[r.CYCLE_TICKS + at]), f[r.CYCLE_PEAK + at]
        edge.cycle_friction_n, edge.cycle_slip_m = f[r.RUBBING + at], f[r.CYCLE_SLIP + at]
        edge.cycle_low_m, edge.cycle_high_m = f[r.CYCLE_LOW + at], f[r.CYCLE_HIGH + at]
        edge.travel_m = f[r.TRAVEL + at]
        _keep_travel(f, at, edge)


@inlined
def tell_look(f: Floats, i: int, edges: int, p: Buffers) -> None:
    """Write to the records what a look reads besides."""
    w, lead = p.work, _lead(i, edges, p)
    for j in range(p.state[0].count + 1):
        at = lead + j * NEXT
        w[s.T_START + j], w[s.T_MIDDLE + j] = f[r.T_1 + at], f[r.T_3 + at]
        if j > 0:
            _edge(j, p).run_way = int(f[r.RUN_WAY + at - NEXT])


@inlined
def _fill_edge(f: Floats, at: int, j: int, p: Buffers) -> None:
    """Constants of the j-th edge, and of the free length above it."""
    w = p.work
    turns = w[s.REGIME_P + s.CLOSED] == 0.0
    f[r.ROW + at] = w[s.ROW + j]
    f[r.START_RATIO + at], f[r.MU + at] = w[s.START_RATIO + j], w[s.MU + j]
    f[r.RATIO + at], f[r.FALLS + at] = w[s.RATIO + j], w[s.FALLS + j]
    f[r.START_BEND + at], f[r.TURN + at] = w[s.BEND + j], w[s.BEND_SLOPE + j] if turns else 0.0
    f[r.BEND + at] = w[s.BEND + j]
    f[r.BARE_BEND + at] = 1.0 if w[s.BEND + j] > LOADED_BEND_RAD else 0.0
    f[r.RADIUS + at], f[r.WINDOW + at] = w[s.RADIUS + j], w[s.WINDOW + j]
    f[r.PER_WINDOW + at] = 1.0 / w[s.WINDOW + j]
    f[r.WINDOW_CELLS + at] = w[s.WINDOW + j] * w[s.REGIME_P + s.PER_CELL]
    f[r.GAIN + at], f[r.FIRST + at] = w[s.GAIN + j], 1.0 if j == 1 else 0.0
    f[r.FREE + at] = w[s.FREE + j - 1]
    f[r.SLOPE + at] = w[s.SLOPE + j - 1] if turns else 0.0
    f[r.PULLS + at] = f[r.SLOPE + at]


@inlined
def _fill_constants(f: Floats, i: int, edges: int, p: Buffers) -> None:
    """Write what stays as it is while the rope lies where it lies."""
    state, w = p.state[0], p.work
    closed, last = w[s.REGIME_P + s.CLOSED] != 0.0, edges * NEXT + i
    f[r.POINT + i] = w[s.REGIME_P + s.POINT] if closed else w[s.REGIME_P + s.LOW]
    f[r.LEAST_FALL + i] = 0.0 if closed else -math.inf
    f[r.TILTS + i], f[r.TILT + i] = 0.0 if closed else 1.0, w[s.REGIME_P + s.TILT]
    f[r.FREE + last] = 0.0 if closed else w[s.FREE + state.count]
    f[r.SLOPE + last] = 1.0 if closed else w[s.SLOPE + state.count]
    f[r.EXTRA + i] = w[s.LINE_P + s.BODY_M] - w[s.REGIME_P + s.OFFSET_M]
    f[r.OFFSET + i] = w[s.REGIME_P + s.OFFSET_M]
    f[r.BODY + i] = w[s.LINE_P + s.BODY_M]
    f[r.MASS + i] = w[s.LINE_P + s.MASS]
    f[r.LOW_M + i] = w[s.REGIME_P + s.LOW]
    f[r.HIGH_M + i] = w[s.REGIME_P + s.HIGH]
    f[r.DIAMETER + i] = p.line[0].diameter_m
    f[r.PER_CELL + i], f[r.CELL_M + i] = w[s.REGIME_P + s.PER_CELL], p.cells[0]
    f[r.LEFT_M + i] = p.cells[1]
    f[r.ANCHOR_AT + i] = state.anchor_at_m
    f[r.CELLS + i] = p.pending.shape[1] - 4
    f[r.ROOM + i] = p.line[0].rope_m
    f[r.K + i] = w[s.LINE_P + s.K]
    f[r.K_TAU + i], f[r.PER_K_TAU + i] = w[s.LINE_P + s.K_TAU], w[s.LINE_P + s.PER_K_TAU]
    f[r.GRAVITY + i] = w[s.LINE_P + s.GRAVITY]
    f[r.PER_MASS + i] = w[s.REGIME_P + s.PER_MASS]
    f[r.WEIGHT + i] = w[s.LINE_P + s.WEIGHT_N]
    f[r.FULL + i] = w[s.LINE_P + s.FULL_N]
    f[r.PER_RANGE + i] = w[s.REGIME_P + s.PER_RANGE]
    f[r.CAP + i] = w[s.LINE_P + s.CAP_N]
    f[r.COLD + i] = w[s.LINE_P + s.COLD]
    f[r.PER_SPEED + i] = w[s.LINE_P + s.PER_SPEED]


@inlined
def _load_edge(f: Floats, at: int, j: int, p: Buffers) -> None:
    """Write what the j-th edge has seen."""
    w, edge = p.work, _edge(j, p)
    f[r.MODE + at], f[r.GUESSED + at] = p.state[0].mode[j - 1], w[s.MODE + j]
    f[r.EDGE_PEAK + at], f[r.WRAP + at] = edge.peak_n, edge.wrap_rad
    f[r.BARE_TICK + at], f[r.BARE_TICKS + at] = edge.bare_tick, edge.bare_ticks
    f[r.SLIP + at], f[r.ENERGY + at] = edge.slip_m, edge.energy_j
    f[r.EXPOSURE + at], f[r.TRAVEL + at] = edge.exposure_j, edge.travel_m
    f[r.FLASH + at], f[r.FLASH_N + at] = edge.flash_measure, edge.flash_n
    f[r.FLASH_SPEED + at], f[r.FLASH_WRAP + at] = edge.flash_speed_m_s, edge.flash_wrap_rad
    f[r.SLIPS + at] = edge.slips
    f[r.RUN_AT + at], f[r.RUN_TOTAL + at] = edge.run_at_m, edge.run_j_m
    f[r.RUN_STEEP + at], f[r.RUN_WIDE + at] = edge.run_j_m3, edge.run_contact_m
    f[r.LAST_Q + at] = w[s.Q + j]
    f[r.Q_1 + at], f[r.Q_3 + at] = w[s.Q_START + j], w[s.Q_MIDDLE + j]


@inlined
def _load_span(f: Floats, at: int, j: int, p: Buffers) -> None:
    """Write the j-th free length (0 ..)."""
    w = p.work
    f[r.S + at], f[r.LAST_T + at], f[r.STRAIN + at] = w[s.SPAN + j], w[s.T + j], w[s.STRAIN + j]
    f[r.T_1 + at], f[r.T_3 + at] = w[s.T_START + j], w[s.T_MIDDLE + j]


@inlined
def _fill_lacking(f: Floats, at: int) -> None:
    """An edge that the contact set lacks, over which nothing ever slips.

    The rope above it is so short that to add it changes no bit, and just taut.
    """
    f[r.S + at], f[r.FREE + at], f[r.SLOPE + at] = NO_ROPE_M, NO_ROPE_M * JUST_TAUT, 0.0
    f[r.PULLS + at] = 0.0
    f[r.START_RATIO + at], f[r.MU + at], f[r.GAIN + at] = math.inf, 0.0, 0.0
    f[r.RATIO + at], f[r.FALLS + at] = math.inf, 0.0
    f[r.START_BEND + at], f[r.TURN + at], f[r.RADIUS + at] = 0.0, 0.0, 0.0
    f[r.BEND + at], f[r.BARE_BEND + at] = 0.0, 0.0
    f[r.WINDOW + at], f[r.PER_WINDOW + at], f[r.WINDOW_CELLS + at] = 1.0, 1.0, 1.0
    f[r.GUESSED + at], f[r.MODE + at], f[r.FIRST + at] = 0.0, 0.0, 0.0


@inlined
def load_lane(f: Floats, i: int, edges: int, p: Buffers) -> None:
    """Write a run to lane i; edges: for which the lanes have rows in use."""
    state, w, lead = p.state[0], p.work, _lead(i, edges, p)
    _fill_constants(f, i, edges, p)
    for at in range(i, lead, NEXT):
        _fill_lacking(f, at)
    _load_span(f, lead, 0, p)
    for j in range(1, state.count + 1):
        at = lead + (j - 1) * NEXT
        _fill_edge(f, at, j, p)
        _load_edge(f, at, j, p)
        _load_span(f, at + NEXT, j, p)
    fill_phase(f, i, edges, p)
    fill_levels(f, i, edges, p)
    f[r.Y + i], f[r.V + i] = state.depth_m, state.speed_m_s
    f[r.TICK + i], f[r.STEPS + i] = state.tick, state.steps
    f[r.STORED + i] = stored(
        state.count, w, 0.0, state.phase, state.depth_m, state.speed_m_s, state.part_s,
        state.phase_tick * TICK_S,
    )  # fmt: skip
    f[r.DRAWN + i], f[r.PIECE + i] = state.drawn_m, w[s.PIECE + state.count]
    f[r.PEAK + i], f[r.STRETCH + i] = state.peak_n, state.stretch_m
    f[r.ANCHOR_PEAK + i] = state.anchor_peak_n
    f[r.DEVICE + i], f[r.LEAVES + i] = w[s.TOTAL + s.DEVICE], w[s.TOTAL + s.LEAVES]
    f[r.MOVER + i] = w[s.TOTAL + s.MOVER]
    f[r.VISCOUS + i], f[r.FRICTION + i] = w[s.TOTAL + s.VISCOUS], w[s.TOTAL + s.FRICTION]
    f[r.MIXING + i], f[r.FLOWS + i] = w[s.TOTAL + s.MIXING], w[s.TOTAL + s.FLOWS]
    f[r.ACTIVE + i] = 1.0


@inlined
def _keep_edge(f: Floats, at: int, j: int, p: Buffers) -> None:
    """Write back what the j-th edge has seen."""
    w, edge = p.work, _edge(j, p)
    p.state[0].mode[j - 1], w[s.MODE + j] = int(f[r.MODE + at]), f[r.GUESSED + at]
    edge.peak_n, edge.cycle_peak_n = f[r.EDGE_PEAK + at], f[r.CYCLE_PEAK + at]
    edge.wrap_rad, edge.cycle_ticks = f[r.WRAP + at], int(f[r.CYCLE_TICKS + at])
    edge.bare_tick, edge.bare_ticks = int(f[r.BARE_TICK + at]), int(f[r.BARE_TICKS + at])
    edge.cycle_friction_n, edge.slip_m = f[r.RUBBING + at], f[r.SLIP + at]
    edge.cycle_slip_m, edge.energy_j = f[r.CYCLE_SLIP + at], f[r.ENERGY + at]
    edge.exposure_j, edge.travel_m = f[r.EXPOSURE + at], f[r.TRAVEL + at]
    edge.cycle_low_m, edge.cycle_high_m = f[r.CYCLE_LOW + at], f[r.CYCLE_HIGH + at]
    edge.flash_measure, edge.flash_n = f[r.FLASH + at], f[r.FLASH_N + at]
    edge.flash_speed_m_s, edge.flash_wrap_rad = f[r.FLASH_SPEED + at], f[r.FLASH_WRAP + at]
    edge.slips = int(f[r.SLIPS + at])
    _keep_travel(f, at, edge)
    edge.run_way, edge.run_at_m = int(f[r.RUN_WAY + at]), f[r.RUN_AT + at]
    edge.run_j_m3, edge.run_contact_m = f[r.RUN_STEEP + at], f[r.RUN_WIDE + at]
    edge.run_j_m = f[r.RUN_TOTAL + at]
    w[s.Q + j] = f[r.LAST_Q + at]
    w[s.Q_START + j], w[s.Q_MIDDLE + j] = f[r.Q_1 + at], f[r.Q_3 + at]


@inlined
def _keep_span(f: Floats, at: int, j: int, p: Buffers) -> None:
    """Write back the j-th free length."""
    w = p.work
    w[s.SPAN + j], w[s.T + j], w[s.STRAIN + j] = f[r.S + at], f[r.LAST_T + at], f[r.STRAIN + at]
    w[s.T_START + j], w[s.T_MIDDLE + j] = f[r.T_1 + at], f[r.T_3 + at]


@inlined
def keep_lane(f: Floats, i: int, edges: int, p: Buffers) -> None:
    """Write lane i back to its run."""
    state, w = p.state[0], p.work
    state.depth_m, state.speed_m_s, state.part_s = f[r.Y + i], f[r.V + i], f[r.PART + i]
    state.phase_tick, state.tick = int(f[r.PHASE_TICK + i]), int(f[r.TICK + i])
    state.steps = int(f[r.STEPS + i])
    if f[r.STANDS + i] != 0.0 and f[r.REST + i] != 0.0:
        state.repeats = 1
    state.drawn_m, state.bound_j_m = f[r.DRAWN + i], f[r.BOUND + i]
    state.peak_n, state.stretch_m = f[r.PEAK + i], f[r.STRETCH + i]
    state.anchor_peak_n, w[s.PIECE + state.count] = f[r.ANCHOR_PEAK + i], f[r.PIECE + i]
    w[s.TOTAL + s.DEVICE], w[s.TOTAL + s.LEAVES] = f[r.DEVICE + i], f[r.LEAVES + i]
    w[s.TOTAL + s.MOVER] = f[r.MOVER + i]
    w[s.TOTAL + s.VISCOUS], w[s.TOTAL + s.FRICTION] = f[r.VISCOUS + i], f[r.FRICTION + i]
    w[s.TOTAL + s.MIXING], w[s.TOTAL + s.FLOWS] = f[r.MIXING + i], f[r.FLOWS + i]
    lead = _lead(i, edges, p)
    _keep_span(f, lead, 0, p)
    for j in range(1, state.count + 1):
        _keep_edge(f, lead + (j - 1) * NEXT, j, p)
        _keep_span(f, lead + j * NEXT, j, p)
