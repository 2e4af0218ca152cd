"""The call by which a line is advanced: the loop over steps, statuses and periods."""

from __future__ import annotations

import math
from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Buffers, Floats
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.jit import entry, inlined, njit
from edgewear.mechanics.lanes.takes import takes
from edgewear.mechanics.movement.hang_load import fall_in, put_load, take_load_off
from edgewear.mechanics.movement.limits import BUDGET, END_S, GIVES_UP_TICKS
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
    READY,
    SLACK,
    UNTIL,
    look,
    sample,
    set_levels,
)
from edgewear.mechanics.step.booking import book_rest
from edgewear.mechanics.step.step import try_step, whole_step
from edgewear.mechanics.wear.field import fold
from edgewear.terms import GRAVITY_M_S2

ALWAYS = 2**62
"""Steps that one movement never takes."""


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


@njit
def enter(p: Buffers, movement: Any, variation: Floats) -> Any:
    """Begin a movement, or go on with the one under way; returns (code, status).

    LOAD and UNLOAD take no time: their status is not 0, and there is nothing to leave.
    """
    w, state = p.work, p.state[0]
    w[r.REGIME_P + r.PER_CELL] = 1.0 / p.cells[0]
    if state.loaded != 0:
        fetch(w, state, p.line[0], p.edges, p.person[0], p.wear[0], p.regimes)
    else:
        store_totals(w, state, False)
    if state.busy != 0:
        return (0 if state.phase != r.NO_PHASE else NEEDS_DRAWS), 0
    if movement.kind == LOAD_KIND or movement.kind == UNLOAD_KIND:
        fine = True
        if movement.kind == LOAD_KIND:
            fine = put_load(
                movement, w, state, p.sums, p.line[0], p.edges, p.person[0], p.wear[0], p.regimes,
                GRAVITY_M_S2,
            )  # fmt: skip
        else:
            take_load_off(state, w)
        state.begin_tick = state.tick
        state.phase = r.NO_PHASE
        state.phase_tick = 0
        store(w, state)
        if p.trace.shape[0] > 0:
            sample(state, p.trace, p.trace_ticks, p.pending, p.exposure, p.sums, p.wear[0], w)
        return 0, DONE if fine else FAILED
    code = FAILS
    if movement.kind != DROP_KIND or fall_in(
        movement, w, state, p.line[0], p.edges, p.person[0], p.wear[0], p.regimes, GRAVITY_M_S2
    ):
        code = begin(state, movement, p.person[0], variation, p.sums, w, p.cells)
    state.busy = 1
    return code, 0


@inlined
def _over(state: Any) -> Any:
    """Whether the phase under way is at its end."""
    if state.phase != r.NO_PHASE and state.phase_end >= 0:
        return state.phase_tick >= state.phase_end
    return state.phase == r.RISE and state.part_s >= state.rise_s - END_S


@inlined
def open_phase(p: Buffers, movement: Any) -> None:
    """What a phase needs at its start: its constants, and a look whether work repeats itself."""
    state = p.state[0]
    if state.phase == r.WORK and state.phase_tick == 0 and state.cycle == 0:
        if state.skipped == 0 and repeats(state, p.work, p.mark_state):
            state.repeats = 1
        elif state.repeats == 0:
            mark(state, p.sums, p.work, p.pending, p.exposure, p.mark_state, p.mark_sums)
    phase_constants(state, movement, p.work)


@njit
def _pass_periods(p: Buffers, movement: Any, until: int, exact: bool) -> Any:
    """Whole periods of work in closed form; True: `until` comes before their end."""
    state = p.state[0]
    period = state.bounces * state.bounce_ticks
    left = movement.duration_ticks - (state.tick - state.begin_tick)
    most = min(left, until - state.tick) // period
    passed = 0
    if most:
        passed = periods_before(most, state, p.pending, p.exposure, p.sums, p.wear[0], p.work)
    state.skipped += passed
    state.tick += passed * period
    left -= passed * period
    if passed == most and left >= period and not exact:
        return True
    book_skipped(state, p.sums, p.work, p.pending, p.exposure, p.mark_state, p.mark_sums)
    state.phase_end = min(left, state.bounce_ticks)
    return False


