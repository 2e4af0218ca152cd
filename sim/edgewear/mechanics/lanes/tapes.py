"""Many runs of a tape, `LANES` at a time: each lane plays one run, and takes the next when it ends.

What all lanes can do is done for all at once; where a phase ends, something happens inside a step
or has to be looked at, or the lanes cannot do it, that lane alone goes the scalar way. So a run
comes to the same bits whatever runs beside it, and the same as played alone.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.layout import Kind
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import STATE, SUMS, Buffers, Floats, Records
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.jit import entry, njit
from edgewear.mechanics.lanes import rows as a
from edgewear.mechanics.lanes.exchange import (
    fill_constants,
    fill_edge,
    fill_state,
    read_edge,
    read_state,
)
from edgewear.mechanics.lanes.one_edge import lane_step
from edgewear.mechanics.movement.advance import enter, go_on, leave, start
from edgewear.mechanics.movement.limits import AFRESH, BUDGET, SPILT
from edgewear.mechanics.movement.status import DONE, DRAWS, FAILED, PARTED
from edgewear.mechanics.parts import lane_of
from edgewear.mechanics.wear.wear import core_left, deposit, scan, strength_n, wore_most

STROKES, WORK, FEED, PAYOUT = (
    int(Kind.STROKES), int(Kind.WORK), int(Kind.FEED), int(Kind.PAYOUT)
)  # fmt: skip
FOREVER = np.iinfo(np.int64).max
LANES = a.LANES

Whole = NDArray[np.int64]


class Runs(NamedTuple):
    """n runs: their numbers, and the tape of each."""

    lines: Records  # LINE (n,)
    edges: Records  # EDGE (n, e)
    people: Records  # PERSON (n,)
    wears: Records  # WEAR (n,)
    regimes: Records  # REGIME (n or 1, r)
    regime_counts: Whole  # (n or 1,)
    tapes: Records  # MOVEMENT (n, m)
    variation: Floats  # (n or 1, k, 2)


class Lanes(NamedTuple):
    """What the lanes are at, and their numbers."""

    x: Floats  # (ROWS*LANES,), see `rows`
    run: Whole  # (LANES,) which run; -1: none
    movement: Whole  # (LANES,) which of its tape
    most_steps: Whole  # (LANES,) at which the movement is given up
    heard: Whole  # (LANES,) 1: somebody has moved
    blank: Records  # STATE (1,)
    none: Records  # SUMS (1,)


def lanes_for() -> Lanes:
    """Lanes with nothing in them."""
    return Lanes(
        x=np.zeros(LANES * a.ROWS),
        run=np.zeros(LANES, np.int64),
        movement=np.zeros(LANES, np.int64),
        most_steps=np.zeros(LANES, np.int64),
        heard=np.zeros(LANES, np.int64),
        blank=np.zeros(1, STATE),
        none=np.zeros(1, SUMS),
    )


def side_by_side(buffers: Buffers, lanes: int) -> Buffers:
    """Buffers like these for so many lines, one a lane."""
    shared = {"regimes", "cells", "travel", "trace", "trace_ticks"}
    single = {"line", "person", "wear", "state"}
    return Buffers(
        *(
            array
            if name in shared
            else np.zeros((lanes, *(() if name in single else array.shape)), array.dtype)
            for name, array in zip(Buffers._fields, buffers, strict=True)
        )
    )


@njit
def _clear(p: Buffers, blank: Any, none: Any) -> None:
    """Make a lane's section ready for another run, as `arrays.clear` does."""
    cells = p.exposure.shape[1]
    for row in range(p.sums.shape[0]):
        for k in range(max(p.sums[row].pending_low, 0), p.sums[row].pending_high + 4):
            if k < p.pending.shape[1]:
                p.pending[row, k] = 0.0
        for k in range(max(p.sums[row].worn_low, 0), p.sums[row].worn_high + 4):
            if k < cells:
                p.exposure[row, k] = 0.0
        p.sums[row] = none[0]
        p.mark_sums[row] = none[0]
        p.sums[row].bare_tick = -1
        for k in range(3):
            p.sums[row].worn_tick[k] = -1
        p.sums[row].pending_low = cells
        p.sums[row].worn_low = cells
    p.mark_state[0] = blank[0]


