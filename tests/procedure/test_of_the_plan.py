"""What a plan does to people with no fault is said once, of the plan, and no fault is blamed."""

from __future__ import annotations

import io
from functools import cache

import pytest

from edgewear.findings.procedure import Findings
from edgewear.findings.verdict import Held
from edgewear.job.faults import Injected
from edgewear.job.log import Entry, Kind
from edgewear.procedure.faults import faults
from edgewear.procedure.rescue_ways.run import MUCH_SOONER, Run
from edgewear.report.procedure import fate_words
from edgewear.report.terminal.faults import print_faults
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: One saws through, the other one looks on
setting: alpine
target: 30 %
anchors:
  post: {out: -6 m, along: 0 m, up: 1 m, kind: pair}
  other: {out: -6 m, along: 4 m, up: 1 m, kind: pair}
edges: {lip: {out: 0 m, up: 0 m, radius: 1 mm, surface: concrete}}
ropes: {a: {like: low-stretch 9, length: 60 m, stopper: yes}}
people: {ann: {mass: 95 kg, technique: jerky}, bo: {mass: 70 kg}}
lines:
  ann: {anchor: post, rope: a, attendant: bo}
  bo: {anchor: other, rope: a, protect: {lip: pad}}
options: {one: {}}
job:
  ann: [descend: 15 m, {work: {for: 20 min, sway: 30 cm, tool: 150 N}}, ascend: 15 m]
  bo: [rest: PAUSE min, descend: 2 m, {work: 2 min}, ascend: 2 m]
when: {core visible: WHEN}
faults:
  bo jams: {device jammed: bo, step: 3}
  bo jams a while: {device jammed: bo, step: 3, for: 6 min}
  bo heavy: {heavier person: bo, step: 3}
  radio: {fault: communication lost, at: 60 min}
"""

WHENS = ("call rescue", "{do: call rescue, delay: 10 s, by: bo}")
OTHERS = ("bo jams a while", "bo heavy", "radio")
"""Faults that do nothing to Ann."""


@cache
def found(when: str) -> Findings:
    """Two trials are enough: nothing here is left to a share of them."""
    text = SITE.replace("WHEN", when).replace("PAUSE", "90")
    return faults(load_text(text, "made.yaml"), replicates=2, workers=1)


@pytest.mark.parametrize("when", WHENS)
def test_the_plan_is_told_once_and_no_fault_that_does_nothing_is_blamed(when: str) -> None:
    of_ann = [
        p for p in found(when).verdict.points if p.held is Held.HANGS and "ann, with" in p.where
    ]
    assert [p.where for p in of_ann] == ["ann, with no fault at all"]
    for one in (one for one in found(when).fates if not one.step):
        ann = next(fate for fate in one.people if fate.person == "ann")
        assert ann.as_without
        assert (ann.gravity, ann.harm) == (0, 4)  # hangs, and no rescue is shown
    rows = {row.names: row for row in found(when).faults}
    assert {name: rows[name,].p_left_hanging for name in OTHERS} == dict.fromkeys(OTHERS, 0.0)
    assert (
        rows["bo jams",].p_left_hanging == 1.0
    )  # that one leaves Bo hanging, whom the plan does not


@pytest.mark.parametrize("when", WHENS)
def test_terminal_says_it_of_the_plan_and_not_that_nobody_would_hang(when: str) -> None:
    stream = io.StringIO()
    print_faults(found(when), stream, 80)
    text = " ".join(stream.getvalue().split())
    assert text.count("With no fault at all: ann is left hanging from") == 1
    assert text.count("ann is left hanging") == 1
    assert f"{fate_words.NOBODY.capitalize()}:" not in text
    assert f"{fate_words.NOBODY_ELSE.capitalize()}: 'bo heavy', 'radio'." in text
    assert "With no fault at all the core shows in 2 of 2 trials." in text


def test_a_plan_that_leaves_nobody_hanging_is_not_told() -> None:
    text = SITE.replace("WHEN", "carry on").replace("PAUSE", "1").replace("20 min", "1 min")
    sound = text.replace("rope: a, attendant", "rope: a, protect: {lip: pad}, attendant")
    whole = faults(load_text(sound, "made.yaml"), replicates=1, workers=1)
    assert fate_words.of_the_plan(whole.fates_without_faults) == ""
    assert not any(fate.as_without for one in whole.fates for fate in one.people)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.89, 0.91, 0.99, 1.0, 1.5])
@pytest.mark.parametrize("tick", [2000, 600_000])
def test_who_hangs_much_sooner_does_so_by_the_fault(share: float, tick: int) -> None:
    """The same end at the same step, at a share of the time at which it comes with no fault."""
    scenario = load_text(SITE.replace("WHEN", "stop").replace("PAUSE", "1"), "made.yaml")

    def ended(at: int, *chosen: Injected) -> Run:
        log = (Entry(0, "ann", Kind.BEGINS, 2, "work"),
               Entry(at, "ann", Kind.STOPS, 2, "core visible", 5.0))  # fmt: skip
        return Run(scenario, "one", (), log, chosen)

    radio = Injected("radio", scenario.faults["radio"])
    with_it, without = ended(round(share * tick), radio), ended(tick)
    assert with_it.ends_as(without, "ann") == (share >= 1.0 - MUCH_SOONER)
    assert with_it.ends_as(without, "bo")  # nothing happened to him in either
    assert not with_it.ends_as(None, "ann")
