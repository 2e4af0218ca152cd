"""The call by which a line is advanced: the loop over steps, statuses and periods."""

from __future__ import annotations

import math
from typing import Any

from edgewear.layout import GRAVITY_M_S2, TICK_S
from edgewear.mechanics import rows as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.jit import entry, njit
from edgewear.mechanics.load import fall_in, fill_line, put_load, take_load_off, totals
from edgewear.mechanics.moves import (
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
from edgewear.mechanics.regime import enter_regime, lengths
from edgewear.mechanics.step import try_step, whole_step
from edgewear.mechanics.wear import fold, scan, strength_n

DONE, UNTIL, CORE, PARTED, SLACK, WATCH, FULL, DRAWS, FAILED = (1 << bit for bit in range(9))
BUDGET = 5_000_000
"""Steps one movement may take."""
GIVES_UP_TICKS = 200_000
"""A rise that is not over after so long is given up: the rope holds more than the person lifts."""
SAME = 1e-9
"""A period of work repeats the one before if no length differs by more [m], no speed [m/s]."""
REST = 1e-9
"""Speed [m/s] and change of speed in a step below which a line that nobody moves is at rest."""
END_S = 1e-9
"""A rise is over when its progress is this close to its duration [s]."""


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
        if edges[int(w[r.ROW + j + 1])].static_ratio > 1.0:
            w[r.ALLOWED + j + 1] = state.allowed[j]
    store_totals(w, state, False)


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
def store(w: Floats, state: Any) -> Any:
    """Copy what must last from the scratch rows to the state."""
    for i in range(state.count + 1):
        state.span_m[i] = w[r.SPAN + i]
        state.taut[i] = int(w[r.TAUT + i])
        if state.loaded != 0:
            state.tension_n[i] = w[r.T + i]
    for j in range(state.count):
        state.allowed[j] = int(w[r.ALLOWED + j + 1])
    store_totals(w, state, True)
    totals(state, w, state.phase, state.phase_tick * TICK_S)


@njit
def set_levels(state: Any, wear: Any, armed: int, watch: float) -> Any:
    """Exposure up to which nothing can happen, and the tension the rope surely holds there."""
    largest = state.largest_j_m
    level = largest + 0.25 * wear.sheath_j_m
    if armed & WATCH and largest < watch * wear.sheath_j_m:
        level = min(level, watch * wear.sheath_j_m)
    if largest < wear.sheath_j_m:
        level = min(level, wear.sheath_j_m)
    state.rescan_j_m = level
    state.holds_n = strength_n(level, wear)


@njit
def look(
    state: Any,
    pending: Floats,
    exposure: Floats,
    sums: Any,
    wear: Any,
    w: Floats,
    armed: int,
    watch: float,
    tension_n: float,
) -> Any:
    """Scan for the worst place and tell what has come about; returns status bits that stand."""
    largest, _, _ = scan(pending, exposure, sums, 1.0 + state.skipped, w)
    state.largest_j_m = largest
    state.bound_j_m = largest
    state.residual_n = strength_n(largest, wear)
    bits = 0
    if largest >= wear.sheath_j_m:
        bits |= CORE
        if state.core_tick < 0:
            state.core_tick = state.tick
            state.core_ascended_m = ascended(state)
    if largest >= watch * wear.sheath_j_m:
        bits |= WATCH
    if tension_n > state.residual_n:
        bits |= PARTED
        if state.parted_tick < 0:
            state.parted_tick = state.tick
            state.parted_ascended_m = ascended(state)
    set_levels(state, wear, armed, watch)
    return bits


@njit
def ascended(state: Any) -> Any:
    """Rope climbed so far, the stroke under way by its progress."""
    if state.phase == r.RISE and state.rise_s > 0.0:
        return state.ascended_m + state.net_m * min(1.0, state.part_s / state.rise_s)
    if state.phase == r.DROP or state.phase == r.PAUSE or state.phase == r.WAIT:
        return state.ascended_m + state.net_m
    return state.ascended_m


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
def sample(
    state: Any,
    trace: Any,
    trace_ticks: int,
    pending: Floats,
    exposure: Floats,
    sums: Any,
    wear: Any,
    w: Floats,
) -> Any:
    """Write a sample of the timeline."""
    if state.samples >= trace.shape[0]:
        return
    row = trace[state.samples]
    row.tick = state.tick
    row.depth_m = state.depth_m
    row.tension_n = w[r.T + state.count] if state.loaded != 0 else 0.0
    row.anchor_n = w[r.T + 0] if state.loaded != 0 else 0.0
    slip = 0.0
    for edge in range(sums.shape[0]):
        slip += sums[edge].slip_m
    row.slip_m = slip
    largest, _, _ = scan(pending, exposure, sums, 1.0 + state.skipped, w)
    row.demand = largest / wear.sheath_j_m
    state.samples += 1
    state.next_sample = state.tick + trace_ticks


@njit
def mark(
    state: Any,
    sums: Any,
    w: Floats,
    pending: Floats,
    exposure: Floats,
    mark_state: Any,
    mark_sums: Any,
) -> Any:
    """Remember the start of a pattern of work in place."""
    fold(pending, exposure, sums, 1.0)
    store(w, state)
    state.marked = 1
    mark_state[0] = state
    for row in range(sums.shape[0]):
        mark_sums[row] = sums[row]


@njit
def repeats(state: Any, w: Floats, mark_state: Any) -> Any:
    """Whether the pattern just ended began and ended alike."""
    old = mark_state[0]
    if state.marked == 0 or old.regime != state.regime:
        return False
    worst = max(abs(state.depth_m - old.depth_m), abs(state.speed_m_s - old.speed_m_s))
    for i in range(state.count + 1):
        worst = max(worst, abs(w[r.SPAN + i] - old.span_m[i]))
        if w[r.TAUT + i] != old.taut[i]:
            return False
    return worst < SAME


@njit
def book_skipped(
    state: Any,
    sums: Any,
    w: Floats,
    pending: Floats,
    exposure: Floats,
    mark_state: Any,
    mark_sums: Any,
) -> Any:
    """Book the whole periods passed in closed form: `skipped` times what the last one did."""
    times = float(state.skipped)
    fold(pending, exposure, sums, 1.0 + times)
    store(w, state)
    old = mark_state[0]
    state.device_j += times * (state.device_j - old.device_j)
    state.leaves_j += times * (state.leaves_j - old.leaves_j)
    state.feed_j += times * (state.feed_j - old.feed_j)
    state.mover_j += times * (state.mover_j - old.mover_j)
    state.viscous_j += times * (state.viscous_j - old.viscous_j)
    state.friction_j += times * (state.friction_j - old.friction_j)
    state.mixing_j += times * (state.mixing_j - old.mixing_j)
    state.flows_j += times * (state.flows_j - old.flows_j)
    for row in range(sums.shape[0]):
        new = sums[row]
        was = mark_sums[row]
        new.slips += state.skipped * (new.slips - was.slips)
        new.strokes += state.skipped * (new.strokes - was.strokes)
        new.strokes_stuck += state.skipped * (new.strokes_stuck - was.strokes_stuck)
        new.bare_ticks += state.skipped * (new.bare_ticks - was.bare_ticks)
        new.slip_m += times * (new.slip_m - was.slip_m)
        new.energy_j += times * (new.energy_j - was.energy_j)
        new.exposure_j += times * (new.exposure_j - was.exposure_j)
        new.presliding_m += times * (new.presliding_m - was.presliding_m)
        new.presliding_j += times * (new.presliding_j - was.presliding_j)
        new.presliding_exposure_j += times * (new.presliding_exposure_j - was.presliding_exposure_j)
        new.lateral_m += times * (new.lateral_m - was.lateral_m)
        new.lateral_j += times * (new.lateral_j - was.lateral_j)
        new.lateral_exposure_j += times * (new.lateral_exposure_j - was.lateral_exposure_j)
    store_totals(w, state, False)
    state.skipped = 0
    state.repeats = 0
    state.marked = 0


@njit
def periods_before(
    most: int, state: Any, pending: Floats, exposure: Floats, sums: Any, wear: Any, w: Floats
) -> Any:
    """Whole periods, at most `most`, that pass before anything can come about.

    A period adds the same exposure everywhere, so the worst place only grows: bisection.
    """
    low, high = 0, most + 1
    probe = most
    while high - low > 1:
        largest, _, _ = scan(pending, exposure, sums, 1.0 + state.skipped + probe, w)
        if largest >= state.rescan_j_m or state.peak_n > strength_n(largest, wear):
            high = probe
        else:
            low = probe
        probe = (low + high) // 2
    return low


@njit
def at_rest(state: Any, w: Floats, speed_before: float) -> Any:
    """Whether nothing moves any more on a line that nobody moves."""
    if abs(state.speed_m_s) > REST or abs(state.speed_m_s - speed_before) > REST:
        return False
    for i in range(state.count + 1):
        if abs(w[r.D_SPAN + i]) > 1e-14 or w[r.TAUT + i] == 0.0:
            return False
    return True


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
    set_levels(state, wear, armed, watch)
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
        tried = state.phase == r.RISE or state.phase == r.WAIT
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


@njit
def end_phase(state: Any, w: Floats) -> Any:
    """No phase is under way; where work in place left the body, it stays."""
    n = state.count
    if state.phase == r.WORK and state.loaded != 0 and w[r.REGIME_P + r.CLOSED] != 0.0:
        lengths(n, w, r.WORK, state.depth_m, 0.0, state.phase_tick * TICK_S)
        length = w[r.KINK + n]
        lengths(n, w, r.NO_PHASE, state.depth_m, 0.0, 0.0)
        state.offset_m += w[r.KINK + n] - length
    state.phase = r.NO_PHASE
    state.phase_tick = 0
