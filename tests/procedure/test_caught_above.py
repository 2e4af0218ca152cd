"""A fall onto the rope above a re-anchor is told as single failures tell it, and who hits something
on the way helps nobody."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from edgewear.engine.results.depths import depths_by_step
from edgewear.findings.fates import End, Fate, GoesOn
from edgewear.job.faults import Injected
from edgewear.procedure.failures import failures
from edgewear.procedure.fates import fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.report.procedure.fate_words import fate as said_of
from edgewear.scenario import load_text
from edgewear.scenario.models.scenario import Scenario
from support.planted.sound import text_of

OPTION, STEP = "as written", 3

BOLT = {
    "anchors/bolt": {"out": "0.3 m", "along": "0 m", "up": "-4 m", "kind": "pair"},
    "lines/technician/re-anchor": ["bolt"],
    "faults": {"bolt goes": {"anchor fails": "bolt", "step": STEP}},
    "job/technician": [{"cross edge": "lip"}, {"descend": "8 m"}, {"work": "10 min"},
                       {"event": "back"}],
    "job/rescuer": [{"wait for": "back"}],
}  # fmt: skip

ALONE = {**BOLT, "setting": "alpine", "lines/technician/safety line": None}

CHANGES = {
    "as it is": BOLT,
    "one line": ALONE,
    "ground just below": {**ALONE, "below/ground": "-11.3 m"},
    "ground below": {**ALONE, "below/ground": "-12.5 m"},
    "ground far below": {**ALONE, "below/ground": "-18 m"},
    "ground just below two lines": {**BOLT, "below/ground": "-11.3 m"},
    "a weak anchor": {**ALONE, "anchors/west/strength": "2 kN"},
    "a sharp edge again": {
        **ALONE, "lines/technician/protect": None, "kit/pad": 1,
        "edges/lip": {"out": "0 m", "up": "0 m", "radius": "2 mm", "surface": "steel",
                      "condition": "broken"},
    },
    "heavy": {**ALONE, "people/technician/mass": "140 kg"},
}  # fmt: skip


def played(scenario: Scenario, *names: str) -> dict[str, Fate]:
    """Everybody's fate with some faults together."""
    chosen = tuple(Injected(name, scenario.faults[name]) for name in names)
    runs = FaultRuns(scenario.source, "made.yaml", None, OPTION, 0, (chosen,), (1,))
    return {one.person: one for one in fates_of(runs.run_of(runs.nominal(chosen), chosen)).people}


def row_of(scenario: Scenario):
    """The single failure of the bolt where the technician works."""
    runs = FaultRuns(scenario.source, "made.yaml", None, OPTION, 0, ((),), (1,))
    depth_m = depths_by_step(runs.nominal(()))["technician"][STEP]
    rows = failures(scenario, OPTION, {"technician": {STEP: depth_m}})
    return next(row for row in rows if row.component == "bolt")


@pytest.mark.parametrize("name", CHANGES)
def test_a_re_anchor_that_goes_ends_as_the_table_of_single_failures_says(name: str) -> None:
    scenario = load_text(text_of("pick-off", CHANGES[name]), "made.yaml")
    fate, row = played(scenario, "bolt goes")["technician"], row_of(scenario)
    assert fate.catch_holds is row.holds
    told, due = (re.split(r"(\d+\.\d)", text) for text in (fate.catch_why, row.why))
    if not row.holds:  # a step ends a millimetre off, which may round a tenth the other way
        assert told[::2] == due[::2]
        assert [*map(float, told[1::2])] == pytest.approx([*map(float, due[1::2])], abs=0.11)
    assert (GoesOn.UNSAID.value in said_of(fate)) == (row.holds is not False)
    assert (fate.gravity >= 4) == (row.holds is not True)


def test_the_changes_have_falls_that_the_rope_above_ends_and_others() -> None:
    found = [row_of(load_text(text_of("pick-off", one), "made.yaml")) for one in CHANGES.values()]
    assert {row.holds for row in found} == {True, False, None}


