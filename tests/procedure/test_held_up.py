"""A later fault holds a rescue up or ends it, or neither; who was on the way is found there."""

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
title: One hangs, another comes, and something happens then
setting: industrial
target: 30 %
anchors:
  a: {{out: -2 m, along: 0 m, up: 1 m, kind: pair}}
  b: {{out: -2 m, along: 0.5 m, up: 1 m, kind: pair}}
  c: {{out: -2 m, along: 1.5 m, up: 1 m, kind: pair, strength: {holds}}}
  d: {{out: -2 m, along: 2 m, up: 1 m, kind: pair}}
  e: {{out: -2 m, along: {aside}, up: 1 m, kind: pair}}
  f: {{out: -2 m, along: {aside}, up: 1 m, kind: pair}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 3 mm, surface: steel}}}}
ropes: {{r: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg}}, bo: {{mass: 80 kg}}, cy: {{mass: 80 kg}}}}
kit: {{pad: 6, {kit}}}
lines:
  ann:
    {{anchor: a, rope: r, protect: {{lip: pad}}, attendant: edge attendant,
     safety line: {{anchor: b, rope: r, protect: {{lip: pad}}}}}}
  bo:
    {{anchor: c, rope: r, protect: {{lip: pad}},
     safety line: {{anchor: d, rope: r, protect: {{lip: pad}}}}}}
  cy:
    {{anchor: e, rope: r, protect: {{lip: pad}},
     safety line: {{anchor: f, rope: r, protect: {{lip: pad}}}}}}
options: {{one: {{why not higher: {{soft: no time}}}}}}
job:
  ann: [descend: 6 m, work: 60 min, ascend: 6 m]
  bo: [{bo}]
  cy: [{cy}]
faults:
  first: {{{first}, at: 8 min}}
  second: {{{second}, at: {later_s:.3f} s}}
{below}
"""

BELOW, STAYS, ON_ROPES = "below: {ground: -25 m}", "rest: 90 min", "descend: 12 m, rest: 90 min"
SLINGS = "rescue sling: [{carried by: bo}, {carried by: cy}]"
ONLY_BO = {"aside": "-14 m"}
"""Cy hangs too far aside to be of use."""
FIRST = ("device jammed: ann", "casualty unresponsive: ann")
FIRST_S, NOTHING = 480.0, "weather: wet"
STAGES = ("called", "reach", "release", "ground")
TICK = 2 * TICK_S  # a time is rounded to ticks twice: the fault's, and the call's


@cache
def people(
    first: str, second: str, later_s: float, kit: str = SLINGS, bo: str = STAYS, cy: str = STAYS,
    holds: str = "15 kN", below: str = BELOW, aside: str = "-1.5 m",
) -> dict[str, Fate]:  # fmt: skip
    """Everybody's fate."""
    text = SITE.format(
        first=first,
        second=second,
        later_s=later_s,
        kit=kit,
        bo=bo,
        cy=cy,
        holds=holds,
        below=below,
        aside=aside,
    )
    meant = load_text(text, "made.yaml")
    chosen = tuple(Injected(name, fault) for name, fault in meant.faults.items())
    runs = FaultRuns(text, "made.yaml", None, "one", 0, (chosen,), (1,))
    found = fates_of(runs.run_of(runs.nominal(chosen), chosen))
    return {one.person: one for one in found.people}


def alone(first: str, **others: str) -> Fate:
    """Ann's with a second fault that does nothing, before anybody is called."""
    return people(first, NOTHING, FIRST_S + 1, **others)["ann"]


def middles(fate: Fate) -> list[float]:
    assert fate.rescue is not None
    return [fate.rescue.times[stage].middle_s for stage in STAGES]


def at_share(first: str, stage: str, share: float, **others: str) -> float:
    """A time so far on the way to a stage from the one before it [s]."""
    times_s = dict(zip(STAGES, middles(alone(first, **others)), strict=True))
    from_s, to_s = times_s[STAGES[STAGES.index(stage) - 1]], times_s[stage]
    return round(FIRST_S + from_s + share * (to_s - from_s), 3)


JAMS = pytest.mark.parametrize("jam", ["device jammed", "device dropped"])
LASTS_S = pytest.mark.parametrize("lasts_s", [30, 240, 1800])
WHERE = pytest.mark.parametrize("bo", [STAYS, ON_ROPES])


@JAMS
@LASTS_S
@WHERE
@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("before_s", [5.0, 20.0, 300.0])
def test_a_jam_before_the_call_delays_by_what_is_left_of_it(before_s, first, bo, lasts_s, jam):
    """Who alone has the sling comes when their device serves again."""
    usual = alone(first, **ONLY_BO, bo=bo)
    called_s = middles(usual)[0]
    at_s = round(FIRST_S + called_s - before_s, 3)
    found = people(first, f"{jam}: bo, for: {lasts_s} s", at_s, **ONLY_BO, bo=bo)["ann"]
    left_s = max(lasts_s - before_s, 0.0)
    due = [called_s, *(time_s + left_s for time_s in middles(usual)[1:])]
    # on the ropes a descent that a jam cuts ends a little elsewhere: half a metre of way at most
    most_s = TICK if bo == STAYS else 3.0
    assert middles(found) == pytest.approx(due, abs=most_s)


