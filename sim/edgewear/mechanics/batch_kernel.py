"""Many runs of a tape on one section, one after the other inside one kernel call."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from edgewear.mechanics.arrays import REGIME, STATE, SUMS, Buffers, Floats, Records
from edgewear.mechanics.contacts.contacts_in_plane import route
from edgewear.mechanics.lanes.rows import LANES
from edgewear.mechanics.lanes.tapes import Runs, Whole, lanes_for, play_tapes, side_by_side
from edgewear.mechanics.results import residual_of


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
    regimes, regime_counts = routes(lines, edges)
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
    runs = Runs(lines, edges, people, wears, regimes, regime_counts, tapes, variation)
    play_tapes(runs, many, side_by_side(buffers, LANES), lanes_for())
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
