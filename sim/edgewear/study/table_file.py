"""A study's own table of runs: CSV or parquet, its columns named by address."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import Problem, ScenarioError
from edgewear.study.levers import Lever, lever_of
from edgewear.study.sweep_plan import Table

if TYPE_CHECKING:
    from edgewear.study.model import ScenarioModel

OPTIONS = "options"
"""Name of the column that chooses the option."""

MOST_TEXTS = 1_000
"""Different texts a column may have; numbers in SI may all differ."""


def read_columns(path: Path) -> dict[str, NDArray[Any]]:
    """Read a table.

    Parameters:
        path: ends in .csv or .parquet.

    Returns:
        name -> (rows,) float64 in SI where the column holds numbers, else text as typed.

    Raises:
        ScenarioError: it cannot be read, or a value is missing.
    """
    import pyarrow as pa
    import pyarrow.csv
    import pyarrow.parquet as pq

    try:
        table = pq.read_table(path) if path.suffix == ".parquet" else pa.csv.read_csv(path)
    except (OSError, pa.ArrowException) as error:
        raise _problem(path, "", str(error).splitlines()[0]) from error
    if table.num_rows == 0:
        raise _problem(path, "", "has no rows")
    columns = {}
    for name in table.column_names:
        column = table.column(name)
        if column.null_count:
            raise _problem(path, name, f"{column.null_count} values are missing")
        number = pa.types.is_floating(column.type) or pa.types.is_integer(column.type)
        columns[name] = (
            column.to_numpy().astype(np.float64)
            if number
            else np.array([str(value) for value in column.to_pylist()], dtype=object)
        )
    return columns


def table_of_file(path: Path, model: ScenarioModel, options: Sequence[str]) -> Table:
    """Read a study's table and find out what its columns do.

    Parameters:
        path: of the file.
        model: the scenario.
        options: that may be named.

    Raises:
        ScenarioError: with the column whose name or value cannot be used.
    """
    columns = read_columns(path)
    chosen = columns.pop(OPTIONS, None)
    if chosen is not None:
        for name in dict.fromkeys(chosen.tolist()):
            if name not in options:
                raise _problem(path, OPTIONS, f"{name!r} is not defined under options")
    levers, held = [], []
    for address, column in columns.items():
        lever, values = _column(path, model, options, address, column)
        levers.append(lever)
        held.append(values)
    return Table(tuple(levers), tuple(held), chosen)


def _column(
    path: Path,
    model: ScenarioModel,
    options: Sequence[str],
    address: str,
    column: NDArray[Any],
) -> tuple[Lever, NDArray[Any]]:
    if column.dtype == np.float64:
        if not np.isfinite(column).all():
            raise _problem(path, address, "a value is not a finite number")
        ends = tuple(dict.fromkeys((float(column.min()), float(column.max()))))
        lever = lever_of(model, options, address, ends)
        if not lever.structural and lever.values == ends:
            return lever, column
        if not lever.structural:
            raise _problem(path, address, "numbers of this column are no SI values of the address")
    texts = [str(value) for value in column.tolist()]
    distinct = tuple(dict.fromkeys(texts))
    if len(distinct) > MOST_TEXTS:
        raise _problem(path, address, f"has {len(distinct)} different texts, at most {MOST_TEXTS}")
    lever = lever_of(model, options, address, distinct)
    by_text = dict(zip(distinct, lever.values, strict=True))
    values = [by_text[text] for text in texts]
    return lever, np.array(values, dtype=object if lever.structural else np.float64)


def _problem(path: Path, address: str, message: str) -> ScenarioError:
    return ScenarioError([Problem(str(path), 0, 0, address, message)])
