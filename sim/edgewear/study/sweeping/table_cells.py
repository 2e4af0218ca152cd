"""Reading a study's own table, and telling where in its file a cell stands."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear import incoming
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
        return Problem(str(self.path), *self._place(name, row), name, message)

    @cached_property
    def _lines(self) -> list[tuple[int, str]]:
        text = incoming.read_text(self.path, incoming.TABLE)
        return list(_filled(io.StringIO(text, newline="")))

    @cached_property
    def _columns(self) -> dict[str, int]:
        heads = next(csv.reader([self._lines[0][1]]), [])
        return {name: index for index, name in reversed(list(enumerate(heads)))}

    def _place(self, name: str, row: int | None) -> tuple[int, int]:
        """Line and column of a cell of a CSV file, from 1."""
        at = 0 if row is None else min(row + 1, len(self._lines) - 1)
        number, text = self._lines[at]
        starts = [cell.start() for cell in _CELL.finditer(text)]
        return number, starts[min(self._columns.get(name, 0), len(starts) - 1)] + 1


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
        field.name: (field.metadata or {}).get(b"unit", b"").decode("utf-8", "replace")
        for field in table.schema
    }
    cells = Cells(path, {name: _values(table.column(name)) for name in names}, units)
    refuse(_texts_problems(cells))
    return cells


def refuse(problems: Iterable[Problem]) -> None:
    """Raise what is wrong, if anything is.

    Raises:
        ScenarioError: with the first problems.
    """
    found = list(islice(problems, MOST_PROBLEMS))
    if found:
        raise ScenarioError(found)


def _read(path: Path) -> pa.Table:
    if path.suffix not in (".csv", ".parquet"):
        raise _refused(path, "a table is a .csv or a .parquet file")
    raw = incoming.read_bytes(path, incoming.TABLE)
    table = _parquet(path, raw) if path.suffix == ".parquet" else _csv(path, raw)
    if table.num_rows == 0:
        raise _refused(path, "has no rows")
    return table


def _refused(path: Path, message: str, line: int = 1, column: int = 1) -> ScenarioError:
    if path.suffix == ".parquet":
        line = 0  # a binary file has no lines
    return ScenarioError([Problem(str(path), line, column, "", message)])


def _parquet(path: Path, raw: bytes) -> pa.Table:
    """Read a parquet file of plain columns, its size in memory looked at before it is unpacked."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        with pq.ParquetFile(pa.BufferReader(raw), page_checksum_verification=True) as file:
            _check_size(path, file.metadata.num_columns, file.metadata.num_rows)
            fields = list(file.schema_arrow)
            unpacked = sum(
                file.metadata.row_group(i).total_byte_size
                for i in range(file.metadata.num_row_groups)
            )
            if unpacked > incoming.MOST_UNPACKED:
                raise _refused(path, f"more than {incoming.MOST_UNPACKED:,} bytes unpacked")
            for field in fields:
                _check_field(path, field)
            table = file.read(use_threads=False)
            table.validate(full=True)  # texts that are no UTF-8 would fall much later
            return table
    except (OSError, ValueError, pa.ArrowException) as error:
        said = (str(error).splitlines() or ["no parquet file"])[0]
        raise _refused(path, f"cannot be read as parquet: {said}") from error


def _check_field(path: Path, field: pa.Field) -> None:
    import pyarrow as pa

    kind = field.type.value_type if pa.types.is_dictionary(field.type) else field.type
    plain = (
        pa.types.is_floating(kind)
        or pa.types.is_integer(kind)
        or pa.types.is_boolean(kind)
        or pa.types.is_string(kind)
        or pa.types.is_large_string(kind)
        or pa.types.is_null(kind)
    )
    if not plain:
        message = f"a column of {str(kind)[:40]}: numbers or texts are due"
        raise ScenarioError([Problem(str(path), 0, 0, field.name, message)])
    if incoming.unwanted(field.name) is not None:
        message = "the name of a column has characters that cannot be seen"
        raise ScenarioError([Problem(str(path), 0, 0, field.name, message)])


def _check_size(path: Path, columns: int, rows: int) -> None:
    if columns > incoming.MOST_COLUMNS or rows * max(columns, 1) > incoming.MOST_CELLS:
        message = (
            f"{rows:,} rows of {columns:,} columns: at most {incoming.MOST_COLUMNS:,} columns and "
            f"{incoming.MOST_CELLS:,} cells"
        )
        raise _refused(path, message)


def _csv(path: Path, raw: bytes) -> pa.Table:
    """Read a CSV file: a row a line, its text looked at first, so that every error has a place."""
    import pyarrow as pa
    import pyarrow.csv

    text = incoming.decoded(raw, str(path))
    if not text.strip():
        raise _refused(path, "has no rows")
    incoming.refuse_other_separators(text, str(path))
    _check_lines(path, text)
    try:
        one_thread = pa.csv.ReadOptions(use_threads=False)  # so that an error names its row
        return pa.csv.read_csv(pa.BufferReader(text.encode()), read_options=one_thread)
    except (OSError, ValueError, pa.ArrowException) as error:
        raise _refused(path, (str(error).splitlines() or ["no table"])[0]) from error


def _check_lines(path: Path, text: str) -> None:
    """Refuse a line that has another number of cells than the heading, at its place.

    Raises:
        ScenarioError: with the first such lines.
    """
    lines = _filled(io.StringIO(text, newline=""))
    _, heading = next(lines)
    due = _count(heading)
    _check_size(path, due, text.count("\n"))
    problems = (
        Problem(str(path), number, 1, "", f"{found} cells under {due} headings")
        for number, line in lines
        if (found := _count(line)) != due
    )
    refuse(problems)


def _count(line: str) -> int:
    """Cells of a line."""
    if '"' not in line:
        return line.count(",") + 1
    return len(next(csv.reader([line]), []))


def _values(column: pa.ChunkedArray) -> NDArray[Any]:
    """Numbers as float64, NaN where one is missing; anything else as text."""
    import pyarrow as pa

    if pa.types.is_floating(column.type) or pa.types.is_integer(column.type):
        numbers = column.cast(pa.float64(), safe=False).fill_null(np.nan)
        return arrays_of(pa.table({"": numbers}))[""]
    values = ["" if value is None else str(value) for value in column.to_pylist()]
    return np.array(values, dtype=object)


def _texts_problems(cells: Cells) -> Iterator[Problem]:
    """Refuse texts that no file may have; a CSV file was looked at as a whole."""
    for name, column in cells.columns.items():
        if column.dtype == object:
            for row, text in enumerate(column.tolist()):
                found = incoming.unwanted(text)
                if found is not None:
                    yield cells.problem(name, row, incoming.unwanted_words(found[0]))
                elif len(text) > incoming.MOST_TEXT:
                    said = f"a text of {len(text):,} characters: at most {incoming.MOST_TEXT:,}"
                    yield cells.problem(name, row, said)


def blank(column: NDArray[Any]) -> NDArray[np.bool_]:
    """Tell which cells of a column say nothing."""
    found: NDArray[np.bool_] = np.isnan(column) if column.dtype == np.float64 else column == ""
    return found


def _filled(stream: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Lines that are not empty, with their numbers; a row of a table is one line."""
    for number, text in enumerate(stream, 1):
        if text.strip():
            yield number, text.rstrip("\r\n")
