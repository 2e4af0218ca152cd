"""Whoever is struck down while they rescue somebody hangs where they were, and is counted."""

from __future__ import annotations

from functools import cache

import pytest

from edgewear.findings.fates import End, Fate
from edgewear.job.faults import Injected
from edgewear.layout import TICK_S
from edgewear.procedure.fates import fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.report.procedure import fate_words
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: One hangs, and whoever comes is struck down on the way
setting: alpine
target: 30 %
anchors:
  a: {out: -2 m, along: 0 m, up: 1 m, kind: pair}
  b: {out: -2 m, along: 0.5 m, up: 1 m, kind: pair}
  c: {out: -2 m, along: 1.5 m, up: 1 m, kind: pair}
  d: {out: -2 m, along: 2 m, up: 1 m, kind: pair}
  e: {out: -2 m, along: -1.5 m, up: 1 m, kind: pair}
  f: {out: -2 m, along: -2 m, up: 1 m, kind: pair}
  g: {out: -2 m, along: 2.5 m, up: 1 m, kind: pair}
  h: {out: -2 m, along: 3 m, up: 1 m, kind: pair}
edges: {lip: {out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}
ropes: {r: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {ann: {mass: 95 kg}, bo: {mass: 80 kg}, cy: {mass: 80 kg}, dee: {mass: 80 kg}}
kit: {rescue sling: [{carried by: bo}, {carried by: cy}, {carried by: dee}]}
lines:
  ann: {anchor: a, rope: r, attendant: edge attendant, safety line: {anchor: b, rope: r}}
  bo: {anchor: c, rope: r, safety line: {anchor: SAFE, rope: r}}
  cy: {anchor: e, rope: r, safety line: {anchor: f, rope: r}}
  dee: {anchor: g, rope: r, safety line: {anchor: h, rope: r}}
options: {one: {}}
job:
  ann: [descend: 6 m, work: 60 min, ascend: 6 m]
  bo: [BO]
  cy: [rest: 90 min]
  dee: [rest: 90 min]
faults:
  first: {FIRST, at: 8 min}
  second: {SECOND, at: LATER s}
below: {ground: -25 m}
"""

ON_TOP = "rest: 90 min"
ON_ROPES = "descend: 12 m, rest: 90 min"
FIRST_S = 8 * 60
FIRST = ("device jammed: ann", "device dropped: ann", "casualty unresponsive: ann")
STRIKES = ("casualty unresponsive: bo", "device jammed: bo", "device dropped: bo")
STAGES = ("called", "reach", "release", "ground")
TICK = 2 * TICK_S  # a time is rounded to ticks twice: the fault's, and the call's


@cache
def people(first: str, second: str, later_s: float, bo: str, safe: str) -> dict[str, Fate]:
    """Everybody's fate."""
    text = SITE.replace("FIRST", first).replace("SECOND", second).replace("BO", bo)
    text = text.replace("LATER", f"{later_s:.3f}").replace("SAFE", safe)
    meant = load_text(text, "made.yaml")
    chosen = tuple(Injected(name, fault) for name, fault in meant.faults.items())
    runs = FaultRuns(text, "made.yaml", None, "one", 0, (chosen,), (1,))
    found = fates_of(runs.run_of(runs.nominal(chosen), chosen))
    return {one.person: one for one in found.people}


def alone(first: str, bo: str = ON_TOP, safe: str = "d") -> Fate:
    """Ann's with a second fault that does nothing."""
    return people(first, "weather: wet", FIRST_S + 60, bo, safe)["ann"]


def at_share(first: str, stage: str, share: float, bo: str = ON_TOP, safe: str = "d") -> float:
    """A time so far on the way to a stage from the one before it [s]."""
    way = alone(first, bo, safe).rescue
    assert way is not None
    before = STAGES[STAGES.index(stage) - 1]
    from_s, to_s = way.times[before].middle_s, way.times[stage].middle_s
    return FIRST_S + from_s + share * (to_s - from_s)


def struck(
    first: str, second: str, stage: str, share: float, bo: str = ON_TOP, safe: str = "d"
) -> dict[str, Fate]:
    """Everybody's fate with a second fault so far on the way to a stage."""
    return people(first, second, round(at_share(first, stage, share, bo, safe), 3), bo, safe)


def the_one_who_comes(first: str) -> None:
    way = alone(first).rescue
    assert way is not None
    assert way.rescuer == "bo"


@pytest.mark.parametrize("second", STRIKES)
@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize(("stage", "share"), [("reach", 0.1), ("reach", 0.7), ("release", 0.5)])
def test_whoever_is_struck_on_the_way_hangs_there_and_is_rescued_by_another(
    first: str, second: str, stage: str, share: float
) -> None:
    the_one_who_comes(first)
    found = struck(first, second, stage, share)
    ann, bo = found["ann"], found["bo"]
    assert (bo.end, bo.coming_to) == (End.HANGS, "ann")
    assert bo.hangs_at_s == pytest.approx(at_share(first, stage, share), abs=2e-3)  # as typed
    assert bo.rescue is not None
    assert ann.rescue is not None
    assert {bo.rescue.rescuer, ann.rescue.rescuer} == {"cy", "dee"}
    assert ann.hangs_at_s == pytest.approx(FIRST_S, abs=TICK)
    assert bo.harm >= 2
    assert "is struck" in fate_words.fate(bo)


@pytest.mark.parametrize("bo", [ON_TOP, ON_ROPES])
@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("share", [0.1, 0.4, 0.8])
@pytest.mark.parametrize("stage", STAGES[1:])
def test_they_are_where_an_even_way_has_them(stage: str, share: float, first: str, bo: str) -> None:
    """From a metre below the edge, or from where they rest; to ann; beside her; to the ground."""
    way = alone(first, bo).rescue
    assert way is not None
    assert way.rescuer == "bo"
    rests_m = 1.0 if bo == ON_TOP else float(way.rescuer_at.removesuffix(" m deep"))
    ends = {"reach": (rests_m, way.depth_m), "release": (way.depth_m,) * 2,
            "ground": (way.depth_m, 25.0)}  # fmt: skip
    from_m, to_m = ends[stage]
    there = struck(first, STRIKES[0], stage, share, bo)["bo"]
    # a strike is typed to the millisecond; a rest that it cuts short ends where the rope, which
    # gives for some time after a descent, has them by then, up to 0.3 m from where the whole ends
    most_m = 0.001 if bo == ON_TOP else 0.3
    assert there.coming_at_m == pytest.approx(from_m + share * (to_m - from_m), abs=most_m)


@pytest.mark.parametrize("second", STRIKES)
@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("share", [0.05, 0.5, 0.95])
def test_who_has_taken_somebody_over_hangs_with_them_and_none_is_picked_off(
    first: str, second: str, share: float
) -> None:
    found = struck(first, second, "ground", share)
    assert found["ann"].holds == "the lines of bo"
    assert found["ann"].hangs_at_s == pytest.approx(FIRST_S, abs=TICK)
    for name in ("ann", "bo"):
        assert found[name].end is End.HANGS
        assert found[name].rescue is None
        assert found[name].harm >= 4
    assert "pick-off by cy: bo carries ann" in found["bo"].missing


@pytest.mark.parametrize("second", STRIKES)
@pytest.mark.parametrize("first", FIRST)
def test_before_the_call_and_once_they_are_down_they_are_not_on_the_way(
    first: str, second: str
) -> None:
    way = alone(first).rescue
    assert way is not None
    early_s = FIRST_S + 0.5 * way.times["called"].middle_s
    late_s = FIRST_S + way.times["ground"].p95_s + 1.0
    for later_s in (early_s, late_s):
        found = people(first, second, round(later_s, 3), ON_TOP, "d")
        assert found["bo"].coming_to == ""
        assert found["bo"].end is not End.HANGS


@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("stage", STAGES[1:])
@pytest.mark.parametrize("anchor", ["c", "d"])
def test_a_line_lost_on_the_way_is_not_computed_and_never_ends_well(
    anchor: str, stage: str, first: str
) -> None:
    bo = struck(first, f"anchor fails: {anchor}", stage, 0.5)["bo"]
    assert (bo.end, bo.rescue, bo.holds) == (End.HANGS, None, "")
    assert bo.harm >= 4
    [why] = bo.missing
    assert why.endswith("is not computed")


@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("stage", STAGES[1:])
def test_both_lines_lost_on_the_way_is_a_fall(stage: str, first: str) -> None:
    found = struck(first, "anchor fails: c", stage, 0.5, safe="c")
    assert found["bo"].end is End.FALLS
    assert (found["ann"].end is End.FALLS) == (stage == "ground")  # she hangs on bo's lines by then


@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("second", ["weather: wet", "jerky person: bo"])
@pytest.mark.parametrize("stage", STAGES[1:])
def test_what_does_not_strike_the_rescuer_leaves_them_on_their_way(
    stage: str, second: str, first: str
) -> None:
    found = struck(first, second, stage, 0.5)
    assert found["bo"].coming_to == ""
    assert found["ann"].rescue == alone(first).rescue
