"""Jobs that cannot be done are found before they are run."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.scenario import load_scenario, load_text
from edgewear.scenario.checks.procedure import start_depth_m
from edgewear.scenario.models.steps import STEP, Step
from edgewear.scenario.models.walking import walk
from support.scenario_files import HERE, ROOT, bench

CHOICES = (HERE / "examples" / "choices.txt").read_text()
JOB = CHOICES[CHOICES.index("job:") : CHOICES.index("when:")]


def steps(*typed: object) -> tuple[Step, ...]:
    return tuple(STEP.validate_python(one) for one in typed)


@pytest.mark.parametrize(
    ("typed", "depth_m"),
    [
        (({"descend": "18 m"}, {"ascend": "18 m"}), 0.0),
        (({"ascend": "5 m"},), 5.0),
        (({"cross edge": "kerb"}, {"descend": "5 m"}), 0.0),
        (({"rest": "5 min"}, {"cross edge": "kerb"}, {"ascend": "5 m"}), 0.0),
        (({"descend": "2 m"}, {"ascend": "5 m"}), 3.0),
        (
            ({"repeat": {"times": "4", "steps": [{"ascend": "5 m"}, {"lower unloaded": "5 m"}]}},),
            5.0,
        ),
        (({"haul": "7 m"},), 7.0),
    ],
)
def test_start_depth(typed: tuple[object, ...], depth_m: float) -> None:
    assert start_depth_m(steps(*typed), "lead") == pytest.approx(depth_m, abs=1e-12)


MOVES = st.tuples(st.sampled_from(["ascend", "descend"]), st.integers(1, 12)).map(
    lambda one: {one[0]: f"{one[1]} m"}
)
JOBS = st.recursive(
    st.lists(MOVES, min_size=1, max_size=3),
    lambda inner: st.tuples(inner, st.integers(1, 7), inner, inner).map(
        lambda parts: [*parts[2], {"repeat": {"times": parts[1], "steps": parts[0]}}, *parts[3]]
    ),
    max_leaves=4,
)


def typed_out(job: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The same steps without a repeat."""
    found = []
    for step in job:
        inner = step.get("repeat")
        found += typed_out(inner["steps"]) * inner["times"] if inner else [step]
    return found


def verdict(job: list[dict[str, Any]], start: str) -> list[str]:
    """What is said of the heights of a job; nothing: it can be done."""
    assert "lead: {mass: 100 kg," in CHOICES
    text = CHOICES.replace(JOB, f"job: {json.dumps(job)}\n")
    text = text.replace("lead: {mass: 100 kg", "lead: {mass: 100 kg" + start)
    try:
        load_text(text, "x.yaml")
    except ScenarioError as refused:
        return [problem.message for problem in refused.problems]
    return []


@given(JOBS, st.sampled_from([None, 1, 4, 20]))
@settings(deadline=None)
def test_a_job_with_repeats_is_judged_as_if_its_steps_were_typed_out(job, start_m) -> None:
    """However many rounds: each that is left out would move all that comes after it."""
    flat = typed_out(job)
    depth_m = start_depth_m(steps(*job), "lead")
    assert depth_m == pytest.approx(start_depth_m(steps(*flat), "lead"), abs=1e-9)
    start = "" if start_m is None else f", start: {start_m} m"
    one, other = verdict(job, start), verdict(flat, start)
    assert bool(one) == bool(other)
    if one:  # which of two heights is told first may differ, of one alone the words are the same
        assert {message.split(":")[0][:10] for message in one} <= {"the rope d", "this leads"}


@pytest.mark.parametrize("times", range(1, 12))
@pytest.mark.parametrize("back", [-1, 0, 1])
def test_the_way_back_from_a_repeat_counts_every_round(times: int, back: int) -> None:
    down = [{"cross edge": "kerb"}, {"descend": "2 m"}]
    ways = [{"repeat": {"times": times, "steps": [{"descend": "1 m"}, {"work": "1 min"}]}}]
    said = verdict([*down, *ways, {"ascend": f"{times + 2 + back} m"}], "")
    assert said == (["this leads 1.00 m above the highest edge"] if back > 0 else [])


