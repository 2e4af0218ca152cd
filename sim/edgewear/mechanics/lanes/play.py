"""Runs side by side: a lane plays one run after the other, all step at once."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from edgewear.mechanics.arrays import Buffers, Floats, Records
from edgewear.mechanics.batch_kernel import (
    FOREVER,
    Many,
    Runs,
    Whole,
    begin_movement,
    end_movement,
    end_run,
    put_run,
)
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.jit import entry, inlined, njit
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.booking import FRESH, GOES_ON, LOOKS, REFUSED, SEARCHES, TURNS
from edgewear.mechanics.lanes.exchange import (
    fill_levels,
    fill_phase,
    keep_lane,
    load_lane,
    tell_look,
    tell_turn,
)
from edgewear.mechanics.lanes.one_edge import step_one_edge
from edgewear.mechanics.lanes.rows import EACH, LANES, NEXT, SIZE
from edgewear.mechanics.lanes.several import step_several
from edgewear.mechanics.lanes.wear import OUTSIDE, SHUTS
from edgewear.mechanics.movement.advance import enter, go_on, leave, looked, open_phase, start
from edgewear.mechanics.movement.limits import BUDGET, END_S
from edgewear.mechanics.movement.moves import GOES_ON as BEGINS
from edgewear.mechanics.movement.moves import next_phase
from edgewear.mechanics.movement.status import DRAWS, FAILED, PARTED, READY, SLACK
from edgewear.mechanics.scratch import BESIDE, DROP, PAUSE, REGIME_P, RISE, WAIT
from edgewear.mechanics.wear.field import changes

ONE, TWO = np.uintp(1), np.uintp(2)
RUN, MOVEMENT, MOST_STEPS, HEARD = range(4)
"""Columns of `Lanes.place`."""


class Lanes(NamedTuple):
    """The buffers of every lane, a row each, and where each lane is."""

    line: Records
    edges: Records
    person: Records
    wear: Records
    state: Records
    sums: Records
    pending: Floats
    exposure: Floats
    travel: Floats
    mark_state: Records
    mark_sums: Records
    work: Floats
    place: Whole  # (LANES, 4) run, movement, most steps, whether somebody has moved
    next_run: Whole  # (1,) to be taken
    beside: Whole  # (1,) edges of the sets whose steps they take; 0: one, by the step of its own
    f: Floats  # (SIZE,) see `rows`


_SPARE: list[Lanes] = []
"""Buffers of lanes that nobody uses: to have as many made anew takes as long as dozens of runs.

