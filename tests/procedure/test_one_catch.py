"""A catch is told from where a run has people hang, and so by one figure in every output."""

from __future__ import annotations

import pytest

from edgewear.engine.results.depths import depths_by_step
from edgewear.engine.run_job import perform
from edgewear.procedure.failures import failures
from edgewear.procedure.faults import faults
from edgewear.rigging.findings.facts import facts
from edgewear.scenario import load_scenario, load_text
from edgewear.study.model import ScenarioModel
from support.tree import ROOT

TEXT = """\
edgewear: 1
title: a long way down on a rope that stretches
setting: industrial
target: 20 %
anchors:
  west: {{out: -3 m, up: 1 m}}
  east: {{out: -3 m, up: 1 m, along: 1 m}}
edges: {{lip: {{radius: 6 mm, surface: steel, out: 0 m, up: 0 m}}}}
ropes: {{store: {{like: {like}, length: 80 m, stopper: yes}}}}
people: {{ann: {{mass: {mass}, technique: smooth, start: 2 m}}}}
all options: {{rope: store, protect: {{lip: pad}}}}
options:
  one: {{anchor: west, safety line: {{anchor: east, protect: {{lip: pad}}}}}}
job: [descend: {down}, work: {{for: 60 s}}]
below: {{water: -{water} m}}
"""
WAYS = [
    (like, mass, down, water)
    for like in ("low-stretch 11", "dynamic single 9.8")
    for mass, down, water in (("80 kg", "6 m", 14), ("110 kg", "20 m", 27.4), ("95 kg", "38 m", 60))
]


def one_answer(scenario) -> int:
    """Hold what run and compare say of each catch against the table of single failures."""
    model, count = ScenarioModel.of(scenario, 0), 0
    for option in scenario.options:
        ready = model.ready(option)
        done = perform(ready.scenario, ready.case)
        rows = failures(ready.scenario, option, depths_by_step(done))
        lost = {(row.person, row.step): row for row in rows
                if row.kind == "rope" and row.called.endswith("on the working line")}  # fmt: skip
        for told in model.rigged(option)["transfers"]:
            row = lost[told["person"], told["step"]]
            assert told["depth_m"] == row.depth_m
            assert told["drop_careful_m"] == row.drop_careful_m
            assert told["peak_careful_n"] == row.peak_careful_n
            assert told["clearance_m"] == row.clearance_m
            count += 1
    return count


@pytest.mark.parametrize(("like", "mass", "down", "water"), WAYS)
def test_a_catch_and_a_single_failure_at_one_place_are_one(like, mass, down, water) -> None:
    text = TEXT.format(like=like, mass=mass, down=down, water=water)
    scenario = load_text(text, "catch")
    assert one_answer(scenario) > 0
    model = ScenarioModel.of(scenario, 0)
    [planned] = facts(scenario, "one").transfers
    [hung] = model.rigged("one")["transfers"]
    # the rope stretches under a person, so that they hang lower than it was paid out
    assert hung["depth_m"] > planned.depth_m


@pytest.mark.parametrize("name", ["demo", "procedure"])
def test_so_are_those_of_the_shipped_scenarios(name: str) -> None:
    assert one_answer(load_scenario(ROOT / "scenarios" / f"{name}.yaml")) > 0


@pytest.mark.parametrize(("like", "mass", "down", "water"), WAYS)
def test_what_faults_has_in_mind_is_what_run_and_compare_have(like, mass, down, water) -> None:
    scenario = load_text(TEXT.format(like=like, mass=mass, down=down, water=water), "catch")
    minded = list(faults(scenario, replicates=1).mind)
    assert minded == ScenarioModel.of(scenario, 0).rigged("one")["mind"]
    assert any("if the working line is lost, ann: drop of" in text for text in minded)
