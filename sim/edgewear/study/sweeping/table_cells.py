"""Reading a study's own table, and telling where in its file a cell stands."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.schema import arrays_of
from edgewear.errors import Problem, ScenarioError

if TYPE_CHECKING:
    import pyarrow as pa

MOST_PROBLEMS = 20
"""Cells that are named at once; more of them mostly have one cause."""

_CELL = re.compile(r'("(?:[^"]|"")*"|[^,]*)(?:,|$)')


@dataclass(frozen=True)
class Cells:
    """A table as it was read."""

    path: Path
    columns: dict[str, NDArray[Any]]  # heading -> (rows,) float64, NaN: blank; else text, "": blank
    units: Mapping[str, str]  # heading -> unit that a parquet file says of it

    def problem(self, name: str, row: int | None, message: str) -> Problem:
        """Say what is wrong with a cell, or with a column as a whole.

        Parameters:
            name: of the column.
            row: from 0; None: its heading.
            message: what was found, what is allowed.
        """
        if self.path.suffix == ".parquet":
            where = "" if row is None else f"row {row + 1}: "
            return Problem(str(self.path), 0, 0, name, where + message)
        return Problem(str(self.path), *_place(self.path, name, row), name, message)


def read_cells(path: Path) -> Cells:
    """Read a table.

    Raises:
        ScenarioError: it cannot be read.
    """
    table = _read(path)
    names = table.column_names
    problems = [
        Cells(path, {}, {}).problem(name, None, "two columns have this name: keep one of them")
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]
    refuse(problems)
    units = {
        field.name: (field.metadata or {}).get(b"unit", b"").decode() for field in table.schema
    }
    return Cells(path, {name: _values(table.column(name)) for name in names}, units)


def refuse(problems: Iterable[Problem]) -> None:
    """Raise what is wrong, if anything is.

    Raises:
        ScenarioError: with the first problems.
    """
    found = list(islice(problems, MOST_PROBLEMS))
    if found:
        raise ScenarioError(found)


def _read(path: Path) -> pa.Table:
    import pyarrow as pa
    import pyarrow.csv
    import pyarrow.parquet as pq

    def refused(message: str) -> ScenarioError:
        return ScenarioError([Problem(str(path), 0, 0, "", message)])

    if path.suffix not in (".csv", ".parquet"):
        raise refused("a table is a .csv or a .parquet file")
    if not path.is_file():
        raise refused("there is no such file; `table` names one beside the scenario")
    try:
        one_thread = pa.csv.ReadOptions(use_threads=False)  # so that an error names its row
        table = (
            pq.read_table(path)
            if path.suffix == ".parquet"
            else pa.csv.read_csv(path, read_options=one_thread)
        )
    except (OSError, pa.ArrowException) as error:
        raise refused(str(error).splitlines()[0]) from error
    if table.num_rows == 0:
        raise refused("has no rows")
    if any(pa.types.is_binary(kind) for kind in table.schema.types):
        raise refused("is not UTF-8")
    return table


def _values(column: pa.ChunkedArray) -> NDArray[Any]:
    """Numbers as float64, NaN where one is missing; anything else as text."""
    import pyarrow as pa

    if pa.types.is_floating(column.type) or pa.types.is_integer(column.type):
        numbers = column.cast(pa.float64(), safe=False).fill_null(np.nan)
        return arrays_of(pa.table({"": numbers}))[""]
    values = ["" if value is None else str(value) for value in column.to_pylist()]
    return np.array(values, dtype=object)


def blank(column: NDArray[Any]) -> NDArray[np.bool_]:
    """Tell which cells of a column say nothing."""
    found: NDArray[np.bool_] = np.isnan(column) if column.dtype == np.float64 else column == ""
    return found


def _place(path: Path, name: str, row: int | None) -> tuple[int, int]:
    """Line and column of a cell of a CSV file, from 1."""
    with path.open(encoding="utf-8-sig", errors="replace", newline="") as stream:
        lines = _filled(stream)
        number, text = next(lines)
        index = next(csv.reader([text])).index(name)
        if row is not None:
            number, text = next(islice(lines, row, None))
    starts = [cell.start() for cell in _CELL.finditer(text)]
    return number, starts[min(index, len(starts) - 1)] + 1


def _filled(stream: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Lines that are not empty, with their numbers; a row of a table is one line."""
    for number, text in enumerate(stream, 1):
        if text.strip():
            yield number, text.rstrip("\r\n")
