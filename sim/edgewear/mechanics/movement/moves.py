"""Movements as sequences of phases: strokes, paying out, feeding, work in place."""

from __future__ import annotations

import math
from typing import Any

from edgewear.layout import TICK_S, Kind
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit
from edgewear.mechanics.movement.cycles import book_sway, close_cycle, open_cycle
from edgewear.mechanics.movement.mover import JERKY

STROKES_KIND, PAYOUT_KIND, WORK_KIND = int(Kind.STROKES), int(Kind.PAYOUT), int(Kind.WORK)
FEED_KIND, DROP_KIND = int(Kind.FEED), int(Kind.DROP)
LOAD_KIND, UNLOAD_KIND = int(Kind.LOAD), int(Kind.UNLOAD)
GOES_ON, ENDS, NEEDS_DRAWS, FAILS = range(4)
STEADY_RAD = 0.1
"""Of a bounce that a step may take, unless it is two thirds of the longest: a peak is read at a
step's start and in its middle, so at most a quarter of that off, 0.03 % of its swing too low."""
GENTLE_RAD = 0.2
"""The same in lowering, feeding, swaying and hanging still, where a step may be twice as long: the
load is moved evenly or not at all. An eighth of a percent of a swing that is small itself."""
GENTLE_M_S = 0.5
"""Speed of the load at its begin up to which that is so: after a catch it is faster."""
STILL_M_S = 0.02
"""Bounce below which a skilled person does not wait for it [m/s]."""


@njit
def ticks_of(seconds: float) -> Any:
    """Whole ticks nearest to a duration."""
    return math.floor(seconds / TICK_S + 0.5)


@njit
def sliding_omega(state: Any, w: Floats) -> Any:
    """Angular frequency of the bounce where the rope slides at every edge [rad/s].

    w^2 = K/(m*sum of s_i + b) (model page 7.5).
    """
    compliance = w[r.LINE_P + r.BODY_M]
    for i in range(state.count + 1):
        compliance += w[r.SPAN + i]
    return math.sqrt(w[r.LINE_P + r.K] / compliance / w[r.LINE_P + r.MASS])


@njit
def step_length(even: bool, state: Any, w: Floats, cells: Floats) -> Any:
    """Ticks of a step: not above the longest step, the rope's tau, nor what is stable.

    Peaks are read at the start and in the middle of a step, so a quick bounce takes shorter ones;
    so does friction at rest above that in sliding, whose releases jump. even: the load is moved
    evenly, or not at all.
    """
    longest = cells[2] / 1.5
    if w[r.LINE_P + r.ANY_STATIC] == 0.0:
        omega = sliding_omega(state, w)
        longest = max(longest, min(cells[2], STEADY_RAD / omega))
        if even and abs(state.speed_m_s) < GENTLE_M_S:
            longest = max(longest, min(2.0 * cells[2], GENTLE_RAD / omega))
    tau = w[r.LINE_P + r.TAU]
    if tau > 0.0:
        longest = min(longest, tau)
        last = w[r.SPAN + state.count] + w[r.LINE_P + r.BODY_M]
        damping = w[r.LINE_P + r.K_TAU] / (w[r.LINE_P + r.MASS] * last)
        longest = min(longest, 1.5 / damping)
    return max(1, math.floor(longest / TICK_S + 1e-6))


@njit
def set_phase(
    phase: int, ticks: int, even: bool, state: Any, w: Floats, cells: Floats
) -> Any:  # fmt: skip
    """Begin a phase of so many ticks (-1: until its condition holds)."""
    state.phase = phase
    state.phase_tick = 0
    state.phase_end = ticks
    state.part_s = 0.0
    state.repeats = 0
    state.step_ticks = step_length(even, state, w, cells) if state.loaded != 0 else 1


