"""The one door for a dataset's tables: what a file may hold is known before it is unpacked.

A dataset may have been made by somebody else, its manifest signed by them. So the end of a parquet
file, which says what is in it, is held against what a study writes: columns, types, rows, how they
are packed, how much memory they take. Then it is read, and what it says of its rows is looked at.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from edgewear import incoming
from edgewear.dataset.door import inside
from edgewear.dataset.schema import array_of, arrow_type
from edgewear.errors import DatasetError, shortened, visible
from edgewear.records import LATER, NEEDED, TABLES, Column
from edgewear.terms import FAILED, OK

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.parquet as pq

MOST_AT_ONCE = 4_000_000_000
"""Bytes of a table that are unpacked in one call; more is read by fewer columns."""

MOST_TEXT_BYTES = 4 * incoming.MOST_TEXT
"""Bytes of one text."""

_PACKED = frozenset({"PLAIN", "RLE", "BIT_PACKED"})
"""Encodings that a study writes. A dictionary makes gigabytes of a value and a count."""

_WIDTH = {"float64": 8.0, "int64": 8.0, "bool": 0.125, "str": 4.0}
"""Least bytes of a value in memory."""


class Due(NamedTuple):
    """What a table must be."""

    columns: tuple[Column, ...]
    more: bool  # whether others may follow, as in a plan
    rows: int | None  # how many; None: not known here
    first: int | None  # the first of the runs that it is of; None: not known here
    runs: int  # how many runs it is of, from the first on
    chunk_rows: int  # of a plan, where it is known


def due(
    table: str,
    rows: int | None = None,
    first: int | None = None,
    runs: int = 0,
    chunk_rows: int = 0,
) -> Due:
    """Say what a table of a study must be: plan, runs, edges, events, wear, timeline or steps."""
    return Due(TABLES[table], table == "plan", rows, first, runs, chunk_rows)


def read_table(
    root: Path, name: str, wanted: Due, columns: Sequence[str] | None = None
) -> pa.Table:
    """Read a parquet file of a dataset, page checksums verified.

    Parameters:
        root: the dataset's folder.
        name: path below it.
        wanted: what the file must be.
        columns: all of them if left out.

    Raises:
        DatasetError: it is not there, damaged, or nothing that a study writes.
    """
    with _opened(root, name) as file:
        _hold(file, wanted, columns)
        asked = _asked(file.schema_arrow, wanted, columns)
        table = file.read(columns=asked, use_threads=False)
        _look(table, file.metadata.num_rows, wanted)
        table = _with_later(table, wanted)
        return table if columns is None else table.select(list(columns))


def read_footer(root: Path, name: str, wanted: Due) -> pq.FileMetaData:
    """Read where in a parquet file its row groups lie.

    Raises:
        DatasetError: the file is not there, damaged, or nothing that a study writes.
    """
    with _opened(root, name) as file:
        _hold(file, wanted, ())
        return file.metadata


def read_group(root: Path, name: str, footer: pq.FileMetaData, group: int, wanted: Due) -> pa.Table:
    """Read a row group of a parquet file, page checksums verified.

    Raises:
        DatasetError: the file is not there, damaged, or nothing that a study writes.
    """
    import pyarrow as pa

    try:
        with _opened(root, name, footer) as file:
            if not 0 <= group < footer.num_row_groups:
                raise ValueError(f"{footer.num_row_groups} row groups, and number {group} is due")
            rows = footer.row_group(group).num_rows
            _size(file, [group], None)
            table = file.read_row_group(group, use_threads=False)
            _look(table, rows, wanted)
            return table
    finally:
        pa.default_memory_pool().release_unused()  # a pool keeps what its pages took


@contextmanager
def _opened(
    root: Path, name: str, footer: pq.FileMetaData | None = None
) -> Iterator[pq.ParquetFile]:
    """Open a parquet file; whatever is found wrong in it is said with its name."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        with pq.ParquetFile(
            inside(root, name), metadata=footer, page_checksum_verification=True
        ) as file:
            yield file
    except (OSError, ValueError, KeyError, OverflowError, MemoryError, pa.ArrowException) as error:
        said = (str(error).strip().splitlines() or [type(error).__name__])[0]
        raise DatasetError(f"{root / name}: cannot be read: {shortened(visible(said))}") from error