@njit
def _hertz(state: Any, line: Any, person: Any, last_alone: bool) -> Any:
    """Natural frequency [Hz], as `read.frequencies` gives it."""
    if state.loaded == 0:
        return math.nan
    rope_m = 0.0
    if last_alone:
        rope_m = state.span_m[state.count]
    else:
        for i in range(state.count + 1):
            rope_m += state.span_m[i]
    stiffness = line.stiffness_n / (rope_m + line.stiffness_n / person.body_stiffness_n_m)
    return math.sqrt(stiffness / state.mass_kg) / (2.0 * math.pi)


@njit
def _begin_run(i: int, run: int, runs: Runs, b: Any, lanes: Lanes) -> None:
    """Hand lane i a run: its records, and buffers that are clear."""
    b.line[i] = runs.lines[run]
    b.person[i] = runs.people[run]
    b.wear[i] = runs.wears[run]
    for j in range(b.edges.shape[1]):
        b.edges[i, j] = runs.edges[run, j]
    p = lane_of(b, runs.regimes[0], i)
    _clear(p, lanes.blank, lanes.none)
    b.state[i] = lanes.blank[0]
    state = b.state[i]
    state.phase_end = -1
    state.core_tick = -1
    state.worn_tick[0] = -1
    state.worn_tick[1] = -1
    state.parted_tick = -1
    lanes.run[i] = run
    lanes.movement[i] = 0
    lanes.heard[i] = 0


@njit
def _end_run(run: int, status: int, p: Buffers, many: Any) -> None:
    """Write what a run came to."""
    many.end[run] = status & (FAILED | DRAWS) if status & (FAILED | DRAWS) else DONE
    times = 1.0 + p.state[0].skipped
    largest, cell = scan(p.pending, p.exposure, p.sums, times, p.work)
    many.largest_j_m[run] = largest
    many.worst_edge[run] = wore_most(cell, p.pending, p.exposure, p.sums, times)
    many.core_loss[run] = 1.0 - core_left(largest, p.wear[0])
    many.strength_n[run] = strength_n(largest, p.wear[0])
    many.state[run] = p.state[0]
    for j in range(p.sums.shape[0]):
        many.sums[run, j] = p.sums[j]


@njit
def _begin_movement(
    i: int, p: Buffers, movement: Any, normals: Floats, many: Any, lanes: Lanes
) -> Any:
    """Begin the lane's next movement; returns (code, status), see `advance.enter`."""
    run = lanes.run[i]
    state = p.state[0]
    state.tick = many.ticks[run] + movement.idle_ticks
    state.ascended_m = many.ascended_m[run]
    movement.first_stroke = many.strokes[run]
    kind = movement.kind
    moves = kind in (STROKES, WORK, FEED, PAYOUT)
    if lanes.heard[i] == 0 and moves:
        many.frequency_hz[run, 0] = _hertz(state, p.line[0], p.person[0], False)
        many.frequency_hz[run, 1] = _hertz(state, p.line[0], p.person[0], True)
        lanes.heard[i] = 0 if math.isnan(many.frequency_hz[run, 0]) else 1
    code, status = enter(p, movement, normals)
    if status == 0:
        code = start(code, p, movement, normals, PARTED, math.inf)
        lanes.most_steps[i] = state.steps + BUDGET
    return code, status


@njit
def _end_movement(i: int, status: int, state: Any, movement: Any, many: Any, lanes: Lanes) -> Any:
    """Note what the lane's movement came to; True: the run is over."""
    if status & (FAILED | DRAWS):
        return True
    run = lanes.run[i]
    if movement.kind == STROKES:
        many.ascended_m[run] = state.ascended_m
        many.strokes[run] = movement.first_stroke + state.stroke
    if many.core_step[run] == 0 and state.core_tick >= 0:
        many.core_step[run] = movement.step
    if many.parted_step[run] == 0 and state.parted_tick >= 0:
        many.parted_step[run] = movement.step
    many.ticks[run] = state.tick
    lanes.movement[i] += 1
    return status & PARTED != 0


