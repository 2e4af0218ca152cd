"""Rules of a scenario's own library hold for the ropes that it takes from a record."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from edgewear.errors import ScenarioError
from edgewear.scenario import load_scenario, load_text
from edgewear.scenario.read.rope_rules import built_in_rules
from edgewear.stock.entries import Draft
from edgewear.stock.rules import ASKS, LIMITS, RETIRE, Rule, as_body
from support.one_edge import OneEdge
from support.ropes import draft, stock_in

TEXT = OneEdge().text.replace(
    "rope: {like: low-stretch 11, length: 150 m, stopper: yes}",
    "R1: {record: store.ropes, stopper: yes}",
)
TEXT = TEXT.replace("bare: {rope: rope", "bare: {rope: R1") + "library: own.yaml\n"


def ago(days: int) -> str:
    return (date.today() - timedelta(days=days)).isoformat()


WORN = draft("job", on=ago(1), demand=[0.4], low=1.0, high=1.0)  # 40 % at every end
NOT_ASKED = {  # what the built-in rules let pass, and a rule that does not
    "fuzz": ([draft("inspection", on=ago(1), finding="fuzz")], "{asks: SOME}"),
    "other": ([draft("event", on=ago(1), what="other")], "{asks: SOME}"),
    "careful wear": ([WORN], "{asks: SOME, limit: 30 %}"),
    "time since last look": ([draft("inspection", on=ago(40))], "{asks: SOME, limit: 1 month}"),
    "age since first use": ([draft("inspection", on=ago(1))], "{asks: SOME, limit: 2 months}"),
}


def store(folder: Path, entries: list[Draft], *more: Draft) -> None:
    first = draft("register", on=ago(80), length_m=150.0, like="low-stretch 11", first_use=ago(80))
    with stock_in(folder, None, first, *entries, *more):
        pass


def told(folder: Path, library: str) -> list[str]:
    """What a scenario with its own library is refused for; empty: it may use the rope."""
    (folder / "own.yaml").write_text(library)
    (folder / "job.yaml").write_text(TEXT)
    try:
        load_scenario(folder / "job.yaml")
    except ScenarioError as error:
        return [problem.message for problem in error.problems]
    return []


@pytest.mark.parametrize("asks", ASKS)
@pytest.mark.parametrize("word", NOT_ASKED)
def test_a_stricter_rule_of_the_library_refuses_a_rope_and_names_its_source(
    word: str, asks: str, tmp_path: Path
) -> None:
    entries, rule = NOT_ASKED[word]
    store(tmp_path, entries)
    assert told(tmp_path, "rope rules: {}\n") == []
    rule = rule.replace("SOME", asks).replace("}", ", pedigree: store rule 4}")
    (said,) = told(tmp_path, f"rope rules:\n  {word}: {rule}\n")
    assert f"{word} (" in said
    assert "store rule 4)" in said


@pytest.mark.parametrize("word", NOT_ASKED)
def test_what_was_read_is_kept_with_the_library_it_was_read_with(word: str, tmp_path: Path) -> None:
    entries, rule = NOT_ASKED[word]
    store(tmp_path, entries)
    assert told(tmp_path, "ropes: {}\n") == []
    first = load_scenario(tmp_path / "job.yaml")
    (tmp_path / "own.yaml").write_text(f"rope rules: {{{word}: {rule}}}\n".replace("SOME", RETIRE))
    assert load_text(first.source, first.path, first.library_source).ropes == first.ropes


@pytest.mark.parametrize("word", NOT_ASKED)
def test_of_the_library_and_the_record_the_stricter_rule_counts(word: str, tmp_path: Path) -> None:
    entries, rule = NOT_ASKED[word]
    # the record's own limit is one day, or a hundredth of a per cent of wear
    limit = {"careful wear": 1e-4}.get(word, 1.0) if word in LIMITS else None
    body = {"rules": as_body({word: Rule(RETIRE, limit, "the store")})}
    store(tmp_path, entries, Draft("*", "rules", ago(1), "A. Keeper", body))
    (said,) = told(tmp_path, f"rope rules:\n  {word}: {rule}\n".replace("SOME", "set aside"))
    assert "the store)" in said


TYPED = {"1": "60 %", "days": "20 years"}  # later than every built-in limit


@pytest.mark.parametrize("word", sorted(built_in_rules()))
def test_a_laxer_rule_is_refused_at_its_place(word: str, tmp_path: Path) -> None:
    old = built_in_rules()[word]
    limit = f", limit: {TYPED[LIMITS[word]]}" if word in LIMITS else ""
    if old.asks == ASKS[0] and not limit:
        return  # nothing asks less than this
    store(tmp_path, [])
    library = f"rope rules:\n  {word}: {{asks: set aside{limit}}}\n"
    _, said = told(tmp_path, library)  # that the library cannot be used stands before it
    assert said.startswith("a rule may be stricter, never laxer than: ")


@pytest.mark.parametrize(
    "rule", ["fuz: {asks: retire}", "fuzz: {asks: burn}", "careful wear: {asks: retire}", "fuzz: 5"]
)
def test_a_wrong_rule_of_the_library_is_told_though_no_rope_has_a_record(
    rule: str, tmp_path: Path
) -> None:
    (tmp_path / "own.yaml").write_text(f"rope rules:\n  {rule}\n")
    (tmp_path / "job.yaml").write_text(OneEdge().text + "library: own.yaml\n")
    with pytest.raises(ScenarioError, match=r"own\.yaml:2:\d+: rope rules/fuz|rope rules/careful"):
        load_scenario(tmp_path / "job.yaml")
