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
from edgewear.mechanics.device.columns import HALVES, LEFT, PEAK, TRIES, book, column, fill, keep
from edgewear.mechanics.device.field import LARGEST, WORKS
from edgewear.mechanics.device.pieces import (
    MOST_PIECES,
    NOTHING_S,
    TRIED,
    WHOLE,
    further,
    opened,
    piece,
    tried,
)
from edgewear.mechanics.device.quick_step import (
    Fixed,
    Line,
    Worn,
    after,
    later,
    stands,
    stepped,
    too_open,
    wears,
)
from edgewear.mechanics.movement.limits import END_S, GIVES_UP_TICKS
from edgewear.mechanics.step.one_edge_step import is_single, taut_line
from edgewear.mechanics.wear.exposure_bound import forget_slides
from edgewear.mechanics.wear.wear import window_m


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


def fixed_of(p: Buffers) -> Any:
    """What stays as it is, from the scratch array and the line."""
    state, w = p.state[0], p.work
    phase = state.phase
    per_cell = w[r.REGIME_P + r.PER_CELL]
    return Fixed(
        phase, phase == r.RISE, phase == r.RISE or phase == r.DROP, w[r.PHASE_P + r.RATE_P],
        w[r.PHASE_P + r.PER_DURATION], w[r.PHASE_P + r.DURATION], w[r.PHASE_P + r.PER_RAMP],
        w[r.RATIO + 1], 1.0 / w[r.RATIO + 1], w[r.REGIME_P + r.POINT], w[r.REGIME_P + r.OFFSET_M],
        w[r.LINE_P + r.BODY_M], w[r.LINE_P + r.MASS], w[r.REGIME_P + r.LOW],
        w[r.REGIME_P + r.HIGH], w[r.BEND + 1], per_cell, w[r.WINDOW + 1] * per_cell, p.cells[1],
        state.anchor_at_m,
    )  # fmt: skip


def line_before(state: Any, w: Floats) -> Any:
    """The line as it is."""
    return Line(
        state.depth_m, state.speed_m_s, state.part_s, w[r.SPAN], w[r.SPAN + 1],
        state.phase_tick, state.tick,
    )  # fmt: skip


def keep_line(p: Buffers, line: Line, count: int, halves: int, worn: Worn) -> None:
    """Write the line and where it is worn to its state, its edge and the scratch array."""
    state, w, edge, field = p.state[0], p.work, p.sums[0], p.pending[0]
    state.depth_m, state.speed_m_s, state.part_s = line.y, line.v, line.part_s
    state.phase_tick, state.tick = line.phase_tick, line.tick
    state.steps += count
    state.substeps += halves
    w[r.SPAN], w[r.SPAN + 1] = line.s0, line.s1
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


def _ends(f: Fixed, state: Any, line: Line, over_s: float) -> Any:
    """Whether the phase is at its end."""
    if f.limited and (line.part_s >= over_s or line.phase_tick > GIVES_UP_TICKS):
        return True
    return state.phase_end >= 0 and line.phase_tick >= state.phase_end


def _looks(state: Any, line: Line, worn: Worn, peak_n: float, room_m: float) -> Any:
    """Whether something has to be looked at."""
    due = worn.worst >= state.rescan_j_m or peak_n > state.holds_n
    return due or not worn.inside or line.s0 + line.s1 > room_m


def _go(p: Buffers) -> Any:
    """Steps in one go."""
    state, w, edge, field = p.state[0], p.work, p.sums[0], p.pending[0]
    half = field.shape[0] // 2
    c, f = taut_line(w), fixed_of(p)
    room_m = p.line[0].rope_m - state.anchor_at_m
    over_s = state.rise_s - END_S
    line = line_before(state, w)
    b, me = column()
    fill(b, me, state, edge, w)
    worn = Worn(field[half - LARGEST], edge.pending_low, edge.pending_high, True)
    search = Search(0, 0, 0, False)
    way, count, halves = WHOLE, 0, 0
    goes = True
    while goes:  # one way out and one way round: threads that try once more stay with the others
        ticks = state.step_ticks
        if state.phase_end >= 0:
            ticks = min(ticks, state.phase_end - line.phase_tick)
        ends = f.limited and line.part_s + ticks * TICK_S > over_s - END_S
        if search.high > 0:
            ticks = search.guess
        begin_s, length_s = line.phase_tick * TICK_S, ticks * TICK_S
        at, time_s, size_s = piece(b, me, way, line, begin_s, length_s)
        made = stepped(f, c, at, time_s, size_s)
        new = after(at, made)
        searches = ends and not search.last and way == WHOLE
        if searches:
            search = nearer(search, ticks, line.part_s - over_s, new.part_s - over_s)
            searches = search.high > 0
        fine = stands(f, new, made) and (way == WHOLE or b[TRIES, me] <= MOST_PIECES)
        goes = searches or fine
        if fine and not searches:
            if too_open(f, c, at, new, made, size_s):
                way = opened(b, me, way, line, begin_s, length_s)
            elif way == TRIED:
                way = tried(b, me, new, line, begin_s, length_s)
            else:
                if made.worn > 0.0:
                    worn = wears(f, field, line.s0, made, worn)
                stretched_m = made.e30 * new.s0 + made.e31 * new.s1
                # ticks: with the first piece
                unbooked = ticks if way == WHOLE or b[LEFT, me] == length_s else 0
                book(f, b, me, made, line.tick, unbooked, stretched_m)
                line = new
                if way != WHOLE:
                    further(b, me, new)
                if way == WHOLE or b[LEFT, me] <= NOTHING_S:
                    halves += 0 if way == WHOLE else int(b[HALVES, me])
                    way, search = WHOLE, Search(0, 0, 0, False)
                    line, count = later(line, ticks), count + 1
                    looks = _looks(state, line, worn, b[PEAK, me], room_m)
                    goes = not (looks or _ends(f, state, line, over_s))
    if count > 0:
        keep_line(p, line, count, halves, worn)
        keep(b, me, state, edge, w, f.bend)
    return count, worn.inside
