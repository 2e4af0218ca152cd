"""A study's own table of runs: CSV or parquet, its columns named by address.

A plan is such a table: `option` and `replicate` are taken from it, `run` and `chunk` are counted
anew. A column whose name is no address, and looks like none, is the table's own: it stays in the
plan.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import Problem, ScenarioError
from edgewear.scenario.text.choices import did_you_mean
from edgewear.study.sweeping.levers import Lever, lever_of
from edgewear.study.sweeping.sweep_plan import Table
from edgewear.study.sweeping.table_cells import Cells, blank, read_cells, refuse
from edgewear.study.sweeping.values import Reader, Refused, Value, dimension_at, places

if TYPE_CHECKING:
    from edgewear.study.model import ScenarioModel

OPTIONS = ("options", "option")
"""Names of the column that chooses the option."""

REPLICATE = "replicate"
"""Name of the column that chooses the strokes and the other chances of a run."""

COUNTED = ("run", "chunk")
"""Columns of a plan that are counted anew."""

MOST_TEXTS = 1_000
"""Different texts a column may have; numbers may all differ."""

_HEADING = re.compile(r"(.*?)\s*\[([^\]]*)\]\s*")


class Heading(NamedTuple):
    """The heading of a column, taken apart."""

    whole: str
    address: str
    unit: str  # of its bare numbers; empty: none is said


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
    chosen, problems = _chosen(cells, options)
    replicate, more = _replicates(cells)
    problems += more
    for name in COUNTED:
        cells.columns.pop(name, None)
    levers: list[Lever] = []
    held: list[NDArray[Any]] = []
    own, refused = {}, []
    for name, column in cells.columns.items():
        heading = _heading(cells, name)
        if "/" not in heading.address:
            problems += _mistyped(cells, heading)
            own[name] = column
            continue
        if blank(column).all():
            continue
        try:
            lever, values = _column(cells, model, options, heading, column)
        except ScenarioError as error:
            problems += error.problems
            continue
        problems += _twice(cells, model, heading, (lever, values), zip(levers, held, strict=True))
        levers.append(lever)
        held.append(values)
        refused += [
            cells.problem(name, _row(values, value), problem.message)
            for value, problem in lever.refused
        ]
    refuse(problems)
    return Table(tuple(levers), tuple(held), chosen, replicate, own, tuple(refused))


def _twice(
    cells: Cells,
    model: ScenarioModel,
    heading: Heading,
    column: tuple[Lever, NDArray[Any]],
    before: Iterable[tuple[Lever, NDArray[Any]]],
) -> Iterator[Problem]:
    """Refuse rows that give one place of the scenario two values."""
    lever, values = column
    for other, others in before:
        both = ~blank(values) & ~blank(others)
        if both.any() and places(model, lever.address) & places(model, other.address):
            message = f"stands for what {other.address!r} stands for: keep one of them"
            yield cells.problem(heading.whole, int(np.flatnonzero(both)[0]), message)


def _row(values: NDArray[Any], value: Value) -> int:
    return int(np.flatnonzero(values == value)[0])


def _heading(cells: Cells, name: str) -> Heading:
    found = _HEADING.fullmatch(name)
    if found is None:
        return Heading(name, name.strip(), cells.units.get(name, ""))
    return Heading(name, found[1], found[2].strip())


def _mistyped(cells: Cells, heading: Heading) -> list[Problem]:
    """Refuse a column of the table's own that looks like one of those that mean something."""
    known = [*OPTIONS, REPLICATE]
    hint = did_you_mean(heading.address, known)
    if not hint or heading.address in known:
        return []
    return [cells.problem(heading.whole, None, f"nothing is named {heading.address!r}{hint}")]


def _chosen(cells: Cells, options: Sequence[str]) -> tuple[NDArray[Any] | None, list[Problem]]:
    """Names of the options, one a row."""
    names = [name for name in OPTIONS if name in cells.columns]
    if len(names) > 1:
        message = f"{names[0]!r} chooses the options as well: keep one of them"
        return None, [cells.problem(names[1], None, message)]
    if not names:
        return None, []
    chosen = cells.columns.pop(names[0])
    if chosen.dtype == np.float64:  # options whose names are numbers
        chosen = np.array([f"{value:g}" for value in chosen.tolist()], dtype=object)
    return chosen, list(_not_options(cells, names[0], chosen, options))


def _not_options(
    cells: Cells, heading: str, chosen: NDArray[Any], options: Sequence[str]
) -> Iterator[Problem]:
    for name in dict.fromkeys(chosen.tolist()):
        if name not in options:
            row = int(np.flatnonzero(chosen == name)[0])
            allowed = ", ".join(map(repr, options))
            message = f"{name!r} is not defined under options; allowed are {allowed}"
            yield cells.problem(heading, row, message)


