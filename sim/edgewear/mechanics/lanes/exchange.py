"""Between a run's own records and its lane: what steps read, and what they change."""

from __future__ import annotations

import math

from edgewear.mechanics import scratch as s
from edgewear.mechanics.arrays import Buffers, Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.step import energy_of
from edgewear.terms import LOADED_BEND_RAD


@inlined
def fill_phase(f: Floats, i: int, p: Buffers) -> None:
    """Write what a phase begins with, and what the end of the one before changed."""
    state, w = p.state[0], p.work
    edge = p.sums[int(w[s.ROW + 1])]
    f[r.LIMITED + i] = 1.0 if state.phase == s.RISE else 0.0
    f[r.RATE + i] = w[s.PHASE_P + s.RATE_P]
    f[r.PER_DURATION + i] = w[s.PHASE_P + s.PER_DURATION]
    f[r.STEP_TICKS + i] = state.step_ticks
    f[r.PHASE_END + i] = state.phase_end if state.phase_end >= 0 else math.inf
    f[r.RISE_S + i] = state.rise_s if state.phase == s.RISE else math.inf
    f[r.PART + i], f[r.PHASE_TICK + i] = state.part_s, state.phase_tick
    f[r.GUESS + i], f[r.LAST + i] = 0.0, 0.0
    f[r.BOUND + i] = state.bound_j_m
    f[r.CYCLE_TICKS + i], f[r.CYCLE_PEAK + i] = edge.cycle_ticks, edge.cycle_peak_n
    f[r.RUBBING + i], f[r.CYCLE_SLIP + i] = edge.cycle_friction_n, edge.cycle_slip_m
    f[r.CYCLE_LOW + i], f[r.CYCLE_HIGH + i] = edge.cycle_low_m, edge.cycle_high_m
    f[r.PENDING_LOW + i], f[r.PENDING_HIGH + i] = edge.pending_low, edge.pending_high


@inlined
def fill_levels(f: Floats, i: int, p: Buffers) -> None:
    """Write up to where nothing has to be looked at, as a look leaves it."""
    state = p.state[0]
    f[r.BOUND + i], f[r.RESCAN + i] = state.bound_j_m, state.rescan_j_m
    f[r.HOLDS + i] = state.holds_n
    f[r.RUN_WAY + i] = p.sums[int(p.work[s.ROW + 1])].run_way


@inlined
def tell_turn(f: Floats, i: int, p: Buffers) -> None:
    """Write to the records what the end of a phase, or a look, reads of them."""
    state, w = p.state[0], p.work
    edge = p.sums[int(w[s.ROW + 1])]
    state.part_s, state.phase_tick = f[r.PART + i], int(f[r.PHASE_TICK + i])
    state.tick, state.bound_j_m = int(f[r.TICK + i]), f[r.BOUND + i]
    state.peak_n, state.speed_m_s = f[r.PEAK + i], f[r.V + i]
    w[s.SPAN], w[s.SPAN + 1], w[s.T + 1] = f[r.S0 + i], f[r.S1 + i], f[r.T1_4 + i]
    edge.cycle_ticks, edge.cycle_peak_n = int(f[r.CYCLE_TICKS + i]), f[r.CYCLE_PEAK + i]
    edge.cycle_friction_n, edge.cycle_slip_m = f[r.RUBBING + i], f[r.CYCLE_SLIP + i]
    edge.cycle_low_m, edge.cycle_high_m = f[r.CYCLE_LOW + i], f[r.CYCLE_HIGH + i]
    edge.travel_m = f[r.TRAVEL + i]
    edge.pending_low, edge.pending_high = int(f[r.PENDING_LOW + i]), int(f[r.PENDING_HIGH + i])


@inlined
def tell_look(f: Floats, i: int, p: Buffers) -> None:
    """Write to the records what a look reads besides."""
    w = p.work
    w[s.T_START], w[s.T_START + 1] = f[r.T0_1 + i], f[r.T1_1 + i]
    w[s.T_MIDDLE], w[s.T_MIDDLE + 1] = f[r.T0_3 + i], f[r.T1_3 + i]
    p.sums[int(w[s.ROW + 1])].run_way = int(f[r.RUN_WAY + i])


