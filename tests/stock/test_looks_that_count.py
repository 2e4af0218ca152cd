"""A look answers what happened before it and where it was: by dates and places, not by entry.

Expectations are reckoned here metre by metre, by plain sets, from what the how-to page says.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import permutations
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.report.ropes.terminal import rope_lines
from edgewear.scenario.read.rope_rules import built_in_rules
from edgewear.stock.chain import verify
from edgewear.stock.documents import rope_document
from edgewear.stock.entries import Draft
from edgewear.stock.exchange import read, take_in
from edgewear.stock.rules import tightened
from edgewear.stock.standing import standing_of, summary, with_time
from edgewear.stock.store import open_stock
from support.ropes import chained, draft, stock_in

RULES = tightened(built_in_rules(), {})
METRES = 4
"""Of the ropes here; everything lies between whole metres, so that sets of them tell it all."""
WAIT_DAYS = round(RULES["time since last look"].limit or 0)
REGISTER = draft("register", on="2026-01-01", length_m=float(METRES))
MILDEST_FIRST = ("in use", "set aside", "retired")


def look(on: str, low: int = 0, high: int = METRES, finding: str = "nothing") -> Draft:
    return draft("inspection", on=on, finding=finding, from_m=float(low), to_m=float(high))


def fall(on: str, low: int = 0, high: int = METRES) -> Draft:
    return draft("event", on=on, what="fall held", from_m=float(low), to_m=float(high))


def back(on: str) -> Draft:
    return draft("decision", on=on, decision="in use", reason="because")


days = st.integers(1, 9).map(lambda n: f"2026-02-{n:02}")
parts = st.tuples(st.integers(0, METRES - 1), st.integers(1, METRES)).filter(lambda p: p[0] < p[1])
happenings = st.one_of(
    st.builds(lambda on, part: look(on, *part), days, parts),
    st.builds(lambda on, part: fall(on, *part), days, parts),
    st.builds(lambda on: draft("event", on=on, what="heat"), days),  # names no stretch
    st.builds(lambda on: draft("decision", on=on), days),  # sets aside
    st.builds(back, days), st.builds(back, days),
)  # fmt: skip


def metres_of(one: Draft) -> set[int]:
    return set(range(int(one.body.get("from_m", 0)), int(one.body.get("to_m", METRES))))


def asks(one: Draft) -> bool:
    return one.kind == "event" or one.body.get("decision") == "set aside"


class Due(NamedTuple):
    """What waits for looks, and when it was entered."""

    entry: int
    draft: Draft


def aside_by_hand(drafts: list[Draft]) -> bool:
    """Whether a rope is set aside: each fall's metres must have been seen since, by a decision."""
    due: list[Due] = []
    looks: list[Due] = []
    for number, one in enumerate(drafts):
        if one.kind == "inspection":
            looks.append(Due(number, one))
        elif asks(one):
            due.append(Due(number, one))
        elif all(answered(item, looks, one.on) for item in due):
            due = []
    return due != []


def answered(item: Due, looks: list[Due], decided_on: str) -> bool:
    seen: set[int] = set()
    for at in looks:
        since = at.draft.on > item.draft.on
        since |= at.draft.on == item.draft.on and at.entry > item.entry
        if since and at.draft.on <= decided_on:
            seen |= metres_of(at.draft)
    return item.draft.on <= decided_on and metres_of(item.draft) <= seen


@given(st.lists(happenings, max_size=9))
def test_a_rope_is_put_back_where_looks_since_cover_what_happened(drafts: list[Draft]) -> None:
    standing = standing_of(chained([REGISTER, *drafts]), RULES)
    assert standing.word == ("set aside" if aside_by_hand(drafts) else "in use")


@given(st.lists(happenings, max_size=8, unique_by=lambda one: one.on), st.randoms())
def test_no_order_of_entry_is_milder_than_that_of_the_dates(drafts: list[Draft], by: Any) -> None:
    in_order = sorted(drafts, key=lambda one: one.on)
    mixed = list(drafts)
    by.shuffle(mixed)
    words = [standing_of(chained([REGISTER, *one]), RULES).word for one in (in_order, mixed)]
    assert MILDEST_FIRST.index(words[1]) >= MILDEST_FIRST.index(words[0])


