"""Steps of a taut line over one edge in the registers of a device, many in one go.

The flow function is that of the scalar step (`step.flow`), the scheme and what is booked too. What
these steps cannot do is left to the general step: another contact set, a rope without tension, a
device that slips. A step that leaves too much of the balance open is made in `pieces`.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Buffers, Floats
from edgewear.mechanics.device.field import LARGEST, WORKS
from edgewear.mechanics.device.pieces import (
    MOST_PIECES,
    NOTHING_S,
    TRIED,
    WHOLE,
    further,
    opened,
    tried,
    whole,
)
from edgewear.mechanics.device.quick_step import (
    Fixed,
    Line,
    Stepped,
    Worn,
    after,
    later,
    stands,
    stepped,
    too_open,
    wears,
)
from edgewear.mechanics.movement.limits import END_S, GIVES_UP_TICKS
from edgewear.mechanics.step.booking import CARRIES_N
from edgewear.mechanics.step.one_edge_step import is_single, taut_line
from edgewear.mechanics.wear.exposure_bound import forget_slides
from edgewear.mechanics.wear.wear import window_m
from edgewear.terms import LOADED_BEND_RAD, LOADED_N

MOST_STEPS = 32
"""Steps taken in one go at most.

Threads in step with each other wait until the last of them has ended its go: one that has a phase
to begin for so many steps. On an H200, reference ascents a second: 449,000 with goes of 20 steps,
478,000 of 32.
"""


def takes(state: Any, w: Floats, half: int, field: Floats) -> Any:
    """Whether these steps may be tried: taut, over one edge, the bend given, no work in place."""
    if not is_single(state.count, state.phase, w):
        return False
    if w[r.REGIME_P + r.FIXED_BEND] == 0.0 or w[r.REGIME_P + r.OUT] != 0.0:
        return False
    if state.phase == r.WAIT or state.phase == r.STILL or field[half - WORKS] != 0.0:
        return False
    window = window_m(w[r.RADIUS + 1], w[r.BEND + 1], w[r.REGIME_P + r.DIAMETER])
    return window == w[r.WINDOW + 1]


class Flows(NamedTuple):
    """Sums over all steps of a line so far [J]: where a go ends changes none of their bits."""

    device: float
    leaves: float
    viscous: float
    friction: float
    mixing: float
    all: float


class Seen(NamedTuple):
    """What the line and its edge have seen, with the sums over all steps so far."""

    peak: float
    anchor_peak: float
    high_peak: float  # of this go
    stretch_m: float
    rubbing: float
    drawn_m: float
    slip_m: float
    cycle_slip_m: float
    energy_j: float
    exposure_j: float
    travel: float
    cycle_low: float
    cycle_high: float
    flash: float
    flash_n: float
    flash_speed: float
    way: int
    slips: int
    carried: int
    bare: int
    bare_tick: int


def fixed_of(p: Buffers) -> Any:
    """What stays as it is, from the scratch array and the line."""
    state, w = p.state[0], p.work
    phase = state.phase
    per_cell = w[r.REGIME_P + r.PER_CELL]
    return Fixed(
        phase, phase == r.RISE, phase == r.RISE or phase == r.DROP, w[r.PHASE_P + r.RATE_P],
        w[r.PHASE_P + r.PER_DURATION], w[r.PHASE_P + r.DURATION], w[r.PHASE_P + r.RAMP],
        w[r.RATIO + 1], w[r.REGIME_P + r.POINT], w[r.REGIME_P + r.OFFSET_M],
        w[r.LINE_P + r.BODY_M], w[r.LINE_P + r.MASS], w[r.REGIME_P + r.LOW],
        w[r.REGIME_P + r.HIGH], w[r.BEND + 1], per_cell, w[r.WINDOW + 1] * per_cell, p.cells[1],
        state.anchor_at_m,
    )  # fmt: skip


def seen_before(state: Any, edge: Any) -> Any:
    """What has been seen up to here."""
    return Seen(
        state.peak_n, state.anchor_peak_n, 0.0, state.stretch_m, edge.cycle_friction_n,
        state.drawn_m, edge.slip_m, edge.cycle_slip_m, edge.energy_j, edge.exposure_j,
        edge.travel_m, edge.cycle_low_m, edge.cycle_high_m, edge.flash_measure, edge.flash_n,
        edge.flash_speed_m_s, state.mode[0], 0, 0, 0, edge.bare_tick,
    )  # fmt: skip


def line_before(state: Any, w: Floats) -> Any:
    """The line as it is."""
    return Line(
        state.depth_m, state.speed_m_s, state.part_s, w[r.SPAN], w[r.SPAN + 1],
        state.phase_tick, state.tick,
    )  # fmt: skip


def stepped_before(w: Floats) -> Any:
    """Tensions, slip rates and strains of the step before, as the scratch array has them."""
    return Stepped(
        True, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, w[r.T_START],
        w[r.T_START + 1], w[r.T_MIDDLE], w[r.T_MIDDLE + 1], w[r.T], w[r.T + 1], w[r.Q_START + 1],
        w[r.Q_MIDDLE + 1], w[r.Q + 1], w[r.STRAIN], w[r.STRAIN + 1],
    )  # fmt: skip


def flows_before(w: Floats) -> Any:
    """The sums up to here, from the scratch array."""
    return Flows(
        w[r.TOTAL + r.DEVICE], w[r.TOTAL + r.LEAVES], w[r.TOTAL + r.VISCOUS],
        w[r.TOTAL + r.FRICTION], w[r.TOTAL + r.MIXING], w[r.TOTAL + r.FLOWS],
    )  # fmt: skip


def flowed(so_far: Flows, m: Stepped) -> Any:
    """The sums with a step's energies."""
    size = abs(m.device) + abs(m.leaves) + abs(m.viscous) + abs(m.energy) + abs(m.mixing)
    return Flows(
        so_far.device + m.device, so_far.leaves + m.leaves, so_far.viscous + m.viscous,
        so_far.friction + m.energy, so_far.mixing + m.mixing, so_far.all + size,
    )  # fmt: skip


