"""Where nobody can tell whether a failure is survived, all say what `faults` says."""

from __future__ import annotations

import pytest

from edgewear.findings.failure import Cause
from edgewear.procedure.failures import failures
from edgewear.report.parts import card
from edgewear.scenario import load_text
from edgewear.study.compare import compare
from edgewear.study.model import ScenarioModel
from edgewear.study.single import simulate
from edgewear.terms import NO_ROOM

TEXT = """
edgewear: 1
title: what is left if one thing fails
setting: industrial
target: 20 %
anchors:
  wall: {out: -3 m, up: 1 m, strength: 15 kN}
  aside: {out: -3 m, up: 1 m, along: 2 m, strength: 15 kN}
  weak: {out: -3 m, up: 1 m, along: 0.4 m, strength: 1.2 kN}
  low: {out: 0.5 m, up: -2 m, strength: 15 kN}
  low too: {out: 0.5 m, up: -2 m, along: 0.4 m, strength: 15 kN}
edges:
  lip: {radius: 2 mm, surface: steel, out: 0 m, up: 0 m}
ropes: {store: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {ann: {mass: 90 kg, technique: normal, start: 4 m}}
all options: {rope: store}
options:
  sound: {anchor: low, safety line: {anchor: low too}}
  swings over a bare lip: {anchor: low, safety line: {anchor: aside}}
  held by a weak anchor: {anchor: low, safety line: {anchor: weak, protect: {lip: pad}}}
job: [descend: 8 m]
below: {ground: -40 m}
"""
FREED = TEXT.replace(
    "edges:", "edges:\n  sheet: {radius: 0.5 mm, surface: steel, out: 0.35 m, up: -0.6 m}"
).replace(
    "  sound: {anchor: low, safety line: {anchor: low too}}",
    "  freed:\n    {anchor: wall, protect: {lip: pad}, re-anchor: [low],"
    " safety line: {anchor: low too, slack: 3 m}}",
)
"""A re-anchor takes the line off an edge that cuts; the line above it is there first."""

WANTED = {
    "sound": set(),
    "swings over a bare lip": {Cause.CUTS},
    "held by a weak anchor": {Cause.WEAK},
}


@pytest.fixture(scope="module")
def ranking(tmp_path_factory):
    scenario = load_text(TEXT, "doubts")
    return compare(scenario, replicates=2, workers=1, out=tmp_path_factory.mktemp("doubts") / "d")


def of_faults(option: str):
    """Rows of the table of single failures, as `faults` makes them."""
    from edgewear.engine.results.depths import depths_by_step
    from edgewear.engine.run_job import perform

    model = ScenarioModel.of(load_text(TEXT, "doubts"), 0)
    ready = model.ready(option)
    rows = failures(ready.scenario, option, depths_by_step(perform(ready.scenario, ready.case)))
    return [row for row in rows if row.in_doubt]


@pytest.mark.parametrize("option", WANTED)
def test_the_table_of_failures_the_comparison_and_the_card_give_one_answer(option, ranking):
    rows, compared = of_faults(option), ranking.option(option)
    assert {row.cause for row in rows} == WANTED[option]
    told = " ".join(compared.as_json()["mind"])
    shown = card.write(ranking, compared)
    for row in rows:
        assert row.why in told
        assert row.called in told
        assert row.why in shown
    doubts = compared.facts["doubts"]
    assert {doubt["why"] for doubt in doubts} == {row.why for row in rows}
    assert ("not known whether ann is held" in told) == (Cause.CUTS in WANTED[option])
    assert ("nothing would hold ann" in told) == (Cause.WEAK in WANTED[option])


@pytest.mark.parametrize("option", WANTED)
def test_a_run_says_of_it_what_the_comparison_says(option, ranking):
    run, compared = simulate(load_text(TEXT, "doubts"), option), ranking.option(option)
    doubts = [doubt["why"] for doubt in compared.facts["doubts"]]
    assert len(doubts) == bool(WANTED[option])
    assert all(why in text for why, text in zip(doubts, run["mind"], strict=False))
    assert NO_ROOM not in (*run["status"], *compared.status)


ROOM = [
    (anchor, safety, height, step)
    for anchor, safety in (("wall", "aside"), ("low", "low too"))
    for height in (12.0, 13.2, 14.5, 17.0, 40.0)
    for step in (
        "descend: 8 m",
        "repeat: {times: 2, steps: [descend: 8 m, rest: 1 min, ascend: 8 m]}",
    )
]


def made(anchor: str, safety: str, height: float, step: str):
    """A person on one option above ground at some height."""
    text = TEXT.replace("ground: -40 m", f"ground: -{height} m").replace("descend: 8 m", step)
    only = f"  only: {{anchor: {anchor}, safety line: {{anchor: {safety}}}, protect: {{lip: pad}}}}"
    return load_text(text[: text.index("  sound:")] + only + text[text.index("\njob:") :], "room")


@pytest.mark.parametrize(("anchor", "safety", "height", "step"), ROOM)
def test_a_run_has_room_for_a_catch_where_the_table_of_failures_has(anchor, safety, height, step):
    """One answer, at whatever height the ground lies; and no second figure for what is missing."""
    scenario = made(anchor, safety, height, step)
    run, model = simulate(scenario, "only"), ScenarioModel.of(scenario, 0)
    doubts = model.doubts("only")
    short = [doubt for doubt in doubts if doubt.cause is Cause.NO_ROOM]
    assert (NO_ROOM in run["status"]) == bool(short)
    assert run["mind"][: len(doubts)] == [doubt.words for doubt in doubts]
    figures = {text for text in (*run["mind"], *run["warnings"]) if "too little room" in text}
    assert figures == {doubt.words for doubt in short}


def test_some_of_these_have_room_and_some_have_not():
    found = {
        any(
            doubt.cause is Cause.NO_ROOM for doubt in ScenarioModel.of(made(*one), 0).doubts("only")
        )
        for one in ROOM
    }
    assert found == {True, False}


def test_an_edge_that_cuts_and_that_only_a_re_anchor_keeps_the_line_off_leaves_a_doubt():
    doubts = ScenarioModel.of(load_text(FREED, "freed"), 0).nominal("freed").doubts
    assert [(doubt.components, doubt.holds) for doubt in doubts] == [(("low",), None)]
    assert doubts[0].why == "sheet can part a rope in one pass"
