"""Knots in a rope and slack tied into a safety line: typed, laid out and played."""

from __future__ import annotations

from math import hypot, sqrt

import pytest

from edgewear.case import compile_case
from edgewear.engine.run_job import perform
from edgewear.errors import ScenarioError
from edgewear.rigging.knots import knots_of, stopped_by
from edgewear.scenario import load_text
from edgewear.terms import GRAVITY_M_S2

SITE = """
edgewear: 1
title: a rope joined by knots
setting: industrial
anchors:
  post: {out: -4 m, up: 1 m}
  rail: {out: -4 m, up: 1 m, along: 1 m}
edges: {lip: {out: 0 m, up: 0 m, radius: 60 mm, surface: steel}}
ropes: {store: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {ann: {mass: 90 kg}}
kit: {pad: 2}
times: {pass knot: 2 min}
lines:
  ann: {anchor: post, rope: store, protect: {lip: pad}, KNOTS
        safety line: {anchor: rail, rope: store, protect: {lip: pad}, SLACK attendant: ann}}
options: {plain: {}}
job: {ann: [cross edge: lip, descend: 12 m, work: 1 min, ascend: 12 m]}
faults: {goes: {anchor fails: post, step: 3}}
"""

SETBACK_M = hypot(4.0, 1.0)


def site(knots: str = "", slack: str = ""):
    return load_text(SITE.replace("KNOTS", knots).replace("SLACK", slack), "site.yaml")


def played(scenario):
    return perform(scenario, compile_case(scenario, "plain"))


def section_of(scenario):
    return compile_case(scenario, "plain").rigged.sections[0]


def test_a_knot_lies_where_the_rope_reaches_to() -> None:
    """Straight from the post to the lip, from there straight to where the person hangs out."""
    section = section_of(site("knots: [7 m, 11 m],"))
    for rope_m, knot in zip((7.0, 11.0), knots_of(section), strict=True):
        out_m = section.load_at(knot.depth_m)[0]
        below_m = sqrt((rope_m - SETBACK_M) ** 2 - out_m**2)
        assert knot.depth_m == pytest.approx(below_m, abs=1e-9)  # halved 60 times
    assert knots_of(section_of(site("knots: [3 m],"))) == ()  # above the lip: nobody passes it


def test_whoever_goes_down_and_up_passes_every_knot_on_the_way_twice() -> None:
    plain, knotted = played(site()), played(site("knots: [7 m, 11 m, 40 m],"))
    passed = [(e.detail, e.step) for e in knotted.log if e.what == "passes"]
    first, second = "the knot at 7 m", "the knot at 11 m"
    assert passed == [(first, 2), (second, 2), (second, 4), (first, 4)]
    more_s = 1e-4 * (knotted.ticks - plain.ticks)
    # two knots there and back at 2 min; a stroke or a stop that a knot cuts in two takes a start
    # and a stop more, each below 10 s
    assert more_s == pytest.approx(4 * 120.0, abs=40.0)


def test_a_haul_and_a_lower_stop_at_the_knots_that_come_to_an_edge() -> None:
    section = section_of(site("knots: [2 m, 3 m, 9 m, 30 m],"))
    # 3 m up: the post stops what lies within 3 m of it, the lip what lies within 3 m beyond it
    assert stopped_by(section, 10.0, 2.5) == ("the knot at 2 m",)
    assert stopped_by(section, 10.0, 6.0) == (
        "the knot at 2 m", "the knot at 3 m", "the knot at 9 m",
    )  # fmt: skip
    # lowered: what lies within so much before the lip, and all beyond the load, which is let out
    assert stopped_by(section, 10.0, -1.5) == ("the knot at 3 m", "the knot at 30 m")


def drop_m(scenario) -> float:
    log = perform_fault(scenario)
    lost = next(e for e in log if e.what == "line lost")
    return next(e.value for e in log if e.what == "caught") - lost.value


def perform_fault(scenario):
    from edgewear.job.faults import Injected

    fault = Injected("goes", scenario.faults["goes"])
    return perform(scenario, compile_case(scenario, "plain"), faults=[fault]).log


def test_slack_tied_in_is_fallen_through_in_the_job() -> None:
    more_m = drop_m(site(slack="slack: 0.8 m,")) - drop_m(site(slack="slack: 0.3 m,"))
    # half a metre more to fall before the line is tight; the same rope stretches a little more, or
    # the device that holds 4 kN lets through what the fall adds: energy m*g*0.5 m over 4 kN less
    # the weight
    slips_m = 90.0 * GRAVITY_M_S2 * 0.5 / (4000.0 - 90.0 * GRAVITY_M_S2)
    assert 0.5 <= more_m <= 0.5 + 1.1 * slips_m


@pytest.mark.parametrize(
    ("knots", "slack", "words"),
    [
        ("knots: [60 m],", "", "a knot at 60 m, beyond its 60 m of rope"),
        ("slack: 1 m,", "", "slack is tied into a safety line"),
        ("knots: [5 m], re-anchor: [rail],", "", "knots below a re-anchor are not computed"),
    ],
)
def test_what_cannot_be_is_refused(knots, slack, words) -> None:
    with pytest.raises(ScenarioError, match=words) as caught:
        site(knots, slack)
    assert str(caught.value).startswith("site.yaml:")
