"""A rule is told with the source of whoever gave it: the library's, or the store's own."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.report.ropes import words as rope_words
from edgewear.scenario.read.rope_rules import built_in_rules, own_rules
from edgewear.stock.documents import rope_document, rules_document
from edgewear.stock.entries import Draft
from edgewear.stock.exchange import as_csv, as_json, read, take_in
from edgewear.stock.rules import ASKS, LIMITS, STORE, WORDS, Rule, Rules, as_body, tightened
from edgewear.stock.snapshot import snapshot
from edgewear.stock.store import open_stock
from support.ropes import draft, stock_in

LIBRARY = tightened(built_in_rules(), {})
SOURCES = st.sampled_from(["store rule 4", "our insurer", "'twas so before", "=1+1", "§ 3; ü"])


@st.composite
def own(draw: st.DrawFn, sources: st.SearchStrategy[str] = SOURCES) -> dict[str, Rule]:
    """Rules of a store's own, each at least as strict as the library's."""
    found = {}
    for word in draw(st.sets(st.sampled_from(WORDS), min_size=1)):
        old = LIBRARY.get(word, Rule(ASKS[0]))
        limit = (old.limit or 1000.0) if word in LIMITS else None
        if limit is not None:
            limit *= draw(st.sampled_from([1.0, 0.5]))
        asks = draw(st.sampled_from(ASKS[ASKS.index(old.asks) :]))
        found[word] = Rule(asks, limit, draw(sources))
    return found


def tighten(rules: Rules) -> Draft:
    return Draft("*", "rules", "2026-03-01", "A. Keeper", {"rules": as_body(rules)})


def in_force(stock: Any) -> dict[str, str]:
    return {row["word"]: row["pedigree"] for row in rules_document(stock)["rules"]}


@settings(max_examples=10, deadline=None)  # each writes files
@given(own(), st.sampled_from([".csv", ".json"]))
def test_rules_of_a_store_name_its_source_and_all_others_the_librarys(
    rules: dict[str, Rule], kind: str
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        at = Path(folder)
        wanted = {word: rule.pedigree for word, rule in {**LIBRARY, **rules}.items()}
        with stock_in(at, built_in_rules(), draft("register"), tighten(rules)) as stock:
            assert in_force(stock) == wanted
            text = {".csv": as_csv, ".json": as_json}[kind](stock.every_entry())
        (at / f"out{kind}").write_text(text)
        with open_stock(at / "copy.ropes", built_in_rules(), make=True) as copy:
            take_in(copy, read(at / f"out{kind}"))
            assert in_force(copy) == wanted


@settings(max_examples=10, deadline=None)  # each writes files
@given(own(st.just("")))
def test_a_rule_without_a_source_is_the_stores_where_it_asks_more(rules: dict[str, Rule]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        record = stock_in(Path(folder), built_in_rules(), draft("register"), tighten(rules))
        with record as stock:
            found = in_force(stock)
    for word, rule in rules.items():
        old = LIBRARY.get(word)
        same = old is not None and rule[:2] == old[:2]
        assert found[word] == (old.pedigree if old is not None and same else STORE)


@pytest.mark.parametrize(
    ("library", "store", "wanted"),
    [
        # a library that has become stricter than a rule that was entered before
        (Rule("set aside", 0.2, "L"), Rule("retire", 0.3, "S"), Rule("retire", 0.2, "S; limit: L")),
        (Rule("retire", 0.4, "L"), Rule("set aside", 0.3, "S"), Rule("retire", 0.3, "L; limit: S")),
        (Rule("retire", 0.2, "L"), Rule("set aside", 0.3, "S"), Rule("retire", 0.2, "L")),
    ],
)
def test_what_is_in_force_of_two_rules_names_whose_it_is(
    library: Rule, store: Rule, wanted: Rule
) -> None:
    assert tightened({"careful wear": library}, {"careful wear": store})["careful wear"] == wanted


ASKING = {
    "fuzz": draft("inspection", finding="fuzz"),
    "discoloured": draft("inspection", finding="discoloured"),
    "heat": draft("event", what="heat"),
    "fall held": draft("event", what="fall held"),
    "chemical": draft("event", what="chemical"),
    "careful wear": draft("job", demand=[0.5], low=1.0, high=1.0),
    "time since last look": None,
}


@pytest.mark.parametrize("source", ["store rule 4", "our insurer"])
@pytest.mark.parametrize("word", ASKING)
def test_why_a_rope_is_set_aside_names_the_source(word: str, source: str, tmp_path: Path) -> None:
    old = LIBRARY.get(word, Rule("set aside"))
    rules = {word: old._replace(pedigree=source)}
    entry = ASKING[word]
    drafts = [draft("register"), tighten(rules), *([] if entry is None else [entry])]
    with stock_in(tmp_path, built_in_rules(), *drafts) as stock:
        document = json.loads(json.dumps(rope_document(stock, "R1", "2026-10-01")))
        refused = snapshot(stock, "R1", "2026-10-01")["refused"]
    (row,) = [one for one in document["reasons"] if one["rule"] == word]
    assert row["pedigree"] == source
    assert rope_words.reason(row).endswith(f"[{source}]")
    assert f", {source})" in refused


@pytest.mark.parametrize(
    "typed", ["''", "' store rule 4'", "[store rule 4]", "{a: b}", '"two\\nlines"']
)
def test_a_source_is_a_text_on_one_line(typed: str, tmp_path: Path) -> None:
    (tmp_path / "own.yaml").write_text(
        f"rope rules:\n  fuzz:\n    asks: set aside\n    pedigree: {typed}\n"
    )
    with pytest.raises(ScenarioError, match=r":4:\d+: rope rules/fuzz/pedigree: .*one line"):
        own_rules(tmp_path / "own.yaml")