@njit
def phase_constants(state: Any, movement: Any, w: Floats) -> Any:
    """Write what `drive` needs of the phase under way to the scratch rows."""
    phase = state.phase
    w[r.PHASE_P : r.PHASE_P + 16] = 0.0
    if phase == r.RISE:
        w[r.PHASE_P + r.DURATION] = state.rise_s
        w[r.PHASE_P + r.PER_DURATION] = 1.0 / state.rise_s
        w[r.PHASE_P + r.RATE_P] = (state.net_m + state.back_m) / state.rise_s
    elif phase == r.DROP:
        duration = state.phase_end * TICK_S
        w[r.PHASE_P + r.DURATION] = duration
        w[r.PHASE_P + r.PER_DURATION] = 1.0 / duration
        w[r.PHASE_P + r.RATE_P] = -state.back_m / duration
    elif phase == r.PAYOUT or phase == r.FEED:
        w[r.PHASE_P + r.DURATION] = state.phase_end * TICK_S
        w[r.PHASE_P + r.PER_RAMP] = 1.0 / state.ramp_s
        w[r.PHASE_P + r.RATE_P] = state.rate_m_s
    elif phase == r.WORK:
        beat_s = state.bounce_ticks * TICK_S
        if movement.bounce_hz > 0.0:
            w[r.PHASE_P + r.OMEGA] = 2.0 * math.pi / beat_s
            w[r.PHASE_P + r.BOUNCE] = movement.bounce_m
            w[r.PHASE_P + r.TOOL] = movement.tool_n
        if movement.sway_hz > 0.0:
            w[r.PHASE_P + r.SWAY_OMEGA] = 2.0 * math.pi * state.sways / (state.bounces * beat_s)
            w[r.PHASE_P + r.SWAY] = movement.sway_m
        w[r.PHASE_P + r.OFFSET_S] = state.cycle * beat_s


@njit
def varied(value: float, spread_share: float, normal: float) -> Any:
    """Log-normal variation about `value` with that coefficient of variation, its mean kept.

    value*exp(sigma*z - sigma^2/2), sigma^2 = ln(1 + cv^2): moments of the log-normal distribution.
    """
    if spread_share <= 0.0:
        return value
    sigma2 = math.log(1.0 + spread_share * spread_share)
    return value * math.exp(math.sqrt(sigma2) * normal - 0.5 * sigma2)


@njit
def start_stroke(
    state: Any, movement: Any, person: Any, variation: Floats, sums: Any, w: Floats, cells: Floats
) -> Any:
    """Draw the next stroke and begin its rise."""
    left = movement.length_m - state.gained_m
    if left <= 1e-9:
        return ENDS
    ordinal = movement.first_stroke + state.stroke
    amplitude = 0.0
    timing = 0.0
    if person.amplitude_cv > 0.0 or person.timing_cv > 0.0:
        if ordinal >= variation.shape[0]:
            return NEEDS_DRAWS
        amplitude = variation[ordinal, 0]
        timing = variation[ordinal, 1]
    tired = min(1.0, max(0.0, movement.fatigue + person.fatigue_per_stroke * state.stroke))
    rise_m = movement.rise_m + tired * (JERKY[0] - movement.rise_m)
    back_m = movement.sit_back_m + tired * (JERKY[1] - movement.sit_back_m)
    rise_s = movement.rise_s + tired * (JERKY[2] - movement.rise_s)
    drop_s = movement.drop_s + tired * (JERKY[3] - movement.drop_s)
    pause_s = movement.pause_s + tired * (JERKY[4] - movement.pause_s)
    if rise_m <= 0.0 or rise_s <= 0.0 or person.force_ratio <= 1.0:
        return FAILS
    state.net_m = min(varied(rise_m, person.amplitude_cv, amplitude), left)
    state.back_m = varied(back_m, person.amplitude_cv, amplitude)
    state.rise_s = varied(rise_s, person.timing_cv, timing)
    state.drop_s = varied(drop_s, person.timing_cv, timing)
    state.pause_s = varied(pause_s, person.timing_cv, timing)
    state.stroke += 1
    open_cycle(state, sums, w)
    set_phase(r.RISE, -1, False, state, w, cells)
    return GOES_ON