@pytest.mark.parametrize(
    ("job", "said"),
    [
        ("- pass re-anchor: parapet posts", "no option re-anchors at 'parapet posts'"),
        ("- pass deviation: parapet posts", "no option has a deviation at"),
        ("- fix bypass sling: kerb", "no option has a bypass sling at 'kerb'"),
        ("- take over: lead", "cannot take over themself"),
        ("- shift rope: 0.4 m", "not releasable"),
        ("- swap rope: old 10.5", "another kind of rope is not computed"),
        ("- {cross edge: flange}\n  - ascend: 3 m", "above the highest edge"),
        ("- repeat: {times: 9, steps: [{descend: 20 m}, {ascend: 2 m}]}", "does not reach"),
    ],
)
def test_impossible_step(job: str, said: str) -> None:
    with pytest.raises(ScenarioError, match=said):
        load_text(CHOICES.replace(JOB, f"job:\n  {job}\n"), "x.yaml")


def test_place_protection_needs_to_know_which() -> None:
    text = CHOICES.replace("protect: {kerb: pad, flange: sleeve, ledge: pad}", "technique: normal")
    text = text.replace("protect: {kerb: roller, flange: roller, ledge: pad}", "technique: normal")
    job = "job:\n  - place protection: kerb\n"
    with pytest.raises(ScenarioError, match="no option names protection for 'kerb'"):
        load_text(text.replace(JOB, job), "x.yaml")
    load_text(text.replace(JOB, "job:\n  - place protection: {edge: kerb, with: pad}\n"), "x.yaml")


def test_three_people_in_a_circle_are_all_named() -> None:
    text = (HERE / "examples" / "rescue.txt").read_text()
    text = text.replace("  rescuer:  {mass", "  third: {mass: 80 kg}\n  rescuer:  {mass")
    text = text.replace(
        "lines:\n",
        "lines:\n  third: {anchor: beam A, rope: store 11, safety line: {anchor: beam B}}\n",
    )
    start, end = text.index("job:"), text.index("faults:")
    job = """job:
  casualty: [wait for: c, event: a]
  rescuer: [wait for: a, event: b]
  third: [wait for: b, event: c]
"""  # fmt: skip
    text = text[:start] + job + text[end:].replace("after: hanging", "after: a")
    with pytest.raises(ScenarioError) as caught:
        load_text(text, "x.yaml")
    found = "\n".join(p.message for p in caught.value.problems)
    assert all(f"{name!r} waits here" in found for name in ("casualty", "rescuer", "third"))


def test_waiting_for_what_a_run_brings_is_no_circle() -> None:
    text = (HERE / "examples" / "rescue.txt").read_text()
    load_text(text.replace("wait for: hanging", "wait for: core visible"), "x.yaml")


def test_rope_that_just_reaches() -> None:
    bench(("- ascend: 5 m", "- descend: 52 m"))  # 80 m of rope, 20 m above the edge, 8 m below
    with pytest.raises(ScenarioError, match=r"reach only 60\.00 m"):
        bench(("- ascend: 5 m", "- descend: 52.1 m"))


def test_shipped_procedure_is_a_whole_one() -> None:
    scenario = load_scenario(ROOT / "scenarios" / "procedure.yaml")
    words = [s.step for own in scenario.job.values() for _, s in walk(own, ())]
    assert len(words) >= 15
    assert len(scenario.people) == 2
    assert len(scenario.edges) == 3
    assert "take over" in words
    option = scenario.options["as written"]
    assert all(lines.safety is not None for lines in option.lines.values())


def test_alpine_scenario_says_why_one_line_in_its_first_line() -> None:
    first = (ROOT / "scenarios" / "alpine-edge.yaml").read_text().splitlines()[0]
    assert first.startswith("# One line only: ")


