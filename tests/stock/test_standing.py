"""Every rule, every order of entries: never back from retired, never "fit", history only grows."""

from __future__ import annotations

import json
import re
import tempfile
from datetime import date, timedelta
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from edgewear.errors import ScenarioError
from edgewear.report.formats import html
from edgewear.report.ropes.page import sheet
from edgewear.report.ropes.terminal import rope_lines
from edgewear.scenario.read.rope_rules import built_in_rules
from edgewear.stock.bodies import EVENTS
from edgewear.stock.chain import verify
from edgewear.stock.documents import due_document, rope_document
from edgewear.stock.entries import Draft, Entry
from edgewear.stock.looks import FINDINGS
from edgewear.stock.rules import ALWAYS, ASKS, LIMITS, Rule, tightened
from edgewear.stock.standing import standing_of, summary, with_time
from edgewear.stock.store import open_stock
from support.ropes import chained, draft

RULES = tightened(built_in_rules(), {})
FIT = re.compile(r"\b(fit|fine|good|ok|okay|sound|safe|usable|serviceable|pass(ed)?)\b", re.I)
DAY = date(2026, 3, 1)
LONG_AGO = date(1880, 3, 1)
"""Fifty waits of 900 days after it, the most that are tried, nothing lies ahead of today yet."""


def word_after(*drafts: Draft, rules: dict[str, Rule] = RULES, on: str = "2026-03-01") -> str:
    standing = standing_of(chained([draft("register"), *drafts]), rules)
    return str(with_time(summary(standing), rules, on)["word"])


def asked_by(word: str) -> Draft:
    """An entry that a rule about a finding, an event or wear looks at."""
    if word in FINDINGS:
        return draft("inspection", finding=word)
    if word in EVENTS:
        return draft("event", what=word)
    return draft("job", demand=[RULES["careful wear"].limit], high=1.0, low=1.0)


ENTRY_RULES = [word for word in RULES if word == "careful wear" or word not in LIMITS]


@pytest.mark.parametrize("word", ENTRY_RULES)
def test_every_rule_asks_for_what_it_says(word: str) -> None:
    wanted = {"retire": "retired", "set aside": "set aside"}[RULES[word].asks]
    assert word_after() == "in use"
    assert word_after(asked_by(word)) == wanted


@pytest.mark.parametrize("word", [word for word in LIMITS if word != "careful wear"])
def test_time_alone_asks_on_the_day_and_not_the_day_before(word: str) -> None:
    rule_ = RULES[word]
    alone = {word: rule_}
    start = draft("register", made="2026-03-01", first_use="2026-03-01")
    standing = standing_of(chained([start]), alone)
    due = DAY + timedelta(days=round(rule_.limit or 0))
    eve = with_time(summary(standing), alone, (due - timedelta(days=1)).isoformat())
    assert (eve["word"], eve["next_on"]) == ("in use", due.isoformat())
    found = with_time(summary(standing), alone, due.isoformat())["word"]
    assert found == {"retire": "retired", "set aside": "set aside"}[rule_.asks]


@pytest.mark.parametrize("word", ALWAYS)
def test_what_retires_on_sight_does_so_without_any_rules(word: str) -> None:
    assert word_after(asked_by(word), rules=tightened({}, {})) == "retired"


@pytest.mark.parametrize("order", list(permutations(range(4))))
def test_no_order_of_entries_brings_a_rope_back_from_retired(order: tuple[int, ...]) -> None:
    entries = [
        draft("inspection", finding="core visible"),
        draft("inspection", finding="nothing"),
        draft("decision", decision="in use", reason="looks well"),
        draft("event", what="fall held"),
    ]
    assert word_after(*(entries[place] for place in order)) == "retired"


def test_a_struck_finding_stays_asked_and_its_wear_goes() -> None:
    seen = draft("inspection", finding="yarns cut", from_m=5.0, to_m=6.0)
    entries = chained([draft("register"), seen, draft("correction", entry=2, reason="R2 it was")])
    standing = standing_of(entries, RULES)
    assert standing.word == "set aside"
    assert standing.last_look is None
    assert standing.wear.largest() == (0.0, 0.0, 0.0)