def seen_after(f: Fixed, b: Seen, m: Stepped, tick: int, ticks: int, stretched_m: float) -> Any:
    """What has been seen after a step that began at `tick`."""
    way = 0
    if m.path > 0.0:
        way = 1 if m.dq > 0.0 else -1
    high = max(max(m.t00, m.t01), max(m.t20, m.t21))
    carried, bare, bare_tick = b.carried, b.bare, b.bare_tick
    if high > CARRIES_N:
        carried += ticks
        if high > LOADED_N and f.bend > LOADED_BEND_RAD:
            if bare_tick < 0:
                bare_tick = tick
            bare += ticks
    slip_m, cycle_slip_m, exposure_j = b.slip_m, b.cycle_slip_m, b.exposure_j
    travel, slips = b.travel, b.slips
    cycle_low, cycle_high = b.cycle_low, b.cycle_high
    flash, flash_n, flash_speed = b.flash, b.flash_n, b.flash_speed
    if way != 0:
        slip_m += m.path
        cycle_slip_m += m.path
        exposure_j += m.worn
        travel += m.dq
        cycle_low = min(cycle_low, travel)
        cycle_high = max(cycle_high, travel)
        speed0 = abs(m.q0) * (1.0 + m.e31)
        measure0 = (m.t01 - m.t00) * (m.t01 - m.t00) * speed0
        speed2 = abs(m.q2) * (1.0 + m.e31)
        measure2 = (m.t21 - m.t20) * (m.t21 - m.t20) * speed2
        if measure0 > flash:
            flash, flash_n, flash_speed = measure0, abs(m.t01 - m.t00), speed0
        if measure2 > flash:
            flash, flash_n, flash_speed = measure2, abs(m.t21 - m.t20), speed2
        if way != b.way:
            slips += 1
    return Seen(
        max(b.peak, high), max(b.anchor_peak, max(m.t00, m.t20)), max(b.high_peak, high),
        max(b.stretch_m, stretched_m), max(b.rubbing, abs(m.t01 - m.t00)), b.drawn_m + m.dd,
        slip_m, cycle_slip_m, b.energy_j + m.energy, exposure_j, travel, cycle_low, cycle_high,
        flash, flash_n, flash_speed, way, slips, carried, bare, bare_tick,
    )  # fmt: skip


