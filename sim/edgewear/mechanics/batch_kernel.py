"""Many runs of a tape on one section, one after the other inside one kernel call.

What a run begins and ends with serves runs side by side too.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.layout import Kind
from edgewear.mechanics.arrays import REGIME, Buffers, Floats, Records
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.contacts.contacts_in_plane import route
from edgewear.mechanics.jit import entry, inlined, njit
from edgewear.mechanics.movement.advance import _played
from edgewear.mechanics.movement.status import DONE, DRAWS, FAILED, FULL, PARTED
from edgewear.mechanics.scratch import SCAN_MOST
from edgewear.mechanics.wear.wear import core_left, strength_n
from edgewear.mechanics.wear.worst_place import scan, wore_most

STROKES, WORK, FEED, PAYOUT = (
    int(Kind.STROKES), int(Kind.WORK), int(Kind.FEED), int(Kind.PAYOUT)
)  # fmt: skip
FOREVER = np.iinfo(np.int64).max

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
    blank: Records  # STATE (1,), zeros
    none: Records  # SUMS (1,), zeros


class Many(NamedTuple):
    """What n runs came to."""

    end: Whole  # (n,) DONE, FAILED or DRAWS: more stroke variation was needed
    state: Records  # STATE (n,)
    sums: Records  # SUMS (n, edges)
    largest_j_m: Floats  # (n,) exposure at the worst place
    worst_edge: Whole  # (n,) row, -1: none
    core_loss: Floats  # (n,)
    strength_n: Floats  # (n,)
    frequency_hz: Floats  # (n, 2) sliding, stuck, when somebody first moved
    core_step: Whole  # (n,) step of the job, 0: never
    parted_step: Whole  # (n,)
    used_up_step: Whole  # (n,)
    ascended_m: Floats  # (n,) in strokes
    strokes: Whole  # (n,)
    ticks: Whole  # (n,) when the tape ended
    residual: Floats  # (n,)
    edge_largest_j_m: Floats  # (n, edges) exposure at the worst place of each edge alone
    travel: Floats  # (n, edges, k) of a mark in each stroke [m], as far as `travels` goes


def routes(lines: Records, edges: Records) -> tuple[Records, Whole]:
    """Contact sets of n lines, REGIME (n or 1, r), and how many each has (n or 1,).

    One row stands for all where the lines lie alike.
    """
    places = ("direct", "anchor_m", "load_out_m", "load_along_m", "edge_count")
    spots = ("start_m", "end_m", "after_m", "bend_rad")
    alike = all((lines[name] == lines[name][:1]).all() for name in places) and all(
        (edges[name] == edges[name][:1]).all() for name in spots
    )
    each = [route(lines[i : i + 1], edges[i]) for i in range(1 if alike else len(lines))]
    counts = np.array([len(one) for one in each], np.int64)
    table = np.zeros((len(each), int(counts.max())), REGIME)
    for row, one in enumerate(each):
        table[row, : len(one)] = one
    return table, counts


@njit
def _clear(p: Buffers, blank: Any, none: Any) -> None:
    """Make a section ready for another run, as `arrays.clear` does."""
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
        for k in range(min(p.state[0].travels, p.travel.shape[1])):
            p.travel[row, k] = math.nan
    p.mark_state[0] = blank[0]
    p.state[0] = blank[0]
    state = p.state[0]
    state.phase_end = -1
    state.core_tick = -1
    state.worn_tick[0] = -1
    state.worn_tick[1] = -1
    state.parted_tick = -1


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
def end_run(run: int, status: int, p: Buffers, many: Any) -> None:
    """Write what a run came to."""
    many.end[run] = status & (FAILED | DRAWS) if status & (FAILED | DRAWS) else DONE
    times = 1.0 + p.state[0].skipped
    largest, cell = scan(p.pending, p.exposure, p.sums, times, p.work)
    many.largest_j_m[run] = largest
    many.worst_edge[run] = wore_most(cell, p.pending, p.exposure, p.sums, times)
    many.core_loss[run] = 1.0 - core_left(largest, p.wear[0])
    many.strength_n[run] = strength_n(largest, p.wear[0])
    many.state[run] = p.state[0]
    edges = p.sums.shape[0]
    for j in range(edges):
        many.sums[run, j] = p.sums[j]
        many.edge_largest_j_m[run, j] = p.work[SCAN_MOST + j] if edges > 1 else largest
        for k in range(min(p.state[0].travels, p.travel.shape[1])):
            many.travel[run, j, k] = p.travel[j, k]


@inlined
def begin_movement(run: int, p: Buffers, movement: Any, heard: bool, many: Many) -> Any:
    """What a run's state has to know before a movement; returns whether somebody has moved."""
    state = p.state[0]
    state.tick = many.ticks[run] + movement.idle_ticks
    state.ascended_m = many.ascended_m[run]
    movement.first_stroke = many.strokes[run]
    if not heard and movement.kind in (STROKES, WORK, FEED, PAYOUT):
        many.frequency_hz[run, 0] = _hertz(state, p.line[0], p.person[0], False)
        many.frequency_hz[run, 1] = _hertz(state, p.line[0], p.person[0], True)
        heard = not math.isnan(many.frequency_hz[run, 0])
    return heard


@inlined
def end_movement(run: int, status: int, p: Buffers, movement: Any, many: Many) -> None:
    """Write what a movement came to."""
    state = p.state[0]
    if status & (FAILED | DRAWS):
        return
    if movement.kind == STROKES:
        many.ascended_m[run] = state.ascended_m
        many.strokes[run] = movement.first_stroke + state.stroke
    if many.core_step[run] == 0 and state.core_tick >= 0:
        many.core_step[run] = movement.step
    if many.parted_step[run] == 0 and state.parted_tick >= 0:
        many.parted_step[run] = movement.step
    if many.used_up_step[run] == 0 and status & FULL:
        many.used_up_step[run] = movement.step
    many.ticks[run] = state.tick


@inlined
def put_run(run: int, p: Buffers, runs: Runs) -> None:
    """Make a section ready for a run."""
    p.line[0] = runs.lines[run]
    p.person[0] = runs.people[run]
    p.wear[0] = runs.wears[run]
    for j in range(p.edges.shape[0]):
        p.edges[j] = runs.edges[run, j]
    _clear(p, runs.blank, runs.none)


@njit
def _play_all(runs: Runs, many: Many, b: Buffers) -> None:
    """The loop over runs."""
    for run in range(runs.lines.shape[0]):
        row = min(run, runs.regimes.shape[0] - 1)
        p = Buffers(
            b.line, b.edges, b.person, b.wear, runs.regimes[row][: runs.regime_counts[row]],
            b.state, b.sums, b.pending, b.exposure, b.cells, b.travel, b.trace, b.trace_ticks,
            b.mark_state, b.mark_sums, b.work,
        )  # fmt: skip
        put_run(run, p, runs)
        normals = runs.variation[min(run, runs.variation.shape[0] - 1)]
        status, heard = 0, False
        for at in range(runs.tapes.shape[1]):
            movement = runs.tapes[run, at]
            heard = begin_movement(run, p, movement, heard, many)
            status = _played(p, movement, normals, FOREVER, False, PARTED, math.inf)
            end_movement(run, status, p, movement, many)
            if status & (FAILED | DRAWS | PARTED):
                break
        end_run(run, status, p, many)


@entry(CACHE)
def play_in_turn(runs: Runs, many: Many, b: Buffers) -> None:
    """Play all runs; what they come to goes to `many`.

    The loop is a kernel of its own: what Python calls counts references, and arrays made where
    none are counted would be given back once too often.
    """
    _play_all(runs, many, b)
