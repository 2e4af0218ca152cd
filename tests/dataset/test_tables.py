"""A table of a dataset is read where every row is of the runs it is due to be of, else refused."""

from __future__ import annotations

import random
from collections.abc import Mapping
from math import inf, nan
from pathlib import Path
from types import SimpleNamespace
from unittest.mock import MagicMock

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from edgewear import incoming
from edgewear.dataset import tables
from edgewear.dataset.files import Written, write_json, write_stream, write_table
from edgewear.dataset.reading import BRIDGES, Dataset
from edgewear.dataset.schema import alias_of, arrow_type, schema_of, with_aliases
from edgewear.dataset.tables import due, read_footer, read_group, read_table
from edgewear.errors import DatasetError
from edgewear.incoming import MOST_KEY
from edgewear.records import LATER, NEEDED, TABLES, Column
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


def left_out(table: pa.Table) -> pa.Table:
    return table.drop_columns(["demand"])


def renamed(table: pa.Table, name: str) -> pa.Table:
    return table.rename_columns([name if one == "demand" else one for one in table.column_names])


def another(table: pa.Table, name: str, values: list) -> pa.Table:
    return table.append_column(pa.field(name, pa.array(values).type, nullable=False), [values])


def retyped(table: pa.Table, field: pa.Field, values: list) -> pa.Table:
    place = table.schema.get_field_index("demand")
    return table.set_column(place, field, [pa.array(values, field.type)])


BENT = {
    "": lambda table: table,
    "has no column demand": left_out,
    "a column is there twice": lambda table: another(table, "demand", [0.5]),
    "a column 'more', which no study writes here": lambda table: another(table, "more", [0.5]),
    "demand holds int64, and float64 is due":
        lambda table: retyped(table, pa.field("demand", pa.int64(), nullable=False), [1]),
    "demand may hold nothing, or lists":
        lambda table: retyped(table, pa.field("demand", pa.float64()), [0.5]),
}  # fmt: skip
"""What is said of a table of wear -> what was done to it."""


@pytest.mark.parametrize("said", BENT)
@pytest.mark.parametrize("columns", [None, ["along_m"], []])
def test_a_table_has_the_columns_that_are_due_each_of_its_type(said, columns, tmp_path) -> None:
    write_table(tmp_path, "it.parquet", BENT[said](table_of("wear", 1, {})))
    if not said:
        found = read_table(tmp_path, "it.parquet", due("wear"), columns)
        assert found.column_names == (
            [one.name for one in due("wear").columns] if columns is None else columns
        )
    else:
        with pytest.raises(DatasetError, match=f"cannot be read: .*{said}"):
            read_table(tmp_path, "it.parquet", due("wear"), columns)


NAMES = {name: [one.name for one in TABLES[name]] for name in ("edges", "runs")}
OF_EDGES = tuple(name for name in LATER if name in NAMES["edges"])


OF_RUNS = tuple(name for name in LATER if name in NAMES["runs"])
SOME = [*((name,) for name in OF_EDGES), OF_EDGES[1:], OF_EDGES]
LACKING = [
    *(("edges", some) for some in [(), *SOME]),
    *(("runs", some) for some in [(), OF_RUNS]),
]


@pytest.mark.parametrize(("table", "lacking"), LACKING)
@pytest.mark.parametrize("more", [None, 0, 1, 2])
def test_what_a_dataset_of_before_lacks_is_read_as_not_known(
    table, lacking, more, tmp_path
) -> None:
    later = [name for name in LATER if name in NAMES[table]]
    columns = None if more is None else ["run", *later[:more]]
    given = {name: [7, 8, 9] for name in later} | {"run": [0, 1, 2], "status": ["ok"] * 3}
    written = table_of(table, 3, given)
    write_table(tmp_path, "it.parquet", written.drop_columns(list(lacking)))
    found = read_table(tmp_path, "it.parquet", due(table), columns)
    asked = NAMES[table] if columns is None else columns
    assert found.column_names == asked
    for name in asked:
        values = found.column(name).to_pylist()
        told = [LATER[name]] * 3 if name in lacking else written.column(name).to_pylist()
        assert str(values) == str(told)  # nan is not itself


