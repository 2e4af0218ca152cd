"""An entry that was struck counts nowhere: the record answers as if nobody had ever entered it.

Only what an entry asked for stays asked, so that no correction brings a rope back into use.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.scenario.read.rope_rules import built_in_rules
from edgewear.stock.bodies import EVENTS
from edgewear.stock.chain import verify
from edgewear.stock.entries import Draft, Entry
from edgewear.stock.looks import FINDINGS
from edgewear.stock.rules import Rules, tightened
from edgewear.stock.standing import Standing, standing_of, summary
from edgewear.stock.store import open_stock
from support.ropes import chained, draft, stock_in

RULES = tightened(built_in_rules(), {})
MILDEST_FIRST = ("in use", "set aside", "retired")
METRES = 3.0
"""Of the ropes here: short ones are reckoned quickly."""

days = st.integers(1, 28).map(lambda n: f"2026-02-{n:02}")
jobs = st.builds(
    lambda on, first, worn: draft("job", on=on, first_mm=first, demand=worn),
    days, st.integers(0, 2000), st.lists(st.floats(0.0, 0.6), min_size=1, max_size=3),
)  # fmt: skip
seen = st.builds(
    lambda on, finding, a, b: draft("inspection", on=on, finding=finding, from_m=min(a, b),
                                    to_m=max(a, b)),
    days, st.sampled_from(FINDINGS), st.floats(0, METRES), st.floats(0, METRES),
)  # fmt: skip
events = st.builds(lambda on, what: draft("event", on=on, what=what), days, st.sampled_from(EVENTS))
decisions = st.builds(
    lambda on, word: draft("decision", on=on, decision=word, reason="because"),
    days, st.sampled_from(["in use", "in use", "set aside"]),
)  # fmt: skip


@dataclass
class Written:
    """Entries, some struck sooner or later, and the same ones without those."""

    with_corrections: list[Entry]
    without: list[Entry]


@st.composite
def written(draw: st.DrawFn) -> Written:
    drafts = [draft("register", on="2026-03-01", length_m=METRES)]
    drafts += draw(st.lists(st.one_of(jobs, seen, events, decisions), min_size=1, max_size=8))
    may = [n for n, one in enumerate(drafts, 1) if one.kind in ("job", "inspection", "event")]
    struck = draw(st.sets(st.sampled_from(may))) if may else set()
    whole, number_now = list[Draft](), dict[int, int]()
    waiting = {number: draw(st.integers(number, len(drafts))) for number in struck}
    for number, one in enumerate(drafts, 1):
        whole.append(one)
        number_now[number] = len(whole)
        whole += [
            draft("correction", on=one.on, entry=number_now[k], reason="another rope")
            for k, due in waiting.items()
            if due == number
        ]
    entries = chained(whole)
    gone = {number_now[k] for k in struck}
    kept = [e for e in entries if e.kind != "correction" and e.number not in gone]
    return Written(entries, kept)


def facts(standing: Standing) -> dict[str, Any]:
    """What is known of a rope, beside what its entries ask for."""
    return {
        "looks": standing.wear.looks,
        "jobs": standing.jobs,
        "first use": standing.first_use,
        "last look": standing.last_look,
        "wear": standing.wear.largest(),
    }


def told(standing: Standing) -> dict[str, Any]:
    """What lists say of a rope, but for the last entry, which may be a correction."""
    return {key: v for key, v in summary(standing).items() if key not in ("last", "last_on")}


@given(written(), st.sampled_from([{}, RULES]))
def test_a_struck_entry_leaves_no_trace_in_what_is_known(one: Written, rules: Rules) -> None:
    struck, never = standing_of(one.with_corrections, rules), standing_of(one.without, rules)
    assert facts(struck) == facts(never)  # bit for bit: the same sums in the same order
    for mine, other in zip(struck.wear.interval(), never.wear.interval(), strict=True):
        np.testing.assert_array_equal(mine, other)


@given(written())
def test_where_entries_ask_for_nothing_a_struck_one_changes_no_answer(one: Written) -> None:
    struck, never = standing_of(one.with_corrections, {}), standing_of(one.without, {})
    assert told(struck) == told(never)
    assert struck.unseen("9999-12-31") == never.unseen("9999-12-31")


@given(written())
def test_no_correction_asks_less(one: Written) -> None:
    now = standing_of(one.with_corrections, RULES)
    never = standing_of(one.without, RULES)
    assert MILDEST_FIRST.index(now.word) >= MILDEST_FIRST.index(never.word)
    for number, entry in enumerate(one.with_corrections):
        if entry.kind == "correction":
            before = standing_of(one.with_corrections[:number], RULES)
            after = standing_of(one.with_corrections[: number + 1], RULES)
            assert MILDEST_FIRST.index(after.word) >= MILDEST_FIRST.index(before.word)


asides = st.sampled_from([
    draft("event", what="fall held"),
    draft("event", what="heat"),
    draft("inspection", finding="discoloured"),
    draft("decision", decision="set aside", reason="to be looked at"),
])  # fmt: skip
PUT_BACK = draft("decision", decision="in use", reason="looks well")
LOOK = draft("inspection", finding="nothing")


@settings(max_examples=15, deadline=None)  # each writes a file
@given(st.integers(0, 2), asides, st.lists(st.booleans(), min_size=1, max_size=3), st.booleans())
def test_a_rope_is_put_back_by_a_look_that_stands(
    earlier: int, aside: Draft, struck: list[bool], late: bool
) -> None:
    """Looks before it was set aside, looks after it of which some are struck, then put back.

    Parameters: `late`: the looks are struck when it has been put back already.
    """
    drafts = [draft("register"), *[LOOK] * earlier, aside, *[LOOK] * len(struck)]
    first = len(drafts) - len(struck) + 1
    corrections = [
        draft("correction", entry=first + k, reason="another rope")
        for k, gone in enumerate(struck)
        if gone
    ]
    # a finding that sets aside is itself a look, and here none that is struck
    stands = not all(struck) or aside.kind == "inspection"
    with tempfile.TemporaryDirectory() as folder:
        record = stock_in(Path(folder), RULES, *drafts, *([PUT_BACK] if late else corrections))
        with record as stock:
            if late:
                stock.append_all(corrections or [draft("event", what="other")])
            elif stands:
                stock.append(PUT_BACK)
            else:
                with pytest.raises(ScenarioError, match="nobody has looked at it since"):
                    stock.append(PUT_BACK)
            assert stock.summaries()[0]["word"] == ("in use" if stands else "set aside")
            assert verify(stock) == []
            looked = earlier + struck.count(False) + (aside.kind == "inspection")
            assert (stock.summaries()[0]["last_look"] is None) == (looked == 0)


def test_a_copy_of_a_record_in_which_the_look_was_struck_later_is_taken(tmp_path: Path) -> None:
    """Entries of before struck looks counted nowhere: taken as written, and set aside."""
    strike = draft("correction", entry=3, reason="another rope")
    aside = draft("event", what="fall held")
    entries = chained([draft("register"), aside, LOOK, strike, PUT_BACK])
    with open_stock(tmp_path / "copy.ropes", RULES, make=True) as stock:
        stock.restore(entries)
        assert list(stock.every_entry()) == entries
        assert verify(stock) == []
        assert stock.summaries()[0]["word"] == "set aside"


def test_lists_of_before_are_worked_out_anew(tmp_path: Path) -> None:
    with stock_in(tmp_path, RULES) as stock:
        was = stock.summaries()
        stale = "UPDATE standings SET summary = '{}', rules = substr(rules, instr(rules, ' ') + 1)"
        stock.connection.execute(stale)  # as lists were kept without a number of the reckoning
        assert stock.summaries() == was
