"""Tables of records as DataFrames whose `attrs` say units and meanings."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from edgewear import records

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

STROKE = (
    records.Column("line", "str", "", "name of the line"),
    records.ROPE,
    records.Column("edge", "str", "", "name of the edge"),
    records.Column("stroke", "int64", "1", "stroke or cycle on this rope, from 1"),
    records.Column("travel_m", "float64", "m", "travel of a mark from end to end in this stroke"),
)
"""Columns of the frame of strokes."""


def described(frame: pd.DataFrame, columns: Iterable[records.Column]) -> pd.DataFrame:
    """Say in `attrs` what the columns of a frame are.

    Parameters:
        frame: changed in place and returned; `attrs["units"]` and `attrs["meanings"]` hold those
            of its columns by name, `attrs["inputs"]` what is known of each input: low, high,
            median, distribution, pedigree, alias.
        columns: what is known of columns; others are left out.
    """
    known = {column.name: column for column in columns if column.name in frame.columns}
    frame.attrs["units"] = {name: column.unit for name, column in known.items()}
    frame.attrs["meanings"] = {name: column.meaning for name, column in known.items()}
    inputs = {name: _inputs(column) for name, column in known.items() if column.more}
    if inputs:
        frame.attrs["inputs"] = inputs
    return frame


NUMBERS = ("low", "high", "median")
"""Facts of an input that are numbers, in its unit."""


def _inputs(column: records.Column) -> dict[str, str | float]:
    kind = {"kind": column.kind} if column.kind else {}
    facts = {name: float(said) if name in NUMBERS else said for name, said in column.more}
    return {**kind, **facts}


def columns_of(table: pa.Table) -> tuple[records.Column, ...]:
    """Give the columns of a table from what its fields say of themselves."""
    found = []
    for field in table.schema:
        said = {k.decode(): v.decode() for k, v in (field.metadata or {}).items()}
        known = said.pop("unit", ""), said.pop("meaning", ""), said.pop("kind", "")
        found.append(records.Column(field.name, "", *known, tuple(said.items())))
    return tuple(found)


def frame_of(
    rows: Any,  # an array or a table
    columns: tuple[records.Column, ...],
) -> pd.DataFrame:
    """Turn structured rows or an Arrow table into a frame.

    Parameters:
        rows: (n,) with the dtype of the columns, or a `pyarrow.Table`.
        columns: of `records`.
    """
    import pandas as pd

    if hasattr(rows, "to_pandas"):
        return described(rows.to_pandas(), columns)
    return described(pd.DataFrame({c.name: rows[c.name] for c in columns}), columns)


def as_xarray(frame: pd.DataFrame, *index: str) -> Any:  # of xarray, an extra
    """View a frame as an `xarray.Dataset`, units and meanings on each variable.

    Parameters:
        frame: as returned by a run or a dataset.
        index: columns that become its dimensions, such as `option`, `replicate`; the row number
            if left out.

    Raises:
        UsageError: xarray is not installed.
    """
    from edgewear.python.extras import needed

    needed("xarray", "xarray")
    found = (frame.set_index(list(index)) if index else frame).to_xarray()
    for name, unit in frame.attrs.get("units", {}).items():
        if name in found.variables:
            found[name].attrs.update(units=unit, long_name=frame.attrs["meanings"][name])
            found[name].attrs.update(frame.attrs.get("inputs", {}).get(name, {}))
    return found