@pytest.mark.parametrize("name", [one for one in NAMES["edges"] if one not in LATER])
def test_no_other_column_may_be_lacking(name: str, tmp_path: Path) -> None:
    write_table(tmp_path, "it.parquet", table_of("edges", 1, {}).drop_columns([name]))
    with pytest.raises(DatasetError, match=f"has no column {name}"):
        read_table(tmp_path, "it.parquet", due("edges"))


@pytest.mark.parametrize("lacking", SOME)
@pytest.mark.parametrize("older", [(0,), (1,), (0, 1)])
def test_parts_of_before_and_of_now_are_read_as_one_table(older, lacking, tmp_path: Path) -> None:
    """As of a comparison that was stopped, and went on with a later edgewear."""
    written = []
    for chunk in (0, 1):
        part = table_of("edges", 1, {"run": [chunk], **{name: [7] for name in OF_EDGES}})
        part = part.drop_columns(list(lacking)) if chunk in older else part
        written.append(write_table(tmp_path, f"edges/part-{chunk:06d}.parquet", part))
    manifest = SimpleNamespace(files=written, rows=2, chunk_rows=1)
    found = Dataset(tmp_path, manifest).edges()
    assert found.column("run").to_pylist() == [0, 1]
    for name in OF_EDGES:
        lost = older if name in lacking else ()
        known = [LATER[name] if chunk in lost else 7 for chunk in (0, 1)]
        np.testing.assert_equal(found.column(name).to_pylist(), known)


@pytest.mark.parametrize("values", [[0.5], [1], [True], ["x"]])
def test_a_plan_may_have_more_columns_of_any_type_that_a_study_writes(values, tmp_path) -> None:
    write_table(tmp_path, "it.parquet", another(table_of("plan", 1, {}), "friction/lip", values))
    found = read_table(tmp_path, "it.parquet", due("plan", 1, 0, 1, 9))
    assert found.column("friction/lip").to_pylist() == values
    for kind, given in ((pa.int32(), [1]), (pa.list_(pa.float64()), [[0.5]])):
        column = pa.field("friction/lip", kind, nullable=False)
        table = table_of("plan", 1, {}).append_column(column, [pa.array(given, kind)])
        write_table(tmp_path, "it.parquet", table)
        with pytest.raises(DatasetError, match=r"columns: at most|is due"):
            read_table(tmp_path, "it.parquet", due("plan", 1, 0, 1, 9))


@pytest.mark.parametrize("length", [1, MOST_KEY, MOST_KEY + 1])
@pytest.mark.parametrize("unseen", ["", "\x1b"])
def test_the_name_of_a_column_can_be_read_and_has_an_end(length, unseen, tmp_path) -> None:
    name = "x" * (length - len(unseen)) + unseen
    write_table(tmp_path, "it.parquet", another(table_of("plan", 1, {}), name, [0.5]))
    if unseen or length > MOST_KEY:
        with pytest.raises(DatasetError, match=r"the name of a column, 'x*.* cannot be"):
            read_table(tmp_path, "it.parquet", due("plan"))
    else:
        assert name in read_table(tmp_path, "it.parquet", due("plan")).column_names


@pytest.mark.parametrize("by", [-1, 0, 1])
def test_a_table_has_no_more_columns_than_a_table_may_have(by, tmp_path, monkeypatch) -> None:
    table = table_of("wear", 1, {})
    write_table(tmp_path, "it.parquet", table)
    monkeypatch.setattr(incoming, "MOST_COLUMNS", table.num_columns + by)
    if by < 0:
        with pytest.raises(DatasetError, match=f"{table.num_columns} columns: at most"):
            read_table(tmp_path, "it.parquet", due("wear"))
    else:
        assert read_table(tmp_path, "it.parquet", due("wear")).equals(table)


def test_a_table_that_is_packed_in_another_way_is_refused(tmp_path: Path) -> None:
    """A dictionary makes gigabytes of a value and a count."""
    pq.write_table(table_of("wear", 3, {}), tmp_path / "it.parquet", use_dictionary=["demand"])
    with pytest.raises(DatasetError, match=r"demand is packed as .*DICTIONARY"):
        read_table(tmp_path, "it.parquet", due("wear"))
    kept = read_table(tmp_path, "it.parquet", due("wear"), ["along_m"])  # of what is asked for
    assert kept.num_rows == 3


