"""The call by which a line is advanced: the loop over steps, statuses and periods."""

from __future__ import annotations

import math
from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.jit import entry, njit
from edgewear.mechanics.movement.hang_load import fall_in, put_load, take_load_off
from edgewear.mechanics.movement.moves import (
    DROP_KIND,
    ENDS,
    FAILS,
    FEED_KIND,
    LOAD_KIND,
    NEEDS_DRAWS,
    PAYOUT_KIND,
    STROKES_KIND,
    UNLOAD_KIND,
    begin,
    next_phase,
    phase_constants,
    predicted_speed,
)
from edgewear.mechanics.movement.periods import at_rest, book_skipped, mark, periods_before, repeats
from edgewear.mechanics.movement.scratch_transfer import end_phase, fetch, store, store_totals
from edgewear.mechanics.movement.status import (
    DONE,
    DRAWS,
    FAILED,
    FULL,
    SLACK,
    UNTIL,
    look,
    sample,
    set_levels,
)
from edgewear.mechanics.step.booking import book_rest
from edgewear.mechanics.step.step import try_step, whole_step
from edgewear.mechanics.wear.wear import fold
from edgewear.terms import GRAVITY_M_S2

BUDGET = 5_000_000
"""Steps one movement may take."""
GIVES_UP_TICKS = 200_000
"""A rise that is not over after so long is given up: the rope holds more than the person lifts."""
END_S = 1e-9
"""A rise is over when its progress is this close to its duration [s]."""


@njit
def try_length(k: int, condition: int, n: int, state: Any, w: Floats, person: Any) -> Any:
    """Try a step of k ticks; the value whose rise through 0 ends the phase, and the step's end."""
    phase = state.phase
    y, v, part_s = state.depth_m, state.speed_m_s, state.part_s
    y1, v1, p1, ok = try_step(n, w, phase, y, v, part_s, state.phase_tick * TICK_S, k * TICK_S)
    value = p1 - state.rise_s + END_S
    if condition == r.WAIT:
        state.speed_m_s = v1
        speed, _, _ = predicted_speed(state, w, state.rise_s)
        state.speed_m_s = v
        value = speed
    return value, y1, v1, p1, ok


@njit
def shorten(k: int, n: int, state: Any, w: Floats, person: Any) -> Any:
    """Shorten a step so that the phase ends at the first tick at which its condition holds.

    Returns (ticks, whether the phase is over, y, v, part_s, ok) of the step as tried last.
    """
    phase = state.phase
    value, y1, v1, p1, ok = try_length(k, phase, n, state, w, person)
    if phase == r.WAIT and (state.wait_sign > 0 or value < 0.0):
        state.wait_sign = 1 if value >= 0.0 else -1
        return k, False, y1, v1, p1, ok
    if value < 0.0:
        return k, False, y1, v1, p1, ok
    low, high = 0, k
    start = state.part_s - state.rise_s + END_S
    guess = k
    if phase == r.RISE and value > start:
        guess = math.ceil(k * (-start) / (value - start))
    while high - low > 1:
        guess = min(max(guess, low + 1), high - 1)
        value, y1, v1, p1, ok = try_length(guess, phase, n, state, w, person)
        if value >= 0.0:
            high = guess
            guess -= 1
        else:
            low = guess
            guess += 1
        if phase == r.WAIT:
            guess = (low + high) // 2
    _, y1, v1, p1, ok = try_length(high, phase, n, state, w, person)
    return high, True, y1, v1, p1, ok


