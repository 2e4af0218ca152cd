"""Who hangs only because what they wait for does not come is told so, and for what."""

from __future__ import annotations

import pytest

from edgewear.findings.fates import End, Fate, Fates
from edgewear.job.faults import Injected
from edgewear.procedure.fates import fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.report.procedure.fate_words import fate as said_of
from edgewear.report.procedure.fate_words import row
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: Two people, one of whom waits on the rope
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
  ann: [descend: 8 m, rest: 10 min, event: {name}, ascend: 8 m]
  bo: [{before}wait for: {name}, descend: 2 m, ascend: 2 m]
faults: {{faint: {{casualty unresponsive: ann, step: 2}}}}
"""


def fates(name: str, hangs: bool) -> dict[str, Fate]:
    before = "descend: 4 m, " * hangs
    text = SITE.format(name=name, before=before)
    chosen = (Injected("faint", load_text(text, "made.yaml").faults["faint"]),)
    runs = FaultRuns(text, "made.yaml", None, "one", 0, (chosen,), (1,))
    found = fates_of(runs.run_of(runs.nominal(chosen), chosen))
    return {one.person: one for one in found.people}


@pytest.mark.parametrize("name", ["ready", "is left hanging"])
@pytest.mark.parametrize("hangs", [True, False])
def test_who_waits_on_the_rope_is_told_apart_from_who_cannot_go_on(name, hangs) -> None:
    found = fates(name, hangs)
    words = f"waiting in vain for event '{name}'"
    assert words not in said_of(found["ann"])
    assert found["ann"].waits_for == ""
    assert found["ann"].end is End.HANGS
    assert (words in said_of(found["bo"])) == hangs  # on the ground nobody is left hanging
    assert found["bo"].end is (End.HANGS if hangs else End.STANDS)
    cells = [cell.text for cell in row(_only(found["bo"]), found["bo"])]
    assert any(words in text for text in cells) == hangs


def _only(person: Fate) -> Fates:
    return Fates(("faint",), "", 0, True, None, (person,))


@pytest.mark.parametrize("end", End)
@pytest.mark.parametrize("waits_for", ["", "event 'ready'"])
def test_it_is_said_of_those_alone_who_hang(end: End, waits_for: str) -> None:
    told = said_of(Fate("bo", end, "bo working line", waits_for=waits_for))
    assert ("waiting in vain" in told) == (end is End.HANGS and bool(waits_for))