def said_of(kinds: Mapping[str, str], rows: int, **chunk: object) -> SimpleNamespace:
    """The end of a parquet file, which says of each column what is given."""
    told = {"has_dictionary_page": False, "encodings": ("PLAIN",), "num_values": rows,
            "total_uncompressed_size": 0, **chunk}  # fmt: skip
    part = SimpleNamespace(num_rows=rows, column=lambda place: SimpleNamespace(**told))
    names = [SimpleNamespace(path=name) for name in kinds]
    schema = MagicMock(column=names.__getitem__)
    schema.__len__.return_value = len(names)
    fields = [pa.field(name, arrow_type(kind)) for name, kind in kinds.items()]
    return SimpleNamespace(
        metadata=SimpleNamespace(row_group=lambda group: part), schema=schema, schema_arrow=fields
    )


KINDS = {"float64": 64, "int64": 64, "bool": 1, "str": 32}
"""Least bits of a value in memory; of a text, where it ends."""


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("groups", [1, 3])
def test_a_column_takes_at_least_what_its_values_take(kind, groups, monkeypatch) -> None:
    """Whatever size the file says it has: each group counts, and each column asked for."""
    rows = 800
    bytes_ = groups * rows * KINDS[kind] // 8
    file = said_of({"a": kind, "b": kind}, rows)
    for columns, most in (["a"], bytes_), (None, 2 * bytes_):
        monkeypatch.setattr(tables, "MOST_AT_ONCE", most)
        tables._size(file, range(groups), columns)
        monkeypatch.setattr(tables, "MOST_AT_ONCE", most - 1)
        with pytest.raises(ValueError, match=f"{most:,} bytes once unpacked, and {most - 1:,} are"):
            tables._size(file, range(groups), columns)
    with pytest.raises(ValueError, match="has no column c"):
        tables._size(file, range(groups), ["a", "c"])
    for by in (-1, 1):
        wrong = said_of({"a": kind}, rows, num_values=rows + by)
        with pytest.raises(ValueError, match=f"a has {rows + by} values in {rows} rows"):
            tables._size(wrong, range(groups), None)


@pytest.mark.parametrize("column", ["line", "option"])
def test_texts_can_be_seen_and_have_an_end(column: str, tmp_path: Path) -> None:
    """As many characters as a value of a scenario may have, of four bytes at most each."""
    longest = "\U0001f600" * incoming.MOST_TEXT
    for text, said in ((longest, ""), ("", ""), (longest + "x", "a text of 16,001 bytes"),
                       ("a\x1b", "with characters that cannot be seen")):  # fmt: skip
        found = refused(tmp_path, "wear", {column: ["a", text, "a"]})
        assert (f"{column} holds" in found and said in found) if said else found == ""


def test_a_row_group_is_looked_at_as_the_whole_table_is(tmp_path: Path) -> None:
    right, wrong = table_of("wear", 2, {}), table_of("wear", 2, {"demand": [0.5, nan]})
    write_stream(tmp_path, "it.parquet", right.schema, iter([right, wrong]), 2)
    footer = read_footer(tmp_path, "it.parquet", due("wear"))
    assert read_group(tmp_path, "it.parquet", footer, 0, due("wear")).equals(right)
    with pytest.raises(DatasetError, match="demand is no finite number"):
        read_group(tmp_path, "it.parquet", footer, 1, due("wear"))
    for group in (-1, 2):
        with pytest.raises(DatasetError, match=f"2 row groups, and number {group} is due"):
            read_group(tmp_path, "it.parquet", footer, group, due("wear"))
    pq.write_table(right, tmp_path / "packed.parquet", use_dictionary=["demand"])
    packed = read_footer(tmp_path, "packed.parquet", due("wear"))
    with pytest.raises(DatasetError, match=r"demand is packed as .*DICTIONARY"):
        read_group(tmp_path, "packed.parquet", packed, 0, due("wear"))
    write_table(tmp_path, "other.parquet", left_out(right))
    with pytest.raises(DatasetError, match="has no column demand"):
        read_footer(tmp_path, "other.parquet", due("wear"))


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