@entry(CACHE)
def play(
    line_: Any,
    edges: Any,
    person_: Any,
    wear_: Any,
    regimes: Any,
    state_: Any,
    sums: Any,
    pending: Floats,
    exposure: Floats,
    cells: Floats,
    travel: Floats,
    trace: Any,
    trace_ticks: int,
    mark_state: Any,
    mark_sums: Any,
    w: Floats,
    movement_: Any,
    variation: Floats,
    until: int,
    exact: bool,
    armed: int,
    watch: float,
) -> Any:
    """Advance one line; see the package's docstring. Returns status bits."""
    line, person, wear, state, movement = line_[0], person_[0], wear_[0], state_[0], movement_[0]
    w[r.REGIME_P + r.PER_CELL] = 1.0 / cells[0]
    if state.loaded != 0:
        fetch(w, state, line, edges, person, wear, regimes)
    else:
        store_totals(w, state, False)
    if state.busy == 0:
        if movement.kind == LOAD_KIND or movement.kind == UNLOAD_KIND:
            fine = True
            if movement.kind == LOAD_KIND:
                fine = put_load(
                    movement, w, state, sums, line, edges, person, wear, regimes, GRAVITY_M_S2
                )
            else:
                take_load_off(state, w)
            state.begin_tick = state.tick
            state.phase = r.NO_PHASE
            state.phase_tick = 0
            store(w, state)
            sample_now = trace.shape[0] > 0
            if sample_now:
                sample(state, trace, trace_ticks, pending, exposure, sums, wear, w)
            return DONE if fine else FAILED
        code = FAILS
        if movement.kind != DROP_KIND or fall_in(
            movement, w, state, line, edges, person, wear, regimes, GRAVITY_M_S2
        ):
            code = begin(state, movement, person, variation, sums, w, cells)
        state.busy = 1
    else:
        code = 0 if state.phase != r.NO_PHASE else NEEDS_DRAWS
    set_levels(state, sums, wear, armed, watch)
    most_steps = state.steps + BUDGET
    fresh = True
    status = 0
    if code == NEEDS_DRAWS:
        code = next_phase(
            state, movement, person, variation, sums, wear, w, travel, pending, line, cells
        )
    while True:
        # a phase has ended, or a movement has begun
        if state.phase != r.NO_PHASE and state.phase_end >= 0 and code == 0:
            over = state.phase_tick >= state.phase_end
        else:
            over = state.phase == r.RISE and state.part_s >= state.rise_s - END_S
        if over and code == 0:
            code = next_phase(
                state, movement, person, variation, sums, wear, w, travel, pending, line, cells
            )
            fresh = True
        if code != 0:
            break
        if fresh and state.phase == r.WORK and state.phase_tick == 0 and state.cycle == 0:
            if state.skipped == 0 and repeats(state, w, mark_state):
                state.repeats = 1
            elif state.repeats == 0:
                mark(state, sums, w, pending, exposure, mark_state, mark_sums)
        if fresh:
            phase_constants(state, movement, w)
            fresh = False
        # whole periods of work in closed form; a line at rest
        if state.phase == r.WORK and state.repeats != 0 and state.phase_tick == 0:
            period = state.bounces * state.bounce_ticks
            left = movement.duration_ticks - (state.tick - state.begin_tick)
            most = min(left, until - state.tick) // period
            passed = periods_before(most, state, pending, exposure, sums, wear, w) if most else 0
            state.skipped += passed
            state.tick += passed * period
            left -= passed * period
            if passed == most and left >= period and not exact:
                status |= UNTIL
                break
            book_skipped(state, sums, w, pending, exposure, mark_state, mark_sums)
            state.phase_end = min(left, state.bounce_ticks)
            continue
        k = state.step_ticks
        if state.loaded == 0 or (state.phase == r.STILL and state.repeats != 0):
            k = min(state.phase_end - state.phase_tick, until - state.tick)
            if k <= 0:
                status |= UNTIL
                break
            if state.loaded != 0:
                book_rest(k, state, sums, w)
            state.tick += k
            state.phase_tick += k
            continue
        if state.phase_end >= 0:
            k = min(k, state.phase_end - state.phase_tick)
        if state.tick + k > until:
            if not exact or until <= state.tick:
                status |= UNTIL
                break
            k = until - state.tick
        n = state.count
        y1, v1, p1, ok = 0.0, 0.0, 0.0, True
        ends = state.part_s + k * TICK_S > state.rise_s - 2.0 * END_S
        tried = state.phase == r.WAIT or (state.phase == r.RISE and ends)
        over = False
        if tried:
            k, over, y1, v1, p1, ok = shorten(k, n, state, w, person)
        before = state.speed_m_s
        ok, inside = whole_step(
            k,
            w,
            state,
            sums,
            pending,
            line,
            edges,
            wear,
            regimes,
            cells,
            state.phase,
            tried,
            y1,
            v1,
            p1,
            ok,
        )
        state.tick += k
        state.phase_tick += k
        if over and state.phase == r.WAIT:
            state.phase_end = state.phase_tick
        if not ok or state.steps > most_steps:
            status |= FAILED
            break
        if state.phase == r.RISE and state.phase_tick > GIVES_UP_TICKS:
            code = ENDS
            state.gained_m = state.drawn_m
            break
        if state.phase == r.STILL and at_rest(state, w, before):
            state.repeats = 1
        # what has come about
        bits = 0
        if state.bound_j_m >= state.rescan_j_m or state.peak_n > state.holds_n:
            top = 0.0
            for i in range(state.count + 1):
                top = max(top, max(w[r.T_START + i], w[r.T_MIDDLE + i]))
            if state.bound_j_m >= state.rescan_j_m or top > state.holds_n:
                bits = look(state, pending, exposure, sums, wear, w, armed, watch, top)
        if w[r.TAUT + state.count] == 0.0:
            bits |= SLACK
        else:
            state.raised &= ~SLACK
        used = state.anchor_at_m
        for i in range(state.count + 1):
            used += w[r.SPAN + i]
        if not inside or used > line.rope_m:
            status |= FULL
        if state.tick >= state.next_sample and trace.shape[0] > 0:
            sample(state, trace, trace_ticks, pending, exposure, sums, wear, w)
        new = bits & ~state.raised
        state.raised |= bits
        status |= new & armed
        if status & FULL or status != 0:
            break
    # leaving
    if code == ENDS:
        status |= DONE
    elif code == FAILS:
        status |= FAILED
    elif code == NEEDS_DRAWS:
        status |= DRAWS
    cut = exact and status & UNTIL != 0
    if movement.kind == PAYOUT_KIND:
        state.gained_m = -state.drawn_m
    elif movement.kind == FEED_KIND:
        state.gained_m = -state.fed_m
    elif cut and movement.kind == STROKES_KIND:
        state.gained_m = state.drawn_m
    if status & (DONE | FAILED | FULL) or cut:
        if state.skipped:
            book_skipped(state, sums, w, pending, exposure, mark_state, mark_sums)
        state.busy = 0
        fold(pending, exposure, sums, 1.0)
        bits = look(state, pending, exposure, sums, wear, w, armed, watch, 0.0)
        new = bits & ~state.raised
        state.raised |= bits
        status |= new & armed
    store(w, state)
    if status & (DONE | FAILED | FULL) or cut:
        end_phase(state, w)
    return status