@pytest.mark.parametrize("order", list(permutations(range(2))))
@pytest.mark.parametrize(
    ("looked", "low", "high", "said"),
    [
        ("2026-06-01", 0, 4, "looked at on 2026-06-01, before 'fall held' of 2026-06-20"),
        ("2026-06-19", 0, 4, "looked at on 2026-06-19, before 'fall held' of 2026-06-20"),
        ("2026-06-21", 3, 4, "from 3 m to 4 m alone, where from 1 m to 2 m is due"),
        ("2026-06-21", 0, 1, "from 0 m to 1 m alone, where from 1 m to 2 m is due"),
        ("2026-06-23", 0, 4, "looked at on 2026-06-23, which is after a decision of 2026-06-22"),
        ("2026-06-21", 0, 4, ""),
        ("2026-06-21", 1, 2, ""),
    ],
)
def test_a_decision_that_no_look_answers_for_is_refused_in_every_order(
    order: tuple[int, ...], looked: str, low: int, high: int, said: str, tmp_path: Path
) -> None:
    facts = [fall("2026-06-20", 1, 2), look(looked, low, high)]
    with stock_in(tmp_path, RULES, REGISTER, *(facts[k] for k in order)) as stock:
        if said:
            with pytest.raises(ScenarioError) as error:
                stock.append(back("2026-06-22"))
            assert said in str(error.value)
        else:
            stock.append(back("2026-06-22"))
        assert stock.summaries()[0]["word"] == ("set aside" if said else "in use")


def test_a_table_in_any_order_of_rows_puts_nothing_back_that_its_dates_do_not(
    tmp_path: Path,
) -> None:
    rows = ["R1,event,2026-06-20,A,,,,,fall held,,", "R1,inspection,2026-06-01,A,,nothing,0,4,,,"]
    head = "rope,kind,on,by,length_m,finding,from_m,to_m,what,decision,reason\n"
    for number, order in enumerate(permutations(rows)):
        table = tmp_path / f"{number}.csv"
        table.write_text("\n".join([head + "R1,register,2026-01-01,A,4,,,,,,", *order]) + "\n")
        with open_stock(tmp_path / f"{number}.ropes", RULES, make=True) as stock:
            take_in(stock, read(table))
            with pytest.raises(ScenarioError, match="looked at on 2026-06-01, before"):
                stock.append(back("2026-06-21"))


DATED = [
    draft("job", on="2026-02-01", first_mm=1000, demand=[0.2]),
    look("2026-02-02", 0, 2),
    draft("job", on="2026-02-03", first_mm=1000, demand=[0.3]),
    look("2026-02-04", finding="fuzz"),
    draft("job", on="2026-02-05", first_mm=2000, demand=[0.1, 0.4]),
]


@pytest.mark.parametrize("order", list(permutations(range(5)))[::4])
def test_the_same_facts_wear_the_same_in_whatever_order_they_are_entered(
    order: tuple[int, ...],
) -> None:
    typed = standing_of(chained([REGISTER, *(DATED[k] for k in order)]), RULES)
    dated = standing_of(chained([REGISTER, *DATED]), RULES)
    for mine, other in zip(typed.wear.interval(), dated.wear.interval(), strict=True):
        np.testing.assert_array_equal(mine, other)  # the same sums in the same order
    assert MILDEST_FIRST.index(typed.word) >= MILDEST_FIRST.index(dated.word)


ROUNDING = 1e-9
"""A world is found between two of 512 by interpolation; its rounding is far smaller."""


@pytest.mark.parametrize(
    ("finding", "most"), [("nothing", 0.0), ("fuzz", 0.5), ("yarns cut", 1.0)]
)  # what a word stands for at most where nothing was computed: looks.SEEN
@pytest.mark.parametrize("late", [False, True])
def test_a_look_weighs_no_wear_of_a_later_day(finding: str, most: float, late: bool) -> None:
    facts = [
        look("2026-02-02", finding=finding),
        draft("job", on="2026-02-03", first_mm=1000, demand=[0.4], low=0.5, high=2.0),
    ]
    entered = facts[::-1] if late else facts
    wear = standing_of(chained([REGISTER, *entered]), RULES).wear
    assert wear.interval()[2][1000] == pytest.approx(most + 0.8, rel=ROUNDING)


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_careful_wear_asks_in_whatever_order_its_jobs_are_entered(order: tuple[int, ...]) -> None:
    limit = RULES["careful wear"].limit or 0.0
    facts = [
        *(draft("job", on=f"2026-02-0{day}", first_mm=9, demand=[0.6 * limit], low=1.0, high=1.0)
          for day in (1, 2)),
        look("2026-02-03"),
    ]  # fmt: skip
    standing = standing_of(chained([REGISTER, *(facts[k] for k in order)]), RULES)
    assert standing.word == "set aside"
    assert [one.on for one in standing.reasons] == ["2026-02-02"]