def _asked(found: pa.Schema, wanted: Due, columns: Sequence[str] | None) -> list[str] | None:
    """Add to what is asked for what the rows are known by; leave out what came later."""
    if columns is None:
        return None
    known = [one.name for one in wanted.columns if one.name in ("run", "chunk", "status")]
    asked = dict.fromkeys([*columns, *known])
    return [name for name in asked if name in found.names or name not in LATER]


def _with_later(table: pa.Table, wanted: Due) -> pa.Table:
    """Add what came later than the file: not known there."""
    import pyarrow as pa

    found = set(table.column_names)  # a list made at each look
    for column in wanted.columns:
        if column.name in LATER and column.name not in found:
            field = pa.field(column.name, arrow_type(column.dtype), nullable=False)
            unknown = np.full(table.num_rows, LATER[column.name])
            table = table.append_column(field, pa.array(unknown))
            found.add(column.name)
    return (
        table
        if wanted.more
        else table.select([one.name for one in wanted.columns if one.name in found])
    )


def _hold(file: pq.ParquetFile, wanted: Due, columns: Sequence[str] | None) -> None:
    """Hold what the end of the file says against what is due."""
    found = file.schema_arrow
    if len(found) > incoming.MOST_COLUMNS or len(file.schema) != len(found):
        raise ValueError(f"{len(file.schema)} columns: at most {incoming.MOST_COLUMNS}, each plain")
    if len(set(found.names)) != len(found):
        raise ValueError("a column is there twice")
    for column in wanted.columns:
        if column.name not in (*found.names, *LATER):
            raise ValueError(f"has no column {column.name}")
    due_types = {column.name: column.dtype for column in wanted.columns}
    for place, field in enumerate(found):
        if field.name not in due_types and not wanted.more:
            raise ValueError(f"a column {field.name!r}, which no study writes here")
        _hold_column(file.schema.column(place), field, due_types.get(field.name))
    rows, groups = file.metadata.num_rows, file.metadata.num_row_groups
    if wanted.rows is not None and rows != wanted.rows:
        raise ValueError(f"{rows:,} rows, and {wanted.rows:,} are due")
    counted = [file.metadata.row_group(group).num_rows for group in range(groups)]
    if sum(counted) != rows or any(count < 0 or (count == 0 < rows) for count in counted):
        raise ValueError(f"{rows:,} rows, and its row groups have others")
    if columns is None or columns:
        _size(file, range(groups), _asked(found, wanted, columns))


def _hold_column(packed: pq.ColumnSchema, field: pa.Field, dtype: str | None) -> None:
    if incoming.unwanted(field.name) is not None or len(field.name) > incoming.MOST_KEY:
        raise ValueError(f"the name of a column, {field.name!r}, cannot be")
    allowed = list(_WIDTH) if dtype is None else [dtype]
    if field.type not in [arrow_type(one) for one in allowed]:
        raise ValueError(f"{field.name} holds {field.type}, and {' or '.join(allowed)} is due")
    if field.nullable or packed.max_definition_level or packed.max_repetition_level:
        raise ValueError(f"{field.name} may hold nothing, or lists: each row has a value here")
    for told in (field.metadata or {}).items():
        for text in told:
            text.decode()  # of a column's unit and meaning; UnicodeDecodeError is a ValueError