def keep_line(p: Buffers, line: Line, count: int, halves: int, m: Stepped, sums: Flows) -> None:
    """Write the line to its state and to the scratch array."""
    state, w = p.state[0], p.work
    state.depth_m, state.speed_m_s, state.part_s = line.y, line.v, line.part_s
    state.phase_tick, state.tick = line.phase_tick, line.tick
    state.steps += count
    state.substeps += halves
    w[r.SPAN], w[r.SPAN + 1] = line.s0, line.s1
    w[r.TOTAL + r.DEVICE] = sums.device
    w[r.TOTAL + r.LEAVES] = sums.leaves
    w[r.TOTAL + r.VISCOUS] = sums.viscous
    w[r.TOTAL + r.FRICTION] = sums.friction
    w[r.TOTAL + r.MIXING] = sums.mixing
    w[r.TOTAL + r.FLOWS] = sums.all
    w[r.T_START], w[r.T_START + 1], w[r.Q_START + 1] = m.t00, m.t01, m.q0
    w[r.T_MIDDLE], w[r.T_MIDDLE + 1], w[r.Q_MIDDLE + 1] = m.t20, m.t21, m.q2
    w[r.T], w[r.T + 1], w[r.Q + 1] = m.t30, m.t31, m.q3
    w[r.STRAIN], w[r.STRAIN + 1] = m.e30, m.e31


