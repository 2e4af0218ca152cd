"""A re-anchor that gives way while somebody passes onto it: the rope above it catches them."""

from __future__ import annotations

import pytest

from edgewear.findings.fates import End, Fate
from edgewear.job.faults import Injected
from edgewear.layout import TICK_S
from edgewear.procedure.fates import fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.scenario import load_text
from edgewear.scenario.models.scenario import Scenario

SITE = """\
edgewear: 1
title: A re-anchor that fails while somebody passes onto it
setting: alpine
target: 30 %
anchors:
  post: {{out: -1 m, along: 0 m, up: 1 m, kind: pair}}
  other: {{out: -1 m, along: 1 m, up: 1 m, kind: pair}}
  bolt: {{out: 0.3 m, along: 0 m, up: -{up} m, kind: pair, is: bolt}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{a: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg, out: 0.5 m}}}}
lines: {{ann: {{anchor: post, rope: a, protect: {{lip: pad}}, re-anchor: [bolt]}}}}
options:
  alone: {{}}
  two lines: {{safety line: {{anchor: other, rope: a, protect: {{lip: pad}}}}}}
  safety from the bolt: {{safety line: {{anchor: bolt, rope: a}}}}
job: [cross edge: lip, descend: 12 m, ascend: 12 m]
faults:
  bolt goes: {{anchor fails: bolt, at: 0 s}}
  post goes: {{anchor fails: post, at: 0 s}}
"""


def read(up: float) -> Scenario:
    return load_text(SITE.format(up=up), "made.yaml")


def runs_of(scenario: Scenario, option: str, *faults: Injected) -> FaultRuns:
    return FaultRuns(scenario.source, "made.yaml", None, option, 0, (faults,), (1,))


def passing(scenario: Scenario, option: str) -> tuple[int, int]:
    """From which tick to which the way down passes onto the bolt, by the plan's own log."""
    runs = runs_of(scenario, option)
    log = runs.run_of(runs.nominal(()), ()).log
    words = "pass to "
    begins, ends = [e.tick for e in log if e.detail.startswith(words) and e.step == 2][:2]
    return begins, ends


def at(scenario: Scenario, name: str, tick: int) -> Injected:
    return Injected(name, scenario.faults[name], tick=tick)


def fate(scenario: Scenario, option: str, *faults: Injected) -> Fate:
    runs = runs_of(scenario, option, *faults)
    [one] = fates_of(runs.run_of(runs.nominal(faults), faults)).people
    return one


@pytest.mark.parametrize("option", ["alone", "two lines"])
@pytest.mark.parametrize("up", [3.0, 5.5])
@pytest.mark.parametrize("share", [0.01, 0.5, 0.99])
def test_the_rope_above_catches_whoever_passes_onto_it(option, up, share) -> None:
    """They drop from a metre below the bolt: the loop and a stretch, not the way that they came.

    A rope gives less than a tenth of its length; more than 3 m would be the way, or part of it.
    """
    scenario = read(up)
    begins, ends = passing(scenario, option)
    assert ends - begins > 60.0 / TICK_S  # it takes long enough for something to happen in it
    found = fate(
        scenario, option, at(scenario, "bolt goes", round(begins + share * (ends - begins)))
    )
    assert found.end is End.PLAN
    assert found.catch_holds is True
    assert 0.0 < found.drop_m < (3.0 if option == "alone" else 4.5)  # careful end of a device, too
    assert found.holds == "working line"


@pytest.mark.parametrize(("option", "end"), [("alone", End.FALLS), ("two lines", End.HANGS)])
@pytest.mark.parametrize("first", ["bolt goes", "post goes"])
def test_it_holds_nobody_where_its_own_anchor_is_gone_too(option, end, first) -> None:
    scenario = read(4.0)
    begins, ends = passing(scenario, option)
    middle = (begins + ends) // 2
    second = "post goes" if first == "bolt goes" else "bolt goes"
    found = fate(scenario, option, at(scenario, first, middle), at(scenario, second, middle + 1000))
    assert found.end is end


def test_a_bolt_that_both_lines_hang_on_takes_each_by_what_is_above_it() -> None:
    """The safety line has nothing above the bolt, the working line has its rope to the post."""
    scenario = read(4.0)
    begins, ends = passing(scenario, "safety from the bolt")
    middle = (begins + ends) // 2
    both = at(scenario, "bolt goes", middle), at(scenario, "post goes", middle)
    assert fate(scenario, "safety from the bolt", both[0]).end is End.PLAN
    assert fate(scenario, "safety from the bolt", *both).end is End.FALLS
