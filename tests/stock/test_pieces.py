"""A piece brings the past of the rope it was cut from; where that is not known, it is said."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.report.formats import html
from edgewear.report.ropes.page import sheet
from edgewear.report.ropes.terminal import due_lines, entries_lines, rope_lines
from edgewear.rigging import rig
from edgewear.rigging.findings.facts import facts
from edgewear.scenario import load_scenario, load_text
from edgewear.scenario.read.rope_rules import built_in_rules
from edgewear.stock.chain import verify
from edgewear.stock.documents import due_document, entry_document, rope_document
from edgewear.stock.entries import Draft, Entry
from edgewear.stock.reckoned.pieces import reckoned
from edgewear.stock.rules import tightened
from edgewear.stock.snapshot import snapshot
from edgewear.stock.standing import Standing, summary, with_time
from edgewear.stock.store import open_stock
from support.one_edge import OneEdge
from support.ropes import chained, draft, stock_in

RULES = tightened(built_in_rules(), {})
METRES = 6.0
CUT_ON = "2026-02-10"
WHOLE = draft("register", "W", on="2026-01-01", length_m=METRES)


def piece(name: str = "P", cut_from: str = "W", on: str = CUT_ON, **fields: Any) -> Draft:
    return draft("register", name, on=on, **{"length_m": 2.0, "cut_from": cut_from, **fields})


def of_whole(kind: str, on: str, **fields: Any) -> Draft:
    ends = {"to_m": METRES} if kind == "inspection" else {}
    return draft(kind, "W", on=on, **{**ends, **fields})


def standing(name: str, drafts: list[Draft]) -> Standing:
    """A rope's standing, from all entries of a record."""
    by_rope: dict[str, list[Entry]] = {}
    for entry in chained(drafts):
        by_rope.setdefault(entry.rope, []).append(entry)
    return reckoned(by_rope[name], RULES, lambda rope: by_rope.get(rope, []))


ASKED = [
    (of_whole("event", "", what="fall held"), "set aside"),
    (of_whole("decision", ""), "set aside"),
    (of_whole("event", "", what="fall held over an edge"), "retired"),
    (of_whole("inspection", "", finding="core visible"), "retired"),
    (of_whole("decision", "", decision="retired", reason="old"), "retired"),
    (of_whole("event", "", what="other"), "in use"),
]
# day of what happened, whether it was entered before the piece, whether the piece brings it
WHEN = [
    ("2026-02-01", True, True),
    ("2026-02-01", False, True),  # entered late
    (CUT_ON, True, True),
    (CUT_ON, False, False),  # later on the same day: a whole that is retired for being cut up
    ("2026-02-20", False, False),
    ("2026-02-20", True, False),
]


@pytest.mark.parametrize(("what", "word"), ASKED)
@pytest.mark.parametrize(("on", "before", "brings"), WHEN)
@pytest.mark.parametrize("deep", [1, 2])
def test_a_piece_is_as_the_rope_it_was_cut_from_was_then(
    what: Draft, word: str, on: str, before: bool, brings: bool, deep: int, tmp_path: Path
) -> None:
    """`deep`: it is cut from a piece in its turn."""
    happened = what._replace(on=on)
    cuts = [piece("P"), piece("Q", "P", length_m=1.0, on="2026-02-25")][:deep]
    drafts = [WHOLE, happened, *cuts] if before else [WHOLE, *cuts, happened]
    with stock_in(tmp_path, RULES, WHOLE) as stock:
        for one in drafts[1:]:  # one by one: lists of pieces follow what is entered of others
            stock.append(one)
        words = {one["rope"]: one["word"] for one in stock.summaries()}
        assert verify(stock) == []
        last = "PQ"[deep - 1]
        assert words[last] == (word if brings else "in use")
        refused = snapshot(stock, last, CUT_ON)["refused"]
        assert refused.startswith(words[last] if brings and word != "in use" else "")
        told = " ".join(rope_lines(rope_document(stock, last, CUT_ON), 1000))
    assert ("of 'W', which it was cut from: " in told) == (brings and word != "in use")


def test_a_table_of_pieces_in_one_go_keeps_the_lists_that_follow(tmp_path: Path) -> None:
    drafts = [piece(), WHOLE, piece("Q", "P", length_m=1.0), of_whole("event", CUT_ON, what="heat")]
    late = of_whole("event", "2026-02-01", what="fall held")
    with stock_in(tmp_path, RULES, *drafts, late) as stock:
        assert verify(stock) == []
        assert {one["rope"]: one["word"] for one in stock.summaries()} == dict.fromkeys(
            "PQW", "set aside"
        )


