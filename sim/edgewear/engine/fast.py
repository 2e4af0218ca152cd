"""Runs whose tape stays on one section, played and read many at a time."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear import mechanics
from edgewear.case import Batch, Case, Records
from edgewear.engine.devices.cuda import CPU, play_on_device
from edgewear.engine.draws import stroke_columns
from edgewear.engine.results.at_edges.many import edge_rows_of_many
from edgewear.engine.results.run_rows import FirstTimes, RunFigures, run_rows
from edgewear.layout import Kind, Status

MOST_EDGES = 6
"""Up to so many edges numpy sums the spans one by one, as the kernel does."""

SPARE_STROKES = 2.0
"""Strokes drawn over those of even rises; a run that needs still more is played alone."""

LEAST_STROKES = 16
"""Strokes drawn at least: on a short job chance may double them."""

Given = tuple[Records, Records, Records, Records, Records, NDArray[np.float64]]
"""LINE (n,), EDGE (n, e), PERSON (n,), WEAR (n,), MOVEMENT (n, m) and stroke variation."""

WHOLE = (Kind.HOLD, Kind.STROKES, Kind.PAYOUT, Kind.WORK, Kind.FEED, Kind.LOAD, Kind.UNLOAD)


class PlayedTogether(NamedTuple):
    """What came of some runs, and which have to be played one by one."""

    runs: Records  # RUN (n,); rows of `left` are not filled in
    left: NDArray[np.int64]
    edges: Records | None = None  # EDGE (any,), where they were wanted; those of `left` as well


def section_of(case: Case, tape: Records) -> int | None:
    """Give the section that a tape stays on, or None where it cannot be played many at a time.

    That is a tape of whole movements of one person on one working line.
    """
    if case.pasts:
        return None
    rows = np.unique(tape["line"])
    plain = np.isin(tape["kind"], WHOLE).all() and not tape["cut_ticks"].any()
    if rows.size != 1 or not plain or len(case.people) != 1:
        return None
    row = int(rows[0])
    few = case.lines[row]["edge_count"] <= MOST_EDGES
    return row if few and case.lines[row]["role"] == 0 else None


def play_fast(
    case: Case,
    row: int,
    batch: Batch,
    replicates: NDArray[np.int64],
    seed: int,
    device: str = CPU,
    travel: int | None = None,
) -> PlayedTogether:
    """Play a batch on one section; what comes out is what `play` and `outcome` give.

    Parameters:
        case: the option.
        row: from `section_of`.
        batch: n runs.
        replicates: (n,) whose stroke variation each run gets.
        seed: of the study.
        device: of `devices.cuda.DEVICES`; what it does not take, the processor does.
        travel: strokes whose mark travel is kept for the rows of edges; None: none are wanted.
    """
    edges = int(case.lines[row]["edge_count"])
    given = (
        np.ascontiguousarray(batch.lines[:, row]),
        np.ascontiguousarray(batch.edges[:, row, :edges]),
        np.ascontiguousarray(batch.people[:, 0]),
        np.ascontiguousarray(batch.wear[:, row]),
        np.ascontiguousarray(batch.tape),
        _variation(case, batch, replicates, seed),
    )
    many = None
    if device != CPU:
        many = _on_device(case, given, travel)
    if many is None:
        many = mechanics.play_many(_buffers(case, row, batch, travel or 0), *given)
    sheath_j_m = batch.wear["sheath_j_m"][:, row]
    figures = _figures(case, row, many, sheath_j_m)
    runs = run_rows(figures, len(replicates), case.extrapolated)
    left = np.flatnonzero(many.end != Status.DONE)
    if travel is None:
        return PlayedTogether(runs, left)
    at_edges = edge_rows_of_many(case, row, given[0], given[1], given[3], many)
    return PlayedTogether(runs, left, at_edges)


def _on_device(case: Case, given: Given, travel: int | None) -> mechanics.Many | None:
    """As a device plays them; None: it takes none. `travel`: as in `play_fast`.

    There all runs have room for what they keep at once: where nothing but strokes makes cycles, for
    as many as are drawn. A run that makes more of them is left.
    """
    tape, variation = given[-2:]
    strokes_alone = not np.isin(tape["kind"], (Kind.WORK, Kind.FEED)).any()
    room = min(travel, variation.shape[1]) if travel and strokes_alone else travel
    many = play_on_device(*given, case.let_out_m, room)
    if many is None or room == travel:
        return many
    return many._replace(end=np.where(many.state["travels"] > room, 0, many.end))


def _buffers(case: Case, row: int, batch: Batch, travel: int) -> mechanics.Buffers:
    """Buffers of the section: of copies, for they are written to, and not the batch's first run.

    With room for the rope that the job lets out at the anchor, as `Player` has.
    """
    count = int(case.lines[row]["edge_count"])
    line, edges = batch.lines[:1, row].copy(), batch.edges[0, row, :count].copy()
    person, wear = batch.people[:1, 0].copy(), batch.wear[:1, row].copy()
    regimes = mechanics.route(line, edges)
    return mechanics.allocate(
        line, edges, person, wear, regimes, travel=travel, behind_m=case.let_out_m
    )


def _variation(
    case: Case, batch: Batch, replicates: NDArray[np.int64], seed: int
) -> NDArray[np.float64]:
    """Stroke variation of every run, (n or 1, k, 2) [1]; zeros where strokes do not vary."""
    people, tape = batch.people[:, 0], batch.tape
    climbs = tape["kind"] == Kind.STROKES
    rise = np.where(climbs, np.maximum(tape["rise_m"], 1e-3), 1.0)
    strokes = (np.where(climbs, tape["length_m"], 0.0) / rise).sum(axis=1).max(initial=0.0)
    many = max(int(np.ceil(SPARE_STROKES * strokes)), LEAST_STROKES)
    if not people["amplitude_cv"].any() and not people["timing_cv"].any():
        return np.zeros((1, many, 2))
    return stroke_columns(seed, replicates, case.person_names[0], many)


def _figures(
    case: Case, row: int, many: mechanics.Many, sheath_j_m: NDArray[np.float64]
) -> RunFigures:
    state = many.state
    names = np.array([*case.edge_names[row], ""], dtype=object)
    return RunFigures(
        demand=many.largest_j_m / sheath_j_m,
        worst_line=case.line_names[row],
        worst_edge=names[many.worst_edge],
        core_loss=np.maximum(many.core_loss, 0.0),
        residual_strength_n=many.strength_n,
        peak_tension_n=state["peak_n"],
        anchor_peak_n=state["anchor_peak_n"],
        anchor_peak_name=case.rigged.sections[row].anchor,
        stretch_m=state["stretch_m"],
        third_worn=FirstTimes(state["worn_tick"][:, 0], state["worn_ascended_m"][:, 0]),
        two_thirds_worn=FirstTimes(state["worn_tick"][:, 1], state["worn_ascended_m"][:, 1]),
        core_visible=FirstTimes(state["core_tick"], state["core_ascended_m"], many.core_step),
        parted=FirstTimes(state["parted_tick"], state["parted_ascended_m"], many.parted_step),
        frequency_sliding_hz=many.frequency_hz[:, 0],
        frequency_stuck_hz=many.frequency_hz[:, 1],
        slip_m=many.sums["slip_m"].sum(axis=1),
        energy_j=many.sums["energy_j"].sum(axis=1),
        energy_residual=np.maximum(many.residual, 0.0),
        strokes=many.strokes,
        climbing_ticks=state["climbing_ticks"],
        ascended_m=many.ascended_m,
        ticks=many.ticks,
        used_up_step=many.used_up_step,
    )
