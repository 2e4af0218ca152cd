"""Parquet schemas built from the one table of columns, and tables built from numpy arrays."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from itertools import count
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear.records import Column

if TYPE_CHECKING:
    import pyarrow as pa


def schema_of(columns: Sequence[Column], metadata: Mapping[str, str] | None = None) -> pa.Schema:
    """Make the parquet schema of a table; every field carries its unit and meaning.

    Parameters:
        columns: in the order of the file.
        metadata: of the file as a whole.
    """
    import pyarrow as pa

    fields = [
        pa.field(
            column.name,
            arrow_type(column.dtype),
            nullable=False,
            metadata=_told(column),
        )
        for column in columns
    ]
    return pa.schema(fields, metadata=dict(metadata) if metadata else None)


def alias_of(address: str, unit: str) -> str:
    """Name an address as formulas can: letters, digits and `_`, with its unit at the end."""
    words = "_".join(re.findall(r"[a-z0-9]+", f"{address}/{'' if unit == '1' else unit}".lower()))
    return f"_{words}" if not words or words[0].isdigit() else words


def with_aliases(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Give every column, beside its address, a name for formulas that no other one has."""
    taken: set[str] = set()
    found = []
    for column in columns:
        first = alias = alias_of(column.name, column.unit)
        for number in count(2):
            if alias not in taken:
                break
            alias = f"{first}_{number}"
        taken.add(alias)
        found.append(column._replace(more=(*column.more, ("alias", alias))))
    return tuple(found)


def table_of(
    columns: Sequence[Column],
    values: Mapping[str, Any],
    metadata: Mapping[str, str] | None = None,
) -> pa.Table:
    """Build a table from one array per column.

    Parameters:
        columns: in the order of the file.
        values: name -> (n,) array; text as objects.
        metadata: of the file as a whole.

    Returns:
        A table that shares no memory with `values`.
    """
    import pyarrow as pa

    schema = schema_of(columns, metadata)
    arrays = [
        _texts(values[column.name])
        if column.dtype == "str"
        else _numbers(np.array(values[column.name], dtype=column.dtype), field.type)
        for column, field in zip(columns, schema, strict=True)
    ]
    return pa.Table.from_arrays(arrays, schema=schema)


def table_of_records(
    columns: Sequence[Column], records: np.ndarray, metadata: Mapping[str, str] | None = None
) -> pa.Table:
    """Build a table from a structured array whose fields are the columns.

    Parameters:
        columns: in the order of the file.
        records: (n,) with the dtype of `records.numpy_dtype(columns)`.
        metadata: of the file as a whole.
    """
    return table_of(columns, {column.name: records[column.name] for column in columns}, metadata)


def arrays_of(table: pa.Table) -> dict[str, NDArray[Any]]:
    """Give the columns of a table without nulls as arrays; text as objects.

    arrow's own conversions load pandas, which costs a worker as much time as a thousand runs.
    """
    return {name: array_of(table.column(name)) for name in table.column_names}


def array_of(column: pa.ChunkedArray) -> NDArray[Any]:
    """Give a column without nulls as an array; text as objects."""
    import pyarrow as pa

    whole = column.combine_chunks()
    dtype = {pa.float64(): np.float64, pa.int64(): np.int64}.get(whole.type)
    if dtype is None:
        return np.array(whole.to_pylist(), bool if pa.types.is_boolean(whole.type) else object)
    if not len(whole):
        return np.zeros(0, dtype)
    values = np.frombuffer(whole.buffers()[1], dtype, len(whole) + whole.offset)
    return values[whole.offset :]


def _told(column: Column) -> dict[str, str]:
    """What a field says of itself."""
    kind = {"kind": column.kind} if column.kind else {}
    return {"unit": column.unit, "meaning": column.meaning, **kind, **dict(column.more)}


def _numbers(values: NDArray[Any], kind: pa.DataType) -> pa.Array:
    """An arrow array of numbers or flags, in the memory of `values`."""
    import pyarrow as pa

    bits = np.packbits(values, bitorder="little") if values.dtype == bool else values
    return pa.Array.from_buffers(kind, len(values), [None, pa.py_buffer(bits)])


def _texts(values: Iterable[str]) -> pa.Array:
    """An arrow array of text."""
    import pyarrow as pa

    texts = values.tolist() if isinstance(values, np.ndarray) else list(values)
    known = {text: text.encode() for text in set(texts)}
    if len(known) == 1:  # as in most columns of most parts
        (one,) = known.values()
        joined, ends = one * len(texts), np.arange(len(texts) + 1) * len(one)
    else:
        raw = [known[text] for text in texts]
        joined, ends = b"".join(raw), np.cumsum([0, *map(len, raw)])
    buffers = [None, pa.py_buffer(ends.astype(np.int32)), pa.py_buffer(joined)]
    return pa.Array.from_buffers(pa.string(), len(texts), buffers)


@cache
def arrow_type(dtype: str) -> pa.DataType:
    """Give the type of a column in a file: str, bool, int64 or float64."""
    import pyarrow as pa

    return {
        "str": pa.string(),
        "bool": pa.bool_(),
        "int64": pa.int64(),
        "float64": pa.float64(),
    }[dtype]
