"""What a sweep would take: a few of its rows played and weighed, nothing written."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from edgewear import records
from edgewear.dataset.files import PARQUET
from edgewear.dataset.schema import table_of, table_of_records
from edgewear.study.plan import Block, Plan, chunks_a_group, chunks_of, span_of
from edgewear.study.task import Model, playing

if TYPE_CHECKING:
    import pyarrow as pa

    from edgewear.study.model import ScenarioModel

ROWS = 64

START_S = 2.0
"""From the command to the first chunk under way: workers, kernels, the plan."""


class Measured(NamedTuple):
    """What some rows of a plan took."""

    row_s: float  # on one processor
    row_bytes: float  # of plan and outcome


def measured(model: ScenarioModel, plan: Plan, rows: int = ROWS) -> Measured:
    """Play some rows spread over a plan, and weigh one chunk of it.

    A device takes as long for few as for many: it plays a chunk, as it would in the sweep.
    """
    if model.device != "cpu":
        block = plan.block(*span_of(plan, chunks_of(plan) // 2))
        return _timed(model, plan, block)
    first = np.unique(np.linspace(0, plan.rows - 1, min(rows, plan.rows)).astype(np.int64))
    blocks = [plan.block(int(run), 1) for run in first]
    return _timed(model, plan, {n: np.concatenate([b[n] for b in blocks]) for n in blocks[0]})


def _timed(model: Model, plan: Plan, block: Block) -> Measured:
    playing(model, block)  # compiles what it needs, which a sweep does once a process
    begin = time.perf_counter()
    playing(model, block)
    row_s = (time.perf_counter() - begin) / len(block["run"])
    return Measured(row_s, _planned_bytes(plan) + _outcome_bytes(model, plan))


def _outcome_bytes(model: Model, plan: Plan) -> float:
    """Bytes a row of the part in the middle."""
    rows = plan.block(*span_of(plan, chunks_of(plan) // 2))
    outcome = playing(model, rows)
    return _weight(table_of_records(records.RUN, outcome.runs)) / len(outcome.runs)


def _planned_bytes(plan: Plan) -> float:
    """Bytes a row of the plan's first row group."""
    count = min(chunks_a_group(plan.chunk_rows) * plan.chunk_rows, plan.rows)
    block = plan.block(0, count)
    block["chunk"] = block["run"] // plan.chunk_rows
    return _weight(table_of(records.PLAN + plan.columns, block)) / count


def seconds_of(plan: Plan, row_s: float, workers: int) -> float:
    """Time from the command to the end; nobody does less than a whole chunk."""
    rows = max(plan.rows / workers, min(plan.chunk_rows, plan.rows))
    return START_S + rows * row_s


def _weight(table: pa.Table) -> int:
    import pyarrow as pa
    import pyarrow.parquet as pq

    sink = pa.BufferOutputStream()
    pq.write_table(table, sink, **PARQUET)
    return int(sink.getvalue().size)