def keep_seen(p: Buffers, b: Seen, bend: float, worn: Worn) -> None:
    """Write what was seen and worn to the state and to the edge."""
    state, edge, field = p.state[0], p.sums[0], p.pending[0]
    state.peak_n, state.anchor_peak_n, state.stretch_m = b.peak, b.anchor_peak, b.stretch_m
    state.drawn_m = b.drawn_m
    state.mode[0] = b.way
    edge.peak_n = max(edge.peak_n, b.high_peak)
    edge.cycle_peak_n = max(edge.cycle_peak_n, b.high_peak)
    if b.carried > 0:
        edge.wrap_rad = max(edge.wrap_rad, bend)
    edge.cycle_ticks += b.carried
    edge.bare_tick = b.bare_tick
    edge.bare_ticks += b.bare
    edge.cycle_friction_n = b.rubbing
    edge.slip_m, edge.cycle_slip_m = b.slip_m, b.cycle_slip_m
    edge.energy_j, edge.exposure_j = b.energy_j, b.exposure_j
    edge.travel_m, edge.cycle_low_m, edge.cycle_high_m = b.travel, b.cycle_low, b.cycle_high
    if b.flash > edge.flash_measure:
        edge.flash_measure, edge.flash_n = b.flash, b.flash_n
        edge.flash_speed_m_s, edge.flash_wrap_rad = b.flash_speed, bend
    edge.slips += b.slips
    edge.pending_low, edge.pending_high = worn.first, worn.last
    field[field.shape[0] // 2 - LARGEST] = worn.worst
    state.bound_j_m = worn.worst
    forget_slides(p.sums)


class Search(NamedTuple):
    """The search for the tick at which a rise is over, as `advance.shorten`; high 0: none."""

    low: int  # ticks after which it is not over yet
    high: int  # ticks after which it is
    guess: int  # to be tried next
    last: bool  # the next try is the step


def nearer(s: Search, ticks: int, start: float, value: float) -> Any:
    """The search after a try of so many ticks; progress past the end before it and after it."""
    low, high, guess = s.low, s.high, ticks
    if high == 0:
        if value < 0.0:
            return s
        high = ticks
        if value > start:
            guess = int(math.ceil(ticks * (-start) / (value - start)))  # noqa: RUF046 (a float there)
    elif value >= 0.0:
        high = ticks
        guess = ticks - 1
    else:
        low = ticks
        guess = ticks + 1
    if high - low <= 1:
        return Search(low, high, high, True)
    return Search(low, high, min(max(guess, low + 1), high - 1), False)


def quick_steps(p: Buffers) -> Any:
    """Take steps until something has to be looked at; returns (how many, within the cells)."""
    state, field = p.state[0], p.pending[0]
    count, inside = 0, True
    if state.count == 1 and state.loaded != 0 and takes(state, p.work, field.shape[0] // 2, field):
        count, inside = _go(p)
    return count, inside


def _go(p: Buffers) -> Any:
    """Steps in one go."""
    state, w, edge, field = p.state[0], p.work, p.sums[0], p.pending[0]
    half = field.shape[0] // 2
    c, f = taut_line(w), fixed_of(p)
    room_m = p.line[0].rope_m - state.anchor_at_m
    over_s = state.rise_s - END_S
    line = line_before(state, w)
    seen, last, sums = seen_before(state, edge), stepped_before(w), flows_before(w)
    worn = Worn(field[half - LARGEST], edge.pending_low, edge.pending_high, True)
    search = Search(0, 0, 0, False)
    pieces = whole(line, 0.0, 0.0)
    count = halves = 0
    while count < MOST_STEPS:
        ticks = state.step_ticks
        if state.phase_end >= 0:
            ticks = min(ticks, state.phase_end - line.phase_tick)
        if ticks <= 0:
            break
        ends = f.limited and line.part_s + ticks * TICK_S > over_s - END_S
        if search.high > 0:
            ticks = search.guess
        begin_s, length_s = line.phase_tick * TICK_S, ticks * TICK_S
        if pieces.way == WHOLE:
            pieces = whole(line, begin_s, length_s)
        made = stepped(f, c, pieces.at, pieces.time_s, pieces.size_s, w)
        new = after(pieces.at, made)
        if ends and not search.last and pieces.way == WHOLE:
            search = nearer(search, ticks, line.part_s - over_s, new.part_s - over_s)
            if search.high > 0:
                continue
        if not stands(f, new, made) or pieces.tries > MOST_PIECES:
            break
        if too_open(f, c, pieces.at, new, made, pieces.size_s):
            pieces = opened(pieces, line, begin_s, length_s)
            continue
        if pieces.way == TRIED:
            pieces = tried(pieces, new, line, begin_s, length_s)
            continue
        if made.worn > 0.0:
            worn = wears(f, field, line.s0, made, worn)
        stretched_m = made.e30 * new.s0 + made.e31 * new.s1
        unbooked = ticks if pieces.left_s == length_s else 0  # with the first piece
        seen = seen_after(f, seen, made, line.tick, unbooked, stretched_m)
        sums, line, last = flowed(sums, made), new, made
        pieces = further(pieces, new)
        if pieces.left_s > NOTHING_S:
            continue
        line, count, halves = later(line, ticks), count + 1, halves + pieces.halves
        pieces = whole(line, 0.0, 0.0)
        search = Search(0, 0, 0, False)
        if worn.worst >= state.rescan_j_m or seen.peak > state.holds_n or not worn.inside:
            break
        if line.s0 + line.s1 > room_m:
            break
        if f.limited and (line.part_s >= over_s or line.phase_tick > GIVES_UP_TICKS):
            break
    if count > 0:
        keep_line(p, line, count, halves, last, sums)
        keep_seen(p, seen, f.bend, worn)
    return count, worn.inside