@njit
def start_ramped(
    phase: int, length_m: float, state: Any, movement: Any, w: Floats, cells: Floats
) -> Any:
    """Begin to move `length_m` (signed) with even ramps; whole ticks, so the speed gives way."""
    length = abs(length_m)
    if length <= 0.0:
        return ENDS
    if movement.speed_m_s <= 0.0:
        return FAILS
    ramp_s = max(movement.stop_s, TICK_S)
    speed = min(movement.speed_m_s, length / ramp_s)
    ticks = max(2, ticks_of(length / speed + ramp_s))
    duration_s = ticks * TICK_S
    state.ramp_s = min(ramp_s, 0.5 * duration_s)
    state.rate_m_s = length_m / (duration_s - state.ramp_s)
    set_phase(phase, ticks, True, state, w, cells)
    return GOES_ON


@njit
def start_work(state: Any, movement: Any) -> Any:
    """Make bounce and sway commensurate: p bounces and q <= 4 sways make one pattern.

    The sway's rate gives way, by a few per cent at most where it is slower than the bounce.
    """
    state.bounces = 1
    state.sways = 1
    if movement.bounce_hz <= 0.0 and movement.sway_hz <= 0.0:
        return False
    if movement.bounce_hz <= 0.0:
        state.bounce_ticks = max(2, ticks_of(1.0 / movement.sway_hz))
        return True
    state.bounce_ticks = max(2, ticks_of(1.0 / movement.bounce_hz))
    if movement.sway_hz > 0.0:
        ratio = movement.bounce_hz / movement.sway_hz
        best = math.inf
        most = max(4, math.ceil(4.0 / ratio))
        for sways in range(1, most + 1):
            bounces = max(1, math.floor(ratio * sways + 0.5))
            miss = abs(bounces / sways / ratio - 1.0)
            if miss < best - 1e-9:
                best = miss
                state.bounces = bounces
                state.sways = sways
    return True


@njit
def next_work(state: Any, movement: Any, w: Floats, cells: Floats) -> Any:
    """Begin the next bounce of work in place, or what is left of one."""
    left = movement.duration_ticks - (state.tick - state.begin_tick)
    if left <= 0:
        return ENDS
    set_phase(r.WORK, min(left, state.bounce_ticks), movement.bounce_hz <= 0.0, state, w, cells)
    return GOES_ON


@njit
def begin(
    state: Any, movement: Any, person: Any, variation: Floats, sums: Any, w: Floats, cells: Floats
) -> Any:
    """Begin a movement other than LOAD and UNLOAD; returns what comes of it."""
    kind = movement.kind
    state.begin_tick = state.tick
    state.phase = r.NO_PHASE
    state.stroke = 0
    state.cycle = 0
    state.gained_m = 0.0
    state.drawn_m = 0.0
    state.fed_m = 0.0
    state.marked = 0
    state.skipped = 0
    state.repeats = 0
    if state.loaded == 0:
        return begin_unloaded(state, movement, w, cells)
    open_cycle(state, sums, w)
    if kind == STROKES_KIND:
        return start_stroke(state, movement, person, variation, sums, w, cells)
    if kind == PAYOUT_KIND:
        return start_ramped(r.PAYOUT, -movement.length_m, state, movement, w, cells)
    if kind == FEED_KIND:
        return start_ramped(r.FEED, -movement.length_m, state, movement, w, cells)
    if kind == WORK_KIND and start_work(state, movement):
        return next_work(state, movement, w, cells)
    if movement.duration_ticks <= 0:
        return ENDS
    set_phase(r.STILL, movement.duration_ticks, True, state, w, cells)
    return GOES_ON


@njit
def begin_unloaded(state: Any, movement: Any, w: Floats, cells: Floats) -> Any:
    """Without load a movement only takes time; strokes cannot be made."""
    kind = movement.kind
    if kind == STROKES_KIND:
        return FAILS
    ticks = movement.duration_ticks
    if kind in (PAYOUT_KIND, FEED_KIND):
        if start_ramped(r.PAYOUT, movement.length_m, state, movement, w, cells) == FAILS:
            return FAILS
        ticks = state.phase_end * max(1, 2 * movement.cycles)
    if ticks <= 0:
        return ENDS
    set_phase(r.STILL, ticks, True, state, w, cells)
    return GOES_ON


