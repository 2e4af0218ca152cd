"""Which faults a procedure is held to where it names none, and at which steps each comes."""

from __future__ import annotations

from itertools import combinations

import pytest

from edgewear.job.faults import Injected
from edgewear.procedure.fault_plan import DRAWN, Wanted, faults_of, wanted
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed
from support.planted.sound import text_of

OPTION = "as written"
PEOPLE = ("technician", "rescuer")
USUAL = {f"{who} {what}" for who in PEOPLE for what in ("moves jerkily", "is heavier")}
USUAL |= {"rain", "nobody at the edge", "west fails", "mid east fails"}
PROTECTED = "lip: protection displaced"
NO_SAFETY = {"setting": "test", **{f"lines/{who}/safety line": None for who in PEOPLE}}
NO_PAD = {f"lines/{who}/protect": None for who in PEOPLE}
BARE = {**NO_PAD, **{f"lines/{who}/safety line/protect": None for who in PEOPLE}}
PLACED = {"kind": "pair", "is": "structural steel", "up": "-3 m", "out": "1 m", "along": "0 m"}
BOLT = {"anchors/bolt": PLACED}


def scenario(change, faults: bool = False):
    return load_text(
        text_of("pick-off", change | ({} if faults else {"faults": None})), "made.yaml"
    )


@pytest.mark.parametrize(
    ("change", "more"),
    [
        ({}, {PROTECTED}),
        (NO_SAFETY, {PROTECTED}),  # nobody has a second line: the pad below the first counts
        (NO_PAD, {PROTECTED}),  # the sleeve on the second lines alone
        (BARE, set()),
        ({**BOLT, "lines/rescuer/re-anchor": ["bolt"]}, {PROTECTED, "bolt fails"}),
    ],
)
def test_where_none_is_named_there_is_one_for_whatever_could_fail(change, more) -> None:
    found = faults_of(scenario(change), OPTION)
    assert set(found) == USUAL | more
    for name, fault in found.items():
        assert isinstance(fault, typed.ProtectionDisplaced) == (name == PROTECTED)
        assert isinstance(fault, typed.AnchorFails) == name.endswith(" fails")
        person = getattr(fault, "person", None)
        assert person in (None, *PEOPLE)
        assert (person is not None) == (name in USUAL and name.split()[0] in PEOPLE)


def test_a_deviation_goes_by_itself_unless_somebody_hangs_on_it_too() -> None:
    hook = {
        "anchors/hook": PLACED,
        "lines/rescuer/deviations": [{"anchor": "hook", "sling": "0.5 m"}],
    }
    assert isinstance(faults_of(scenario(hook), OPTION)["hook fails"], typed.DeviationFails)
    held = hook | {"lines/technician/anchor": "hook"}
    assert isinstance(faults_of(scenario(held), OPTION)["hook fails"], typed.AnchorFails)


def test_faults_that_are_named_are_all_there_are() -> None:
    assert set(faults_of(scenario({}, faults=True), OPTION)) == {"faints", "anchor goes"}


def test_each_fault_comes_alone_in_pairs_and_at_every_step_of_those_it_concerns() -> None:
    changes = {
        "faults": {
            "faints": {"casualty unresponsive": "technician", "step": 3},
            "wet": {"weather": "wet", "rate": "0.1 per h", "source": "a guess"},
            "thin": {"wrong rope": "thin", "person": "technician"},
        },
        "ropes/thin": {"like": "low-stretch 9", "length": "60 m", "stopper": "yes"},
    }
    found = scenario(changes, faults=True)
    plan = wanted(found, OPTION)
    names = list(found.faults)
    steps = {who: range(1, len(did) + 1) for who, did in found.job.items()}
    once = [(), *((name,) for name in names), *combinations(names, 2)]
    assert [one.names for one in plan if not one.step] == once
    table = [(one.names, one.person, one.step) for one in plan if one.step]
    assert table == [
        *((("faints",), "technician", step) for step in steps["technician"]),
        *((("wet",), who, step) for who in found.job for step in steps[who]),
    ]  # a wrong rope is there from the start
    for one in plan:
        for fault in one.faults:
            assert (fault.person, fault.step) == (one.person or None, one.step or None)
            assert (fault.tick == DRAWN) == (fault.name == "wet" and not one.step)


@pytest.mark.parametrize("times", [2, 3, 9])
def test_a_fault_comes_with_each_step_of_the_first_and_the_last_round_of_a_repeat(times) -> None:
    """The very first step of it is the repeat's own begin, which comes as any step does."""
    steps = [{"work": "1 min"}, {"rest": "1 min"}]
    changes = {"job/rescuer": [{"repeat": {"times": times, "steps": steps}}]}
    found = scenario({**changes, "faults": {"wet": {"weather": "wet", "step": 1}}}, faults=True)
    mine = [one for one in wanted(found, OPTION) if one.person == "rescuer"]
    said = [one.inside for one in mine]
    assert [one.step for one in mine] == [1] * 4
    assert said[0] == ""
    assert [text.partition(",")[0] for text in said[1:]] == [
        f"round 1 of {times}", *[f"round {times} of {times}"] * 2]  # fmt: skip
    assert [text.partition(", ")[2].split()[0] for text in said[1:]] == ["rest", "work", "rest"]
    assert Wanted(()).inside == Wanted((Injected("it", typed.AttendantAway()),)).inside == ""