@pytest.mark.parametrize(
    ("looks", "whole_on"),
    [
        ([look("2026-03-01")], "2026-03-01"),
        ([look("2026-03-01", 3, 4)], ""),
        ([look("2026-03-01"), look("2026-04-01", 0, 3)], "2026-03-01"),
        ([look("2026-03-01", 0, 2), look("2026-03-01", 2, 4)], "2026-03-01"),
        ([look("2026-03-01", 2, 4), look("2026-03-01", 0, 3)], "2026-03-01"),
        ([look("2026-03-01", 0, 2), look("2026-03-01", 3, 4)], ""),
        ([look("2026-03-01", 0, 2), look("2026-03-02", 2, 4)], ""),
        ([look("2026-03-05"), look("2026-03-01")], "2026-03-05"),
    ],
)
def test_the_next_look_is_due_after_the_last_one_at_the_whole_length(
    looks: list[Draft], whole_on: str
) -> None:
    found = summary(standing_of(chained([REGISTER, *looks]), RULES))
    assert found["last_whole"] == whole_on
    alone = {"time since last look": RULES["time since last look"]}
    start = date.fromisoformat(whole_on or REGISTER.on)
    timed = with_time(found, alone, "2026-05-01")
    assert timed["next_on"] == (start + timedelta(days=WAIT_DAYS)).isoformat()


@pytest.mark.parametrize(
    ("looks", "said"),
    [
        ([look("2026-03-01")], "last: nothing, seen by A. Keeper on 2026-03-01"),
        ([look("2026-03-01", 3, 4)],
         "last: nothing, seen by A. Keeper on 2026-03-01, from 3.00 m to 4.00 m alone; the whole "
         "length was looked at by nobody since it was registered"),
        ([look("2026-02-01"), look("2026-03-01", 3, 4)],
         "from 3.00 m to 4.00 m alone; the whole length was looked at last on 2026-02-01"),
    ],
)  # fmt: skip
def test_what_was_last_seen_is_told_with_its_stretch(
    looks: list[Draft], said: str, tmp_path: Path
) -> None:
    with stock_in(tmp_path, RULES, REGISTER, *looks) as stock:
        lines = list(rope_lines(rope_document(stock, "R1", "2026-03-02"), 1000))
    assert any(line.strip().endswith(said) for line in lines)
    assert ("alone" in " ".join(lines)) == ("alone" in said)


def test_a_look_of_the_same_day_counts_where_it_was_entered_later(tmp_path: Path) -> None:
    facts = [look("2026-06-20"), fall("2026-06-20", 1, 2)]
    with stock_in(tmp_path, RULES, REGISTER, *facts) as stock:
        with pytest.raises(ScenarioError, match="looked at on 2026-06-20, entered before"):
            stock.append(back("2026-06-20"))
        stock.append_all([facts[0], back("2026-06-20")])
        assert stock.summaries()[0]["word"] == "in use"


@pytest.mark.parametrize("seen", [look("2026-06-01"), look("2026-06-20", 3, 4)])
def test_a_record_of_before_that_put_a_rope_back_is_read_and_says_why_it_does_not_hold(
    seen: Draft, tmp_path: Path
) -> None:
    entries = chained([REGISTER, fall("2026-06-20", 1, 2), seen, back("2026-06-21")])
    with open_stock(tmp_path / "copy.ropes", RULES, make=True) as stock:
        stock.restore(entries)
        assert list(stock.every_entry()) == entries
        assert verify(stock) == []
        assert stock.summaries()[0]["word"] == "set aside"
        told = "\n".join(rope_lines(rope_document(stock, "R1", "2026-06-22"), 1000))
    assert "decided: in use: because; it puts nothing back: " in told
