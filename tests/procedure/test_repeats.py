"""A repeat says of every place in it what the same steps say that are typed out."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from edgewear.engine.results.depths import depths_by_step
from edgewear.findings.failure import doubts_of
from edgewear.job.build import words
from edgewear.job.faults import Injected
from edgewear.procedure.failures import failures, steps_of
from edgewear.procedure.fates import fates_of, place_rescues
from edgewear.procedure.fault_plan import wanted
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.rigging.findings.standing import standing
from edgewear.rigging.findings.transfers import transfers
from edgewear.rigging.profile import End
from edgewear.rigging.rig import Layout
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed
from edgewear.scenario.models.steps import Repeat
from edgewear.scenario.models.walking import first_and_last, rounds
from support.planted.sound import text_of

OPTION, WHO = "as written", "technician"

ROUNDS = {
    "down and up": [{"descend": "8 m"}, {"work": "2 min"}, {"ascend": "8 m"}],
    "two places": [{"descend": "4 m"}, {"work": "1 min"}, {"descend": "5 m"}, {"rest": "1 min"},
                   {"ascend": "9 m"}],
    "pads by hand": [{"place protection": "lip"}, {"descend": "8 m"}, {"work": "1 min"},
                     {"ascend": "8 m"}, {"remove protection": "lip"}],
    "ever deeper": [{"descend": "3 m"}, {"work": "1 min"}, {"ascend": "1 m"}],
    "a repeat inside": [{"descend": "2 m"},
                        {"repeat": {"times": 2, "steps": [{"descend": "2 m"}, {"work": "1 min"}]}},
                        {"ascend": "6 m"}],
}  # fmt: skip
BELOW = {"nothing": {}, "a canopy where they get deepest": {"below/canopy": "-12.5 m"}}
TIMES = (1, 2, 3)


def typed_out(steps, times):
    """The same steps without a repeat."""
    found = []
    for _ in range(times):
        for step in steps:
            inner = step.get("repeat")
            found += typed_out(inner["steps"], inner["times"]) if inner else [step]
    return found


@cache
def made(name: str, times: int, below: str, repeated: bool):
    """A job with a repeat, or with its steps typed out."""
    steps = ROUNDS[name]
    own = [{"repeat": {"times": times, "steps": steps}}] if repeated else typed_out(steps, times)
    change = {
        "job/technician": [{"cross edge": "lip"}, *own, {"event": "back"}],
        "faults": {}, **BELOW[below],
    }  # fmt: skip
    return load_text(text_of("pick-off", change), "made.yaml")


def runs_of(scenario) -> FaultRuns:
    return FaultRuns(scenario.source, scenario.path, scenario.library_source, OPTION, 0, (), ())


@cache
def told(name: str, times: int, below: str, repeated: bool):
    """Single failures and rescues of a job, the numbers of their steps left out."""
    scenario = made(name, times, below, repeated)
    runs = runs_of(scenario)
    nominal = runs.nominal()
    rows = failures(scenario, OPTION, {WHO: depths_by_step(nominal)[WHO]})
    rescues = place_rescues(runs.run_of(nominal), steps_of(scenario), worn=False)
    return (
        [replace(row, step=0, step_words="") for row in rows],
        [replace(one, step=0) for one in rescues if one.person == WHO],
    )


def each_once(found):
    return [one for place, one in enumerate(found) if one not in found[:place]]


@pytest.mark.parametrize("below", BELOW)
@pytest.mark.parametrize("times", TIMES)
@pytest.mark.parametrize("name", ROUNDS)
def test_single_failures_of_a_repeat_are_those_of_its_steps(name, times, below) -> None:
    (repeated, _), (out, _) = told(name, times, below, True), told(name, times, below, False)
    assert each_once(repeated) == each_once(out)
    doubts = [tuple(replace(d, steps=()) for d in doubts_of(rows)) for rows in (repeated, out)]
    assert doubts[0] == doubts[1]
    deepest = [max(row.depth_m for row in rows) for rows in (repeated, out)]
    assert deepest[0] == deepest[1]


@pytest.mark.parametrize("below", BELOW)
@pytest.mark.parametrize("times", TIMES)
@pytest.mark.parametrize("name", ROUNDS)
def test_every_place_of_work_in_a_repeat_has_its_rescue(name, times, below) -> None:
    (_, repeated), (_, out) = told(name, times, below, True), told(name, times, below, False)
    assert repeated == out
    assert repeated


FAULTS = {
    "anchor goes": typed.AnchorFails(anchor="west"),
    "faints": typed.CasualtyUnresponsive(person=WHO),
    "pad off": typed.ProtectionDisplaced(edge="lip"),
}
SHARES = (0.15, 0.35, 0.5, 0.65, 0.85)
"""When a fault comes, of the time that the job takes."""


@cache
def fates(name: str, fault: str, share: float, repeated: bool):
    """What becomes of everybody, the numbers of steps left out."""
    scenario = made(name, 2, "a canopy where they get deepest", repeated)
    runs = runs_of(scenario)
    tick = round(share * runs.nominal().ticks)
    faults = (Injected(fault, FAULTS[fault], tick=tick),)
    found = fates_of(runs.run_of(runs.nominal(faults), faults))
    return found.came, found.people


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("name", ROUNDS)
def test_a_fault_in_the_midst_of_a_repeat_does_what_it_does_to_its_steps(name, fault, share):
    (came, people), out = fates(name, fault, share, True), fates(name, fault, share, False)
    assert (came, people) == out
    assert came


def test_some_of_these_faults_leave_somebody_without_room_and_some_with_it() -> None:
    ends = {
        fates(name, "anchor goes", share, True)[1][0].catch_holds
        for name in ROUNDS
        for share in SHARES
    }
    assert ends >= {True, False}


def test_some_of_these_jobs_have_no_room_only_where_they_are_deepest() -> None:
    below = "a canopy where they get deepest"
    short = [name for name in ROUNDS if doubts_of(told(name, 1, below, True)[0])]
    assert short
    assert not any(doubts_of(told(name, 1, "nothing", True)[0]) for name in ROUNDS)


def caught(name: str, times: int, repeated: bool):
    """What a catch on the safety line is told to be, the numbers of steps left out."""
    option = made(name, times, "nothing", repeated).options[OPTION]
    scenario = made(name, times, "nothing", repeated)
    laid = Layout(scenario, option, [WHO])
    return [replace(one, step=0) for one in transfers(scenario, option, laid)], laid.profiles[WHO]


def rough(end: End) -> float:
    return round(end.depth_m, 6)  # sums of up to 20 heights, a micrometre


@pytest.mark.parametrize("times", [1, 2, 3, 7])
@pytest.mark.parametrize("name", ROUNDS)
def test_a_catch_in_a_repeat_is_that_of_its_steps_typed_out(name, times) -> None:
    """Protection that is placed inside it lies there from then on, not from the start on."""
    (repeated, mine), (out, theirs) = caught(name, times, True), caught(name, times, False)
    assert [one.over for one in repeated] == [one.over for one in out]
    for one, other in zip(repeated, out, strict=True):
        assert one.depth_m == pytest.approx(other.depth_m, abs=1e-9)  # rounding of sums
        assert one.drop_m == pytest.approx(other.drop_m, rel=1e-9)
        assert one.peak_n == pytest.approx(other.peak_n, rel=1e-9)
    if times <= 3:
        assert {rough(end) for end in mine.ends} == {rough(end) for end in theirs.ends}
    else:  # the rounds between the second and the last lie between them
        assert {rough(end) for end in mine.ends} <= {rough(end) for end in theirs.ends}
        for pick in (min, max):
            assert pick(map(rough, mine.ends)) == pick(map(rough, theirs.ends))


def test_what_has_been_placed_by_the_end_of_a_step_in_a_repeat_is_what_lies_there() -> None:
    name = "pads by hand"
    for times in TIMES:
        found = []
        for repeated in (True, False):
            scenario = made(name, times, "nothing", repeated)
            option = scenario.options[OPTION]
            _, profile = caught(name, times, repeated)
            found.append({
                (rough(end), standing(scenario, option, WHO, end.step, end.made).placed)
                for end in profile.ends
            })  # fmt: skip
        assert found[0] == found[1]
        assert {bool(placed) for _, placed in found[0]} == {True, False}


@cache
def at_a_step(name: str, fault: str, times: int, step: int, inside: int, repeated: bool):
    """What becomes of everybody when a fault comes with a step, and when it came."""
    scenario = made(name, times, "a canopy where they get deepest", repeated)
    runs = runs_of(scenario)
    faults = (Injected(fault, FAULTS[fault], WHO, step, inside=inside),)
    run = runs.run_of(runs.nominal(faults), faults)
    found = fates_of(run)
    return run.fault_tick, found.came, found.people


@pytest.mark.parametrize("times", [1, 2, 4])
@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("name", ROUNDS)
def test_a_fault_with_a_step_inside_a_repeat_comes_when_its_step_begins(name, fault, times) -> None:
    """The first and the last round, step by step, against the same steps typed out."""
    scenario = made(name, times, "a canopy where they get deepest", True)
    (repeat,) = (step for step in scenario.job[WHO] if isinstance(step, Repeat))
    places = list(first_and_last(repeat))
    size = len(typed_out(ROUNDS[name], 1))
    last = size * (times - 1)
    if not any("repeat" in step for step in ROUNDS[name]):
        due = [*range(size), *(range(last, last + size) if times > 1 else ())]
        assert [one.made for one in places] == due
    steps = [planned for _, planned in rounds((repeat,))]
    for one in places:
        assert steps[one.made] == one.step
        assert at_a_step(name, fault, times, 2, one.made, True) == (
            at_a_step(name, fault, times, 2 + one.made, 0, False)
        )


@pytest.mark.parametrize("name", ROUNDS)
def test_every_step_of_the_first_and_last_round_has_its_faults_and_each_is_called_otherwise(name):
    change = {"faults": {"goes": {"anchor fails": "west"}}}
    steps = [
        {"cross edge": "lip"},
        {"repeat": {"times": 5, "steps": ROUNDS[name]}},
        {"event": "back"},
    ]
    scenario = load_text(text_of("pick-off", {**change, "job/technician": steps}), "made.yaml")
    table = [one for one in wanted(scenario, OPTION) if one.person == WHO and one.step == 2]
    (repeat,) = (step for step in scenario.job[WHO] if isinstance(step, Repeat))
    due = [one.made for one in first_and_last(repeat)]
    assert [one.faults[0].inside for one in table] == due
    assert len({one.inside for one in table}) == len(table)
    assert table[0].inside == ""
    assert all(one.inside.endswith(words(step.step)) for one, step in
               zip(table[1:], list(first_and_last(repeat))[1:], strict=True))  # fmt: skip
