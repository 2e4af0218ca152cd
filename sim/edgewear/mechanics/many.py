"""Many runs of a tape on one section in one kernel call."""

from __future__ import annotations

import numpy as np

from edgewear.mechanics.arrays import STATE, SUMS, Buffers, Floats, Records
from edgewear.mechanics.batch_kernel import Many, Runs, Whole, play_in_turn, routes
from edgewear.mechanics.lanes.play import play_side_by_side
from edgewear.mechanics.lanes.rows import EDGES
from edgewear.mechanics.results import residual_of

LEAST_RUNS = 5
"""Fewer runs are played one after the other: a step of all lanes takes as long as four others.

No more, so that the few trials by which options are told apart need no kernel beside the one that
has played all."""


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
        used_up_step=np.zeros(count, np.int64),
        ascended_m=np.zeros(count),
        strokes=np.zeros(count, np.int64),
        ticks=np.zeros(count, np.int64),
        residual=np.zeros(count),
        edge_largest_j_m=np.zeros((count, size)),
        travel=np.empty((count, size, buffers.travel.shape[1])),
    )
    blank, none = np.zeros(1, STATE), np.zeros(1, SUMS)
    runs = Runs(lines, edges, people, wears, regimes, regime_counts, tapes, variation, blank, none)
    beside = _edges_beside(regimes, regime_counts)
    if count >= LEAST_RUNS and beside >= 0 and not buffers.trace.size:
        play_side_by_side(runs, many, buffers, beside)
    else:
        play_in_turn(runs, many, buffers)
    return many._replace(residual=residual_of(many.state))


def _edges_beside(regimes: Records, counts: Whole) -> int:
    """Edges of the sets whose steps lanes take, as many as a run touches in the end.

    0: one edge, by the step of its own; -1: none.
    """
    lowest = regimes[np.arange(len(counts)), counts - 1]
    edges = int(lowest["count"].max())
    if edges == 1 and lowest["closed"].any():
        return 0
    return edges if 1 <= edges <= EDGES else -1