@njit
def predicted_speed(state: Any, w: Floats, rise_s: float) -> Any:
    """Speed the bounce will have at the middle of the next rise, its amplitude [m/s], period [s].

    v*cos(w*t) - (T - m*g)/(m*w)*sin(w*t): undamped bounce about the weight at the sliding
    frequency w (model page 7.5). The person pushes off so that the middle of
    the rise meets the upper turning point, where it takes most out of the bounce.
    """
    omega = sliding_omega(state, w)
    over = (w[r.T + state.count] - w[r.LINE_P + r.WEIGHT_N]) / (w[r.LINE_P + r.MASS] * omega)
    v = state.speed_m_s
    angle = 0.5 * omega * rise_s
    speed = v * math.cos(angle) - over * math.sin(angle)
    return speed, math.sqrt(v * v + over * over), 2.0 * math.pi / omega


@njit
def end_stroke(
    state: Any,
    movement: Any,
    person: Any,
    variation: Floats,
    sums: Any,
    wear: Any,
    w: Floats,
    travel: Floats,
    pending: Floats,
    line: Any,
    cells: Floats,
) -> Any:
    """Close a stroke and begin the next."""
    close_cycle(state, sums, wear, w, travel, True, pending, line, cells)
    state.strokes += 1
    state.gained_m += state.net_m
    state.ascended_m += state.net_m
    return start_stroke(state, movement, person, variation, sums, w, cells)


@njit
def next_phase(
    state: Any,
    movement: Any,
    person: Any,
    variation: Floats,
    sums: Any,
    wear: Any,
    w: Floats,
    travel: Floats,
    pending: Floats,
    line: Any,
    cells: Floats,
) -> Any:
    """What follows the phase that has just ended."""
    phase = state.phase
    if phase == r.NO_PHASE:
        return start_stroke(state, movement, person, variation, sums, w, cells)
    if phase == r.RISE or phase == r.DROP or phase == r.PAUSE or phase == r.WAIT:
        state.climbing_ticks += state.phase_tick
        if phase == r.RISE and state.back_m > 0.0:
            set_phase(r.DROP, max(1, ticks_of(state.drop_s)), False, state, w, cells)
            return GOES_ON
        if phase <= r.DROP and ticks_of(state.pause_s) > 0:
            set_phase(r.PAUSE, ticks_of(state.pause_s), False, state, w, cells)
            return GOES_ON
        if phase != r.WAIT and person.skill > 0.0:
            speed, bounce, period_s = predicted_speed(state, w, state.rise_s)
            longest = ticks_of(person.skill * period_s)
            if bounce > STILL_M_S and longest > 0:
                set_phase(r.WAIT, longest, False, state, w, cells)
                state.wait_sign = 1 if speed >= 0.0 else -1
                return GOES_ON
        state.phase = r.NO_PHASE
        return end_stroke(
            state, movement, person, variation, sums, wear, w, travel, pending, line, cells
        )
    if phase == r.FEED and state.loaded != 0:
        state.cycle += 1
        if state.cycle % 2 == 0:
            close_cycle(state, sums, wear, w, travel, True, pending, line, cells)
            open_cycle(state, sums, w)
        if state.cycle < 2 * movement.cycles:
            way = -movement.length_m if state.cycle % 2 == 0 else movement.length_m
            return start_ramped(r.FEED, way, state, movement, w, cells)
    if phase == r.WORK:
        # of no length where whole periods, passed in closed form, reach to the movement's end
        if state.phase_tick > 0:
            close_cycle(
                state, sums, wear, w, travel, movement.bounce_hz > 0.0, pending, line, cells
            )
            if movement.sway_hz > 0.0:
                book_sway(state, movement, sums, w, pending, cells)
            open_cycle(state, sums, w)
        state.cycle = (state.cycle + 1) % state.bounces
        return next_work(state, movement, w, cells)
    return ENDS
