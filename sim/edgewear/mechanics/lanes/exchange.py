"""Into the lanes and out again: which steps they can take, and copying a line's numbers."""

from __future__ import annotations

import math
from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit
from edgewear.mechanics.lanes import rows as a
from edgewear.mechanics.movement.limits import END_S
from edgewear.mechanics.movement.status import SLACK
from edgewear.mechanics.step.one_edge_step import is_single
from edgewear.mechanics.wear.wear import window_m

LANES = a.LANES
WORTH_STEPS = 3
"""Steps left in a phase below which copying costs more than the lanes save."""


@njit
def for_lanes(k: int, state: Any, w: Floats) -> Any:
    """Whether lanes can take the next step, of k ticks: taut, over one edge, the bend given."""
    if not is_single(state.count, state.phase, w):
        return False
    if w[r.REGIME_P + r.FIXED_BEND] == 0.0 or w[r.REGIME_P + r.OUT] != 0.0:
        return False
    if state.phase == r.WAIT or state.phase == r.STILL:
        return False
    ahead = WORTH_STEPS * k
    if state.phase == r.RISE:
        if state.part_s + ahead * TICK_S > state.rise_s - 2.0 * END_S:
            return False
    elif state.phase_end - state.phase_tick < ahead:
        return False
    window = window_m(w[r.RADIUS + 1], w[r.BEND + 1], w[r.REGIME_P + r.DIAMETER])
    return window == w[r.WINDOW + 1]


@njit
def fill_constants(i: int, x: Floats, state: Any, w: Floats, line: Any, most_steps: int) -> None:
    """Write what stays in a phase to lane i."""
    x[LANES * a.K + i] = w[r.LINE_P + r.K]
    x[LANES * a.K_TAU + i] = w[r.LINE_P + r.K_TAU]
    x[LANES * a.ABOVE + i] = w[r.FREE]
    x[LANES * a.GRAVITY + i] = w[r.LINE_P + r.GRAVITY]
    x[LANES * a.PER_MASS + i] = w[r.REGIME_P + r.PER_MASS]
    x[LANES * a.WEIGHT_N + i] = w[r.LINE_P + r.WEIGHT_N]
    x[LANES * a.FULL_N + i] = w[r.LINE_P + r.FULL_N]
    x[LANES * a.PER_RANGE + i] = w[r.REGIME_P + r.PER_RANGE]
    x[LANES * a.CAP_N + i] = w[r.LINE_P + r.CAP_N]
    x[LANES * a.LAW + i] = w[r.LINE_P + r.LAW]
    x[LANES * a.COLD + i] = w[r.LINE_P + r.COLD]
    x[LANES * a.PER_SPEED + i] = w[r.LINE_P + r.PER_SPEED]
    x[LANES * a.THRESHOLD + i] = w[r.LINE_P + r.THRESHOLD]
    x[LANES * a.GAIN + i] = w[r.GAIN + 1]
    x[LANES * a.SEVERITY + i] = w[r.SEVERITY + 1]
    x[LANES * a.AREA + i] = w[r.AREA + 1]
    x[LANES * a.POINT + i] = w[r.REGIME_P + r.POINT]
    x[LANES * a.EXTRA + i] = w[r.LINE_P + r.BODY_M] - w[r.REGIME_P + r.OFFSET_M]
    x[LANES * a.RATIO + i] = w[r.RATIO + 1]
    x[LANES * a.BODY_M + i] = w[r.LINE_P + r.BODY_M]
    x[LANES * a.LOW + i] = w[r.REGIME_P + r.LOW]
    x[LANES * a.HIGH + i] = w[r.REGIME_P + r.HIGH]
    x[LANES * a.BEND + i] = w[r.BEND + 1]
    x[LANES * a.WINDOW + i] = w[r.WINDOW + 1]
    x[LANES * a.ROPE_M + i] = line.rope_m
    x[LANES * a.LIMITED + i] = 1.0 if state.phase == r.RISE else 0.0
    x[LANES * a.RAMPS + i] = 1.0 if state.phase == r.PAYOUT else 0.0
    x[LANES * a.RATE + i] = w[r.PHASE_P + r.RATE_P]
    x[LANES * a.PER_DURATION + i] = w[r.PHASE_P + r.PER_DURATION]
    x[LANES * a.DURATION + i] = w[r.PHASE_P + r.DURATION]
    x[LANES * a.RAMP + i] = w[r.PHASE_P + r.RAMP]
    x[LANES * a.STEP_TICKS + i] = state.step_ticks
    x[LANES * a.PHASE_END + i] = state.phase_end if state.phase_end >= 0 else math.inf
    x[LANES * a.RISE_S + i] = state.rise_s
    x[LANES * a.RESCAN + i] = state.rescan_j_m
    x[LANES * a.HOLDS_N + i] = state.holds_n
    x[LANES * a.MOST_STEPS + i] = most_steps


