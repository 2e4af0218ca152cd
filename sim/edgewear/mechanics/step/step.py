"""One step of the grid: what happens inside it is located, and everything is booked."""

from __future__ import annotations

from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Buffers, Floats
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.movement.mover import drive
from edgewear.mechanics.slip.slip import NEITHER, TOWARD_ANCHOR, TOWARD_LOAD
from edgewear.mechanics.step.balance import too_open, uneven
from edgewear.mechanics.step.booking import book
from edgewear.mechanics.step.one_edge_step import is_single, step_single
from edgewear.mechanics.step.regime import change_regime, lengths
from edgewear.mechanics.step.stage import stage_any, step_any, step_free, step_two

LOCATED_S = 1e-13
"""Width to which an event inside a step is located [s]."""
MOST_TURNS = 400
"""Events located and halves made inside one step; after so many the rest is taken as it is."""
NOTHING, RETENSION, LEAVES_TOP, LEAVES_BOTTOM, RELEASE = 0, 1, 2, 3, 4


@njit
def try_step(
    n: int, w: Floats, phase: int, y: float, v: float, part_s: float, time_s: float, h: float
) -> Any:
    """The step function for this number of edges."""
    if is_single(n, phase, w):
        y1, v1, part1, fine = step_single(w, phase, y, v, part_s, time_s, h)
        if fine:
            return y1, v1, part1, True
    if n == 0:
        return step_free(n, w, phase, y, v, part_s, time_s, h)
    if n == 2:
        return step_two(n, w, phase, y, v, part_s, time_s, h)
    return step_any(n, w, phase, y, v, part_s, time_s, h)


@njit
def _settle_static(
    n: int, w: Floats, phase: int, y: float, v: float, part_s: float, time_s: float
) -> Any:
    """Tensions at the end of a tried step, for the static limits."""
    for i in range(n + 1):
        w[r.STAGE + i] = w[r.SPAN + i] + w[r.D_SPAN + i]
    driven = drive(phase, time_s, part_s, w)
    stage_any(n, w, driven, phase == r.RISE, y, v, 0.0, 0.0)


@njit
def _over_static(j: int, w: Floats) -> Any:
    """How far edge j is beyond its static limit [N]; negative inside. Sign of the slip to come."""
    limit = w[r.RATIO + j] ** w[r.STATIC + j]
    up = w[r.T + j] - limit * w[r.T + j - 1] - w[r.SHIFT + j]
    down = w[r.T + j - 1] - limit * w[r.T + j] - w[r.SHIFT + j]
    if up > down:
        return up, TOWARD_LOAD
    return down, TOWARD_ANCHOR


@inlined
def _event(
    n: int,
    w: Floats,
    phase: int,
    y: float,
    v: float,
    part_s: float,
    time_s: float,
    first_depth: float,
    slack: bool,
) -> Any:
    """What a tried step ran into, and by how much: (kind, which, gap beyond it, gap at its start).

    The earliest, judged by a straight line over the step.
    """
    kind = NOTHING
    which = 0
    gap = 0.0
    start = -1.0
    soonest = 2.0
    if slack:
        lengths(n, w, phase, y, part_s, time_s)
        for i in range(n + 1):
            if w[r.TAUT + i] != 0.0:
                continue
            end = w[r.KINK + i] - w[r.SPAN + i] - w[r.D_SPAN + i]
            if end > 0.0:
                begin = min(w[r.MOVING + i], 0.0)
                share = -begin / (end - begin)
                if share < soonest:
                    kind, which, gap, start, soonest = RETENSION, i, end, begin, share
    if y < w[r.REGIME_P + r.LOW]:
        begin = min(w[r.REGIME_P + r.LOW] - first_depth, 0.0)
        end = w[r.REGIME_P + r.LOW] - y
        share = -begin / (end - begin)
        if share < soonest:
            kind, which, gap, start, soonest = LEAVES_TOP, 0, end, begin, share
    if y > w[r.REGIME_P + r.HIGH]:
        begin = min(first_depth - w[r.REGIME_P + r.HIGH], 0.0)
        end = y - w[r.REGIME_P + r.HIGH]
        share = -begin / (end - begin)
        if share < soonest:
            kind, which, gap, start, soonest = LEAVES_BOTTOM, 0, end, begin, share
    if w[r.LINE_P + r.ANY_STATIC] != 0.0:
        _settle_static(n, w, phase, y, v, part_s, time_s)
        for j in range(1, n + 1):
            if w[r.STATIC + j] > 1.0 and w[r.ALLOWED + j] == NEITHER:
                end, _ = _over_static(j, w)
                if end > 1e-9 and (end > gap or kind != RELEASE):
                    begin = min(w[r.MOVING + j], 0.0)
                    share = -begin / (end - begin)
                    if share < soonest:
                        kind, which, gap, start, soonest = RELEASE, j, end, begin, share
    return kind, which, gap, start


