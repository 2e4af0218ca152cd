"""A study's own table of runs: CSV or parquet, its columns named by address."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import Problem, ScenarioError
from edgewear.study.sweeping.levers import Lever, lever_of
from edgewear.study.sweeping.sweep_plan import Table
from edgewear.study.sweeping.table_cells import Cells, read_cells, refuse

if TYPE_CHECKING:
    from edgewear.study.model import ScenarioModel

OPTIONS = "options"
"""Name of the column that chooses the option."""

MOST_TEXTS = 1_000
"""Different texts a column may have; numbers in SI may all differ."""


def table_of_file(path: Path, model: ScenarioModel, options: Sequence[str]) -> Table:
    """Read a study's table and find out what its columns do.

    Parameters:
        path: of the file.
        model: the scenario.
        options: that may be named.

    Raises:
        ScenarioError: with the line and column of every cell that cannot be used.
    """
    cells = read_cells(path)
    chosen = cells.columns.pop(OPTIONS, None)
    problems = [] if chosen is None else list(_not_options(cells, chosen, options))
    levers, held = [], []
    for address, column in cells.columns.items():
        try:
            lever, values = _column(cells, model, options, address, column)
        except ScenarioError as error:
            ours = error.problems[0].file == str(path)
            found = [] if ours else _blamed(cells, model, options, address, column)
            problems += found or error.problems
            continue
        levers.append(lever)
        held.append(values)
    refuse(problems)
    return Table(tuple(levers), tuple(held), chosen)


def _not_options(cells: Cells, chosen: NDArray[Any], options: Sequence[str]) -> Iterator[Problem]:
    for name in dict.fromkeys(chosen.tolist()):
        if name not in options:
            row = int(np.flatnonzero(chosen == name)[0])
            allowed = ", ".join(map(repr, options))
            message = f"{name!r} is not defined under options; allowed are {allowed}"
            yield cells.problem(OPTIONS, row, message)


def _column(
    cells: Cells,
    model: ScenarioModel,
    options: Sequence[str],
    address: str,
    column: NDArray[Any],
) -> tuple[Lever, NDArray[Any]]:
    if column.dtype == np.float64:
        if not np.isfinite(column).all():
            row = int(np.flatnonzero(~np.isfinite(column))[0])
            raise ScenarioError([cells.problem(address, row, "is not a finite number")])
        lever = lever_of(model, options, address, _ends(column))
        if not lever.structural and lever.values == _ends(column):
            return lever, column
        if not lever.structural:
            message = "numbers of this column are no SI values of the address: type their units"
            raise ScenarioError([cells.problem(address, None, message)])
    texts = [str(value) for value in column.tolist()]
    distinct = tuple(dict.fromkeys(texts))
    if len(distinct) > MOST_TEXTS:
        message = f"has {len(distinct)} different texts, at most {MOST_TEXTS}"
        raise ScenarioError([cells.problem(address, None, message)])
    lever = lever_of(model, options, address, distinct)
    by_text = dict(zip(distinct, lever.values, strict=True))
    values = [by_text[text] for text in texts]
    return lever, np.array(values, dtype=object if lever.structural else np.float64)


def _ends(column: NDArray[np.float64]) -> tuple[float, ...]:
    """The smallest and the largest value, once if they are the same."""
    return tuple(dict.fromkeys((float(column.min()), float(column.max()))))


def _blamed(
    cells: Cells,
    model: ScenarioModel,
    options: Sequence[str],
    address: str,
    column: NDArray[Any],
) -> list[Problem]:
    """Try the values of a column one by one; what is wrong with the address is told once."""
    found = []
    values = _ends(column) if column.dtype == np.float64 else dict.fromkeys(column.tolist())
    for value in values:
        try:
            lever_of(model, options, address, (value,))
        except ScenarioError as error:
            first = error.problems[0]
            if not first.line:  # the value was not even looked at
                return [cells.problem(address, None, first.message)]
            row = int(np.flatnonzero(column == value)[0])
            found.append(cells.problem(address, row, first.message))
    return found