@njit
def fill_state(i: int, x: Floats, state: Any, w: Floats) -> None:
    """Write the line's state to lane i."""
    x[LANES * a.Y + i] = state.depth_m
    x[LANES * a.V + i] = state.speed_m_s
    x[LANES * a.PART + i] = state.part_s
    x[LANES * a.SPAN_0 + i] = w[r.SPAN]
    x[LANES * a.SPAN_1 + i] = w[r.SPAN + 1]
    x[LANES * a.PHASE_TICK + i] = state.phase_tick
    x[LANES * a.TICK + i] = state.tick
    x[LANES * a.STEPS + i] = state.steps
    x[LANES * a.PEAK + i] = state.peak_n
    x[LANES * a.ANCHOR_PEAK + i] = state.anchor_peak_n
    x[LANES * a.STRETCH + i] = state.stretch_m
    x[LANES * a.ANCHOR_AT + i] = state.anchor_at_m
    x[LANES * a.DRAWN + i] = state.drawn_m
    x[LANES * a.BOUND + i] = state.bound_j_m
    x[LANES * a.MODE + i] = state.mode[0]
    x[LANES * a.DEVICE + i] = w[r.TOTAL + r.DEVICE]
    x[LANES * a.LEAVES + i] = w[r.TOTAL + r.LEAVES]
    x[LANES * a.VISCOUS + i] = w[r.TOTAL + r.VISCOUS]
    x[LANES * a.FRICTION + i] = w[r.TOTAL + r.FRICTION]
    x[LANES * a.MIXING + i] = w[r.TOTAL + r.MIXING]
    x[LANES * a.FLOWS + i] = w[r.TOTAL + r.FLOWS]
    x[LANES * a.START_0 + i] = w[r.T_START]
    x[LANES * a.START_1 + i] = w[r.T_START + 1]
    x[LANES * a.START_Q + i] = w[r.Q_START + 1]
    x[LANES * a.MIDDLE_0 + i] = w[r.T_MIDDLE]
    x[LANES * a.MIDDLE_1 + i] = w[r.T_MIDDLE + 1]
    x[LANES * a.MIDDLE_Q + i] = w[r.Q_MIDDLE + 1]
    x[LANES * a.END_0 + i] = w[r.T]
    x[LANES * a.END_1 + i] = w[r.T + 1]
    x[LANES * a.END_Q + i] = w[r.Q + 1]
    x[LANES * a.STRAIN_0 + i] = w[r.STRAIN]
    x[LANES * a.STRAIN_1 + i] = w[r.STRAIN + 1]


@njit
def fill_edge(i: int, x: Floats, edge: Any) -> None:
    """Write the edge's sums to lane i."""
    x[LANES * a.EDGE_PEAK + i] = edge.peak_n
    x[LANES * a.CYCLE_PEAK + i] = edge.cycle_peak_n
    x[LANES * a.WRAP + i] = edge.wrap_rad
    x[LANES * a.CYCLE_TICKS + i] = edge.cycle_ticks
    x[LANES * a.BARE_TICK + i] = edge.bare_tick
    x[LANES * a.BARE_TICKS + i] = edge.bare_ticks
    x[LANES * a.CYCLE_FRICTION + i] = edge.cycle_friction_n
    x[LANES * a.SLIP + i] = edge.slip_m
    x[LANES * a.CYCLE_SLIP + i] = edge.cycle_slip_m
    x[LANES * a.ENERGY + i] = edge.energy_j
    x[LANES * a.EXPOSURE + i] = edge.exposure_j
    x[LANES * a.TRAVEL + i] = edge.travel_m
    x[LANES * a.CYCLE_LOW + i] = edge.cycle_low_m
    x[LANES * a.CYCLE_HIGH + i] = edge.cycle_high_m
    x[LANES * a.FLASH + i] = edge.flash_measure
    x[LANES * a.FLASH_N + i] = edge.flash_n
    x[LANES * a.FLASH_SPEED + i] = edge.flash_speed_m_s
    x[LANES * a.FLASH_WRAP + i] = edge.flash_wrap_rad
    x[LANES * a.SLIPS + i] = edge.slips
    x[LANES * a.RUN_WAY + i] = edge.run_way
    x[LANES * a.RUN_AT + i] = edge.run_at_m
    x[LANES * a.RUN_STEEP + i] = edge.run_j_m3
    x[LANES * a.RUN_WIDE + i] = edge.run_contact_m
    x[LANES * a.RUN_TOTAL + i] = edge.run_j_m