@JAMS
@LASTS_S
@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("share", [0.1, 0.6])
@pytest.mark.parametrize("stage", STAGES[1:])
def test_a_jam_on_the_way_delays_what_comes_after_it_by_all_of_it(
    stage, share, first, lasts_s, jam
):
    at_s = at_share(first, stage, share, **ONLY_BO)
    usual = alone(first, **ONLY_BO)
    found = people(first, f"{jam}: bo, for: {lasts_s} s", at_s, **ONLY_BO)["ann"]
    after = STAGES.index(stage)
    due = [t + lasts_s * (k >= after) for k, t in enumerate(middles(usual))]
    assert middles(found) == pytest.approx(due, abs=1e-6)
    assert found.rescue is not None
    assert usual.rescue is not None
    # all stages are independent, so the careful end moves by no less than the least the jam lasts
    moved_s = found.rescue.times["ground"].p95_s - usual.rescue.times["ground"].p95_s
    assert moved_s >= 0.5 * lasts_s


@JAMS
@pytest.mark.parametrize("first", FIRST)
def test_where_another_is_as_near_a_jam_before_the_call_delays_nobody(first, jam) -> None:
    usual = alone(first)
    found = people(first, f"{jam}: bo, for: 30 min", FIRST_S - 60)["ann"]
    assert (usual.rescue.rescuer, found.rescue.rescuer) == ("bo", "cy")
    assert middles(found) == pytest.approx(middles(usual), abs=TICK)


ENDS = {
    "the edge is bare": ("protection displaced: lip", "15 kN", "lip would be loaded bare"),
    "the anchor is too weak": ("heavier person: ann, by: 60 kg", "2 kN", "is more than c holds"),
}
"""What ends a pick-off by somebody who could go on themself: 175 kg are 1.7 kN, 235 kg 2.3 kN."""


@pytest.mark.parametrize("end", ENDS)
@WHERE
@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("share", [0.1, 0.8])
@pytest.mark.parametrize("stage", STAGES[1:])
def test_who_can_come_no_further_is_found_on_the_way(stage, share, first, bo, end) -> None:
    """From a metre below the edge, or from where they rest; to ann; beside her; to the ground."""
    second, holds, why = ENDS[end]
    usual = alone(first, bo=bo, holds=holds).rescue
    assert usual is not None
    assert usual.rescuer == "bo"
    found = people(first, second, at_share(first, stage, share, bo=bo, holds=holds), bo=bo,
                   holds=holds)  # fmt: skip
    there = found["bo"]
    rests_m = 1.0 if bo == STAYS else float(usual.rescuer_at.removesuffix(" m deep"))
    ends_m = {"reach": (rests_m, usual.depth_m), "release": (usual.depth_m,) * 2,
              "ground": (usual.depth_m, 25.0)}  # fmt: skip
    from_m, to_m = ends_m[stage]
    assert (there.coming_to, there.end) == ("ann", End.HANGS)
    most_m = 0.001 if bo == STAYS else 0.3  # as in the tests of those who are struck
    assert there.coming_at_m == pytest.approx(from_m + share * (to_m - from_m), abs=most_m)
    assert why in "; ".join(there.coming_lacks)
    assert "comes no further than" in fate_words.fate(there)
    taken = stage == "ground"
    assert (found["ann"].holds == "the lines of bo") == taken
    other = None if taken or end == "the edge is bare" else "cy"
    assert getattr(found["ann"].rescue, "rescuer", None) == other


HARMLESS = ("communication lost: 60 min", "jerky person: bo", NOTHING, "attendant away: 30 min")


@pytest.mark.parametrize("second", HARMLESS)
@pytest.mark.parametrize("first", FIRST)
@WHERE
@pytest.mark.parametrize("cy", [STAYS, "rest: 11 min, descend: 7 m, rest: 90 min"])
@pytest.mark.parametrize("stage", STAGES[1:])
def test_what_takes_nothing_from_a_rescue_under_way_leaves_it_as_it_is(
    stage, cy, bo, first, second
):
    """Who has been called needs no call, and another who would be quicker by now ends nothing."""
    at_s = at_share(first, stage, 0.5, bo=bo, cy=cy)
    found = people(first, second, at_s, bo=bo, cy=cy)
    usual = alone(first, bo=bo, cy=cy)
    # bo who rests on the ropes is put elsewhere by centimetres where a fault cuts the rest in two
    most_s = TICK if bo == STAYS else 1.0
    assert middles(found["ann"]) == pytest.approx(middles(usual), abs=most_s)
    assert found["ann"].rescue.instead_of == ""
    assert found["bo"].coming_to == ""


HAULED = {"kit": "haul kit: 1", "below": ""}


@pytest.mark.parametrize("second", ["communication lost: 60 min", NOTHING])
@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("share", [0.1, 0.9])
@pytest.mark.parametrize("goes_at_min", [10, 11])
def test_who_hauls_has_left_their_plan(goes_at_min, share, first, second) -> None:
    """The plan has bo on the ropes by then; they stand on top and haul on."""
    plan = {"bo": f"rest: {goes_at_min} min, descend: 12 m, rest: 90 min", **HAULED}
    usual = alone(first, **plan).rescue
    assert usual is not None
    assert (usual.method, "bo" in usual.hands) == ("haul", True)
    late_s = at_share(first, "ground", share, **plan)
    assert late_s > 60 * goes_at_min
    assert people(first, second, late_s, **plan)["ann"].rescue == usual


@pytest.mark.parametrize("first", FIRST)
@pytest.mark.parametrize("stage", ["reach", "ground"])
def test_a_haul_ends_where_they_can_pull_no_more(stage, first) -> None:
    at_s = at_share(first, stage, 0.5, **HAULED)
    found = people(first, "heavier person: ann, by: 300 kg", at_s, **HAULED)["ann"]
    assert found.rescue is None
    assert "would pull" in "; ".join(found.missing)