@inlined
def fill_constants(f: Floats, i: int, p: Buffers) -> None:
    """Write what stays as it is while the rope lies where it lies."""
    state, w = p.state[0], p.work
    f[r.RATIO + i], f[r.FALLS + i] = w[s.RATIO + 1], w[s.FALLS + 1]
    f[r.POINT + i] = w[s.REGIME_P + s.POINT]
    f[r.EXTRA + i] = w[s.LINE_P + s.BODY_M] - w[s.REGIME_P + s.OFFSET_M]
    f[r.OFFSET + i] = w[s.REGIME_P + s.OFFSET_M]
    f[r.BODY + i] = w[s.LINE_P + s.BODY_M]
    f[r.MASS + i] = w[s.LINE_P + s.MASS]
    f[r.LOW_M + i] = w[s.REGIME_P + s.LOW]
    f[r.HIGH_M + i] = w[s.REGIME_P + s.HIGH]
    f[r.BEND + i] = w[s.BEND + 1]
    f[r.BARE_BEND + i] = 1.0 if w[s.BEND + 1] > LOADED_BEND_RAD else 0.0
    f[r.PER_CELL + i] = w[s.REGIME_P + s.PER_CELL]
    f[r.WINDOW + i] = w[s.WINDOW + 1]
    f[r.WINDOW_CELLS + i] = w[s.WINDOW + 1] * w[s.REGIME_P + s.PER_CELL]
    f[r.LEFT_M + i] = p.cells[1]
    f[r.ANCHOR_AT + i] = state.anchor_at_m
    f[r.CELLS + i] = p.pending.shape[1] - 4
    f[r.ROOM + i] = p.line[0].rope_m
    f[r.K + i] = w[s.LINE_P + s.K]
    f[r.K_TAU + i] = w[s.LINE_P + s.K_TAU]
    f[r.ABOVE_M + i] = w[s.FREE]
    f[r.GRAVITY + i] = w[s.LINE_P + s.GRAVITY]
    f[r.PER_MASS + i] = w[s.REGIME_P + s.PER_MASS]
    f[r.WEIGHT + i] = w[s.LINE_P + s.WEIGHT_N]
    f[r.FULL + i] = w[s.LINE_P + s.FULL_N]
    f[r.PER_RANGE + i] = w[s.REGIME_P + s.PER_RANGE]
    f[r.CAP + i] = w[s.LINE_P + s.CAP_N]
    f[r.COLD + i] = w[s.LINE_P + s.COLD]
    f[r.PER_SPEED + i] = w[s.LINE_P + s.PER_SPEED]
    f[r.GAIN + i] = w[s.GAIN + 1]


@inlined
def load_lane(f: Floats, i: int, p: Buffers) -> None:
    """Write a run to lane i."""
    state, w = p.state[0], p.work
    edge = p.sums[int(w[s.ROW + 1])]
    fill_constants(f, i, p)
    fill_phase(f, i, p)
    fill_levels(f, i, p)
    f[r.Y + i], f[r.V + i] = state.depth_m, state.speed_m_s
    f[r.S0 + i], f[r.S1 + i] = w[s.SPAN], w[s.SPAN + 1]
    f[r.TICK + i], f[r.STEPS + i] = state.tick, state.steps
    f[r.STORED + i] = energy_of(f, i, f[r.Y + i], f[r.V + i], f[r.S0 + i], f[r.S1 + i])
    f[r.DRAWN + i] = state.drawn_m
    f[r.PEAK + i], f[r.STRETCH + i] = state.peak_n, state.stretch_m
    f[r.ANCHOR_PEAK + i], f[r.MODE + i] = state.anchor_peak_n, state.mode[0]
    f[r.DEVICE + i], f[r.LEAVES + i] = w[s.TOTAL + s.DEVICE], w[s.TOTAL + s.LEAVES]
    f[r.VISCOUS + i], f[r.FRICTION + i] = w[s.TOTAL + s.VISCOUS], w[s.TOTAL + s.FRICTION]
    f[r.MIXING + i], f[r.FLOWS + i] = w[s.TOTAL + s.MIXING], w[s.TOTAL + s.FLOWS]
    f[r.EDGE_PEAK + i], f[r.WRAP + i] = edge.peak_n, edge.wrap_rad
    f[r.BARE_TICK + i], f[r.BARE_TICKS + i] = edge.bare_tick, edge.bare_ticks
    f[r.SLIP + i], f[r.ENERGY + i] = edge.slip_m, edge.energy_j
    f[r.EXPOSURE + i], f[r.TRAVEL + i] = edge.exposure_j, edge.travel_m
    f[r.FLASH + i], f[r.FLASH_N + i] = edge.flash_measure, edge.flash_n
    f[r.FLASH_SPEED + i], f[r.FLASH_WRAP + i] = edge.flash_speed_m_s, edge.flash_wrap_rad
    f[r.SLIPS + i] = edge.slips
    f[r.RUN_AT + i] = edge.run_at_m
    f[r.RUN_STEEP + i], f[r.RUN_WIDE + i] = edge.run_j_m3, edge.run_contact_m
    f[r.RUN_TOTAL + i] = edge.run_j_m
    f[r.T0_1 + i], f[r.T1_1 + i] = w[s.T_START], w[s.T_START + 1]
    f[r.T0_3 + i], f[r.T1_3 + i] = w[s.T_MIDDLE], w[s.T_MIDDLE + 1]
    f[r.LAST_T0 + i], f[r.LAST_T1 + i], f[r.LAST_Q + i] = w[s.T], w[s.T + 1], w[s.Q + 1]
    f[r.Q_1 + i], f[r.Q_3 + i] = w[s.Q_START + 1], w[s.Q_MIDDLE + 1]
    f[r.E0 + i], f[r.E1 + i] = w[s.STRAIN], w[s.STRAIN + 1]
    f[r.ACTIVE + i] = 1.0