@given(st.data())
def test_a_stricter_rule_never_asks_less(data: st.DataObject) -> None:
    own = {
        word: Rule(
            data.draw(st.sampled_from(ASKS)),
            data.draw(st.floats(0.01, 5000)) if word in LIMITS else None,
        )
        for word in data.draw(st.sets(st.sampled_from([*FINDINGS, *EVENTS, *LIMITS])))
    }
    both = tightened(RULES, own)
    for word, old in RULES.items():
        assert both[word].stricter_than(old)
    for word, new in own.items():
        if new.stricter_than(RULES.get(word, Rule("set aside", None))):
            assert both[word].stricter_than(new)


def unlooked(*drafts: Draft, on: str) -> dict[str, Any]:
    return with_time(summary(standing_of(chained(list(drafts)), RULES)), RULES, on)


@pytest.mark.parametrize(
    ("registered", "first_use", "job", "since"),
    [
        ("2025-05-02", None, None, "2025-05-02"),
        ("2025-05-02", None, "2025-11-05", "2025-05-02"),  # a job unseen puts nothing off
        ("2025-05-02", "2025-03-01", "2025-11-05", "2025-03-01"),
        ("2025-05-02", None, "2025-04-01", "2025-04-01"),  # used before it was registered
        ("2025-05-02", "2025-05-01", "2025-05-02", "2025-05-01"),
    ],
)
def test_a_rope_nobody_looked_at_waits_from_the_earlier_of_registration_and_first_use(
    registered: str, first_use: str | None, job: str | None, since: str
) -> None:
    said = {} if first_use is None else {"first_use": first_use}
    drafts = [draft("register", on=registered, **said)]
    drafts += [] if job is None else [draft("job", on=job)]
    days = round(RULES["time since last look"].limit or 0)
    due = date.fromisoformat(since) + timedelta(days=days)
    found = unlooked(*drafts, on=due.isoformat())
    assert found["word"] == "set aside"
    assert [r["on"] for r in found["reasons"]] == [due.isoformat()]


MILDEST_FIRST = ("in use", "set aside", "retired")


def due_days(found: dict[str, Any]) -> dict[str, str]:
    """Day on which time alone asks or asked, by rule; the next one under an empty word."""
    asked = {one["rule"]: one["on"] for one in found["reasons"] if not one["entry"]}
    return {**asked, "": found["next_on"] or "9999-12-31"}


days_ = st.integers(0, 1500).map(lambda n: (date(2021, 1, 1) + timedelta(days=n)).isoformat())
entries_unseen = st.one_of(
    st.builds(lambda on: draft("job", on=on), days_),
    st.builds(lambda on, what: draft("event", on=on, what=what), days_, st.sampled_from(EVENTS)),
)
entries_seen = st.builds(
    lambda on, finding: draft("inspection", on=on, finding=finding),
    days_, st.sampled_from(FINDINGS),
)  # fmt: skip


@given(
    days_, st.none() | days_, st.lists(st.one_of(entries_unseen, entries_seen), max_size=6),
    st.lists(entries_unseen, min_size=1, max_size=4), days_,
)  # fmt: skip
def test_nothing_but_a_look_takes_back_what_time_asks(
    registered: str, first_use: str | None, before: list[Draft], more: list[Draft], today: str
) -> None:
    said = {} if first_use is None else {"first_use": min(first_use, registered)}
    drafts = [draft("register", on=registered, **said), *before]
    old = unlooked(*drafts, on=today)
    for one in more:
        drafts.append(one)
        new = unlooked(*drafts, on=today)
        assert MILDEST_FIRST.index(new["word"]) >= MILDEST_FIRST.index(old["word"])
        was, now = due_days(old), due_days(new)
        for rule_ in was.keys() - {""}:
            assert now[rule_] <= was[rule_]  # asked already: it stays so, and since no later
        assert min(now.values()) <= was[""]
        old = new


