"""Parquet schemas built from the one table of columns, and tables built from numpy arrays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

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
            _arrow_type(column.dtype),
            nullable=False,
            metadata={"unit": column.unit, "meaning": column.meaning},
        )
        for column in columns
    ]
    return pa.schema(fields, metadata=dict(metadata) if metadata else None)


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
    arrays = []
    for column, field in zip(columns, schema, strict=True):
        if column.dtype == "str":
            arrays.append(pa.array(list(values[column.name]), type=field.type))
        else:
            arrays.append(pa.array(np.array(values[column.name], dtype=column.dtype)))
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


def _arrow_type(dtype: str) -> pa.DataType:
    import pyarrow as pa

    return {
        "str": pa.string(),
        "bool": pa.bool_(),
        "int64": pa.int64(),
        "float64": pa.float64(),
    }[dtype]