@njit
def read_state(i: int, x: Floats, state: Any, w: Floats) -> None:
    """Read the line's state back from lane i."""
    state.depth_m = x[LANES * a.Y + i]
    state.speed_m_s = x[LANES * a.V + i]
    state.part_s = x[LANES * a.PART + i]
    w[r.SPAN] = x[LANES * a.SPAN_0 + i]
    w[r.SPAN + 1] = x[LANES * a.SPAN_1 + i]
    state.phase_tick = int(x[LANES * a.PHASE_TICK + i])
    state.tick = int(x[LANES * a.TICK + i])
    state.steps = int(x[LANES * a.STEPS + i])
    state.peak_n = x[LANES * a.PEAK + i]
    state.anchor_peak_n = x[LANES * a.ANCHOR_PEAK + i]
    state.stretch_m = x[LANES * a.STRETCH + i]
    state.drawn_m = x[LANES * a.DRAWN + i]
    state.bound_j_m = x[LANES * a.BOUND + i]
    state.mode[0] = int(x[LANES * a.MODE + i])
    state.raised &= ~SLACK
    w[r.TOTAL + r.DEVICE] = x[LANES * a.DEVICE + i]
    w[r.TOTAL + r.LEAVES] = x[LANES * a.LEAVES + i]
    w[r.TOTAL + r.VISCOUS] = x[LANES * a.VISCOUS + i]
    w[r.TOTAL + r.FRICTION] = x[LANES * a.FRICTION + i]
    w[r.TOTAL + r.MIXING] = x[LANES * a.MIXING + i]
    w[r.TOTAL + r.FLOWS] = x[LANES * a.FLOWS + i]
    w[r.T_START] = x[LANES * a.START_0 + i]
    w[r.T_START + 1] = x[LANES * a.START_1 + i]
    w[r.Q_START + 1] = x[LANES * a.START_Q + i]
    w[r.T_MIDDLE] = x[LANES * a.MIDDLE_0 + i]
    w[r.T_MIDDLE + 1] = x[LANES * a.MIDDLE_1 + i]
    w[r.Q_MIDDLE + 1] = x[LANES * a.MIDDLE_Q + i]
    w[r.T] = x[LANES * a.END_0 + i]
    w[r.T + 1] = x[LANES * a.END_1 + i]
    w[r.Q + 1] = x[LANES * a.END_Q + i]
    w[r.STRAIN] = x[LANES * a.STRAIN_0 + i]
    w[r.STRAIN + 1] = x[LANES * a.STRAIN_1 + i]


@njit
def read_edge(i: int, x: Floats, edge: Any) -> None:
    """Read the edge's sums back from lane i."""
    edge.peak_n = x[LANES * a.EDGE_PEAK + i]
    edge.cycle_peak_n = x[LANES * a.CYCLE_PEAK + i]
    edge.wrap_rad = x[LANES * a.WRAP + i]
    edge.cycle_ticks = int(x[LANES * a.CYCLE_TICKS + i])
    edge.bare_tick = int(x[LANES * a.BARE_TICK + i])
    edge.bare_ticks = int(x[LANES * a.BARE_TICKS + i])
    edge.cycle_friction_n = x[LANES * a.CYCLE_FRICTION + i]
    edge.slip_m = x[LANES * a.SLIP + i]
    edge.cycle_slip_m = x[LANES * a.CYCLE_SLIP + i]
    edge.energy_j = x[LANES * a.ENERGY + i]
    edge.exposure_j = x[LANES * a.EXPOSURE + i]
    edge.travel_m = x[LANES * a.TRAVEL + i]
    edge.cycle_low_m = x[LANES * a.CYCLE_LOW + i]
    edge.cycle_high_m = x[LANES * a.CYCLE_HIGH + i]
    edge.flash_measure = x[LANES * a.FLASH + i]
    edge.flash_n = x[LANES * a.FLASH_N + i]
    edge.flash_speed_m_s = x[LANES * a.FLASH_SPEED + i]
    edge.flash_wrap_rad = x[LANES * a.FLASH_WRAP + i]
    edge.slips = int(x[LANES * a.SLIPS + i])
    edge.run_way = int(x[LANES * a.RUN_WAY + i])
    edge.run_at_m = x[LANES * a.RUN_AT + i]
    edge.run_j_m3 = x[LANES * a.RUN_STEEP + i]
    edge.run_contact_m = x[LANES * a.RUN_WIDE + i]
    edge.run_j_m = x[LANES * a.RUN_TOTAL + i]