@njit
def _gap(
    kind: int,
    which: int,
    n: int,
    w: Floats,
    phase: int,
    y: float,
    v: float,
    part_s: float,
    time_s: float,
) -> Any:
    """How far a tried step is beyond an event of that kind (negative: before it)."""
    if kind == RETENSION:
        lengths(n, w, phase, y, part_s, time_s)
        return w[r.KINK + which] - w[r.SPAN + which] - w[r.D_SPAN + which]
    if kind == LEAVES_TOP:
        return w[r.REGIME_P + r.LOW] - y
    if kind == LEAVES_BOTTOM:
        return y - w[r.REGIME_P + r.HIGH]
    _settle_static(n, w, phase, y, v, part_s, time_s)
    over, _ = _over_static(which, w)
    return over


@njit
def _locate(
    kind: int,
    which: int,
    start: float,
    end: float,
    n: int,
    w: Floats,
    phase: int,
    y: float,
    v: float,
    part_s: float,
    time_s: float,
    h: float,
) -> Any:
    """Length of the step that ends at an event (regula falsi, Illinois), and that step."""
    low, high = 0.0, h
    low_gap, high_gap = start, end
    side = 0
    at = h
    if low_gap >= 0.0:
        at = 0.0
    for _ in range(60):
        if high - low <= LOCATED_S or low_gap >= 0.0:
            break
        at = (low * high_gap - high * low_gap) / (high_gap - low_gap)
        if not low < at < high:
            at = 0.5 * (low + high)
        y1, v1, part1, _ = try_step(n, w, phase, y, v, part_s, time_s, at)
        gap = _gap(kind, which, n, w, phase, y1, v1, part1, time_s + at)
        if gap > 0.0:
            high, high_gap = at, gap
            if side == 1:
                low_gap *= 0.5
            side = 1
        else:
            low, low_gap = at, gap
            if gap == 0.0:
                break
            if side == -1:
                high_gap *= 0.5
            side = -1
    y1, v1, part1, ok = try_step(n, w, phase, y, v, part_s, time_s, at)
    return at, y1, v1, part1, ok


@inlined
def _retaut(n: int, w: Floats, phase: int, y: float, part_s: float, time_s: float) -> Any:
    """Note spans that have become slack; only looked at where a tension was zero."""
    low = 1.0
    for i in range(n + 1):
        low = min(low, w[r.T + i])
    if low > 0.0:
        return
    lengths(n, w, phase, y, part_s, time_s)
    for i in range(n + 1):
        if w[r.TAUT + i] != 0.0 and w[r.KINK + i] <= w[r.SPAN + i]:
            w[r.TAUT + i] = 0.0


@inlined
def _restick(n: int, w: Floats) -> Any:
    """Edges with static friction above kinetic: those that came to rest hold again."""
    for j in range(1, n + 1):
        if w[r.STATIC + j] > 1.0 and w[r.ALLOWED + j] != NEITHER and w[r.Q + j] == 0.0:
            w[r.ALLOWED + j] = NEITHER


@njit
def _note_gaps(
    n: int, w: Floats, phase: int, y: float, v: float, part_s: float, time_s: float
) -> Any:
    """How far slack spans are from taut, and resting edges from their static limit, to MOVING.

    Returns whether a span is slack.
    """
    slack = False
    for i in range(n + 1):
        slack = slack or w[r.TAUT + i] == 0.0
    if slack:
        lengths(n, w, phase, y, part_s, time_s)
        for i in range(n + 1):
            w[r.MOVING + i] = w[r.KINK + i] - w[r.SPAN + i]
    if w[r.LINE_P + r.ANY_STATIC] != 0.0:
        for i in range(n + 2):
            w[r.D_SPAN + i] = 0.0
            w[r.Q + i] = 0.0
        _settle_static(n, w, phase, y, v, part_s, time_s)
        for j in range(1, n + 1):
            over, _ = _over_static(j, w)
            if w[r.STATIC + j] > 1.0:
                w[r.MOVING + j] = over
    return slack


