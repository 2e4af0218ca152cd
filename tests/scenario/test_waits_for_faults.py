"""A plan that only comes to its end if something goes wrong is refused where it waits for that."""

from __future__ import annotations

from itertools import product

import pytest

from edgewear.errors import Deadlock, ScenarioError
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.scenario import load_text
from edgewear.scenario.checks.names import SEEN

SITE = """\
edgewear: 1
title: Somebody waits for what only something wrong brings
setting: alpine
target: 30 %
anchors:
  post: {{out: -1 m, along: 0 m, up: 1 m, kind: pair}}
  other: {{out: -1 m, along: 2 m, up: 1 m, kind: pair}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{a: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg}}, bo: {{mass: 80 kg}}}}
lines: {{ann: {{anchor: post, rope: a}}, bo: {{anchor: other, rope: a}}}}
options: {{one: {{}}}}
job:
  ann: [descend: 8 m, rest: 1 min, {event}ascend: 8 m]
  bo:
    - rest: 1 min
{wait}
    - rest: 1 min
faults: {{{fault}: {{{kind}, step: 2}}}}
"""

KINDS = ("casualty unresponsive: ann", "device jammed: bo", "weather: wet", "anchor fails: post",
         "attendant away: 5 min")  # fmt: skip
NAMES = ("faint", "nobody raises", "core goes")
WAITS = {
    "job/bo/2/wait for/name": "    - wait for: {name}",
    "job/bo/2/repeat/steps/2/wait for/name":
        "    - repeat: {{times: 2, steps: [{{rest: 1 min}}, {{wait for: {name}}}]}}",
}  # fmt: skip
"""Address of a wait -> how it is typed."""


def text_of(wait: str, name: str, fault: str, kind: str = KINDS[0], event: str = "") -> str:
    typed = wait.format(name=name) if wait else "    - rest: 2 min"
    return SITE.format(wait=typed, fault=fault, kind=kind, event=event)


@pytest.mark.parametrize(("kind", "name", "where"), list(product(KINDS, NAMES, WAITS)))
def test_a_wait_for_a_fault_is_refused_at_its_place(kind, name, where) -> None:
    text = text_of(WAITS[where], name, name, kind)
    with pytest.raises(ScenarioError) as refused:
        load_text(text, "made.yaml")
    [problem] = refused.value.problems
    line = next(k for k, said in enumerate(text.splitlines(), 1) if "wait for" in said)
    column = text.splitlines()[line - 1].index(f": {name}") + 3
    assert (problem.line, problem.column, problem.address) == (line, column, where)
    assert f"only the fault {name!r}" in problem.message
    assert f"`- event: {name}`" in problem.message


@pytest.mark.parametrize(("name", "where"), list(product(NAMES, WAITS)))
def test_both_ways_out_come_to_the_end_of_the_plan(name, where) -> None:
    """What the refusal says to write: the event in somebody's steps, or no wait."""
    for wait, event in ((WAITS[where], f"event: {name}, "), ("", "")):
        text = text_of(wait, name, name, event=event)
        assert load_text(text, "made.yaml").warnings == ()
        runs = FaultRuns(text, "made.yaml", None, "one", 0, ((),), (1,))
        assert all(one.end.value == "goes on as planned" for one in runs.told(0).fates.people)


@pytest.mark.parametrize(("sign", "where"), list(product(SEEN, WAITS)))
def test_a_wait_for_what_may_not_come_is_warned_of_and_refused_if_so(sign, where) -> None:
    text = text_of(WAITS[where], sign, "faint")
    [said] = load_text(text, "made.yaml").warnings
    assert said.startswith(f"{where.removesuffix('/name')}: waits for {sign!r}")
    with pytest.raises(Deadlock) as stuck:  # the ropes are new: nothing shows, nothing parts
        FaultRuns(text, "made.yaml", None, "one", 0, ((),), (1,)).nominal()
    assert "let somebody's steps do so, or leave the wait out" in str(stuck.value)
    assert "made.yaml:" in str(stuck.value)
    raised = text_of(WAITS[where], sign, "faint", event=f"event: {sign}, ")
    assert load_text(raised, "made.yaml").warnings == ()