bodies = st.one_of(
    st.builds(lambda f, a, b: draft("inspection", finding=f, from_m=min(a, b), to_m=max(a, b)),
              st.sampled_from(FINDINGS), st.floats(0, 60), st.floats(0, 60)),
    st.builds(lambda what: draft("event", what=what), st.sampled_from(EVENTS)),
    st.builds(lambda word: draft("decision", decision=word, reason="because"),
              st.sampled_from(["in use", "set aside", "retired"])),
    st.builds(lambda first, worn: draft("job", first_mm=first, demand=worn),
              st.integers(0, 50_000), st.lists(st.floats(0, 0.3), max_size=4)),
    st.builds(lambda entry: draft("correction", entry=entry, reason="wrong rope"),
              st.integers(1, 30)),
)  # fmt: skip


class Ropes(RuleBasedStateMachine):
    """Whoever enters whatever, in any order."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "store.ropes"
        self.history: list[Entry] = []
        self.retired = False
        self.today = LONG_AGO

    @initialize()
    def registers(self) -> None:
        with open_stock(self.path, RULES, make=True) as stock:
            stock.append(draft("register", on="1880-03-01", made="1880-01-05"))

    @rule(one=bodies)
    def enters(self, one: Draft) -> None:
        on = self.today.isoformat()
        with open_stock(self.path, RULES) as stock:
            before = stock.head()
            try:
                stock.append(one._replace(on=on))
            except ScenarioError:
                assert stock.head() == before

    @rule(days=st.integers(1, 900))
    def waits(self, days: int) -> None:
        self.today += timedelta(days=days)

    @rule()
    def makes_a_rule_stricter(self) -> None:
        body: dict[str, Any] = {"rules": {"fuzz": {"asks": "set aside", "limit": None}}}
        with open_stock(self.path, RULES) as stock:
            stock.append(Draft("*", "rules", self.today.isoformat(), "A. Keeper", body))

    @invariant()
    def keeps_its_promises(self) -> None:
        if not self.path.exists():
            return
        today = self.today.isoformat()
        with open_stock(self.path, RULES) as stock:
            entries = list(stock.every_entry())
            document = rope_document(stock, "R1", today)
            every = due_document(stock, today, 30, every=True)
            assert verify(stock) == []
        assert entries[: len(self.history)] == self.history
        self.history = entries
        (listed,) = every["ropes"]
        assert listed["word"] == document["word"]
        self.retired |= document["word"] == "retired"
        assert not self.retired or document["word"] == "retired"
        printed = "\n".join(rope_lines(document, 80)).replace("no entry asks", "")
        assert not FIT.search(printed.replace("may be used", ""))

    def teardown(self) -> None:
        self.folder.cleanup()


# each step opens the file several times and syncs it to the disk; the long run has the full count
Ropes.TestCase.settings = settings(max_examples=8, stateful_step_count=12, deadline=None)


class TestRopes(Ropes.TestCase):  # type: ignore[misc,name-defined]
    """Sampled."""


@pytest.mark.long
def test_ropes_for_long() -> None:
    from hypothesis.stateful import run_state_machine_as_test

    long = settings(max_examples=400, stateful_step_count=30, deadline=None)
    run_state_machine_as_test(Ropes, settings=long)


def test_the_page_never_calls_a_rope_fit(tmp_path: Path) -> None:
    with open_stock(tmp_path / "s.ropes", RULES, make=True) as stock:
        stock.append_all([draft("register", marks={"middle": 30.0}), draft("job"),
                          draft("inspection")])  # fmt: skip
        document = rope_document(stock, "R1", "2026-03-02")
    page = html.page(sheet(json.loads(json.dumps(document, allow_nan=False))))
    text = re.sub(r"<style>.*?</style>|<script>.*?</script>|<[^>]*>", " ", page, flags=re.S)
    assert not FIT.search(text)
    assert "middle" in text
    assert "nothing, seen by A. Keeper on 2026-03-01" in text
