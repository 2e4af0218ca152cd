"""Faults that are there before anybody starts: which lines they change, and where an edge lies."""

from __future__ import annotations

import random

import numpy as np
import pytest

from edgewear.job.faults import Injected
from edgewear.procedure.fault_rigging import (
    UNKNOWN,
    UNKNOWN_BELOW_M,
    UNKNOWN_BEND_RAD,
    UNKNOWN_OUT_M,
    prepared,
)
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed
from support.planted.sound import text_of

OPTION = "as written"
PEOPLE = ("technician", "rescuer")
THIN = {"ropes/thin": {"like": "low-stretch 9", "length": "60 m", "stopper": "yes"}}
BENDS = """
edgewear: 1
title: two options by their bends
setting: test
edges:
  upper: {radius: 1 mm, surface: steel}
  lower: {radius: 9 mm, surface: steel}
ropes: {long: {like: low-stretch 11, length: 10 m}}
options:
  bent: {rope: long, over: [{edge: upper, after: 2 m, bend: 90 deg}]}
  other: {rope: long, over: [{edge: lower, after: 3 m, bend: 30 deg}]}
job: [reciprocate: {load: 120 kg, travel: 0.5 m, speed: 0.05 m/s, cycles: 4}]
"""


def site(change):
    return load_text(text_of("pick-off", change), "made.yaml")


def with_fault(scenario, fault, option=OPTION):
    return prepared(scenario, option, [Injected("it", fault)])


def test_a_fault_that_comes_later_changes_nothing_before() -> None:
    scenario = site({})
    assert with_fault(scenario, typed.AttendantAway()) is scenario


@pytest.mark.parametrize("person", PEOPLE)
@pytest.mark.parametrize("fault", ["wrong rope", "stopper missing"])
def test_a_rope_is_another_in_the_working_line_of_one_person_alone(person, fault) -> None:
    scenario = site(THIN)
    wrong = typed.WrongRope(rope="thin", person=person)
    bare = typed.StopperMissing(person=person)
    found = with_fault(scenario, wrong if fault == "wrong rope" else bare)
    before, after = scenario.options[OPTION].lines, found.options[OPTION].lines
    for who in PEOPLE:
        assert after[who].safety == before[who].safety
        assert (after[who].working == before[who].working) == (who != person)
    line = after[person].working
    assert line.model_copy(update={"rope": "store"}) == before[person].working
    was, now = scenario.ropes["store"], found.ropes[line.rope]
    if fault == "wrong rope":
        assert line.rope == "thin"
    else:
        assert (was.stopper, now.stopper) == (True, False)
        assert now.model_copy(update={"stopper": True}) == was
    assert found.ropes["store"] == was


def edges_of(dice: random.Random) -> dict[str, tuple[float, float]]:
    """Some edges, out and up [m], in any order; some overhang and some stand back."""
    ups = dice.sample(range(-20, 1), dice.randint(1, 5))
    return {f"edge {up}": (dice.randint(-200, 200) / 100, float(up)) for up in ups}


@pytest.mark.parametrize("seed", range(24))
@pytest.mark.parametrize("named", [True, False])
def test_an_edge_nobody_surveyed_lies_below_one_and_out_of_the_straight_way_down(
    seed, named
) -> None:
    """The straight way to the next lower edge, by interpolation; plumb where there is none, and
    where it leads back: there a rope hangs plumb."""
    dice = random.Random(seed)
    placed = edges_of(dice)
    change = {
        f"edges/{name}": {"out": f"{out!r} m", "up": f"{up!r} m", "along": f"{up / 8!r} m",
                          "length": f"{3 - up!r} m", "radius": "60 mm", "surface": "steel"}
        for name, (out, up) in placed.items()
    }  # fmt: skip
    change |= {"edges/lip": None, "lines/technician/protect": None, "lines/rescuer/protect": None,
               "lines/technician/safety line/protect": None,
               "lines/rescuer/safety line/protect": None,
               "job/technician": [{"descend": "8 m"}, {"event": "back"}],
               "faults": {"rain": {"weather": "wet"}}}  # fmt: skip
    scenario = site(change)
    lowest = min(placed, key=lambda name: placed[name][1])
    below = dice.choice(list(placed)) if named else None
    above = below or lowest
    found = with_fault(scenario, typed.UnknownEdge(below=below))
    edge = found.edges[UNKNOWN]
    out_m, up_m = placed[above]
    lower = sorted((up, out) for out, up in placed.values() if up < up_m)
    way_m = out_m
    if lower and lower[-1][1] > out_m:
        ways = [lower[-1], (up_m, out_m)]
        ups, outs = zip(*ways, strict=True)
        way_m = np.interp(up_m - UNKNOWN_BELOW_M, ups, outs)
    assert edge.up.value == up_m - UNKNOWN_BELOW_M
    assert edge.out.value == pytest.approx(way_m + UNKNOWN_OUT_M, abs=1e-12)  # a few roundings
    assert (edge.along.value, edge.length.value) == (up_m / 8, 3 - up_m)
    kind = scenario.edge_classes[typed.UnknownEdge().is_]
    assert (edge.radius, edge.surface) == (kind.radius, kind.surface)
    assert {name: found.edges[name] for name in placed} == dict(scenario.edges)
    assert found.options == scenario.options  # a line finds its own way over placed edges


@pytest.mark.parametrize("below", ["upper", "lower", None])
def test_where_bends_are_given_a_line_passes_the_unknown_edge_last(below) -> None:
    scenario = load_text(BENDS, "bends.yaml")
    found = with_fault(scenario, typed.UnknownEdge(below=below), "bent")
    assert found.options["other"] == scenario.options["other"]
    assert found.edges[UNKNOWN] == scenario.edge_classes[typed.UnknownEdge().is_]
    for who, both in found.options["bent"].lines.items():
        before = scenario.options["bent"].lines[who]
        assert both.safety == before.safety
        *known, last = both.working.over
        assert tuple(known) == before.working.over
        passed = last.edge, last.after.value, last.bend.value
        assert passed == (UNKNOWN, UNKNOWN_BELOW_M, UNKNOWN_BEND_RAD)
