"""The list that stands first: complete, gravest first, and what removes most is found by trying."""

from __future__ import annotations

import io
from functools import cache

import pytest
from typer.testing import CliRunner

from edgewear.cli.commands import app
from edgewear.findings.verdict import GRAVEST_FIRST, Held
from edgewear.procedure import faults as every_fault
from edgewear.procedure.faults import faults
from edgewear.procedure.judged.changes import Change, Edit, changes_for
from edgewear.procedure.judged.remedy import MOST_TRIES, Tries, changed_by, looked_at, remedy
from edgewear.report import print_faults
from edgewear.report.procedure.verdict_words import NOTHING
from edgewear.scenario import load_text
from support.planted.found import SHARED, troubles
from support.planted.sound import text_of
from support.scenario_files import ROOT

SOUND: dict = {}
NO_SLING = {"kit/rescue sling": None}
WEAK = {"anchors/mid west/strength": "1 kN"}
TIGHT = {"limits/drop": "10 cm"}
LATE = {"limits/ground": "1 min", "limits/release": None, "limits/reach": None}


@cache
def found(*changes):
    change = {key: value for some in changes for key, value in some}
    return faults(load_text(text_of("pick-off", change), "made.yaml"), replicates=1, workers=1)


def of(change):
    return found(tuple(change.items()))


@pytest.mark.parametrize("change", [SOUND, NO_SLING, WEAK, TIGHT, LATE])
def test_the_list_is_empty_exactly_where_nothing_is_held_against_the_document(change) -> None:
    verdict = of(change).verdict
    held = {one for one in troubles(of(change).as_json()) if one.kind != SHARED}
    assert bool(verdict.points) == bool(held)
    assert verdict.fails == any(not point.usual for point in verdict.points)
    order = [GRAVEST_FIRST.index(point.held) for point in verdict.points]
    assert order == sorted(order)


@pytest.mark.parametrize(
    ("change", "held"), [(NO_SLING, Held.HANGS), (WEAK, Held.NO), (TIGHT, Held.ABOVE),
                         (LATE, Held.ABOVE)]
)  # fmt: skip
def test_what_is_planted_stands_in_the_list_and_first_on_the_terminal(change, held) -> None:
    points = of(change).verdict.points
    assert held in {point.held for point in points}
    told = io.StringIO()
    print_faults(of(change), told, 80, details=True)
    text = " ".join(told.getvalue().split())
    first, people = points[0], text.index("What becomes of people")
    assert text.index(" ".join(first.where.split())) < people


def test_nothing_held_is_said_as_what_was_tried_and_no_more() -> None:
    told = io.StringIO()
    print_faults(of(SOUND), told, 80, details=True)
    assert NOTHING in " ".join(told.getvalue().split())


def test_the_change_that_is_told_leaves_what_it_says_and_no_change_leaves_less() -> None:
    scenario = load_text(text_of("pick-off", NO_SLING), "made.yaml")
    verdict = faults(scenario, replicates=1, workers=1, remedy=True).verdict
    assert verdict.remedy is not None
    assert (verdict.remedy.address, verdict.remedy.typed) == ("kit/rescue sling", "1")
    before = looked_at(scenario, "as written")
    assert verdict.remedy.of == sum(point.times for point in before)
    repaired = load_text(text_of("pick-off", SOUND), "made.yaml")
    assert looked_at(repaired, "as written") == ()  # what was taken away is all there was
    assert verdict.remedy.left == 0
    tried, known = changes_for(scenario, "as written", verdict.points, MOST_TRIES)
    assert 0 < verdict.tried <= len(tried) <= min(known, MOST_TRIES)
    assert verdict.known == known


@pytest.mark.parametrize(("asked", "most", "played"), [(2, 1, 1), (1, 2, 1)])
def test_at_every_step_a_fault_is_played_no_more_often_than_elsewhere(
    asked, most, played, monkeypatch
) -> None:
    monkeypatch.setattr(every_fault, "TABLE_REPLICATES", most)
    found = faults(load_text(text_of("pick-off", SOUND), "made.yaml"), replicates=asked, workers=1)
    assert {row.trials + row.failed + row.did_not_come for row in found.faults} == {asked}
    assert {row.trials + row.failed + row.did_not_come for row in found.table} == {played}


@pytest.mark.parametrize(("change", "asked"), [(NO_SLING, False), (SOUND, True)])
def test_changes_are_tried_where_they_are_asked_for_and_something_is_held(change, asked) -> None:
    scenario = load_text(text_of("pick-off", change), "made.yaml")
    verdict = faults(scenario, replicates=1, workers=1, remedy=asked).verdict
    assert (verdict.tried, verdict.known, verdict.remedy) == (0, 0, None)


