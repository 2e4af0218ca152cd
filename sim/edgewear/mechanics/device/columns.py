"""What a thread keeps beside its registers while it goes: a column of rows, shared memory.

A step needs more numbers than a thread has registers; what finds none lies in local memory, which
a device writes through to its second cache, and there the threads wait. So what a step only adds
to, or hardly ever needs, lies here, and is changed in place.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.device.quick_step import Fixed, Stepped
from edgewear.mechanics.step.booking import CARRIES_N
from edgewear.terms import LOADED_BEND_RAD, LOADED_N

(
    DEVICE, LEAVES, VISCOUS, FRICTION, MIXING, FLOWS,
    PEAK, ANCHOR_PEAK, HIGH, STRETCH, RUBBING, DRAWN, SLIP, CYCLE_SLIP, ENERGY, EXPOSURE, TRAVEL,
    CYCLE_LOW, CYCLE_HIGH, FLASH, FLASH_N, FLASH_SPEED, WAY, SLIPS, CARRIED, BARE, BARE_TICK,
    T00, T01, T20, T21, T30, T31, Q0, Q2, Q3, E30, E31,
    AT_Y, AT_V, AT_PART, AT_S0, AT_S1, TIME, LEFT, SIZE, TRIES, HALVES,
    ROWS,
) = range(49)  # fmt: skip
"""Sums of energy [J], of the whole run so far, so that where a go ends changes none of their bits;
what the line and its edge have seen, HIGH in this go alone; tensions, slip rates and strains of
the last step; the piece of a divided step, see `pieces`."""
BLOCK_THREADS = 128
"""Threads that share room: 48 KB for a block, so each has 48 rows."""


def column() -> Any:
    """Room for (ROWS, threads), and this thread's column of it."""
    return np.empty((ROWS, 1)), 0


def fill(b: Floats, me: int, state: Any, edge: Any, w: Floats) -> None:
    """What there is before a go."""
    b[DEVICE, me], b[LEAVES, me] = w[r.TOTAL + r.DEVICE], w[r.TOTAL + r.LEAVES]
    b[VISCOUS, me], b[FRICTION, me] = w[r.TOTAL + r.VISCOUS], w[r.TOTAL + r.FRICTION]
    b[MIXING, me], b[FLOWS, me] = w[r.TOTAL + r.MIXING], w[r.TOTAL + r.FLOWS]
    b[PEAK, me], b[ANCHOR_PEAK, me], b[HIGH, me] = state.peak_n, state.anchor_peak_n, 0.0
    b[STRETCH, me], b[RUBBING, me] = state.stretch_m, edge.cycle_friction_n
    b[DRAWN, me], b[SLIP, me], b[CYCLE_SLIP, me] = state.drawn_m, edge.slip_m, edge.cycle_slip_m
    b[ENERGY, me], b[EXPOSURE, me], b[TRAVEL, me] = edge.energy_j, edge.exposure_j, edge.travel_m
    b[CYCLE_LOW, me], b[CYCLE_HIGH, me] = edge.cycle_low_m, edge.cycle_high_m
    b[FLASH, me], b[FLASH_N, me] = edge.flash_measure, edge.flash_n
    b[FLASH_SPEED, me], b[WAY, me] = edge.flash_speed_m_s, state.mode[0]
    b[SLIPS, me], b[CARRIED, me], b[BARE, me] = 0.0, 0.0, 0.0
    b[BARE_TICK, me] = edge.bare_tick


def book(
    f: Fixed, b: Floats, me: int, m: Stepped, tick: int, ticks: int, stretched_m: float
) -> None:
    """Add a step that began at `tick`."""
    _book_flows(b, me, m)
    _book_line(f, b, me, m, tick, ticks, stretched_m)
    way = 0.0
    if m.path > 0.0:
        way = 1.0 if m.dq > 0.0 else -1.0
        _book_slip(b, me, m)
        if way != b[WAY, me]:
            b[SLIPS, me] += 1.0
    b[WAY, me] = way


def _book_flows(b: Floats, me: int, m: Stepped) -> None:
    """Energies, and the step's last state."""
    b[DEVICE, me] += m.device
    b[LEAVES, me] += m.leaves
    b[VISCOUS, me] += m.viscous
    b[FRICTION, me] += m.energy
    b[MIXING, me] += m.mixing
    b[FLOWS, me] += abs(m.device) + abs(m.leaves) + abs(m.viscous) + abs(m.energy) + abs(m.mixing)
    b[T00, me], b[T01, me], b[T20, me], b[T21, me] = m.t00, m.t01, m.t20, m.t21
    b[T30, me], b[T31, me], b[E30, me], b[E31, me] = m.t30, m.t31, m.e30, m.e31
    b[Q0, me], b[Q2, me], b[Q3, me] = m.q0, m.q2, m.q3


