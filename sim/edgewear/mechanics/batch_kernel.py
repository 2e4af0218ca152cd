"""Many runs of a tape on one section, one after the other inside one kernel call."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.layout import Kind, Status
from edgewear.mechanics.arrays import REGIME, STATE, SUMS, Buffers, Floats, Records
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.contacts.contacts_in_plane import route
from edgewear.mechanics.jit import entry, njit
from edgewear.mechanics.movement.advance import play
from edgewear.mechanics.results import residual_of
from edgewear.mechanics.wear.wear import core_left, scan, strength_n, wore_most

DONE, PARTED, FAILED, DRAWS = (
    int(Status.DONE), int(Status.PARTED), int(Status.FAILED), int(Status.DRAWS)
)  # fmt: skip
STROKES, WORK, FEED, PAYOUT = (
    int(Kind.STROKES), int(Kind.WORK), int(Kind.FEED), int(Kind.PAYOUT)
)  # fmt: skip
FOREVER = np.iinfo(np.int64).max


Whole = NDArray[np.int64]


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
    ascended_m: Floats  # (n,) in strokes
    strokes: Whole  # (n,)
    ticks: Whole  # (n,) when the tape ended
    residual: Floats  # (n,)


def play_many(
    buffers: Buffers,
    lines: Records,
    edges: Records,
    people: Records,
    wears: Records,
    tapes: Records,
    variation: Floats,
) -> Many:
    """Play n tapes on one section, each with its own numbers, and read what came out.

    buffers: of the section, used and cleared for every run. lines, people, wears: (n,) records;
    edges: EDGE (n, e). tapes: MOVEMENT (n, m), whole movements of one section. variation:
    (n or 1, k, 2) standard normals by ordinal of the stroke.
    """
    count, size = len(lines), edges.shape[1]
    regimes = routes(lines, edges)
    many = Many(
        end=np.zeros(count, np.int64),
        state=np.zeros(count, STATE),
        sums=np.zeros((count, size), SUMS),
        largest_j_m=np.zeros(count),
        worst_edge=np.zeros(count, np.int64),
        core_loss=np.zeros(count),
        strength_n=np.zeros(count),
        frequency_hz=np.full((count, 2), np.nan),
        core_step=np.zeros(count, np.int64),
        parted_step=np.zeros(count, np.int64),
        ascended_m=np.zeros(count),
        strokes=np.zeros(count, np.int64),
        ticks=np.zeros(count, np.int64),
        residual=np.zeros(count),
    )
    blank = np.zeros(1, STATE), np.zeros(1, SUMS)
    _play_many(
        lines, edges, people, wears, *regimes, *blank, tapes, variation, *many[:-1], *buffers
    )
    return many._replace(residual=residual_of(many.state))


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
def _clear(state_: Any, sums: Any, pending: Floats, exposure: Floats, blank: Any, none: Any) -> Any:
    """Make one section ready for another run, as `arrays.clear` does."""
    cells = exposure.shape[1]
    for row in range(sums.shape[0]):
        for k in range(max(sums[row].pending_low, 0), sums[row].pending_high + 4):
            if k < pending.shape[1]:
                pending[row, k] = 0.0
        for k in range(max(sums[row].worn_low, 0), sums[row].worn_high + 4):
            if k < cells:
                exposure[row, k] = 0.0
        sums[row] = none[0]
        sums[row].bare_tick = -1
        for k in range(3):
            sums[row].worn_tick[k] = -1
        sums[row].pending_low = cells
        sums[row].worn_low = cells
    state_[0] = blank[0]
    state_[0].phase_end = -1
    state_[0].core_tick = -1
    state_[0].worn_tick[0] = -1
    state_[0].worn_tick[1] = -1
    state_[0].parted_tick = -1


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


@entry(CACHE)
def _play_many(
    lines: Any,
    edges: Any,
    people: Any,
    wears: Any,
    regimes: Any,
    regime_counts: Any,
    blank: Any,
    none: Any,
    tapes: Any,
    variation: Floats,
    end: Any,
    states: Any,
    all_sums: Any,
    largest_j_m: Floats,
    worst_edge: Any,
    core_loss: Floats,
    strengths_n: Floats,
    frequency_hz: Floats,
    core_step: Any,
    parted_step: Any,
    ascended_m: Floats,
    strokes: Any,
    ticks: Any,
    line_: Any,
    edges_: Any,
    person_: Any,
    wear_: Any,
    _regimes: Any,
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
) -> Any:
    """The loop over runs; results go to the arrays handed in."""
    for i in range(lines.shape[0]):
        line_[0], person_[0], wear_[0] = lines[i], people[i], wears[i]
        for j in range(edges_.shape[0]):
            edges_[j] = edges[i, j]
        _clear(state_, sums, pending, exposure, blank, none)
        mark_state[0] = blank[0]
        for j in range(mark_sums.shape[0]):
            mark_sums[j] = none[0]
        row = min(i, regimes.shape[0] - 1)
        ways = regimes[row][: regime_counts[row]]
        normals = variation[min(i, variation.shape[0] - 1)]
        heard = False
        code = DONE
        for m in range(tapes.shape[1]):
            movement = tapes[i][m : m + 1]
            kind = movement[0].kind
            state_[0].tick = ticks[i] + movement[0].idle_ticks
            state_[0].ascended_m = ascended_m[i]
            movement[0].first_stroke = strokes[i]
            moves = kind in (STROKES, WORK, FEED, PAYOUT)
            if not heard and moves:
                frequency_hz[i, 0] = _hertz(state_[0], line_[0], person_[0], False)
                frequency_hz[i, 1] = _hertz(state_[0], line_[0], person_[0], True)
                heard = not math.isnan(frequency_hz[i, 0])
            code = play(
                line_, edges_, person_, wear_, ways, state_, sums, pending, exposure, cells,
                travel, trace, trace_ticks, mark_state, mark_sums, w, movement, normals,
                FOREVER, False, PARTED, math.inf,
            )  # fmt: skip
            if code & (FAILED | DRAWS):
                break
            if kind == STROKES:
                ascended_m[i] = state_[0].ascended_m
                strokes[i] = movement[0].first_stroke + state_[0].stroke
            if core_step[i] == 0 and state_[0].core_tick >= 0:
                core_step[i] = movement[0].step
            if parted_step[i] == 0 and state_[0].parted_tick >= 0:
                parted_step[i] = movement[0].step
            ticks[i] = state_[0].tick
            if code & PARTED:
                break
        end[i] = code & (FAILED | DRAWS) if code & (FAILED | DRAWS) else DONE
        times = 1.0 + state_[0].skipped
        largest, cell = scan(pending, exposure, sums, times, w)
        largest_j_m[i] = largest
        worst_edge[i] = wore_most(cell, pending, exposure, sums, times)
        core_loss[i] = 1.0 - core_left(largest, wear_[0])
        strengths_n[i] = strength_n(largest, wear_[0])
        states[i] = state_[0]
        for j in range(sums.shape[0]):
            all_sums[i, j] = sums[j]
