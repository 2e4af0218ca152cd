"""What a worker does with one chunk: read its rows of the plan, play them, write its parts."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from edgewear import records
from edgewear.dataset.files import Written, write_table
from edgewear.dataset.schema import table_of_records
from edgewear.dataset.tables import due, read_table
from edgewear.errors import DeviceFailed, EdgewearError, RunFailed
from edgewear.study.plan import Block, planned_rows
from edgewear.terms import FAILED

FIXED = tuple(column.name for column in records.PLAN)
"""Columns of a plan that are neither levers nor uncertainties."""


class PlayedRows(NamedTuple):
    """What came out of some rows, in their order."""

    runs: NDArray[np.void]  # (rows,) records.RUN
    edges: NDArray[np.void]  # (any,) records.EDGE, runs in order


class Model(Protocol):
    """Something that plays rows of a plan; it travels to the workers by pickle."""

    def play(self, rows: Block) -> PlayedRows:
        """Play rows of one option under the levers and uncertainties given.

        Parameters:
            rows: `run`, `option`, `replicate` and the plan's columns, each (n,).
        """


@dataclass(frozen=True)
class Task:
    """Everything a worker must know of a study; the rest is on disk."""

    root: str
    study: str  # identity, written into every part
    model: Model
    edges: bool  # whether the outcomes at each edge are kept
    chunk_rows: int  # of the plan

    def __call__(self, chunk: int) -> Summary:
        """Play a chunk and write its parts."""
        return self.keep(chunk, playing(self.model, self.rows(chunk)))

    def rows(self, chunk: int) -> Block:
        """Read a chunk's rows of the plan."""
        return planned_rows(Path(self.root), chunk, self.chunk_rows)

    def keep(self, chunk: int, outcome: PlayedRows) -> Summary:
        """Write a chunk's parts; what is there already is replaced by the same bytes."""
        root, metadata = Path(self.root), {"study": self.study, "chunk": str(chunk)}
        runs = table_of_records(records.RUN, outcome.runs, metadata)
        files = [write_table(root, part_name("runs", chunk), runs)]
        if self.edges:
            edges = table_of_records(records.EDGE, outcome.edges, metadata)
            files.append(write_table(root, part_name("edges", chunk), edges))
        failed = outcome.runs["status"] == FAILED
        reasons = outcome.runs["reason"][failed]
        return Summary(chunk, len(outcome.runs), int(failed.sum()), _first(reasons), tuple(files))

    def names(self, chunk: int) -> list[str]:
        """Name the parts a chunk has when it is finished."""
        tables = ("runs", "edges") if self.edges else ("runs",)
        return [part_name(table, chunk) for table in tables]

    def failures(self, chunk: int) -> tuple[int, str]:
        """Count the failed rows of a finished chunk, and give the first one's reason."""
        wanted = ["status", "reason"]
        table = read_table(Path(self.root), part_name("runs", chunk), due("runs"), wanted)
        told = zip(*(table.column(name).to_pylist() for name in wanted), strict=True)
        failed = [reason for status, reason in told if status == FAILED]
        return len(failed), failed[0] if failed else ""

    def give_up(self, chunk: int) -> Summary:
        """Write a chunk whose worker died each time as failed rows."""
        runs = self.rows(chunk)["run"]
        return self.keep(chunk, failed_rows(runs, "the worker process died, three times"))


class Summary(NamedTuple):
    """What a worker says of a finished chunk."""

    chunk: int
    rows: int
    failed: int
    reason: str  # of the first failed row
    files: tuple[Written, ...]


def part_name(table: str, chunk: int) -> str:
    """Name a part below the dataset's folder."""
    return f"{table}/part-{chunk:06d}.parquet"


def playing(model: Model, rows: Block) -> PlayedRows:
    """Play rows option by option; a row that cannot be computed is kept with its reason."""
    options = rows["option"]
    named = list(dict.fromkeys(options.tolist()))
    if len(named) == 1:
        return _checked(joined([_guarded(model, rows)]))
    parts = []
    for option in named:
        at = np.flatnonzero(options == option)
        parts.append(_guarded(model, {name: column[at] for name, column in rows.items()}))
    return _checked(joined(parts))


ENDS = "unfinished_step", "parted_time_s"
"""Columns that tell a run of a part of the plan."""


def of_a_part(
    unfinished_step: NDArray[np.float64], parted_time_s: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether runs came to a part of the plan alone; what is left of a line that parted counts."""
    return (unfinished_step > 0) & ~np.isfinite(parted_time_s)


def refuse_parts(option: str, runs: NDArray[np.void]) -> None:
    """Refuse runs of which some say nothing of the whole plan.

    Raises:
        RunFailed: one could not be computed, or came to a part of the plan.
    """
    failed = runs["status"] == FAILED
    if failed.any():
        raise RunFailed(f"{option}: {runs['reason'][failed][0]}")
    part = of_a_part(*(runs[name] for name in ENDS))
    if part.any():
        step, reason = runs["unfinished_step"][part][0], runs["reason"][part][0]
        why = f" ({reason})" if reason else ""
        raise RunFailed(
            f"{option}: a run does not finish the plan, in step {step:.0f}{why}: it says nothing "
            "of what comes after; mend the plan (`compare` says how many trials finish it)"
        )


def failed_rows(runs: NDArray[np.int64], reason: str) -> PlayedRows:
    """Make the rows of runs that have no outcome."""
    nowhere = np.zeros(0, dtype=records.numpy_dtype(records.EDGE))
    return PlayedRows(records.failed_runs(runs, reason), nowhere)


def _guarded(model: Model, rows: Block) -> PlayedRows:
    """Play rows together, and one by one if that fails, to find the ones at fault."""
    try:
        return model.play(rows)
    except DeviceFailed:
        raise
    except Exception as error:
        count = len(rows["run"])
        if count == 1:
            return failed_rows(rows["run"], _reason(error))
        singles = [{name: c[i : i + 1] for name, c in rows.items()} for i in range(count)]
        return joined([_guarded(model, single) for single in singles])


def _checked(outcome: PlayedRows) -> PlayedRows:
    """Turn rows with a number missing into failed ones, whatever the model said of them."""
    runs = outcome.runs
    played = runs["status"] != FAILED
    for name in records.NEEDED:
        bad = played & ~np.isfinite(runs[name])
        runs["reason"][bad] = f"{name} is not a finite number"
        runs["status"][bad] = FAILED
        played &= ~bad
    return outcome


def joined(parts: list[PlayedRows]) -> PlayedRows:
    """Put rows that were played apart together, in the order of their runs."""
    if len(parts) == 1 and (np.diff(parts[0].runs["run"]) > 0).all() and not len(parts[0].edges):
        return parts[0]
    runs = np.concatenate([part.runs for part in parts])
    edges = np.concatenate([part.edges for part in parts])
    order = np.argsort(runs["run"], kind="stable")
    return PlayedRows(runs[order], edges[np.argsort(edges["run"], kind="stable")])


def _reason(error: Exception) -> str:
    text = " ".join(str(error).split())[:300]
    return text if isinstance(error, EdgewearError) else f"{type(error).__name__}: {text}"


def _first(reasons: NDArray[Any]) -> str:
    return str(reasons[0]) if len(reasons) else ""