@pytest.mark.parametrize(("change", "code"), [(SOUND, 0), (NO_SLING, 3)])
def test_the_exit_code_gates_a_process(change, code, tmp_path) -> None:
    path = tmp_path / "made.yaml"
    path.write_text(text_of("pick-off", change))
    done = CliRunner().invoke(
        app, ["faults", str(path), "--replicates", "1", "--no-remedy", "--quiet"]
    )
    assert done.exit_code == code


@pytest.mark.parametrize(
    "when", [{"step": 3}, {"at": "5 min"}, {"rate": "0.1 per h", "source": "a guess"},
             {"rate": "9 per h", "source": "a guess"}]
)  # fmt: skip
def test_a_change_is_looked_at_with_the_faults_at_their_times(when) -> None:
    """By the middle of a job of twelve minutes whoever works hangs; at its begin nobody does."""
    faints = {"faults": {"faints": {"casualty unresponsive": "technician", **when}}}
    scenario = load_text(text_of("pick-off", {**NO_SLING, **faints}), "made.yaml")
    left = {p.where: p.words for p in looked_at(scenario, "as written") if p.held is Held.HANGS}
    assert "no rescue sling in the kit" in left["technician, with 'faints'"]
    repaired = load_text(text_of("pick-off", {**SOUND, **faints}), "made.yaml")
    assert looked_at(repaired, "as written") == ()


FAR_ASIDE = {
    "anchors/mid west/along": "5 m",
    "beside": {"pillar": {"along": "2 m", "from": "-2 m", "to": "-30 m"}},
}
BARE = {"lines/technician/protect": None, "kit/pad": 1, "edges/lip/radius": "3 mm"}
VAN = {"kit/rescue sling": {"at": "van"}}
NO_WAY = {"kit/rescue sling": None, "lines/rescuer": None, "kit/pad": 1, "kit/sleeve": 1}


@pytest.mark.parametrize(
    ("change", "family"),
    [
        (FAR_ASIDE, "anchors"), (WEAK, "lines/technician/safety line/anchor"),
        pytest.param(VAN, "kit", marks=pytest.mark.long),
        pytest.param(NO_WAY, "", marks=pytest.mark.long),
    ],
)  # fmt: skip
def test_what_is_moved_placed_or_added_is_found_by_trying(change, family: str) -> None:
    text = text_of("pick-off", {"anchors/spare": {"out": "-4 m", "along": "0.6 m", "up": "1 m",
                                                  "kind": "pair", "is": "structural steel"},
                                **change})  # fmt: skip
    scenario = load_text(text, "made.yaml")
    held = looked_at(scenario, "as written")
    assert held
    tried, _ = changes_for(scenario, "as written", held, MOST_TRIES)
    tries = Tries(text, "made.yaml", None, "as written", (None, *tried))
    found = dict(map(tries, range(len(tried) + 1)))
    best = remedy(tried, found)
    assert best is not None
    assert best.address.startswith(family)
    # what is said to be left is what is left where it is typed by hand
    edits = ((best.address, best.typed), *best.also)
    change_again = Change(tuple(Edit(tuple(at.split("/")), typed) for at, typed in edits))
    again = looked_at(changed_by(scenario, change_again), "as written")
    assert best.left == sum(point.times for point in again)
    assert best.left < best.of


def test_as_many_changes_are_tried_as_the_page_says() -> None:
    page = (ROOT / "docs/how-to/stress-test-a-procedure.md").read_text("utf-8")
    assert f"the procedure looked at again, {MOST_TRIES} at most" in " ".join(page.split())


@pytest.mark.parametrize("most", [1, 5, 12, 1000])
def test_no_more_is_tried_than_is_said_and_each_once(most: int) -> None:
    scenario = load_text(text_of("pick-off", NO_SLING), "made.yaml")
    held = of(NO_SLING).verdict.points
    tried, known = changes_for(scenario, "as written", held, most)
    assert len(tried) == min(most, known) == len(set(tried))


def test_two_faults_at_once_are_told_with_which_and_why() -> None:
    """Each way that leaves somebody in a pair is named, with what every rescue lacks."""
    points = of(NO_SLING).verdict.points
    pairs = [point for point in points if point.where == "technician, with two faults at once"]
    assert pairs
    for point in pairs:
        assert "'faints' and 'anchor goes'" in point.words
        assert "no rescue sling in the kit" in point.words
        assert point.rescue
