"""Tests typed as a table say what the same entries would, and name a slip at its cell."""

from __future__ import annotations

from pathlib import Path

import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet
import pytest

from edgewear.errors import ScenarioError
from edgewear.programme.reading import load_programme, programme_text
from support.programmes import TOWER

CSV = """\
test,scenario,how far,people/climber/technique,what,not by,by,after,seen,at most,error
A,tower,job/1/ascend,jerky,core visible,3 m,4 m,,,,
B,tower,job/1/ascend,smooth,look,,,5 m,usable,,
B,tower,job/1/ascend,smooth,anchor peak,,,5 m,,2 kN,0.1 kN
"""
ENTRIES = """\
  A:
    scenario: tower
    how far: job/1/ascend
    with: {people/climber/technique: jerky}
    seen: [{core visible: {not by: 3 m, by: 4 m}}]
  B:
    scenario: tower
    how far: job/1/ascend
    with: {people/climber/technique: smooth}
    seen:
      - look: {seen: usable, after: 5 m}
      - anchor peak: {at most: 2 kN, error: 0.1 kN, after: 5 m}
"""
HEAD = TOWER.partition("benches:")[0]


def written(folder: Path, text: str, name: str = "tests.csv") -> Path:
    (folder / "tests.csv").write_text(text)
    if name.endswith(".parquet"):
        pa.parquet.write_table(pa.csv.read_csv(folder / "tests.csv"), folder / name)
    (folder / "programme.yaml").write_text(f"{HEAD}table: {name}\n")
    return folder / "programme.yaml"


@pytest.mark.parametrize("name", ["tests.csv", "tests.parquet"])
def test_a_table_says_what_entries_say(tmp_path: Path, name: str) -> None:
    found = load_programme(written(tmp_path, CSV, name))
    typed = programme_text(f"{HEAD}tests:\n{ENTRIES}")
    for one, other in zip(found, typed, strict=True):
        assert one.seen == other.seen
        assert (one.name, one.how_far, one.option) == (other.name, other.how_far, other.option)
        assert one.scenario.people == other.scenario.people


@pytest.mark.parametrize("cell", ["4 m,", "usable", "2 kN", "smooth,anchor"])
def test_a_slip_is_named_at_its_cell(tmp_path: Path, cell: str) -> None:
    slip = {"4 m,": "4 kg,", "2 kN": "2 km", "smooth,anchor": "smoth,anchor"}.get(cell, "useable")
    before, _, after = CSV.partition(cell)
    wanted = before.count("\n") + 1, len(before) - before.rfind("\n")
    with pytest.raises(ScenarioError) as error:
        load_programme(written(tmp_path, before + slip + after))
    places = {(p.line, p.column) for p in error.value.problems if p.file.endswith("tests.csv")}
    assert wanted in places, error.value


def test_another_outcome_in_the_table_is_another_programme(tmp_path: Path) -> None:
    first = load_programme(written(tmp_path, CSV)).digest
    assert load_programme(written(tmp_path, CSV.replace("4 m,", "5 m,"))).digest != first


def test_the_how_to_shows_a_file_that_can_be_used() -> None:
    from support.tree import ROOT

    page = (ROOT / "docs" / "how-to" / "learn-from-tests.md").read_text()
    text = page.partition("```yaml\n")[2].partition("```")[0]
    assert [len(one.seen) for one in programme_text(text)] == [1, 2, 2, 2]