@pytest.mark.parametrize("ground", ["-11.3 m", "-11.6 m", "-12 m"])
@pytest.mark.parametrize("casualty", ["casualty unresponsive", "device jammed"])
def test_who_hits_the_ground_is_nobodys_rescuer(ground: str, casualty: str) -> None:
    """The technician carries the only sling, and would be the only one to come."""
    scenario = load_text(
        text_of("pick-off", {
            **ALONE, "below/ground": ground, "kit/rescue sling": {"carried by": "technician"},
            "lines/rescuer/safety line": None,
            "job/rescuer": [{"cross edge": "lip"}, {"descend": "6 m"}, {"work": "30 min"}],
            "faults": {"bolt goes": {"anchor fails": "bolt", "at": "8 min"},
                       "helpless": {casualty: "rescuer", "at": "10 min"}},
        }), "made.yaml",
    )  # fmt: skip
    alone, both = played(scenario, "helpless"), played(scenario, "bolt goes", "helpless")
    assert both["technician"].catch_holds is False
    assert alone["rescuer"].rescue is not None
    assert alone["rescuer"].rescue.rescuer == "technician"
    assert both["rescuer"].rescue is None
    assert any("technician cannot act" in text for text in both["rescuer"].missing)


AS_PLANNED = End.PLAN.value

ANSWERS = {
    "nothing": ({}, GoesOn.UNSAID),
    "another trigger": ({"core visible": "stop"}, GoesOn.UNSAID),
    "a line that parts, which none did": ({"parted": "stop"}, GoesOn.UNSAID),
    "carry on": ({"bolt goes": "carry on"}, None),
    "nobody sees it": ({"bolt goes": "stop"}, GoesOn.UNDONE),
    "an attendant sees it": ({"bolt goes": {"do": "stop", "by": "edge attendant"}}, None),
}
"""What the scenario says is done, and why they go on all the same; None: they do not, or may."""


@pytest.mark.parametrize("answer", ANSWERS)
@pytest.mark.parametrize("name", ["as it is", "one line", "heavy"])
def test_who_drops_goes_on_as_planned_only_where_that_is_said(name: str, answer: str) -> None:
    when, why = ANSWERS[answer]
    changes = {**CHANGES[name], "when": when}
    found = played(load_text(text_of("pick-off", changes), "made.yaml"), "bolt goes")["technician"]
    assert found.drop_m, "the case is made so that the rope above the bolt catches them"
    assert (AS_PLANNED in said_of(found)) == (answer == "carry on")
    assert found.goes_on is why
    assert (found.end is End.PLAN) == (answer != "an attendant sees it")


LATER = {"faults": {"its anchor goes": {"anchor fails": "mid west", "step": 3}}}
"""The anchor of a safety line, while its person hangs on the other one."""


@pytest.mark.parametrize("answer", [{}, {"parted": "stop"}, {"its anchor goes": "carry on"}])
def test_who_has_one_line_less_goes_on_as_planned_only_where_that_is_said(answer) -> None:
    scenario = load_text(text_of("pick-off", {**LATER, "when": answer}), "made.yaml")
    found = played(scenario, "its anchor goes")["technician"]
    assert (found.lost, found.drop_m) == (("technician safety line",), None)
    said = "its anchor goes" in answer
    assert (AS_PLANNED in said_of(found)) == said
    assert (found.goes_on is GoesOn.UNSAID) == (not said)


@pytest.mark.parametrize("end", End)
@pytest.mark.parametrize("why", GoesOn)
def test_why_somebody_goes_on_takes_the_place_of_how_they_end(end: End, why: GoesOn) -> None:
    one = Fate("ann", end, "ann working line")
    assert end.value in said_of(one)
    assert why.value in said_of(replace(one, goes_on=why))
    assert end.value not in said_of(replace(one, goes_on=why))
