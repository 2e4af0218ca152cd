"""Many runs that share a tape, one after the other in the same buffers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.case import Batch, Case, Records
from edgewear.engine.devices.cuda import CPU
from edgewear.engine.draws import stroke_block
from edgewear.engine.fast import play_fast, section_of
from edgewear.engine.play import play
from edgewear.engine.player import Draws, Player, Recording
from edgewear.engine.results.at_edges.rows import EDGE_DTYPE
from edgewear.engine.results.outcome import outcome
from edgewear.engine.results.run_rows import RUN_DTYPE, earliest
from edgewear.engine.results.sense import blank, note_used_up, reasons
from edgewear.engine.results.slings import Slung
from edgewear.engine.run_job import Course, course_of
from edgewear.errors import EdgewearError
from edgewear.mechanics.device.launch import can_play
from edgewear.records import failed_runs

ROWS_AT_ONCE = 1024
"""Rows whose arrays the processor holds together: memory then does not grow with a chunk, and what
is done once for all of them counts for little; of 256 a reference ascent took a tenth longer."""

FEW = 6
"""Rows up to which trials over several edges are played one by one: side by side, eight take as
long as five to seven others, and five do not fill them."""


def play_batch(
    case: Case,
    tape: Records,
    values: Mapping[str, NDArray[Any]],
    replicates: NDArray[np.int64],
    seed: int,
    travel: int = 0,
    edges: bool = True,
    follows: bool = False,
    device: str = CPU,
    unfinished_step: int = 0,
) -> tuple[Records, Records]:
    """Play a tape under many worlds; a run that cannot be computed is kept with its reason.

    Parameters:
        case: the option.
        tape: MOVEMENT (m,).
        values: name -> (n,) values of uncertainties and of what a study sets; NaN leaves the
            case's own.
        replicates: (n,) whose stroke variation each run gets.
        seed: of the study.
        travel: strokes whose mark travel is kept for its percentiles.
        edges: whether the outcomes at each edge are wanted; without them it may go faster.
        follows: whether the course follows the rope, so that every run has a tape of its own.
        device: that plays what it can, of `devices.cuda.DEVICES`.
        unfinished_step: of the tape, as of a `Performance`.

    Returns:
        RUN (n,) and EDGE (any,); `run` counts from 0 in both.
    """
    known = {name: column for name, column in values.items() if not np.isnan(column).all()}
    player = Player(case, Recording(travel=travel))
    all_runs, at_edges = [np.zeros(0, RUN_DTYPE)], [np.zeros(0, EDGE_DTYPE)]
    # a launch takes long however few it plays: a device gets all that a chunk has
    size = ROWS_AT_ONCE if device == CPU else max(len(replicates), 1)
    for first in range(0, len(replicates), size):
        some = slice(first, first + size)
        patched = {name: column[some] for name, column in known.items()}
        runs, found = _some(player, tape, patched, replicates[some], seed, edges, follows, device)
        runs["unfinished_step"] = earliest(
            runs["unfinished_step"], 0 if follows else unfinished_step
        )
        found["run"] += first
        all_runs.append(runs)
        at_edges.append(found)
    whole = np.concatenate(all_runs)
    whole["run"] = np.arange(len(whole))
    return whole, np.concatenate(at_edges)


def suits_a_device(case: Case, tape: Records, follows: bool, edges: bool) -> bool:
    """Tell whether a device would play an option's runs, as far as its own numbers tell.

    Parameters:
        case, tape, follows, edges: as in `play_batch`.
    """
    row = _section(case, tape, follows, Slung(case) if edges else None)
    if row is None:
        return False
    return can_play(case.edges[row : row + 1, : int(case.lines[row]["edge_count"])])


def _section(case: Case, tape: Records, follows: bool, slung: Slung | None) -> int | None:
    """The section on which runs are played together; None: each is played alone."""
    if follows or (slung is not None and slung.replays):
        return None
    return section_of(case, tape)


def _some(
    player: Player,
    tape: Records,
    values: Mapping[str, NDArray[Any]],
    replicates: NDArray[np.int64],
    seed: int,
    edges: bool,
    follows: bool,
    device: str,
) -> tuple[Records, Records]:
    """Play so many rows that their arrays stay small."""
    case, count = player.case, len(replicates)
    batch, slung = case.batch(tape, values, count), Slung(case) if edges else None
    row = _section(case, tape, follows, slung)
    at_edges = [np.zeros(0, EDGE_DTYPE)]
    few = edges and count <= FEW and row is not None and case.lines[row]["edge_count"] > 1
    if row is None or few:
        runs, left = np.zeros(count, RUN_DTYPE), np.arange(count)
    else:
        kept = player.recording.travel if edges else None
        runs, left, found = play_fast(case, row, batch, replicates, seed, device, kept)
        at_edges += [] if found is None else [found[~np.isin(found["run"], left)]]
    own = _Tapes(player, batch, values) if follows else None
    for run in left.tolist():
        draws = varied(case, seed, int(replicates[run]))
        try:
            course = None if own is None else own.of(run)
            made = None if course is None else course.movements
            done = outcome(player, play(player, batch, run, draws, movements=made))
            if course is not None:
                done.run["unfinished_step"] = earliest(
                    done.run["unfinished_step"], course.unfinished_step
                )
            if slung is not None:
                slung.write(batch, run, draws, done, made)
        except EdgewearError as error:
            runs[run : run + 1] = failed_runs(np.array([run]), str(error))
            continue
        runs[run], done.edges["run"] = done.run[0], run
        at_edges += [done.edges] if edges else []
    marked = case.marks(batch, values)
    runs["extrapolated"], runs["unlike_standard"] = marked.extrapolated, marked.unlike_standard
    tapes = own.kept if own is not None else {}
    told = reasons(case, batch, runs, tapes)
    blank(runs, told)
    note_used_up(case, batch, runs, tapes)
    found = np.concatenate(at_edges)
    found = found[np.argsort(found["run"], kind="stable")]
    return runs, found[np.isin(found["run"], np.flatnonzero(told.words == ""))]


class _Tapes:
    """The tape of each run where the course follows the rope."""

    def __init__(
        self, player: Player, batch: Batch, values: Mapping[str, NDArray[np.float64]]
    ) -> None:
        self.case, self.batch, self.values = player.case, batch, values
        self.player = Player(player.case, routes=player.routes)
        self.kept: dict[int, Records] = {}

    def of(self, run: int) -> Course:
        """The course of one run."""
        course = course_of(self.case, self.batch, run, self.values, self.player)
        self.kept[run] = course.movements
        return course


def varied(case: Case, seed: int, replicate: int) -> Draws:
    """Give the stroke variation of a trial, by person and block of strokes."""

    def draws(person: int, block: int) -> NDArray[np.float64]:
        return stroke_block(seed, replicate, case.person_names[person], block)

    return draws