def _book_line(
    f: Fixed, b: Floats, me: int, m: Stepped, tick: int, ticks: int, stretched_m: float
) -> None:
    """Peaks, and times under load."""
    high = max(max(m.t00, m.t01), max(m.t20, m.t21))
    b[PEAK, me] = max(b[PEAK, me], high)
    b[HIGH, me] = max(b[HIGH, me], high)
    b[ANCHOR_PEAK, me] = max(b[ANCHOR_PEAK, me], max(m.t00, m.t20))
    b[STRETCH, me] = max(b[STRETCH, me], stretched_m)
    b[RUBBING, me] = max(b[RUBBING, me], abs(m.t01 - m.t00))
    b[DRAWN, me] += m.dd
    if high > CARRIES_N:
        b[CARRIED, me] += ticks
        if high > LOADED_N and f.bend > LOADED_BEND_RAD:
            if b[BARE_TICK, me] < 0.0:
                b[BARE_TICK, me] = tick
            b[BARE, me] += ticks


def _book_slip(b: Floats, me: int, m: Stepped) -> None:
    """Sliding over the edge."""
    b[SLIP, me] += m.path
    b[CYCLE_SLIP, me] += m.path
    b[ENERGY, me] += m.energy
    b[EXPOSURE, me] += m.worn
    travel = b[TRAVEL, me] + m.dq
    b[TRAVEL, me] = travel
    b[CYCLE_LOW, me] = min(b[CYCLE_LOW, me], travel)
    b[CYCLE_HIGH, me] = max(b[CYCLE_HIGH, me], travel)
    _book_flash(b, me, abs(m.t01 - m.t00), abs(m.q0) * (1.0 + m.e31))
    _book_flash(b, me, abs(m.t21 - m.t20), abs(m.q2) * (1.0 + m.e31))


def _book_flash(b: Floats, me: int, friction_n: float, speed: float) -> None:
    """The hottest moment."""
    measure = friction_n * friction_n * speed
    if measure > b[FLASH, me]:
        b[FLASH, me], b[FLASH_N, me], b[FLASH_SPEED, me] = measure, friction_n, speed


def keep(b: Floats, me: int, state: Any, edge: Any, w: Floats, bend: float) -> None:
    """Write what was added to the state, the edge and the scratch array."""
    w[r.TOTAL + r.DEVICE], w[r.TOTAL + r.LEAVES] = b[DEVICE, me], b[LEAVES, me]
    w[r.TOTAL + r.VISCOUS], w[r.TOTAL + r.FRICTION] = b[VISCOUS, me], b[FRICTION, me]
    w[r.TOTAL + r.MIXING], w[r.TOTAL + r.FLOWS] = b[MIXING, me], b[FLOWS, me]
    w[r.T_START], w[r.T_START + 1], w[r.Q_START + 1] = b[T00, me], b[T01, me], b[Q0, me]
    w[r.T_MIDDLE], w[r.T_MIDDLE + 1], w[r.Q_MIDDLE + 1] = b[T20, me], b[T21, me], b[Q2, me]
    w[r.T], w[r.T + 1], w[r.Q + 1] = b[T30, me], b[T31, me], b[Q3, me]
    w[r.STRAIN], w[r.STRAIN + 1] = b[E30, me], b[E31, me]
    state.peak_n, state.anchor_peak_n = b[PEAK, me], b[ANCHOR_PEAK, me]
    state.stretch_m, state.drawn_m, state.mode[0] = b[STRETCH, me], b[DRAWN, me], int(b[WAY, me])
    _keep_edge(b, me, edge, bend)


def _keep_edge(b: Floats, me: int, edge: Any, bend: float) -> None:
    edge.peak_n = max(edge.peak_n, b[HIGH, me])
    edge.cycle_peak_n = max(edge.cycle_peak_n, b[HIGH, me])
    if b[CARRIED, me] > 0.0:
        edge.wrap_rad = max(edge.wrap_rad, bend)
    edge.cycle_ticks += int(b[CARRIED, me])
    edge.bare_tick = int(b[BARE_TICK, me])
    edge.bare_ticks += int(b[BARE, me])
    edge.cycle_friction_n = b[RUBBING, me]
    edge.slip_m, edge.cycle_slip_m = b[SLIP, me], b[CYCLE_SLIP, me]
    edge.energy_j, edge.exposure_j, edge.travel_m = b[ENERGY, me], b[EXPOSURE, me], b[TRAVEL, me]
    edge.cycle_low_m, edge.cycle_high_m = b[CYCLE_LOW, me], b[CYCLE_HIGH, me]
    if b[FLASH, me] > edge.flash_measure:
        edge.flash_measure, edge.flash_n = b[FLASH, me], b[FLASH_N, me]
        edge.flash_speed_m_s, edge.flash_wrap_rad = b[FLASH_SPEED, me], bend
    edge.slips += int(b[SLIPS, me])
