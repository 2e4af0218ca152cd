"""What a sweep would take: a few of its rows played and weighed, nothing written."""

from __future__ import annotations

import time

import numpy as np

from edgewear import records
from edgewear.dataset.files import PARQUET
from edgewear.dataset.schema import table_of, table_of_records
from edgewear.study.plan import Plan
from edgewear.study.task import Model, playing

ROWS = 64


def measured(model: Model, plan: Plan, rows: int = ROWS) -> tuple[float, float]:
    """Play some rows spread over a plan.

    Parameters:
        model: plays them.
        plan: of the study.
        rows: how many to play.

    Returns:
        Seconds a row on one processor, and bytes a row on disk.
    """
    first = np.unique(np.linspace(0, plan.rows - 1, min(rows, plan.rows)).astype(np.int64))
    blocks = [plan.block(int(run), 1) for run in first]
    block = {name: np.concatenate([b[name] for b in blocks]) for name in blocks[0]}
    playing(model, {name: column[:1] for name, column in block.items()})  # compiles what it needs
    begin = time.perf_counter()
    outcome = playing(model, block)
    seconds = (time.perf_counter() - begin) / len(first)
    runs = table_of_records(records.RUN, outcome.runs)
    block["chunk"] = np.zeros(len(first), dtype=np.int64)
    planned = table_of(records.PLAN + plan.columns, block)
    return seconds, (_weight(runs) + _weight(planned)) / len(first)


def _weight(table: object) -> int:
    """Bytes of the pages a table takes in parquet, the file's own frame left out."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    sink = pa.BufferOutputStream()
    pq.write_table(table, sink, **PARQUET)
    group = pq.ParquetFile(pa.BufferReader(sink.getvalue())).metadata.row_group(0)
    return sum(group.column(i).total_compressed_size for i in range(group.num_columns))
