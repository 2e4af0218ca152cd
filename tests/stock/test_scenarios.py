"""A rope of a scenario that is a record: read as it is today, kept with what was computed."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from edgewear.errors import ScenarioError
from edgewear.scenario import load_scenario, load_text, summary_document
from edgewear.scenario.models.scenario import Scenario
from support.one_edge import OneEdge
from support.ropes import draft, stock_in

TEXT = OneEdge().text.replace(
    "rope: {like: low-stretch 11, length: 150 m, stopper: yes}",
    "R1: {record: store.ropes, stopper: yes}",
)
TEXT = TEXT.replace("bare: {rope: rope", "bare: {rope: R1")


def scenario_in(folder: Path, text: str = TEXT) -> Scenario:
    (folder / "job.yaml").write_text(text)
    return load_scenario(folder / "job.yaml")


def a_store(folder: Path) -> None:
    today = date.today().isoformat()  # what time alone asks for depends on it
    first = draft("register", on=today, length_m=150.0, like="low-stretch 11")
    rest = draft("job", on=today), draft("inspection", on=today)
    with stock_in(folder, None, first, *rest):
        pass


def test_length_kind_and_worn_parts_come_from_the_record(tmp_path: Path) -> None:
    a_store(tmp_path)
    rope = scenario_in(tmp_path).ropes["R1"]
    assert (rope.length.value, rope.like) == (150.0, "low-stretch 11")
    assert "entry 3" in (rope.record or "")
    assert [part.from_.value for part in rope.worn] == [10.0]
    with stock_in(tmp_path) as stock:
        ends = stock.standing("R1").wear.largest()
    sheath = rope.worn[0].sheath
    # typed with ten digits of a per cent
    assert (sheath.low, sheath.value, sheath.high) == pytest.approx(ends, abs=1e-12)


def test_what_was_read_is_kept_whatever_the_record_says_later(tmp_path: Path) -> None:
    a_store(tmp_path)
    first = scenario_in(tmp_path)
    (tmp_path / "store.ropes").unlink()
    again = load_text(first.source, first.path, first.library_source)
    assert again.ropes == first.ropes
    shorter = first.with_values({"ropes/R1/length": "120 m"})
    assert shorter.ropes["R1"].worn == first.ropes["R1"].worn
    json.dumps(summary_document(again))


def test_an_own_library_and_records_are_kept_together(tmp_path: Path) -> None:
    a_store(tmp_path)
    (tmp_path / "own.yaml").write_text("ropes:\n  ours: {strength: 27 kN}\n")
    first = scenario_in(tmp_path, TEXT.replace("title:", "library: own.yaml\ntitle:"))
    again = load_text(first.source, first.path, first.library_source)
    assert again.ropes == first.ropes


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (draft("inspection", finding="core visible"), "'R1' is retired: core visible"),
        (draft("decision"), "'R1' is set aside: "),
    ],
)
def test_a_rope_that_its_record_asks_not_to_use_is_refused(entry, said, tmp_path: Path) -> None:
    a_store(tmp_path)
    with stock_in(tmp_path) as stock:
        stock.append(entry)
    with pytest.raises(ScenarioError) as error:
        scenario_in(tmp_path)
    assert f"job.yaml:5:22: ropes/R1/record: rope {said}" in str(error.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("record: store.ropes", "record: other.ropes", "cannot be read"),
        ("record: store.ropes", "record: {file: store.ropes, rope: R7}", "no rope 'R7'"),
        ("record: store.ropes", "record: [1]", "the record's file is due"),
        ("when:", "  - swap rope: {rope: R1}\nwhen:", "cannot be brought in on the way"),
    ],
)
def test_what_cannot_be_read_is_told_at_its_place(old, new, said, tmp_path: Path) -> None:
    a_store(tmp_path)
    with pytest.raises(ScenarioError) as error:
        scenario_in(tmp_path, TEXT.replace(old, new))
    assert said in str(error.value)
    assert "job.yaml:" in str(error.value)


def test_one_rope_is_one_line(tmp_path: Path) -> None:
    a_store(tmp_path)
    both = TEXT.replace("bare: {rope: R1,", "bare: {safety line: {rope: R1}, rope: R1,")
    with pytest.raises(ScenarioError, match="'R1' is one rope with a past"):
        scenario_in(tmp_path, both)
