"""A table that is not separated by commas is refused wherever one is read, and says what it is."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.programme.reading import load_programme
from edgewear.stock.exchange import read as read_log
from edgewear.study.sweeping.table_cells import read_cells
from support.programmes import TOWER

OTHERS = {";": "semicolons", "\t": "tabs"}


def of_a_programme(path: Path) -> object:
    file = path.with_suffix(".yaml")
    file.write_text(f"{TOWER.partition('benches:')[0]}table: {path.name}\n")
    return load_programme(file)


READERS = {"a study": read_cells, "a log of ropes": read_log, "a programme": of_a_programme}

HEADS = (
    "options",
    "people/climber/mass",
    "edges/arris/radius [mm]",
    "rope",
    "kind",
    "test",
    "what",
)
COLUMNS = st.lists(st.sampled_from(HEADS), min_size=2, max_size=6, unique=True)
NUMBERS = st.integers(1, 9_999).map(lambda n: f"{n // 100},{n % 100:02d}")  # as 2,50 is written


@pytest.mark.parametrize("reader", READERS)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    mark=st.sampled_from(sorted(OTHERS)), heads=COLUMNS, quoted=st.booleans(),
    blank=st.integers(0, 2), data=st.data(), ends=st.sampled_from(["\n", "\r\n"]),
    bom=st.booleans(),
)  # fmt: skip
def test_another_separator_is_named_at_its_place(
    reader, mark, heads, quoted, blank, data, ends, bom, tmp_path
):
    row = [data.draw(NUMBERS) for _ in heads]
    shown = [f'"{head}"' if quoted else head for head in heads]
    lines = [*[""] * blank, mark.join(shown), mark.join(row)]
    path = tmp_path / "table.csv"
    path.write_bytes((("\ufeff" if bom else "") + ends.join(lines) + ends).encode())
    with pytest.raises(ScenarioError) as told:
        READERS[reader](path)
    (problem,) = [one for one in told.value.problems if one.file.endswith("table.csv")]
    assert (problem.line, problem.column) == (blank + 1, len(shown[0]) + 1)
    assert f"separated by {OTHERS[mark]}: commas are due" in problem.message


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(heads=COLUMNS, mark=st.sampled_from([";", "\t", "; "]), marks=st.integers(1, 3))
def test_a_semicolon_inside_cells_separates_nothing(heads, mark, marks, tmp_path):
    """Quoted, any number of them; with commas between, as many as there are of those at most."""
    path = tmp_path / "table.csv"
    odd = "note" + mark * marks + "x"
    for head in [f'"{odd}"'] + [odd] * (marks <= len(heads)):
        path.write_text(",".join([*heads, head]) + "\n" + ",".join(["1"] * (len(heads) + 1)) + "\n")
        assert list(read_cells(path).columns) == [*heads, odd]