@pytest.mark.parametrize(
    ("looks", "back"),
    [([], False), ([("2026-02-12", 0, 2)], True), ([("2026-02-12", 0, 1)], False),
     ([("2026-02-12", 0, 1), ("2026-02-13", 1, 2)], True), ([("2026-01-31", 0, 2)], False)],
)  # fmt: skip
def test_a_piece_is_put_back_by_looks_at_all_of_it(
    looks: list[tuple[str, int, int]], back: bool, tmp_path: Path
) -> None:
    fall = of_whole("event", "2026-02-01", what="fall held", from_m=0.0, to_m=1.0)
    seen = [draft("inspection", "P", on=on, from_m=float(low), to_m=float(high))
            for on, low, high in looks]  # fmt: skip
    decided = draft("decision", "P", on="2026-02-14", decision="in use", reason="looks well")
    with stock_in(tmp_path, RULES, WHOLE, fall, piece(), *seen) as stock:
        if back:
            stock.append(decided)
        else:
            with pytest.raises(ScenarioError, match="'P' is set aside and"):
                stock.append(decided)


jobs = st.lists(
    st.tuples(
        st.integers(1, 28), st.integers(0, 5900), st.floats(0.01, 0.2), st.integers(1, 100)
    ),
    max_size=5,
)  # fmt: skip


@given(jobs, st.none() | st.integers(0, 4000))
def test_a_piece_is_worn_as_its_part_of_the_whole_was(
    used: list[tuple[int, int, float, int]], cut_mm: int | None
) -> None:
    """Sums cell by cell, by hand; where nobody says which part it is, the most of all along."""
    before = np.zeros(6000)
    drafts = [WHOLE]
    for day, first, worn, cells in used:
        drafts.append(of_whole("job", f"2026-02-{day:02}", first_mm=first, demand=[worn] * cells))
        if f"2026-02-{day:02}" <= CUT_ON:
            before[first : first + cells] += 2.0 * worn  # the careful end of the draft's factors
    said = {} if cut_mm is None else {"cut_at_m": cut_mm / 1000}
    found = standing("P", [*drafts, piece(**said)]).wear.interval()[2]
    part = np.full(2000, before.max()) if cut_mm is None else before[cut_mm : cut_mm + 2000]
    # sums of at most five floats, and a factor read through a power
    np.testing.assert_allclose(found, part, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("at", [{}, {"cut_at_m": 1.0}])
def test_its_own_jobs_add_to_what_it_brings_and_a_correction_of_the_whole_takes_that_back(
    at: dict[str, float],
) -> None:
    worn = of_whole("job", "2026-02-01", first_mm=1500, demand=[0.1])
    own = draft("job", "P", on="2026-02-11", first_mm=500, demand=[0.2])
    drafts = [WHOLE, worn, piece(**at), own]
    assert standing("P", drafts).wear.largest()[1] == pytest.approx(0.3, rel=1e-9)
    struck = draft("correction", "W", on="2026-02-15", entry=2, reason="another rope")
    assert standing("P", [*drafts, struck]).wear.largest()[1] == pytest.approx(0.2, rel=1e-9)


@pytest.mark.parametrize(
    ("whole", "own", "made", "first_use"),
    [
        ({}, {}, "", ""),
        ({"made": "2020-01-01"}, {}, "2020-01-01", ""),
        ({"made": "2020-01-01", "first_use": "2020-02-01"}, {}, "2020-01-01", "2020-02-01"),
        ({"first_use": "2020-02-01"}, {"first_use": "2021-02-01"}, "", "2020-02-01"),
        ({}, {"made": "2021-01-01"}, "2021-01-01", ""),
    ],
)
def test_a_piece_is_as_old_as_the_whole(
    whole: dict[str, str], own: dict[str, str], made: str, first_use: str
) -> None:
    first = WHOLE._replace(body={**WHOLE.body, **whole})
    found = summary(standing("P", [first, piece(**own)]))
    assert (found["made"], found["first_use"]) == (made, first_use)
    rule = {"age since made": RULES["age since made"]}
    due = with_time(found, rule, CUT_ON)["next_on"] if made else ""
    days = timedelta(days=round(RULES["age since made"].limit or 0))
    assert due == ((date.fromisoformat(made) + days).isoformat() if made else "")


def test_a_whole_that_went_to_work_was_in_use_since() -> None:
    used = of_whole("job", "2026-01-05")
    assert standing("P", [WHOLE, used, piece()]).first_use == "2026-01-05"


@pytest.mark.parametrize(
    ("looked", "since"),
    [([], "2026-01-01"), (["2026-01-20"], "2026-01-20"), (["2026-02-20"], "2026-01-01")],
)
def test_a_piece_waits_for_a_look_as_long_as_the_whole_did(looked: list[str], since: str) -> None:
    drafts = [WHOLE, piece(), *(of_whole("inspection", on) for on in looked)]
    alone = {"time since last look": RULES["time since last look"]}
    due = date.fromisoformat(since) + timedelta(
        days=round(alone["time since last look"].limit or 0)
    )
    assert with_time(summary(standing("P", drafts)), alone, CUT_ON)["next_on"] == due.isoformat()


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"length_m": 7.0}, "reaches to 7 m of 'W', which is 6 m long"),
        ({"cut_at_m": 4.5}, "reaches to 6.5 m of 'W', which is 6 m long"),
        ({"made": "2021-01-01"}, "made: '2021-01-01': of 'W', which it was cut from, it is '2020"),
        ({"like": "dynamic 10"}, "like: 'dynamic 10': of 'W', which it was cut from, it is 'low"),
        ({"cut_from": "P"}, "'P' was cut from 'P' itself"),
        ({"cut_from": "of P"}, "'of P' was cut from 'P' itself"),
    ],
)
def test_what_no_piece_of_that_rope_can_be_is_refused(
    fields: dict[str, Any], said: str, tmp_path: Path
) -> None:
    first = WHOLE._replace(body={**WHOLE.body, "made": "2020-01-01", "like": "low-stretch 11"})
    with stock_in(tmp_path, RULES, first, piece("of P", "P", length_m=1.0)) as stock:
        with pytest.raises(ScenarioError) as error:
            stock.append(piece(**fields))
        assert said in str(error.value)
        assert stock.head()[0] == 2