@inlined
def _rest(p: Buffers, until: int) -> Any:
    """Time that passes on a line at rest; False: none is left."""
    state = p.state[0]
    k = min(state.phase_end - state.phase_tick, until - state.tick)
    if k <= 0:
        return False
    if state.loaded != 0:
        book_rest(k, state, p.sums, p.work)
    state.tick += k
    state.phase_tick += k
    return True


@inlined
def _make_step(k: int, p: Buffers) -> Any:
    """Take one step of at most k ticks; returns (all well, within the cells)."""
    state, w = p.state[0], p.work
    n = state.count
    y1, v1, p1, ok = 0.0, 0.0, 0.0, True
    ends = state.part_s + k * TICK_S > state.rise_s - 2.0 * END_S
    tried = state.phase == r.WAIT or (state.phase == r.RISE and ends)
    over = False
    if tried:
        k, over, y1, v1, p1, ok = shorten(k, n, state, w, p.person[0])
    before = state.speed_m_s
    ok, inside = whole_step(k, p, tried, y1, v1, p1, ok)
    state.tick += k
    state.phase_tick += k
    if over and state.phase == r.WAIT:
        state.phase_end = state.phase_tick
    if state.phase == r.STILL and at_rest(state, w, before):
        state.repeats = 1
    return ok, inside


@inlined
def looked(p: Buffers, inside: bool, armed: int, watch: float) -> Any:
    """What has come about in a step; returns status bits."""
    state, w = p.state[0], p.work
    bits = 0
    status = 0
    if state.bound_j_m >= state.rescan_j_m or state.peak_n > state.holds_n:
        top = 0.0
        for i in range(state.count + 1):
            top = max(top, max(w[r.T_START + i], w[r.T_MIDDLE + i]))
        if state.bound_j_m >= state.rescan_j_m or top > state.holds_n:
            bits = look(state, p.pending, p.exposure, p.sums, p.wear[0], w, armed, watch, top)
    if w[r.TAUT + state.count] == 0.0:
        bits |= SLACK
    else:
        state.raised &= ~SLACK
    used = state.anchor_at_m
    for i in range(state.count + 1):
        used += w[r.SPAN + i]
    if not inside or used > p.line[0].rope_m:
        status |= FULL
    if state.tick >= state.next_sample and p.trace.shape[0] > 0:
        sample(state, p.trace, p.trace_ticks, p.pending, p.exposure, p.sums, p.wear[0], w)
    new = bits & ~state.raised
    state.raised |= bits
    return status | (new & armed)


@njit
def start(code: int, p: Buffers, movement: Any, variation: Floats, armed: int, watch: float) -> Any:
    """What a call begins with: how far off a look is, and a stroke that waited for its draws."""
    set_levels(p.state[0], p.sums, p.wear[0], armed, watch)
    if code == NEEDS_DRAWS:
        code = next_phase(
            p.state[0], movement, p.person[0], variation, p.sums, p.wear[0], p.work, p.travel,
            p.pending, p.line[0], p.cells,
        )  # fmt: skip
    return code


@inlined
def _moved(
    p: Buffers, until: int, exact: bool, armed: int, watch: float, most_steps: int, alone: int
) -> Any:  # fmt: skip
    """Take a step, if it is to be taken here; returns (code, status)."""
    state = p.state[0]
    k = state.step_ticks
    if state.phase_end >= 0:
        k = min(k, state.phase_end - state.phase_tick)
    if state.tick + k > until:
        if not exact or until <= state.tick:
            return 0, UNTIL
        k = until - state.tick
    if alone <= 0 and takes(p):
        return 0, READY
    ok, inside = _make_step(k, p)
    if not ok or state.steps > most_steps:
        return 0, FAILED
    if state.phase == r.RISE and state.phase_tick > GIVES_UP_TICKS:
        state.gained_m = state.drawn_m
        return ENDS, 0
    return 0, looked(p, inside, armed, watch)