@inlined
def keep_lane(f: Floats, i: int, p: Buffers) -> None:
    """Write lane i back to its run."""
    state, w = p.state[0], p.work
    edge = p.sums[int(w[s.ROW + 1])]
    state.depth_m, state.speed_m_s, state.part_s = f[r.Y + i], f[r.V + i], f[r.PART + i]
    w[s.SPAN], w[s.SPAN + 1] = f[r.S0 + i], f[r.S1 + i]
    state.phase_tick, state.tick = int(f[r.PHASE_TICK + i]), int(f[r.TICK + i])
    state.steps = int(f[r.STEPS + i])
    state.drawn_m, state.bound_j_m = f[r.DRAWN + i], f[r.BOUND + i]
    state.peak_n, state.stretch_m = f[r.PEAK + i], f[r.STRETCH + i]
    state.anchor_peak_n, state.mode[0] = f[r.ANCHOR_PEAK + i], int(f[r.MODE + i])
    w[s.TOTAL + s.DEVICE], w[s.TOTAL + s.LEAVES] = f[r.DEVICE + i], f[r.LEAVES + i]
    w[s.TOTAL + s.VISCOUS], w[s.TOTAL + s.FRICTION] = f[r.VISCOUS + i], f[r.FRICTION + i]
    w[s.TOTAL + s.MIXING], w[s.TOTAL + s.FLOWS] = f[r.MIXING + i], f[r.FLOWS + i]
    edge.peak_n, edge.cycle_peak_n = f[r.EDGE_PEAK + i], f[r.CYCLE_PEAK + i]
    edge.wrap_rad, edge.cycle_ticks = f[r.WRAP + i], int(f[r.CYCLE_TICKS + i])
    edge.bare_tick, edge.bare_ticks = int(f[r.BARE_TICK + i]), int(f[r.BARE_TICKS + i])
    edge.cycle_friction_n, edge.slip_m = f[r.RUBBING + i], f[r.SLIP + i]
    edge.cycle_slip_m, edge.energy_j = f[r.CYCLE_SLIP + i], f[r.ENERGY + i]
    edge.exposure_j, edge.travel_m = f[r.EXPOSURE + i], f[r.TRAVEL + i]
    edge.cycle_low_m, edge.cycle_high_m = f[r.CYCLE_LOW + i], f[r.CYCLE_HIGH + i]
    edge.flash_measure, edge.flash_n = f[r.FLASH + i], f[r.FLASH_N + i]
    edge.flash_speed_m_s, edge.flash_wrap_rad = f[r.FLASH_SPEED + i], f[r.FLASH_WRAP + i]
    edge.slips = int(f[r.SLIPS + i])
    edge.pending_low, edge.pending_high = int(f[r.PENDING_LOW + i]), int(f[r.PENDING_HIGH + i])
    edge.run_way, edge.run_at_m = int(f[r.RUN_WAY + i]), f[r.RUN_AT + i]
    edge.run_j_m3, edge.run_contact_m = f[r.RUN_STEEP + i], f[r.RUN_WIDE + i]
    edge.run_j_m = f[r.RUN_TOTAL + i]
    w[s.T_START], w[s.T_START + 1] = f[r.T0_1 + i], f[r.T1_1 + i]
    w[s.T_MIDDLE], w[s.T_MIDDLE + 1] = f[r.T0_3 + i], f[r.T1_3 + i]
    w[s.T], w[s.T + 1], w[s.Q + 1] = f[r.LAST_T0 + i], f[r.LAST_T1 + i], f[r.LAST_Q + i]
    w[s.Q_START + 1], w[s.Q_MIDDLE + 1] = f[r.Q_1 + i], f[r.Q_3 + i]
    w[s.STRAIN], w[s.STRAIN + 1] = f[r.E0 + i], f[r.E1 + i]