HAULED = """edgewear: 1
title: A casualty is raised from above
setting: industrial
anchors:
  west: {out: -2 m, up: 1 m, kind: pair, releasable: yes}
  east: {out: -2 m, along: 2 m, up: 1 m, kind: pair}
edges:
  coping: {out: 0 m, up: 0 m, is: chamfered concrete}
ropes:
  store: {like: low-stretch 11, length: 30 m, stopper: yes}
people:
  casualty: {mass: 95 kg}
  team: {mass: 180 kg}
lines:
  casualty: {anchor: west, rope: store, safety line: {anchor: east}}
options:
  padded: {protect: {coping: pad}}
job:
  casualty: [cross edge: coping, descend: 20 m, event: hanging, wait for: raised]
  team:
    - wait for: hanging
    - haul: {height: 20 m, person: casualty, advantage: 3}
    - lower: {height: 18 m, person: casualty}
    - event: raised
"""


def test_who_only_helps_from_above_needs_no_line() -> None:
    option = load_text(HAULED, "x.yaml").options["padded"]
    assert list(option.lines) == ["casualty"]
    assert set(option.people) == {"casualty", "team"}


def test_who_hangs_needs_one() -> None:
    with pytest.raises(ScenarioError, match="no rope is given for 'team'"):
        load_text(HAULED.replace("- event: raised", "- descend: 2 m\n    - event: raised"), "x")


def test_height_of_who_is_hauled_is_not_walked_alone() -> None:
    twice = HAULED.replace("wait for: raised]", "wait for: raised, descend: 12 m]")
    assert load_text(twice, "x.yaml").job["casualty"]


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ("{deviation fails: far bollards}", "no option has a deviation at 'far bollards'"),
        ("{rope off the roller: ledge}", "no option has a roller at 'ledge'"),
        ("{rope off the roller: kerb}", None),
        ("{sleeve on the wrong side: kerb}", "no option has a sleeve at 'kerb'"),
        ("{sleeve on the wrong side: flange}", None),
        ("{protection displaced: kerb}", None),
        ("{protection worn through: spare}", "no option has protection at 'spare'"),
        ("{anchor fails: hook}", "no line of any option hangs on 'hook'"),
        ("{anchor fails: pier bolts}", None),
    ],
)
def test_a_fault_that_can_change_nothing_is_an_error(fault: str, said: str | None) -> None:
    text = CHOICES.replace(
        "edges:\n", "edges:\n  spare: {out: 9 m, up: 2 m, radius: 5 mm, surface: steel}\n", 1
    )
    text = text.replace("anchors:\n", "anchors:\n  hook: {out: 1 m, up: 2 m}\n", 1)
    text = text.replace("when:", f"faults:\n  it: {fault}\nwhen:")
    if said is None:
        load_text(text, "x.yaml")
        return
    with pytest.raises(ScenarioError, match=said) as caught:
        load_text(text, "x.yaml")
    (problem,) = caught.value.problems
    assert problem.line == next(n for n, s in enumerate(text.splitlines(), 1) if "  it: {" in s)


def test_a_fault_may_bare_what_only_a_step_protects() -> None:
    text = CHOICES.replace(JOB, "job:\n  - place protection: {edge: spare, with: sleeve}\n")
    text = text.replace(
        "edges:\n", "edges:\n  spare: {out: 9 m, up: 2 m, radius: 5 mm, surface: steel}\n", 1
    )
    load_text(text.replace("when:", "faults: {it: {sleeve on the wrong side: spare}}\nwhen:"), "x")


@pytest.mark.parametrize(("step", "refused"), [(10, False), (11, True)])
def test_a_persons_fault_comes_with_a_step_of_theirs(step: int, refused: bool) -> None:
    """The technician has ten steps, the rescuer thirteen."""
    text = (ROOT / "scenarios" / "procedure.yaml").read_text()
    text = text.replace("{jerky person: technician, step: 6}",
                        f"{{jerky person: technician, step: {step}}}")  # fmt: skip
    if not refused:
        assert load_text(text, "x.yaml").faults["tired"].step == step
        return
    with pytest.raises(ScenarioError, match=r"faults/tired/step: 'technician' has only 10 steps"):
        load_text(text, "x.yaml")
