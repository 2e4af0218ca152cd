"""A table of a dataset is read where every row is of the runs it is due to be of, else refused."""

from __future__ import annotations

import random
from collections.abc import Mapping
from math import inf, nan
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from edgewear.dataset import tables
from edgewear.dataset.files import Written, write_json, write_table
from edgewear.dataset.reading import BRIDGES, Dataset
from edgewear.dataset.schema import alias_of, schema_of, with_aliases
from edgewear.dataset.tables import due, read_table
from edgewear.errors import DatasetError
from edgewear.records import NEEDED, Column
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


@pytest.mark.parametrize(
    ("rows", "counted"),
    [(3, [3]), (3, [2, 1]), (0, []), (0, [0]), (3, [2, 2]), (3, [2]), (3, [3, 0]), (3, [4, -1]),
     (0, [1, -1]), (3, [])],
)  # fmt: skip
def test_the_rows_of_a_file_are_those_of_its_groups(rows, counted, tmp_path: Path) -> None:
    """No group has fewer than none, and of a file with rows none is empty: no study writes so."""
    write_table(tmp_path, "it.parquet", table_of("wear", 3, {}))
    real = pq.ParquetFile(tmp_path / "it.parquet")
    told = SimpleNamespace(
        num_rows=rows, num_row_groups=len(counted),
        row_group=lambda group: SimpleNamespace(num_rows=counted[group]),
    )  # fmt: skip
    said = SimpleNamespace(schema=real.schema, schema_arrow=real.schema_arrow, metadata=told)
    if sum(counted) == rows and all(count >= (1 if rows else 0) for count in counted):
        tables._hold(said, due("wear", rows), ())
    else:
        with pytest.raises(ValueError, match=f"^{rows} rows, and its row groups have others$"):
            tables._hold(said, due("wear", rows), ())


def test_a_table_takes_as_much_memory_as_may_be_and_no_byte_more(tmp_path, monkeypatch) -> None:
    write_table(tmp_path, "it.parquet", table_of("wear", 3, {}))
    group = pq.ParquetFile(tmp_path / "it.parquet").metadata.row_group(0)
    columns = [group.column(place) for place in range(group.num_columns)]
    # three numbers of 8 bytes and the head of their page: packed they are the larger of the two
    [size] = [one.total_uncompressed_size for one in columns if one.path_in_schema == "demand"]
    assert size > 3 * 8
    for most in (size, size - 1):
        monkeypatch.setattr(tables, "MOST_AT_ONCE", most)
        if most == size:
            assert read_table(tmp_path, "it.parquet", due("wear", 3), ["demand"]).num_rows == 3
        else:
            with pytest.raises(DatasetError, match=f"{size} bytes once unpacked, and {most} are"):
                read_table(tmp_path, "it.parquet", due("wear", 3), ["demand"])


@pytest.mark.parametrize(("key", "value"), [(b"unit", b"\xff"), (b"\xff", b"m"), (b"unit", b"m")])
def test_what_a_column_says_of_itself_is_text(key: bytes, value: bytes, tmp_path: Path) -> None:
    table = table_of("wear", 1, {})
    told = [field.with_metadata({key: value}) for field in table.schema]
    write_table(tmp_path, "it.parquet", table.cast(pa.schema(told)))
    if b"\xff" in (key, value):
        with pytest.raises(DatasetError, match="cannot be read: 'utf-8' codec can't decode"):
            read_table(tmp_path, "it.parquet", due("wear"))
    else:
        assert read_table(tmp_path, "it.parquet", due("wear")).num_rows == 1


def test_ways_from_one_option_to_another_are_read_by_both_and_none_where_none_is(tmp_path) -> None:
    steps = [{"place": "ropes/west"}, {"place": "edges/lip"}]
    ways = [{"from": "a", "to": "b", "steps": steps}, {"from": "b", "to": "a", "steps": []}]
    written = write_json(tmp_path, BRIDGES, ways)
    listed, bare = SimpleNamespace(files=(written,)), SimpleNamespace(files=())
    assert Dataset(tmp_path, listed).bridges() == {("a", "b"): steps, ("b", "a"): []}
    assert Dataset(tmp_path, bare).bridges() == {}
    assert Dataset(tmp_path, bare).step_wear() is None


def test_columns_have_names_for_formulas_that_no_other_column_has() -> None:
    """Letters, digits and `_`, no digit first, the unit last and none where it is 1."""
    names = {
        ("ropes/north/mass", "kg"): "ropes_north_mass_kg", ("Friction: Lip", "1"): "friction_lip",
        ("2nd edge", "m/s"): "_2nd_edge_m_s", ("", "1"): "_", ("", "m"): "m",
    }  # fmt: skip
    for (address, unit), alias in names.items():
        assert alias_of(address, unit) == alias
    alike = [Column(name, "float64", "m", "any") for name in ("a b", "a/b", "a:b", "c")]
    told = [dict(column.more)["alias"] for column in with_aliases(alike)]
    assert told == ["a_b_m", "a_b_m_2", "a_b_m_3", "c_m"]