@njit
def _happen(kind: int, which: int, p: Buffers, time_s: float) -> Any:
    """What an event that was located changes."""
    w, state = p.work, p.state[0]
    y, v, part_s = state.depth_m, state.speed_m_s, state.part_s
    if kind == RETENSION:
        w[r.TAUT + which] = 1.0
    elif kind == RELEASE:
        for i in range(state.count + 2):
            w[r.D_SPAN + i] = 0.0
            w[r.Q + i] = 0.0
        _settle_static(state.count, w, state.phase, y, v, part_s, time_s)
        _, way = _over_static(which, w)
        w[r.ALLOWED + which] = way
    else:
        row = state.regime + (1 if kind == LEAVES_BOTTOM else -1)
        if 0 <= row < p.regimes.shape[0]:
            change_regime(
                row, w, state, p.line[0], p.edges, p.wear[0], p.regimes, state.phase, y, part_s,
                time_s,
            )  # fmt: skip


@njit
def divided_step(
    ticks: int, p: Buffers, done: bool, y1: float, v1: float, p1: float, ok: bool
) -> Any:
    """Take one step of the grid as `whole_step`, locating what happens inside it.

    What leaves too much of the energy balance open is made in halves, again and again.
    """
    w, state, phase = p.work, p.state[0], p.state[0].phase
    left = ticks * TICK_S
    size = left
    unbooked = ticks
    time_s = state.phase_tick * TICK_S
    inside = True
    fine = True
    for turn in range(MOST_TURNS + 1):
        last = turn == MOST_TURNS
        n = state.count
        y, v, part_s = state.depth_m, state.speed_m_s, state.part_s
        slack = _note_gaps(n, w, phase, y, v, part_s, time_s)
        if last:
            size = left
        if not done or turn > 0 or w[r.LINE_P + r.ANY_STATIC] != 0.0:
            y1, v1, p1, ok = try_step(n, w, phase, y, v, part_s, time_s, size)
        kind, which, gap, start = _event(n, w, phase, y1, v1, p1, time_s + size, y, slack)
        taken = size
        if last:
            kind = NOTHING
        if kind != NOTHING:
            taken, y1, v1, p1, ok = _locate(
                kind, which, start, gap, n, w, phase, y, v, part_s, time_s, size
            )
            state.substeps += 1
        if (
            uneven(n, w, taken)
            and not last
            and too_open(n, w, phase, y, v, part_s, time_s, y1, v1, p1, taken)
        ):
            size = 0.5 * taken
            state.substeps += 1
            continue
        fine = fine and ok
        if taken > 0.0:
            inside = book(n, p, y, unbooked) and inside
            unbooked = 0
            state.depth_m, state.speed_m_s, state.part_s = y1, v1, p1
            _retaut(n, w, phase, y1, p1, time_s + taken)
            if w[r.LINE_P + r.ANY_STATIC] != 0.0:
                _restick(n, w)
        time_s += taken
        left -= taken
        if kind != NOTHING:
            _happen(kind, which, p, time_s)
        if left <= 1e-12:
            break
        size = min(left, 2.0 * size)
    if not (abs(state.depth_m) < 1e9 and abs(state.speed_m_s) < 1e9):
        fine = False
    state.steps += 1
    return fine, inside


@inlined
def whole_step(
    ticks: int, p: Buffers, done: bool, y1: float, v1: float, p1: float, ok: bool
) -> Any:
    """Take one step of the grid from the state.

    done: True if the step was tried already and its end is (y1, v1, p1). Returns (ok, inside).
    Where all is taut and nothing happens, as a rule, the step is taken as it is.
    """
    w, state = p.work, p.state[0]
    n = state.count
    quick = w[r.LINE_P + r.ANY_STATIC] == 0.0
    for i in range(n + 1):
        quick = quick and w[r.TAUT + i] != 0.0
    if quick:
        if not done:
            y1, v1, p1, ok = try_step(
                n, w, state.phase, state.depth_m, state.speed_m_s, state.part_s,
                state.phase_tick * TICK_S, ticks * TICK_S,
            )  # fmt: skip
            done = True
        within = w[r.REGIME_P + r.LOW] <= y1 <= w[r.REGIME_P + r.HIGH]
        if within and not uneven(n, w, ticks * TICK_S):
            inside = book(n, p, state.depth_m, ticks)
            state.depth_m, state.speed_m_s, state.part_s = y1, v1, p1
            state.steps += 1
            return ok and abs(y1) < 1e9 and abs(v1) < 1e9, inside
    return divided_step(ticks, p, done, y1, v1, p1, ok)
