"""Tests typed as a table: a row an outcome, a column a key or an address."""

from __future__ import annotations

from math import isnan
from pathlib import Path
from typing import TYPE_CHECKING

from edgewear.errors import ScenarioError
from edgewear.scenario.text.tree import Path_, Tree

if TYPE_CHECKING:
    from edgewear.study.sweeping.table_cells import Cells

OF_A_TEST = ("scenario", "option", "how far", "bench", "batch", "samples", "on", "cost", "note")
"""Columns that say the same of a test in all its rows."""

OF_AN_OUTCOME = ("not by", "by", "after", "value", "error", "at least", "at most", "seen")
"""Columns that belong to what a row says was seen; `seen` is the word of a look."""

NAME, WORD = "test", "what"
"""Columns with the name of the test, and with the word of the outcome."""


def table_tree(tree: Tree) -> Tree | None:
    """Read the table that a file of tests names, as the entries that would say the same.

    Every cell keeps its place in the table. None where no table is named, or after a problem,
    which is reported in the tree of the file.
    """
    named = tree.data.get("table")
    if named is None:
        return None
    if not isinstance(named, str):
        tree.report(("table",), "the name of a .csv or .parquet file is due")
        return None
    from edgewear.study.sweeping.table_cells import read_cells

    try:
        cells = read_cells(Path(tree.file).parent / named)
    except ScenarioError as error:
        tree.problems += error.problems
        return None
    if NAME not in cells.columns:
        tree.report(("table",), f"{named!r} has no column {NAME!r}: the name of each test")
        return None
    return _entries(cells)


def _entries(cells: Cells) -> Tree:
    """Turn rows into entries; rows with one name are one test with several outcomes."""
    found = Tree(str(cells.path), "", {"tests": {}})
    for row in range(len(cells.columns[NAME])):
        name = _text(cells, NAME, row)
        entry = found.data["tests"].setdefault(name, {})
        path: Path_ = ("tests", name)
        _note(found, cells, path, NAME, row)
        for column in cells.columns:
            text = _text(cells, column, row)
            if not text or column in (NAME, WORD, *OF_AN_OUTCOME):
                continue
            own = column in OF_A_TEST
            inner = entry if own else entry.setdefault("with", {})
            _note(found, cells, (*path, column) if own else (*path, "with", column), column, row)
            if inner.setdefault(column, text) != text:
                said = f"{text!r}, but {inner[column]!r} in an earlier row of this test"
                found.problems.append(cells.problem(column, row, said))
        _outcome(found, cells, path, row)
    return found


def _outcome(found: Tree, cells: Cells, path: Path_, row: int) -> None:
    """Add what a row says was seen; a row without a word is of a test still to be made."""
    word = _text(cells, WORD, row) if WORD in cells.columns else ""
    if not word:
        return
    seen = found.data["tests"][path[1]].setdefault("seen", [])
    here: Path_ = (*path, "seen", len(seen))
    own = {}
    _note(found, cells, here, WORD, row)
    _note(found, cells, (*here, word), WORD, row)
    for column in OF_AN_OUTCOME:
        text = _text(cells, column, row) if column in cells.columns else ""
        if text:
            own[column] = text
            _note(found, cells, (*here, word, column), column, row)
    seen.append({word: own})


def _note(found: Tree, cells: Cells, path: Path_, column: str, row: int) -> None:
    """Keep where a value stands; a parquet file has no lines."""
    problem = cells.problem(column, row, "")
    place = (problem.line, problem.column)
    found.values.setdefault(path, place)
    found.keys.setdefault(path, place)


def _text(cells: Cells, column: str, row: int) -> str:
    """A cell as text, a number with the unit that its file says of the column."""
    value = cells.columns[column][row]
    if isinstance(value, str):
        return value.strip()
    if isnan(value):
        return ""
    unit = cells.units.get(column, "")
    return f"{value:.15g} {unit}".strip() if unit != "1" else f"{value:.15g}"
