"""The plan: every run of a study as a row, fixed and written before the first run is made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.files import Written, write_stream
from edgewear.dataset.schema import arrays_of, schema_of, table_of, with_aliases
from edgewear.dataset.tables import due, read_footer, read_group
from edgewear.engine.draws import joint_uniforms, quantile
from edgewear.errors import DatasetError
from edgewear.records import PLAN, Column

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.parquet as pq

    from edgewear.case import Uncertainty

Block = dict[str, NDArray[Any]]
"""Some rows of a plan: column name -> (rows,) array."""

PLAN_FILE = "plan.parquet"

MOST_ROWS_A_CHUNK = 8192
LEAST_STEPS_A_CHUNK = 200_000
LEAST_ROWS_A_CHUNK = 64
"""Runs go side by side, up to sixteen at once, and places stay empty when the last ones end: of 32
a trial of three edges takes a fifth longer than of 64, of 256 hardly less."""
MOST_STEPS_A_CHUNK = 2_000_000
"""About half a second: what Ctrl-C waits for, and what a dead worker loses."""
CHUNKS_ENOUGH = 4096
LONGEST_STEPS_A_CHUNK = 16_000_000
"""Above so many chunks they grow, up to some seconds: fewer files, more workers kept busy."""

ROWS_A_GROUP = 16_384
"""Rows of a plan in one row group: few groups for a long plan, little to read for a chunk."""
CHUNKS_WANTED = 32

LEAST_ROWS_ON_A_DEVICE = 8192
MOST_ROWS_ON_A_DEVICE = 65_536
"""A launch takes a tenth of a second for one run and hardly longer for thirty thousand, and those
of several workers wait for each other: chunks fill a device once or twice. Four times as many rows
keep it waiting for workers that are all ready at once."""

MOST_COMPARED_ON_A_DEVICE = 16_384
"""What is kept of the strokes of so many trials takes a quarter of a gigabyte at most."""


class Plan(Protocol):
    """A plan that gives any stretch of its rows without holding the rest."""

    @property
    def columns(self) -> tuple[Column, ...]:
        """Levers and uncertainties, beside the fixed columns."""

    @property
    def rows(self) -> int:
        """How many runs."""

    @property
    def chunk_rows(self) -> int:
        """Rows a chunk; the last one may have fewer."""

    def block(self, first: int, count: int) -> Block:
        """Rows `first` to `first + count`: run, option, replicate and every column."""


def chunk_rows(rows: int, steps_a_row: float) -> int:
    """Choose how many rows go into a chunk, from the study alone and never from the clock."""
    whole = rows * steps_a_row
    most = max(MOST_STEPS_A_CHUNK, min(whole / CHUNKS_ENOUGH, LONGEST_STEPS_A_CHUNK))
    least = max(LEAST_STEPS_A_CHUNK, LEAST_ROWS_A_CHUNK * steps_a_row)
    steps = min(max(whole / CHUNKS_WANTED, least), most)
    return int(min(max(steps // max(steps_a_row, 1.0), 1), MOST_ROWS_A_CHUNK))


def chunk_rows_on_a_device(rows: int) -> int:
    """Choose how many rows go into a chunk that a device plays in one launch."""
    return min(max(rows // CHUNKS_WANTED, LEAST_ROWS_ON_A_DEVICE), MOST_ROWS_ON_A_DEVICE)


def chunks_of(plan: Plan) -> int:
    """Count the chunks of a plan."""
    return -(-plan.rows // plan.chunk_rows)


def span_of(plan: Plan, chunk: int) -> tuple[int, int]:
    """Give the first row of a chunk and how many it has."""
    first = chunk * plan.chunk_rows
    return first, min(plan.chunk_rows, plan.rows - first)


@dataclass(frozen=True)
class ComparePlan:
    """Every option under the same draws: options outside, replicates inside."""

    uncertainties: Mapping[str, tuple[Uncertainty, ...]]  # option -> its own, in order
    replicates: int
    seed: int
    steps_a_row: float
    on_device: bool = False  # whether a device plays every option

    @property
    def columns(self) -> tuple[Column, ...]:
        """One column an uncertainty, in the order in which the options name them."""
        return with_aliases(uncertainty_columns(self.uncertainties))

    @property
    def rows(self) -> int:
        """Options times replicates."""
        return len(self.uncertainties) * self.replicates

    @property
    def chunk_rows(self) -> int:
        """Rows a chunk."""
        if self.on_device:
            return min(chunk_rows_on_a_device(self.rows), MOST_COMPARED_ON_A_DEVICE)
        return chunk_rows(self.rows, self.steps_a_row)

    def block(self, first: int, count: int) -> Block:
        """Draw the uncertainties of some rows; NaN where an option does not know one."""
        run = np.arange(first, first + count, dtype=np.int64)
        which, replicate = np.divmod(run, self.replicates)
        options = list(self.uncertainties)
        block: Block = {column.name: np.full(count, np.nan) for column in self.columns}
        for index in np.unique(which):
            at = np.flatnonzero(which == index)
            start, many = int(replicate[at[0]]), at.size
            for uncertainty in self.uncertainties[options[index]]:
                share = joint_uniforms(self.seed, uncertainty.name, uncertainty.leans, start, many)
                block[uncertainty.name][at] = values_of(uncertainty, share)
        named = np.array(options, dtype=object)[which]
        return {"run": run, "option": named, "replicate": replicate, **block}


def uncertainty_columns(
    uncertainties: Mapping[str, tuple[Uncertainty, ...]],
) -> tuple[Column, ...]:
    """Make one plan column for each uncertainty that any option knows."""
    found: dict[str, Column] = {}
    for known in uncertainties.values():
        for one in known:
            meaning = f"uncertainty ({one.kind}), {one.distribution}; {one.source}"
            column = Column(one.name, "float64", one.unit, meaning, one.kind, _facts(one))
            found.setdefault(one.name, column)
    return tuple(found.values())


def _facts(one: Uncertainty) -> tuple[tuple[str, str], ...]:
    """What is known of an uncertainty: numbers in its unit, in as many digits as they have."""
    return (
        ("distribution", one.distribution),
        ("median", repr(float(one.median))),
        ("low", repr(float(one.low))),
        ("high", repr(float(one.high))),
        ("group", one.group),
        ("pedigree", one.source),
    )


def values_of(uncertainty: Uncertainty, share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Turn shares into values of an uncertainty [its unit]."""
    return quantile(
        uncertainty.distribution,
        uncertainty.median,
        uncertainty.low,
        uncertainty.high,
        share,
        uncertainty.most,
    )