At most those used last. Each run finds them as another has left them, and clears what that wore.
"""


def _rows() -> Floats:
    """Make rows of lanes in which nothing is yet."""
    f = np.ones(SIZE)
    for row in (r.NOTHING, r.SWAY, r.OMEGA, r.Q_1 - NEXT, r.Q_3 - NEXT, r.Q_4 - NEXT, r.DQ - NEXT):
        f[row : row + NEXT] = 0.0
    f[r.DEPOSITS :] = 0.0
    return f


def _made(b: Buffers) -> Lanes:
    """Make lanes like the buffers given."""

    def each(one: Any) -> Any:
        return np.zeros((LANES, *one.shape), one.dtype)

    sums = each(b.sums)
    sums["pending_low"] = sums["worn_low"] = b.exposure.shape[1]
    none = np.zeros(1, np.int64)
    return Lanes(
        each(b.line), each(b.edges), each(b.person), each(b.wear), each(b.state), sums,
        each(b.pending), each(b.exposure), each(b.travel) + math.nan, each(b.mark_state),
        each(b.mark_sums), each(b.work), np.zeros((LANES, 4), np.int64), none, none, np.zeros(0),
    )  # fmt: skip


def _lanes(b: Buffers, beside: int) -> Lanes:
    """Take lanes like the buffers given, those used last if they fit."""
    e = _SPARE.pop() if _SPARE else _made(b)
    if (e.pending.shape[1:], e.travel.shape[1:]) != (b.pending.shape, b.travel.shape):
        e = _made(b)
    e.work[:, REGIME_P + BESIDE] = beside
    return e._replace(next_run=np.zeros(1, np.int64), beside=np.full(1, beside), f=_rows())


@inlined
def _buffers(i: int, run: int, runs: Runs, b: Buffers, e: Lanes) -> Any:
    """Buffers of lane i, with the contact sets of its run."""
    row = min(run, runs.regimes.shape[0] - 1)
    return Buffers(
        e.line[i], e.edges[i], e.person[i], e.wear[i],
        runs.regimes[row][: runs.regime_counts[row]],
        e.state[i], e.sums[i], e.pending[i], e.exposure[i], b.cells, e.travel[i], b.trace,
        b.trace_ticks, e.mark_state[i], e.mark_sums[i], e.work[i],
    )  # fmt: skip


@inlined
def _look(i: int, edges: int, p: Buffers, f: Floats) -> Any:
    """Look for what has come about in lane i; returns status bits."""
    tell_look(f, i, edges, p)
    p.state[0].raised &= ~SLACK
    status = looked(p, f[r.OUT + i] != OUTSIDE, PARTED, math.inf)
    fill_levels(f, i, edges, p)
    return status


@inlined
def _turn(i: int, runs: Runs, p: Buffers, e: Lanes) -> Any:
    """Begin the next phase in lane i; returns what comes of it."""
    movement = runs.tapes[e.place[i, RUN], e.place[i, MOVEMENT]]
    normals = runs.variation[min(e.place[i, RUN], runs.variation.shape[0] - 1)]
    code = next_phase(
        p.state[0], movement, p.person[0], normals, p.sums, p.wear[0], p.work, p.travel, p.pending,
        p.line[0], p.cells,
    )  # fmt: skip
    if code == BEGINS:
        open_phase(p, movement)
    fill_phase(e.f, i, max(e.beside[0], 1), p)
    return code


@inlined
def _stays(i: int, event: float, runs: Runs, b: Buffers, e: Lanes) -> Any:
    """Look, or begin the next phase, in lane i as it is.

    Returns (code, status, whether the lane goes on): of what it cannot go on with, for `_proceed`.
    """
    p = _buffers(i, e.place[i, RUN], runs, b, e)
    state = p.state[0]
    tell_turn(e.f, i, max(e.beside[0], 1), p)
    if event == LOOKS:
        status = _look(i, max(e.beside[0], 1), p, e.f)
        over = state.phase_tick >= state.phase_end
        if state.phase == RISE:
            over = state.part_s >= state.rise_s - END_S
        if status != 0 or not over:
            return 0, status, status == 0 and e.f[r.REST + i] == 0.0
    if e.f[r.STEPS + i] > e.place[i, MOST_STEPS]:
        return 0, FAILED, False
    if state.phase not in (RISE, DROP, PAUSE):
        return 0, 0, False
    code = _turn(i, runs, p, e)
    return code, 0, code == BEGINS and state.phase != WAIT


@inlined
def _search(i: int, f: Floats) -> None:
    """Choose the next try for the tick at which the rise of lane i is over, as `shorten`."""
    ticks, low, high = f[r.TRIED + i], f[r.SEARCH_LOW + i], f[r.SEARCH_HIGH + i]
    value = f[r.NEW_PART + i] - f[r.RISE_S + i] + END_S
    begin = f[r.PART + i] - f[r.RISE_S + i] + END_S
    guess = ticks
    if f[r.GUESS + i] == 0.0:
        low, high = 0.0, ticks
        if value > begin:
            guess = math.ceil(ticks * (-begin) / (value - begin))
    elif value >= 0.0:
        high = ticks
        guess = ticks - 1.0
    else:
        low = ticks
        guess = ticks + 1.0
    f[r.SEARCH_LOW + i], f[r.SEARCH_HIGH + i] = low, high
    f[r.GUESS + i] = min(max(guess, low + 1.0), high - 1.0)
    if high - low <= 1.0:
        f[r.GUESS + i], f[r.LAST + i] = high, 1.0


@inlined
def _next_run(i: int, runs: Runs, b: Buffers, e: Lanes) -> Any:
    """Put the next run into lane i; -1: none is left."""
    run = e.next_run[0]
    if run >= runs.lines.shape[0]:
        e.f[r.ACTIVE + i] = 0.0
        return -1
    e.next_run[0] = run + 1
    put_run(run, _buffers(i, run, runs, b, e), runs)
    return run


@inlined
def _proceed(
    i: int, event: float, code: int, status: int, runs: Runs, many: Many, b: Buffers, e: Lanes
) -> Any:
    """Play lane i up to the next step that it can take beside others; False: no run is left.

    event: what the last step came to; code, status: of a look or the end of a phase.
    """
    place, f = e.place[i], e.f
    run, at, most_steps, heard = place[RUN], place[MOVEMENT], place[MOST_STEPS], place[HEARD] != 0
    under_way = event != FRESH
    if not under_way:
        run = -1
    while True:
        if run < 0:
            run, at, heard = _next_run(i, runs, b, e), 0, False
            if run < 0:
                return False
        p = _buffers(i, run, runs, b, e)
        normals = runs.variation[min(run, runs.variation.shape[0] - 1)]
        movement = runs.tapes[run, at]
        entered = True
        if under_way:
            keep_lane(f, i, max(e.beside[0], 1), p)
        else:
            heard = begin_movement(run, p, movement, heard, many)
            code, status = enter(p, movement, normals)
            entered = status == 0
            if entered:
                code = start(code, p, movement, normals, PARTED, math.inf)
            most_steps = p.state[0].steps + BUDGET
        if status == 0:
            alone = 1 if under_way and event == REFUSED else 0
            code, status = go_on(
                code, p, movement, normals, FOREVER, False, PARTED, math.inf, most_steps, alone
            )
            if status == READY:
                load_lane(f, i, max(e.beside[0], 1), p)
                place[RUN], place[MOVEMENT], place[MOST_STEPS] = run, at, most_steps
                place[HEARD] = 1 if heard else 0
                return True
        if entered:
            status = leave(code, status, p, movement, False, PARTED, math.inf)
        end_movement(run, status, p, movement, many)
        at += 1
        if status & (FAILED | DRAWS | PARTED) or at >= runs.tapes.shape[1]:
            end_run(run, status, p, many)
            run = -1
        under_way, code, status = False, 0, 0


@inlined
def _add_ramp(field: Floats, f: Floats, place: Any) -> None:
    """Add a ramp to its cells; an index without a sign is not asked whether it counts backwards."""
    cell = np.uintp(f[place])
    field[cell] += f[place + np.uintp(EACH)]
    field[cell + ONE] += f[place + np.uintp(2 * EACH)]
    field[cell + TWO] += f[place + np.uintp(3 * EACH)]


@inlined
def _add_half(field: Floats, f: Floats, place: int, deposits: float) -> None:
    """Add what a half of a step wore at an edge."""
    if deposits == 0.0 or deposits == OUTSIDE:
        return
    if deposits == SHUTS:
        changes(field, f[r.SHUT_AT + place], f[r.SHUT_CELLS + place], f[r.SHUT_J + place])
    _add_ramp(field, f, np.uintp(r.RAMPS + place))
    _add_ramp(field, f, np.uintp(r.RAMPS + place + r.RAMP))


@inlined
def _deposit(i: int, at: int, e: Lanes) -> None:
    """Spread over the cells what the step of lane i wore at an edge; at: its place."""
    f = e.f
    first, second = f[np.uintp(r.DEPOSITS + at)], f[np.uintp(r.DEPOSITS + r.LATER + at)]
    if first == 0.0 and second == 0.0:
        return
    field = e.pending[np.uintp(i), np.uintp(f[np.uintp(r.ROW + at)])]
    _add_half(field, f, at, first)
    _add_half(field, f, r.LATER + at, second)


@njit
def _play_lanes(runs: Runs, many: Many, b: Buffers, e: Lanes) -> None:
    """The loop over steps of all lanes; what happens in one of them goes beside it."""
    f, edges = e.f, e.beside[0]
    active, most = LANES, max(edges, 1) * NEXT
    for i in range(LANES):
        f[r.EVENT + i] = FRESH
    while active > 0:
        for i in range(LANES):
            for at in range(i, most + i, NEXT):
                _deposit(i, at, e)
            event = f[r.EVENT + i]
            code, status, stays = 0, 0, event == GOES_ON
            if event == SEARCHES:
                _search(i, f)
                stays = True
            elif event in (LOOKS, TURNS):
                code, status, stays = _stays(i, event, runs, b, e)
            if not stays and not _proceed(i, event, code, status, runs, many, b, e):
                active -= 1
        if edges > 0:
            step_several(f, f, edges)
        else:
            step_one_edge(f)


@entry(CACHE)
def _side_by_side(runs: Runs, many: Many, b: Buffers, e: Lanes) -> None:
    """Play all runs; what they come to goes to `many`."""
    _play_lanes(runs, many, b, e)


def play_side_by_side(runs: Runs, many: Many, b: Buffers, beside: int) -> None:
    """Play runs side by side; what they come to goes to `many`.

    b: buffers of the section, for their shapes, without a trace. beside: edges of the contact sets
    whose steps the lanes take; 0: of one edge, by the step of its own.
    """
    lanes = _lanes(b, beside)
    _side_by_side(runs, many, b, lanes)
    _SPARE[:] = [lanes]
