"""Edges far below those on top: what a rescue counts from, and what it would load on the way."""

from __future__ import annotations

import pytest

from edgewear.case import compile_case
from edgewear.engine.run_job import perform
from edgewear.procedure.fates import Run, place_rescues
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: Something lies further down
setting: industrial
anchors:
  a: {{out: -3 m, along: 0 m, up: 1 m, kind: pair, releasable: yes}}
  b: {{out: -3 m, along: 1 m, up: 1 m, kind: pair}}
  c: {{out: -3 m, along: 1.5 m, up: 1 m, kind: pair}}
  d: {{out: -3 m, along: 2.5 m, up: 1 m, kind: pair}}
  e: {{out: {bolt} m, along: 1.5 m, up: -{bolt_m} m, kind: pair, is: bolt, strength: {bolt_kn} kN}}
edges:
  eave: {{out: 0 m, up: 0 m, radius: 60 mm, surface: steel}}
{more}
ropes: {{r: {{like: low-stretch 11, length: 80 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg{start}}}, bo: {{mass: 85 kg}}}}
kit: {{rescue sling: {{carried by: bo}}, haul kit: 1}}
lines:
  ann: {{anchor: a, rope: r, attendant: edge attendant{ann},
        safety line: {{anchor: b, rope: r{ann}}}}}
  bo: {{anchor: c, rope: r{bo}, safety line: {{anchor: d, rope: r{bo_safe}}}}}
options: {{one: {{}}}}
job:
  ann: [{cross}descend: {deep} m, work: 10 min]
  bo: [rest: 50 min, {cross}descend: 1 m]
limits: {{hands: 900 N}}
below: {{yard: -45 m}}
"""


USUAL = {
    "more": "", "ann": "", "bo": "", "bo_safe": "", "deep": 30, "bolt": 0.35, "bolt_m": 20,
    "bolt_kn": 15, "cross": "cross edge: eave, ", "start": "",
}  # fmt: skip


def ways(more="", **changed):
    """The ways of the one rescue from a place of work, by method."""
    lines = more and f"  ledge: {{{more}}}"
    scenario = load_text(SITE.format(**{**USUAL, **changed, "more": lines}), "made.yaml")
    case = compile_case(scenario, "one")
    run = Run(scenario, "one", case.rigged.sections, tuple(perform(scenario, case).log))
    (place,) = place_rescues(run, {}, worn=False)
    return {way.method: way for way in place.ways}


def times(way):
    return {stage: one.middle_s for stage, one in way.times.items()}


@pytest.mark.parametrize("up_m", [-4, -12, -25, -38])
@pytest.mark.parametrize("deep", [2, 20, 36])
def test_an_edge_that_no_line_meets_changes_no_rescue(up_m, deep) -> None:
    """Half a metre behind the face: nobody starts from it, and no haul ends there."""
    bare = ways(deep=deep)
    there = ways(f"out: -0.5 m, up: {up_m} m, radius: 2 mm, surface: steel", deep=deep)
    assert {name: times(way) for name, way in there.items()} == {
        name: times(way) for name, way in bare.items()
    }
    assert [way.missing for way in there.values()] == [way.missing for way in bare.values()]


@pytest.mark.parametrize("down_m", [1, 2.5])
def test_who_begins_on_their_line_is_come_to_from_the_lowest_edge_within_reach(down_m) -> None:
    """A haul ends, and whoever comes begins, so much lower: both ways are that much shorter."""
    begun = {"cross": "", "start": ", start: 3 m"}
    sunk = {"cross": "", "start": f", start: {3 - down_m} m"}  # counted from the last edge
    ledge = f"out: 0.1 m, up: {-down_m} m, radius: 60 mm, surface: steel"
    there, bare = ways(ledge, **sunk), ways(**begun)
    assert there["haul"].depth_m == pytest.approx(bare["haul"].depth_m, abs=0.05)  # ropes give
    for method, stage in (("pick-off", "reach"), ("haul", "ground")):
        assert times(there[method])[stage] < times(bare[method])[stage]


@pytest.mark.parametrize("bolt_m", [10, 20])
def test_a_re_anchor_on_the_way_to_somebody_takes_its_time(bolt_m) -> None:
    passed = times(ways(bo=", re-anchor: [e]", bolt_m=bolt_m)["pick-off"])["reach"]
    straight = times(ways(bolt_m=bolt_m)["pick-off"])["reach"]
    assert 40.0 < passed - straight < 240.0  # the range that is typed for it [s]


SHARP = "radius: 2 mm, surface: steel"
CUTS, BARE = (
    "ledge, which can part a rope in one pass, would be loaded",
    "ledge would be loaded bare",
)


@pytest.mark.parametrize("out_m", [1.0, 1.5])
@pytest.mark.parametrize("up_m", [-14, -25])
@pytest.mark.parametrize("deep", [4, 30])
@pytest.mark.parametrize(
    ("edge", "cover", "lacks"),
    [
        (SHARP, "", BARE),
        (SHARP, ", protect: {ledge: pad}", ""),
        ("radius: 60 mm, surface: steel", "", ""),
        (f"{SHARP}, condition: broken", ", protect: {ledge: pad}", CUTS),
    ],
)
def test_an_edge_below_a_casualty_is_held_against_the_way_down(
    out_m, up_m, deep, edge, cover, lacks
) -> None:
    """From the eave to a body 0.3 m further out and 45 m down a line passes inside the ledge."""
    assert (out_m + 0.3) * up_m / -45.0 < out_m - 0.1
    there = ways(f"out: {out_m} m, up: {up_m} m, {edge}", bo=cover, ann=cover, deep=deep)
    at_once = -up_m < deep + 1.5 and (out_m + 0.3) * -up_m / (deep + 1.5) < out_m
    due = lacks if at_once or not lacks else f"{lacks} on the way down"
    for method in ("pick-off", "lower"):
        found = [one for one in there[method].missing if "ledge" in one]
        assert found == [due] * bool(due), method
        assert "ledge" in {one.edge for one in there[method].edges}


@pytest.mark.parametrize("deep", [5, 30])
@pytest.mark.parametrize("bolt_kn", [1.2, 15])
def test_a_fixed_point_on_the_way_down_bears_two_too(deep, bolt_kn) -> None:
    """Two of 95 and 85 kg pull 1.8 kN, wherever they come onto it."""
    found = ways(bo=", re-anchor: [e]", deep=deep, bolt_kn=bolt_kn)["pick-off"].missing
    assert list(found) == ["1.8 kN in all is more than e holds"] * (bolt_kn < 1.8)