def chunks_a_group(chunk_rows: int) -> int:
    """Count the chunks whose rows of the plan lie in one row group."""
    return max(ROWS_A_GROUP // chunk_rows, 1)


def planned_rows(root: Path, chunk: int, chunk_rows: int) -> Block:
    """Read the rows of a chunk from a plan on disk.

    Raises:
        DatasetError: the plan is gone or damaged.
    """
    group, within = divmod(chunk, chunks_a_group(chunk_rows))
    table = _group(root / PLAN_FILE, _stamp(root / PLAN_FILE), group)
    rows = arrays_of(table.slice(within * chunk_rows, chunk_rows))
    first = chunk * chunk_rows
    if not rows["run"].size or (rows["run"] != first + np.arange(rows["run"].size)).any():
        raise DatasetError(f"{root / PLAN_FILE}: row {first} and those after it are of other runs")
    return rows


Stamp = tuple[int, int, int]


@lru_cache(maxsize=1)
def _group(path: Path, stamp: Stamp | None, group: int) -> pa.Table:
    """A row group, kept for the chunks after this one, which mostly lie in it too."""
    return read_group(path.parent, path.name, _footer(path, stamp), group, due("plan"))


@lru_cache(maxsize=1)
def _footer(path: Path, stamp: Stamp | None) -> pq.FileMetaData:
    """Where the row groups lie: a plan of ten million rows has some hundreds."""
    return read_footer(path.parent, path.name, due("plan"))


def _stamp(path: Path) -> Stamp | None:
    """Tell a file from the one that was there before; None: it is gone."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size


def write_plan(root: Path, plan: Plan, study: str) -> Written:
    """Write a plan, some chunks a row group, never holding more than one group."""
    columns = PLAN + plan.columns
    schema = schema_of(columns, {"study": study})
    size = chunks_a_group(plan.chunk_rows) * plan.chunk_rows
    return write_stream(root, PLAN_FILE, schema, _tables(plan, columns, study, size), size)


def _tables(plan: Plan, columns: tuple[Column, ...], study: str, group_rows: int) -> Iterator[Any]:
    for first in range(0, plan.rows, group_rows):
        block = plan.block(first, min(group_rows, plan.rows - first))
        block["chunk"] = block["run"] // plan.chunk_rows
        yield table_of(columns, block, {"study": study})