@inlined
def _go_through(
    p: Buffers, movement: Any, until: int, exact: bool, armed: int, watch: float, most_steps: int,
    alone: int,
) -> Any:  # fmt: skip
    """Play to the end of the phase; returns (code, status, steps still to be taken here).

    A loop of its own, with one way out: threads of a device in step with each other then begin the
    next phase together.
    """
    state, code, status = p.state[0], 0, 0
    while code == 0 and status == 0 and not _over(state):
        if state.phase == r.WORK and state.repeats != 0 and state.phase_tick == 0:
            status = UNTIL if _pass_periods(p, movement, until, exact) else 0
        elif state.loaded == 0 or (state.phase == r.STILL and state.repeats != 0):
            status = 0 if _rest(p, until) else UNTIL
        else:
            code, status = _moved(p, until, exact, armed, watch, most_steps, alone)
            alone -= 1
    return code, status, alone


@njit
def go_on(
    code: int, p: Buffers, movement: Any, variation: Floats, until: int, exact: bool,
    armed: int, watch: float, most_steps: int, alone: int,
) -> Any:  # fmt: skip
    """Play a movement that has begun; returns (code, status).

    most_steps: of the line, at which the movement has failed. alone: steps that have to be taken
    here; before one after these that a lane can take the status is READY.
    """
    state = p.state[0]
    fresh, status = True, 0
    while code == 0 and status == 0:
        if _over(state):
            code = next_phase(
                state, movement, p.person[0], variation, p.sums, p.wear[0], p.work, p.travel,
                p.pending, p.line[0], p.cells,
            )  # fmt: skip
            fresh = True
        if code == 0:
            if fresh:
                open_phase(p, movement)
                fresh = False
            code, status, alone = _go_through(
                p, movement, until, exact, armed, watch, most_steps, alone
            )
    return code, status


@njit
def leave(
    code: int, status: int, p: Buffers, movement: Any, exact: bool, armed: int, watch: float
) -> Any:
    """End a call: what must last goes to the state. Returns status bits."""
    state, w = p.state[0], p.work
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
    ends = status & (DONE | FAILED | FULL) != 0 or cut
    if ends:
        if state.skipped:
            book_skipped(state, p.sums, w, p.pending, p.exposure, p.mark_state, p.mark_sums)
        state.busy = 0
        fold(p.pending, p.exposure, p.sums, 1.0)
        bits = look(state, p.pending, p.exposure, p.sums, p.wear[0], w, armed, watch, 0.0)
        new = bits & ~state.raised
        state.raised |= bits
        status |= new & armed
    store(w, state)
    if ends:
        end_phase(state, w)
    return status


@entry(CACHE)
def play(
    movement_: Any, variation: Floats, until: int, exact: bool, armed: int, watch: float,
    *given: Any,
) -> Any:  # fmt: skip
    """Advance one line; see the package's docstring. Returns status bits.

    given: the fields of `Buffers`, one by one: to tell the type of a named tuple of arrays takes
    numba as long as several hundred steps, every time.
    """
    p = Buffers(
        given[0], given[1], given[2], given[3], given[4], given[5], given[6], given[7],
        given[8], given[9], given[10], given[11], given[12], given[13], given[14], given[15],
    )  # fmt: skip
    return _played(p, movement_[0], variation, until, exact, armed, watch)


@njit
def _played(
    p: Buffers, movement: Any, variation: Floats, until: int, exact: bool, armed: int, watch: float
) -> Any:
    """Advance one line, as `play`."""
    code, status = enter(p, movement, variation)
    if status != 0:
        return status
    code = start(code, p, movement, variation, armed, watch)
    most_steps = p.state[0].steps + BUDGET
    code, status = go_on(
        code, p, movement, variation, until, exact, armed, watch, most_steps, ALWAYS
    )
    return leave(code, status, p, movement, exact, armed, watch)