@njit
def _play_alone(i: int, resumes: int, p: Buffers, runs: Runs, many: Any, lanes: Lanes) -> Any:
    """Play lane i's run the scalar way until lanes can take its next step; False: it is over.

    resumes: see `advance.go_on`; AFRESH: a movement is to begin.
    """
    run = lanes.run[i]
    normals = runs.variation[min(run, runs.variation.shape[0] - 1)]
    status = 0
    while lanes.movement[i] < runs.tapes.shape[1]:
        movement = runs.tapes[run, lanes.movement[i]]
        code = 0
        if resumes == AFRESH:
            code, status = _begin_movement(i, p, movement, normals, many, lanes)
        else:
            read_state(i, lanes.x, p.state[0], p.work)
            read_edge(i, lanes.x, p.sums[int(p.work[r.ROW + 1])])
        if status == 0:
            code, status = go_on(
                code, p, movement, normals, FOREVER, False, PARTED, math.inf,
                lanes.most_steps[i], resumes,
            )  # fmt: skip
            if code == 0 and status == 0:
                fill_constants(i, lanes.x, p.state[0], p.work, p.line[0], lanes.most_steps[i])
                fill_state(i, lanes.x, p.state[0], p.work)
                fill_edge(i, lanes.x, p.sums[int(p.work[r.ROW + 1])])
                return True
            status = leave(code, status, p, movement, False, PARTED, math.inf)
        if _end_movement(i, status, p.state[0], movement, many, lanes):
            break
        status = 0
        resumes = AFRESH
    _end_run(run, status, p, many)
    return False


@njit
def _serve(i: int, resumes: int, taken: int, runs: Runs, b: Any, many: Any, lanes: Lanes) -> Any:
    """Bring lane i to where lanes can take its next step, with the next run where one ends.

    taken: runs taken so far. Returns how many then.
    """
    while True:
        if lanes.run[i] < 0 or resumes == AFRESH:
            if taken == runs.lines.shape[0]:
                lanes.run[i] = -1
                return taken
            _begin_run(i, taken, runs, b, lanes)
            taken += 1
        row = min(lanes.run[i], runs.regimes.shape[0] - 1)
        p = lane_of(b, runs.regimes[row][: runs.regime_counts[row]], i)
        if _play_alone(i, resumes, p, runs, many, lanes):
            return taken
        resumes = AFRESH


@njit
def _deposit(i: int, p: Buffers, x: Floats) -> Any:
    """Spread what lane i's step deposits; False: it lies beyond the cells."""
    row = int(p.work[r.ROW + 1])
    edge = p.sums[row]
    per_cell = p.work[r.REGIME_P + r.PER_CELL]
    low, top = deposit(
        p.pending[row], x[LANES * a.FROM_CELL + i], x[LANES * a.TO_CELL + i],
        x[LANES * a.WINDOW + i] * per_cell, x[LANES * a.AMOUNT + i] * per_cell,
    )  # fmt: skip
    edge.pending_low = min(edge.pending_low, low if top >= 0 else edge.pending_low)
    edge.pending_high = max(edge.pending_high, top)
    return top >= 0


@entry(CACHE)
def play_tapes(runs: Runs, many: Any, b: Any, lanes: Lanes) -> None:
    """Play all runs; what they come to goes to `many`. b: from `side_by_side`.

    The loop is a kernel of its own: what Python calls counts references, and a lane's arrays,
    made where none are counted, would be given back once too often.
    """
    _play_all(runs, many, b, lanes)


@njit
def _play_all(runs: Runs, many: Any, b: Any, lanes: Lanes) -> None:
    """The loop over steps."""
    x = lanes.x
    taken = 0
    active = 0
    per_cell = 1.0 / b.cells[0]
    for i in range(LANES):
        lanes.run[i] = -1
        taken = _serve(i, AFRESH, taken, runs, b, many, lanes)
        if lanes.run[i] >= 0:
            active += 1
    while active > 0:
        lane_step(x, b.cells[1], per_cell)
        for i in range(LANES):
            if lanes.run[i] < 0:
                continue
            resumes = int(x[LANES * a.OUTCOME + i])
            wears = x[LANES * a.AMOUNT + i] > 0.0
            if wears and not _deposit(i, lane_of(b, runs.regimes[0], i), x):
                resumes = SPILT
            if resumes != 0:
                taken = _serve(i, resumes, taken, runs, b, many, lanes)
                if lanes.run[i] < 0:
                    active -= 1
