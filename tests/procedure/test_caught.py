"""A fall in a run is told as single failures tell it: drop, swing, whether the catch holds."""

from __future__ import annotations

import re

import pytest

from edgewear.engine.results.depths import depths_by_step
from edgewear.findings.fates import End, Fate
from edgewear.findings.verdict import Held
from edgewear.procedure.failures import failures
from edgewear.procedure.fault_plan import wanted
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.procedure.judged.verdict import points
from edgewear.report.procedure.fate_words import consequence, is_grave
from edgewear.report.procedure.fate_words import fate as said_of
from edgewear.scenario import load_text
from support.planted.sound import text_of

OPTION, STEP = "as written", 3
SLACK = "lines/technician/safety line/slack"

CHANGES = {
    "as it is": {},
    "no slack": {SLACK: "0 m"},
    "much slack": {SLACK: "1 m"},
    "aside": {"anchors/mid west/along": "2 m"},
    "plumb": {"anchors/mid west/along": "0 m"},
    "a canopy just below": {"below/canopy": "-11.5 m"},
    "a canopy at the careful end": {"below/canopy": "-13 m"},
    "a canopy further down": {"below/canopy": "-18 m"},
    "a pillar in the way": {"anchors/mid west/along": "4 m",
                            "beside": {"pillar": {"along": "1.5 m"}}},
    "a bare broken edge": {"lines/technician/safety line/protect": None, "kit/sleeve": 1,
                           "edges/lip": {"out": "0 m", "up": "0 m", "radius": "2 mm",
                                         "surface": "steel", "condition": "broken"}},
    "a weak anchor": {"anchors/mid west/strength": "3 kN"},
}  # fmt: skip


def told(change, named: str = "anchor goes"):
    """All fates with one fault alone, and the scenario."""
    scenario = load_text(text_of("pick-off", change), "made.yaml")
    plan = [one for one in wanted(scenario, OPTION) if one.names == (named,) and not one.step]
    return scenario, runs_of(scenario, plan).told(0).fates


def runs_of(scenario, plan) -> FaultRuns:
    return FaultRuns(
        scenario.source, scenario.path, scenario.library_source, OPTION, 0,
        tuple(one.faults for one in plan), (0,) * len(plan),
    )  # fmt: skip


def of_technician(change) -> tuple[Fate, object]:
    scenario, found = told(change)
    nominal = runs_of(scenario, ()).nominal()
    fate = next(one for one in found.people if one.person == "technician")
    depth_m = depths_by_step(nominal)["technician"][STEP]
    rows = failures(scenario, OPTION, {"technician": {STEP: depth_m}})
    return fate, next(row for row in rows if row.component == "west")


@pytest.mark.parametrize("name", CHANGES)
def test_a_fate_and_the_table_of_single_failures_give_one_answer(name: str) -> None:
    fate, row = of_technician(CHANGES[name])
    assert fate.end is not End.FALLS
    assert fate.catch_holds is row.holds
    assert fate.catch_why == ("" if row.holds else row.why)
    if row.drop_careful_m is not None and row.holds is not False:
        assert fate.drop_m == pytest.approx(
            row.drop_careful_m, abs=1e-3
        )  # a step ends a millimetre off
    assert (fate.gravity >= 4) == (row.holds is not True)


@pytest.mark.parametrize("name", CHANGES)
def test_a_catch_that_does_not_hold_has_no_length_that_sounds_short(name: str) -> None:
    """The run moves on by the middle of everything: how far it let somebody drop says nothing."""
    fate, row = of_technician(CHANGES[name])
    said = said_of(fate)
    assert (fate.drop_m is None) == (fate.swing_m is None) == (row.holds is False)
    assert ("drops, the catch does not hold" in said) == (row.holds is False)
    assert bool(re.search(r"drops \d", said)) == (row.holds is not False)


def test_the_changes_have_catches_that_hold_that_do_not_and_that_nobody_knows() -> None:
    assert {of_technician(change)[1].holds for change in CHANGES.values()} == {True, False, None}


def test_a_longer_slack_is_a_longer_drop_and_none_typed_is_what_is_assumed() -> None:
    drops = [of_technician({SLACK: f"{m} m"})[0].drop_m for m in (0, 0.3, 1, 2)]
    assert drops == sorted(drops)
    assumed = of_technician({})[0].drop_m
    assert drops[0] + 0.2 <= assumed  # at least the 0.2 m that are assumed


def test_a_catch_without_room_stands_in_the_verdict_of_its_fault() -> None:
    _, found = told(CHANGES["a canopy just below"])
    [point] = [one for one in points([], [found], []) if one.held is Held.NO]
    assert point.where == "technician, with 'anchor goes'"
    assert "would reach canopy before the line stops the fall" in point.words


@pytest.mark.parametrize(
    ("named", "fault", "lost"),
    [
        ("safety goes", {"anchor fails": "mid west", "step": 3}, True),
        ("before", {"anchor fails": "mid west", "at": "0 min"}, True),
        ("after", {"anchor fails": "mid west", "at": "90 min"}, False),
        ("another's", {"anchor fails": "east", "step": 3}, False),
        ("fell", {"anchor fails": "west", "step": 3}, False),
    ],
)
def test_who_works_on_with_one_line_less_is_told_so(named: str, fault, lost: bool) -> None:
    """A safety line that is gone is no fall; who hangs on the other then has one line."""
    _, found = told({f"faults/{named}": fault}, named)
    fate = next(one for one in found.people if one.person == "technician")
    assert bool(fate.lost) == lost
    assert is_grave(found) == (lost or named == "fell")
    assert ("technician safety line would not hold" in consequence(found)) == lost


@pytest.mark.parametrize("places", [{"at": "van"}, {"at": "van", "fetch": "5 min"},
                                    {"at": "ground", "fetch": "2 min"}])  # fmt: skip
def test_kit_that_nobody_can_fetch_never_reads_as_fetched(places) -> None:
    """Where everybody hangs, what lies elsewhere is out of reach, however soon it is fetched."""
    both = [{"cross edge": "lip"}, {"descend": "8 m"}, {"work": "30 min"}, {"ascend": "8 m"}]
    _, found = told({"kit/rescue sling": places, "job/rescuer": both,
                     "job/technician": [*both, {"event": "back"}]}, "faints")  # fmt: skip
    fate = next(one for one in found.people if one.person == "technician")
    assert fate.rescue is None
    [pick_off] = [text for text in fate.missing if text.startswith("pick-off")]
    assert "nobody" in pick_off
    assert "fetched in" not in pick_off
    assert not any("of 0" in text or "each of 1" in text for text in fate.missing)