def _replicates(cells: Cells) -> tuple[NDArray[np.int64] | None, list[Problem]]:
    """Replicate of every row, where the table says it."""
    column = cells.columns.pop(REPLICATE, None)
    if column is None:
        return None, []
    message = "a whole number from 0 on is due"
    if column.dtype != np.float64:
        return None, [cells.problem(REPLICATE, 0, message)]
    bad = ~((column >= 0) & (column <= 2**53) & (column == np.rint(column)))
    if bad.any():
        return None, [cells.problem(REPLICATE, int(np.flatnonzero(bad)[0]), message)]
    return column.astype(np.int64), []


def _column(
    cells: Cells,
    model: ScenarioModel,
    options: Sequence[str],
    heading: Heading,
    column: NDArray[Any],
) -> tuple[Lever, NDArray[Any]]:
    """The lever of a column, and what it is set to in every row.

    Raises:
        ScenarioError: cells that cannot be read, or an address that leads nowhere.
    """
    try:
        reader = dimension_at(model, heading.address)
    except ScenarioError as error:
        raise _at_heading(cells, heading, error) from error
    _check_unit(cells, heading, reader)
    by_cell = _read(cells, heading, reader, column)
    distinct = tuple(dict.fromkeys(by_cell.values()))
    try:
        lever = lever_of(model, options, heading.address, distinct)
    except Refused as error:
        cell = next(cell for cell, value in by_cell.items() if value == error.value)
        message = error.problems[0].message
        raise ScenarioError([cells.problem(heading.whole, _row(column, cell), message)]) from error
    except ScenarioError as error:
        raise _at_heading(cells, heading, error) from error
    numbers = lever.dtype == "float64"
    known = dict(zip(distinct, lever.values, strict=True))
    empty: Value = np.nan if numbers else ""
    values = [empty if b else known[by_cell[cell]] for cell, b in zip(
        column.tolist(), blank(column).tolist(), strict=True)]  # fmt: skip
    return lever, np.array(values, dtype=np.float64 if numbers else object)


def _at_heading(cells: Cells, heading: Heading, error: ScenarioError) -> ScenarioError:
    return ScenarioError([cells.problem(heading.whole, None, error.problems[0].message)])


def _check_unit(cells: Cells, heading: Heading, reader: Reader | None) -> None:
    """Refuse a unit that the quantity at an address is not measured in.

    Raises:
        ScenarioError: naming the heading.
    """
    if heading.unit in ("", "1"):
        return
    if reader is None:
        message = f"unit {heading.unit!r}: no quantity stands at this address"
    elif reader.factor(heading.unit) is None:
        allowed = ", ".join(unit or "none" for unit in reader.dimension.factors)
        message = f"unit {heading.unit!r}: a {reader.dimension.name} is due, in {allowed}"
    else:
        return
    raise ScenarioError([cells.problem(heading.whole, None, message)])


def _read(
    cells: Cells, heading: Heading, reader: Reader | None, column: NDArray[Any]
) -> dict[Value, Value]:
    """What every different cell of a column says.

    Raises:
        ScenarioError: with every cell that cannot be read.
    """
    found: dict[Value, Value] = {}
    problems: list[Problem] = []
    for cell in dict.fromkeys(column[~blank(column)].tolist()):
        try:
            found[cell] = _cell(heading, reader, cell)
        except ScenarioError as error:
            row = _row(column, cell)
            problems.append(cells.problem(heading.whole, row, error.problems[0].message))
    texts = sum(isinstance(value, str) for value in found.values())
    if texts > MOST_TEXTS:
        message = f"has {texts} different texts, at most {MOST_TEXTS}"
        problems = [cells.problem(heading.whole, None, message)]
    refuse(problems)
    return found


def _cell(heading: Heading, reader: Reader | None, cell: Value) -> Value:
    """What a cell says: a number in SI, or a text as typed.

    Raises:
        ScenarioError: it is no such quantity, or a bare number that may be meant in two units.
    """
    number = _bare(cell)
    if reader is None:
        return cell if number is None else number
    if number is None:
        return cell if isinstance(cell, str) and " at " in cell else reader.si("", cell)
    if not np.isfinite(number):
        raise ScenarioError([Problem("", 0, 0, "", f"{number:g} is not a finite number")])
    if heading.unit:
        return reader.si("", number * (reader.factor(heading.unit) or 1.0))
    if units := reader.other_unit(heading.address, number):
        unit = units.partition(" ")[0]
        message = (
            f"{number:g} has no unit, and {units} are both likely: put the unit into the heading, "
            f"such as {heading.address} [{unit}], or into the cells"
        )
        raise ScenarioError([Problem("", 0, 0, "", message)])
    return reader.si("", number)


def _bare(cell: Value) -> float | None:
    """The number that a cell is, if it is nothing else."""
    if not isinstance(cell, str):
        return float(cell)
    try:
        return float(cell)
    except ValueError:
        return None
