"""Work in place in closed form once a period repeats, and lines at rest."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit
from edgewear.mechanics.movement.limits import REST, STILL_M
from edgewear.mechanics.movement.scratch_transfer import store, store_totals
from edgewear.mechanics.wear.exposure_bound import forget_slides
from edgewear.mechanics.wear.field import fold
from edgewear.mechanics.wear.wear import strength_n
from edgewear.mechanics.wear.worst_place import scan

SAME = 1e-8
"""A period of work repeats the one before if no length differs by more [m], no speed [m/s]."""


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
    if state.marked != 0 and mark_state[0].tick == state.tick:  # come back to where it was marked
        return
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
    if state.marked == 0 or old.tick >= state.tick or old.regime != state.regime:
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
        new.lateral_j_m += times * (new.lateral_j_m - was.lateral_j_m)
    store_totals(w, state, False)
    if state.skipped:  # what was passed has worn the rope without a bound being kept
        state.bound_j_m, _ = scan(pending, exposure, sums, 1.0, w)
        forget_slides(sums)
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
        largest, _ = scan(pending, exposure, sums, 1.0 + state.skipped + probe, w)
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
        if abs(w[r.D_SPAN + i]) > STILL_M or w[r.TAUT + i] == 0.0:
            return False
    return True