def test_where_it_was_cut_goes_with_what_it_was_cut_from(tmp_path: Path) -> None:
    due = pytest.raises(ScenarioError, match="the rope that it was cut from is due")
    with stock_in(tmp_path, RULES, WHOLE) as stock, due:
        stock.append(draft("register", "P", cut_at_m=1.0))


LOOKED = draft("inspection", "P", on="2026-02-11", to_m=2.0)
UNKNOWN = [
    [piece(cut_from="reel 7"), LOOKED],
    [piece("W", "reel 7", on="2026-01-01", length_m=METRES), piece(), LOOKED],
    [piece(cut_from="P"), LOOKED],  # of before, when nothing was held to anything
    [piece("W", "P", on="2026-01-01", length_m=METRES), piece(cut_from="W"), LOOKED],
]


@pytest.mark.parametrize("drafts", UNKNOWN)
def test_a_past_that_is_not_known_is_told_wherever_its_state_is(
    drafts: list[Draft], tmp_path: Path
) -> None:
    with open_stock(tmp_path / "s.ropes", RULES, make=True) as stock:
        stock.restore(chained(drafts))
        assert verify(stock) == []
        document = rope_document(stock, "P", "2026-02-12")
        entries = [one for one in stock.every_entry() if one.rope == "P"]
        told = {
            "show": " ".join(rope_lines(document, 1000)),
            "page": html.page(sheet(document)),
            "due": " ".join(due_lines(due_document(stock, "2026-02-12", 1, True), 1000)),
            "written": " ".join(entries_lines(entry_document(stock, entries, "2026-02-12"), 1000)),
        }
        assert snapshot(stock, "P", "2026-02-12")["cut from"] == drafts[-2].body["cut_from"]
    for where, text in told.items():
        assert "its past is not known here" in text, where


@pytest.mark.parametrize("drafts", [[WHOLE], [WHOLE, piece()]])
def test_nothing_is_said_of_a_past_that_is_known(drafts: list[Draft], tmp_path: Path) -> None:
    with stock_in(tmp_path, RULES, *drafts) as stock:
        found = due_document(stock, CUT_ON, 1, True)
        assert "not known" not in " ".join(due_lines(found, 1000))
        assert snapshot(stock, drafts[-1].rope, CUT_ON)["cut from"] == ""


@pytest.mark.parametrize("cut_from", ["reel 7", "yes", "W", None])
def test_a_plan_with_a_piece_of_an_unknown_past_says_so(
    cut_from: str | None, tmp_path: Path
) -> None:
    today = date.today().isoformat()  # what time alone asks for depends on it
    long = {"on": today, "length_m": 150.0, "like": "low-stretch 11"}
    said = {} if cut_from is None else {"cut_from": cut_from}
    with stock_in(
        tmp_path, RULES, draft("register", "W", **long), draft("register", "R1", **long, **said)
    ):
        pass
    rope = "rope: {like: low-stretch 11, length: 150 m, stopper: yes}"
    text = OneEdge().text.replace(rope, "R1: {record: store.ropes, stopper: yes}")
    (tmp_path / "job.yaml").write_text(text.replace("bare: {rope: rope", "bare: {rope: R1"))
    first = load_scenario(tmp_path / "job.yaml")
    again = load_text(first.source, first.path, first.library_source)
    assert again.ropes == first.ropes
    minded = " ".join(one.words for one in facts(first, "bare").mind)
    wanted = f"'R1' was cut from {cut_from!r}, whose past is not known here"
    assert (wanted in minded) == (cut_from in ("reel 7", "yes"))
    assert (wanted in " ".join(rig(first, "bare").warnings)) == (wanted in minded)  # for `check`