def _size(file: pq.ParquetFile, groups: Sequence[int], columns: Sequence[str] | None) -> None:
    """Refuse what is packed in another way, or takes too much memory once unpacked."""
    told, total = file.metadata, 0.0
    names = {file.schema.column(place).path: place for place in range(len(file.schema))}
    missing = [name for name in columns or () if name not in names]
    if missing:
        raise ValueError(f"has no column {missing[0]}")
    kinds = {arrow_type(name): width for name, width in _WIDTH.items()}
    widths = {field.name: kinds[field.type] for field in file.schema_arrow}  # made at each look
    for group in groups:
        part = told.row_group(group)
        for name in names if columns is None else columns:
            chunk = part.column(names[name])
            if chunk.has_dictionary_page or not set(chunk.encodings) <= _PACKED:
                raise ValueError(f"{name} is packed as {', '.join(chunk.encodings)}")
            if chunk.num_values != part.num_rows:
                raise ValueError(
                    f"{name} has {chunk.num_values:,} values in {part.num_rows:,} rows"
                )
            total += max(chunk.total_uncompressed_size, widths[name] * part.num_rows)
    if total > MOST_AT_ONCE:
        raise ValueError(f"{total:,.0f} bytes once unpacked, and {MOST_AT_ONCE:,} are the most")


def _look(table: pa.Table, rows: int, wanted: Due) -> None:
    """Look at what was read: its rows, its texts, the runs it is of."""
    table.validate(full=True)
    if table.num_rows != rows:
        raise ValueError(f"{table.num_rows:,} rows were found, and it says {rows:,}")
    for name in table.column_names:
        if str(table.schema.field(name).type) == "string":
            _look_at_texts(table, name)
    if wanted.first is not None and "run" in table.column_names:
        _look_at_runs(table, wanted)
    if wanted.columns is TABLES["runs"]:
        _look_at_outcomes(table)
    if wanted.columns is TABLES["wear"]:
        _look_at_wear(table)


def _look_at_texts(table: pa.Table, name: str) -> None:
    import pyarrow.compute as pc

    column = table.column(name)
    longest = pc.max(pc.binary_length(column)).as_py() or 0
    if longest > MOST_TEXT_BYTES:
        raise ValueError(f"{name} holds a text of {longest:,} bytes: at most {MOST_TEXT_BYTES:,}")
    for text in pc.unique(column).to_pylist():
        if incoming.unwanted(text) is not None:
            raise ValueError(f"{name} holds {text[:60]!r}, with characters that cannot be seen")


def _look_at_runs(table: pa.Table, wanted: Due) -> None:
    first, run = wanted.first or 0, array_of(table.column("run"))
    end = first + wanted.runs
    once = wanted.columns is not TABLES["edges"]  # there a run has a row for each line and edge
    right = run == first + np.arange(run.size) if once else (run >= first) & (run < end)
    if not right.all():
        raise ValueError(f"is not of the runs {first} to {end - 1}, each in its row")
    if not once and (np.diff(run) < 0).any():
        raise ValueError("its runs are not in their order")
    if wanted.chunk_rows:
        chunk = array_of(table.column("chunk"))
        if (chunk != run // wanted.chunk_rows).any():
            raise ValueError("chunk: a run's outcome is said to lie in another part than it does")


def _look_at_wear(table: pa.Table) -> None:
    for name in ("along_m", "demand", "before"):
        if name in table.column_names and not np.isfinite(array_of(table.column(name))).all():
            raise ValueError(f"{name} is no finite number")


def _look_at_outcomes(table: pa.Table) -> None:
    import pyarrow.compute as pc

    if "status" not in table.column_names:
        return
    status = table.column("status")
    if odd := set(pc.unique(status).to_pylist()) - {OK, FAILED}:
        raise ValueError(f"status: {min(odd)!r} is neither {OK} nor {FAILED}")
    computed = array_of(status) == OK
    for name in set(NEEDED) & set(table.column_names):
        if not np.isfinite(array_of(table.column(name))[computed]).all():
            raise ValueError(f"{name} is no finite number in a run that counts as computed")
