"""A table of a dataset is read where every row is of the runs it is due to be of, else refused."""

from __future__ import annotations

import random
from collections.abc import Mapping
from math import inf, nan
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest

from edgewear.dataset.files import Written, write_table
from edgewear.dataset.reading import Dataset
from edgewear.dataset.schema import schema_of
from edgewear.dataset.tables import due, read_table
from edgewear.errors import DatasetError
from edgewear.records import NEEDED
from edgewear.terms import FAILED, OK

FIRST, RUNS, CHUNK = 20, 6, 10
"""Runs 20 to 25, in chunks of ten rows."""


def table_of(name: str, rows: int, given: Mapping[str, object]) -> pa.Table:
    """Rows of a table in which nothing is said but what is given."""
    columns = due(name).columns
    values = [
        given.get(one.name, [""] * rows if one.dtype == "str" else np.zeros(rows, one.dtype))
        for one in columns
    ]
    return pa.table(
        [pa.array(one, field.type) for one, field in zip(values, schema_of(columns), strict=True)],
        schema=schema_of(columns),
    )


def refused(folder: Path, name: str, given: Mapping[str, object], **wanted: int) -> str:
    """What is said against a table; nothing where it is read."""
    rows = len(next(iter(given.values())))
    write_table(folder, "it.parquet", table_of(name, rows, given))
    try:
        table = read_table(folder, "it.parquet", due(name, rows, **wanted))
    except DatasetError as error:
        return str(error)
    assert table.num_rows == rows
    return ""


def test_runs_and_plans_have_each_run_once_and_in_order(tmp_path: Path) -> None:
    right = list(range(FIRST, FIRST + RUNS))
    odd = [right[::-1], [*right[:-1], right[-2]], [one + 1 for one in right], [19, *right[1:]],
           [*right[:2], right[3], right[2], *right[4:]]]  # fmt: skip
    for runs in (right, *odd):
        said = refused(tmp_path, "runs", {"run": runs, "status": [FAILED] * RUNS},
                       first=FIRST, runs=RUNS)  # fmt: skip
        assert ("is not of the runs 20 to 25, each in its row" in said) == (runs != right)


@pytest.mark.parametrize("seed", range(40))
def test_edges_have_any_rows_of_their_runs_in_order(seed: int, tmp_path: Path) -> None:
    dice = random.Random(seed)
    runs = dice.choices(range(FIRST - 1, FIRST + RUNS + 1), k=dice.randint(1, 5))
    if dice.random() < 0.6:
        runs.sort()
    said = refused(tmp_path, "edges", {"run": runs}, first=FIRST, runs=RUNS)
    if not all(FIRST <= run < FIRST + RUNS for run in runs):
        assert "is not of the runs 20 to 25" in said
    elif runs != sorted(runs):
        assert "its runs are not in their order" in said
    else:
        assert said == ""


def test_a_run_lies_in_the_chunk_that_its_number_says(tmp_path: Path) -> None:
    runs = list(range(FIRST - 3, FIRST + 3))
    chunks = [run // CHUNK for run in runs]
    wanted = {"first": runs[0], "runs": len(runs), "chunk_rows": CHUNK}
    assert refused(tmp_path, "plan", {"run": runs, "chunk": chunks}, **wanted) == ""
    for place in range(len(runs)):
        for by in (1, -1):
            moved = [chunk + by * (k == place) for k, chunk in enumerate(chunks)]
            said = refused(tmp_path, "plan", {"run": runs, "chunk": moved}, **wanted)
            assert "is said to lie in another part than it does" in said


@pytest.mark.parametrize("odd", [nan, inf, -inf])
@pytest.mark.parametrize("column", ["along_m", "demand", "before"])
def test_wear_is_finite_everywhere(column: str, odd: float, tmp_path: Path) -> None:
    for place in range(3):
        values = [0.5, 0.25, 0.0]
        assert refused(tmp_path, "wear", {column: values}) == ""
        values[place] = odd
        assert f"{column} is no finite number" in refused(tmp_path, "wear", {column: values})


@pytest.mark.parametrize("odd", [nan, inf, -inf])
@pytest.mark.parametrize("column", NEEDED)
def test_figures_of_a_run_are_finite_where_it_counts_as_computed(column, odd, tmp_path) -> None:
    for status in (OK, FAILED):
        given = {"status": [OK, status, OK], column: [0.5, odd, 0.5]}
        said = refused(tmp_path, "runs", given)
        assert (f"{column} is no finite number in a run" in said) == (status == OK)
    said = refused(tmp_path, "runs", {"status": [OK, "late", OK]})
    assert f"status: 'late' is neither {OK} nor {FAILED}" in said


@pytest.mark.parametrize("by", [1, -1])
def test_a_table_has_the_rows_that_are_due(by: int, tmp_path: Path) -> None:
    write_table(tmp_path, "it.parquet", table_of("wear", 3, {}))
    with pytest.raises(DatasetError, match=f"3 rows, and {3 + by} are due"):
        read_table(tmp_path, "it.parquet", due("wear", 3 + by))


def test_a_table_that_was_not_kept_is_told_by_its_name(tmp_path: Path) -> None:
    class Kept:
        """A study of no files."""

        files, rows, chunk_rows = (), 10, 10

    with pytest.raises(DatasetError, match="this study kept no edges"):
        Dataset(tmp_path, Kept())._parts("edges", None)


@pytest.mark.parametrize("rows", [1, 9, 10, 11, 20, 21])
def test_a_part_is_due_as_long_as_runs_are_left_for_it(rows: int, tmp_path: Path) -> None:
    class Kept:
        """A study of some parts of ten runs each."""

        chunk_rows = CHUNK
        files = tuple(Written(f"runs/part-{k:06d}.parquet", "", 0, 0) for k in range(4))

    Kept.rows = rows
    study = Dataset(tmp_path, Kept())
    for chunk, file in enumerate(Kept.files):
        left = min(rows - CHUNK * chunk, CHUNK)
        if left > 0:
            found = study._due(file.path)
            assert (found.first, found.runs, found.rows) == (CHUNK * chunk, left, left)
        else:
            with pytest.raises(DatasetError, match="is of no run that is planned"):
                study._due(file.path)
