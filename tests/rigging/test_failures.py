"""Single failures: what holds, over what, drop, swing and peak, each against a sum by hand."""

from __future__ import annotations

import math

import pytest

from edgewear.findings.failure import Cause
from edgewear.findings.limits import Figure
from edgewear.rigging import sees, single_failures
from edgewear.rigging.findings.failures import LOOP_M
from edgewear.rigging.lengths import SLACK_M
from edgewear.scenario.models import gear
from support import site

WEIGHT = 981.0
NEW_ROPE = ("rope", "new on the working line")


def rows_of(scenario, depth=20.5):
    rows = single_failures(scenario, "only", "lead", {3: depth})
    assert {row.step for row in rows} == {3}
    return {(row.kind, row.component): row for row in rows}


def two_lines(working=None, safety=None, **more):
    """Two lines from two bolts 2 m apart, 6 m above a person who hangs free."""
    anchors = {
        "left": site.anchor(0.5, 6.0),
        "right": site.anchor(0.5, 6.0, along=2.0),
        "low": site.anchor(0.5, 2.0),
        "beside": site.anchor(0.5, 3.0, along=-1.5),
        **more.pop("anchors", {}),
    }
    working = working or site.line("left")
    safety = safety or site.line("right", role="safety line", backup=site.backup(9e3, 0.5))
    people = {"lead": site.person(start=site.exact(6.0), out=site.exact(0.5))}
    only = site.option(working, safety, people=people)
    return site.scenario({"only": only}, anchors=anchors, **more)


def test_the_safety_line_takes_over_from_the_working_line():
    rows = rows_of(two_lines(), depth=0.0)
    length = math.hypot(6.0, 2.0)  # from the other bolt
    fall = SLACK_M + 0.5
    peak = WEIGHT + math.sqrt(WEIGHT**2 + 2 * WEIGHT * 45e3 * fall / length)
    sunk = math.hypot(2.0, 6.0) - 6.0
    for component in (("anchor", "left"), NEW_ROPE, ("device", "device on the working line")):
        row = rows[component]
        assert row.holds is True
        assert row.over_edge is None
        assert row.peak_n == pytest.approx(peak, rel=1e-9)
        assert row.drop_m == pytest.approx(fall + peak * length / 45e3 + sunk, rel=1e-9)
        assert row.swing_m == pytest.approx(2.0)
        assert row.reachable
        assert row.independent


def test_a_failure_of_the_safety_line_drops_nobody():
    row = rows_of(two_lines(), depth=0.0)["anchor", "right"]
    assert (row.holds, row.drop_m, row.peak_n) == (True, 0.0, pytest.approx(WEIGHT))


def test_one_anchor_for_both_lines_holds_nobody():
    row = rows_of(two_lines(safety=site.line("left", role="safety line")), depth=0.0)
    assert row["anchor", "left"].holds is False
    assert row["anchor", "left"].independent is False
    assert row["anchor", "left"].drop_m is None
    assert "both lines of lead hang on left" in row["anchor", "left"].why


def test_one_line_is_no_other_line():
    scenario = site.pier(site.line("far bollards"), safety=None)
    row = rows_of(scenario)[NEW_ROPE]
    assert row.holds is False
    assert row.why == "there is no other line"
    assert not row.reachable
    none = (row.over_edge, row.drop_m, row.swing_m, row.peak_n, row.drop_careful_m,
            row.peak_careful_n, row.room)  # fmt: skip
    assert none == (None,) * 7
    assert (row.beyond, row.clearance_m, row.above) == ((), {}, ())
    assert (row.cause, row.independent) == (Cause.NO_LINE, True)


def test_without_a_re_anchor_the_line_above_takes_the_slack_loop():
    scenario = two_lines(site.line("left", re_anchor=("low",)), anchors={})
    row = rows_of(scenario, depth=0.0)["re-anchor", "low"]
    # straight below the first bolt: the loop is all there is to fall; the safety line would
    # let the person fall less far and holds first
    fall_on_safety = SLACK_M + 0.5
    assert fall_on_safety < LOOP_M
    assert "safety line" in row.why
    lone = two_lines(
        site.line("left", re_anchor=("low",)),
        site.line("right", role="safety line", backup=site.backup(9e3, 3.0)),
    )
    for depth in (0.0, 4.0):
        row = rows_of(lone, depth=depth)["re-anchor", "low"]
        length = 6.0 + depth + LOOP_M
        peak = WEIGHT + math.sqrt(WEIGHT**2 + 2 * WEIGHT * 45e3 * LOOP_M / length)
        assert row.peak_n == pytest.approx(peak, rel=1e-9)
        assert row.drop_m == pytest.approx(LOOP_M + peak * length / 45e3, rel=1e-9)
        assert row.why == "the working line holds, clear of edges"


def test_a_re_anchor_that_fails_puts_the_line_back_on_the_edges():
    working = site.line("far bollards", re_anchor=("pier bolts",))
    rows = rows_of(site.pier(working, safety=None))
    row = rows["re-anchor", "pier bolts"]
    assert row.over_edge == "flange"  # the sharpest of kerb, flange and ledge


@pytest.mark.parametrize("depth", [0.0, 4.0])
def test_without_a_deviation_the_line_gets_longer(depth):
    working = site.line("left", deviations=(site.deviation("beside", length=1e-9),))
    row = rows_of(two_lines(working), depth=depth)["deviation", "beside"]
    # led 1.5 m aside 3 m below the bolt, the person plumb below that
    led = math.hypot(3.0, 1.5) + 3.0 + depth
    fall = led - 6.0 - depth
    peak = WEIGHT + math.sqrt(WEIGHT**2 + 2 * WEIGHT * 45e3 * fall / led)
    # the sling's 1e-9 m and the halving leave 1e-8 m
    assert row.peak_n == pytest.approx(peak, rel=1e-7)
    assert row.drop_m == pytest.approx(fall + peak * led / 45e3, rel=1e-7)
    assert row.swing_m == pytest.approx(1.5)


def test_without_a_deviation_above_an_edge_they_swing_from_below_the_edge():
    """Led 1.5 m aside on its way to the corner: they hang below the corner before and after."""
    corner = {"corner": site.edge(0.0, 0.0, radius=5e-3, friction=0.0)}
    anchors = {"left": site.anchor(-3.0, 0.0), "beside": site.anchor(-1.0, 1.0, along=-1.5)}
    led = site.line("left", deviations=(site.deviation("beside", length=1e-9),))
    people = {"lead": site.person(start=site.exact(5.0), out=site.exact(0.0))}
    only = site.option(led, None, people=people)
    row = rows_of(site.scenario({"only": only}, anchors=anchors, edges=corner), depth=8.0)[
        "deviation", "beside"
    ]
    rope = math.sqrt(2.0**2 + 1.5**2 + 1.0) + math.hypot(1.0, 1.0) + 8.0
    fall = rope - 3.0 - 8.0
    peak = WEIGHT + math.sqrt(WEIGHT**2 + 2 * WEIGHT * 45e3 * fall / rope)
    # the sling's 1e-9 m and the halving leave 1e-8 m
    assert row.drop_m == pytest.approx(fall + peak * rope / 45e3, rel=1e-7)
    assert row.swing_m == pytest.approx(1.5)
    assert row.reachable


def test_without_a_re_anchor_above_an_edge_nobody_swings_who_hangs_below_the_edge_again():
    lip = {"lip": site.edge(1.0, -1.0, radius=5e-3, friction=0.0)}
    for edges, out, swing in ((lip, 1.0, 0.0), ({}, 0.5, 0.3)):
        people = {"lead": site.person(start=site.exact(3.0), out=site.exact(out))}
        low = {"high": site.anchor(0.5, 6.0), "low": site.anchor(0.8, 2.0)}
        only = site.option(site.line("high", re_anchor=("low",)), None, people=people)
        scenario = site.scenario({"only": only}, anchors=low, edges=edges)
        row = rows_of(scenario, depth=5.0)["re-anchor", "low"]
        assert row.over_edge == next(iter(edges), None)
        assert row.swing_m == pytest.approx(swing, abs=1e-9)  # lengths of metres, some roundings


@pytest.mark.parametrize(
    ("depth", "hangs"), [(-1.0, "far bollards"), (1.0, "far bollards"), (4.4, "far bollards"),
                         (4.6, "pier bolts"), (9.0, "pier bolts")],
)  # fmt: skip
def test_a_person_hangs_on_the_part_of_the_line_at_their_depth(depth, hangs):
    """They hang on a re-anchor from half a metre below it on: from 4.5 m."""
    rows = rows_of(site.pier(site.line("far bollards", re_anchor=("pier bolts",))), depth=depth)
    fixed = {name for kind, name in rows if kind in ("anchor", "re-anchor")}
    assert fixed == {hangs, "parapet posts"}


@pytest.mark.parametrize(
    ("padded", "named"),
    [("", "flange"), ("flange", "kerb"), ("kerb", "flange"), ("flange kerb", "ledge"),
     ("flange ledge", "kerb"), ("flange kerb ledge", "flange")],
)  # fmt: skip
def test_of_the_edges_under_a_line_the_sharpest_bare_one_is_named_and_a_padded_one_if_all_are(
    padded, named
):
    """The flange of 2 mm, the kerb of 5 mm, the ledge of 14 mm."""
    pads = dict.fromkeys(padded.split(), "pad")
    safety = site.line("parapet posts", role="safety line", protect=pads)
    row = rows_of(site.pier(site.line("far bollards"), safety))[NEW_ROPE]
    assert row.over_edge == named


@pytest.mark.parametrize("room_m", [-0.1, 0.1])
def test_who_would_reach_what_lies_below_is_told_by_how_much(room_m):
    scenario = two_lines()
    least = rows_of(scenario, depth=0.0)["anchor", "left"]
    feet_m = -least.drop_careful_m - 1.2  # the harness is 1.2 m above the feet
    scenario = two_lines(below={"water": site.exact(feet_m - room_m)})
    row = rows_of(scenario, depth=0.0)["anchor", "left"]
    assert (row.room is None) == (row.cause is not Cause.NO_ROOM) == (room_m > 0.0)
    if row.room is not None:
        assert (row.room.name, row.room.short_m) == ("water", pytest.approx(0.1, abs=1e-9))
        assert row.why == row.room.words


@pytest.mark.parametrize("strength_n", [3e3, 40e3])
@pytest.mark.parametrize("shared", [True, False])
def test_what_lies_below_is_told_only_of_a_catch_that_holds_until_then(strength_n, shared):
    """Nobody reaches anything at the end of a fall that nothing ends."""
    bolt = {"right": site.anchor(0.5, 6.0, along=2.0, strength=strength_n)}
    safety = site.line("left", role="safety line") if shared else None
    scenario = two_lines(safety=safety, anchors=bolt, below={"water": site.exact(-1.7)})
    row = rows_of(scenario, depth=0.0)["anchor", "left"]
    cause = Cause.SHARED if shared else Cause.NO_ROOM if strength_n > 10e3 else Cause.WEAK
    assert (row.cause, row.room is None) == (cause, cause is not Cause.NO_ROOM)


def test_protection_and_bypass_that_go_leave_the_line_on_the_bare_edge():
    working = site.line("far bollards", protect={"kerb": "pad"}, bypass={"flange": site.sling()})
    rows = rows_of(site.pier(working))
    pad = rows["protection", "pad at kerb"]
    assert (pad.holds, pad.over_edge, pad.drop_m) == (True, "kerb", 0.0)
    sling = rows["protection", "bypass sling at flange"]
    assert sling.over_edge == "flange"
    assert sling.drop_m > 0.1
    assert sling.peak_n > 2 * WEIGHT  # a sudden load is at least twice the weight


def test_an_edge_that_both_lines_cross_close_together_may_take_both():
    anchors = {**site.PIER, "parapet posts": site.anchor(-3.0, 1.0, along=0.1)}
    row = rows_of(site.pier(site.line("far bollards"), anchors=anchors))["edge", "flange"]
    assert row.holds is None
    assert (row.independent, row.cause) == (False, Cause.SHARED)
    apart = rows_of(site.pier(site.line("far bollards")))["edge", "flange"]
    assert (apart.holds, apart.cause) == (True, Cause.HOLDS)
    assert "apart" in apart.why


def test_a_catch_over_a_cutting_edge_is_not_said_to_hold():
    edges = {**site.PIER_EDGES, "flange": site.edge(0.3, -1.0, radius=0.5e-3)}
    row = rows_of(site.pier(site.line("pier bolts"), edges=edges))[NEW_ROPE]
    assert row.holds is None
    assert row.over_edge == "flange"


def test_an_anchor_weaker_than_the_catch_does_not_hold():
    weak = {"right": site.anchor(0.5, 6.0, along=2.0, strength=3e3)}
    row = rows_of(two_lines(anchors=weak), depth=0.0)["anchor", "left"]
    assert row.holds is False
    assert "more than right holds" in row.why
    assert (row.drop_m, row.drop_careful_m, row.swing_m) == (None, None, None)
    assert row.peak_careful_n >= row.peak_n > 3e3


def test_a_device_that_slips_below_the_weight_holds_nobody():
    safety = site.line("right", role="safety line", backup=site.backup(900.0))
    row = rows_of(two_lines(safety=safety), depth=0.0)["anchor", "left"]
    assert row.holds is False
    assert row.drop_m is None


def test_a_climber_below_an_edge_cannot_see_it():
    assert sees(1.4, 1.0)
    assert not sees(1.6, 1.0)


def over_a_corner(depth, friction=0.0, protect=None, **more):
    """Two lines 2 m apart that lie level for 3 m, then hang over the corner of a roof."""
    anchors = {"left": site.anchor(-3.0, 0.0), "right": site.anchor(-3.0, 0.0, along=2.0)}
    edges = {"corner": site.edge(0.0, 0.0, radius=5e-3, friction=friction)}
    backup = site.backup(9e3, 0.5)
    safety = site.line("right", role="safety line", backup=backup, protect=protect)
    people = {"lead": site.person(start=site.exact(depth), out=site.exact(0.0)), **OTHERS}
    only = site.option(site.line("left"), safety, people=people)
    return site.scenario({"only": only}, anchors=anchors, edges=edges, **more)


OTHERS = {"mate": site.person(mass=80.0)}


def caught_over_the_corner(depth, mass=100.0, ratio=1.0):
    """Drop and peak by hand: the roof's corner unfolded, the rope as long after as before."""
    straight = math.hypot(3.0 + depth, 2.0)
    gives = straight * (depth + 3.0 / ratio) / (3.0 + depth)
    weight, fall = mass * 9.81, SLACK_M + 0.5
    peak = weight + math.sqrt(weight**2 + 2 * weight * 45e3 * fall / gives)
    return straight + fall + peak * gives / 45e3 - (3.0 + depth), peak


@pytest.mark.parametrize("depth", [0.5, 1.5, 20.0])
def test_a_swing_over_an_edge_adds_no_rope(depth):
    row = rows_of(over_a_corner(depth), depth=depth)["anchor", "left"]
    drop, peak = caught_over_the_corner(depth)
    # the depth is halved to below 1e-12 m
    assert row.drop_m == pytest.approx(drop, rel=1e-9)
    assert row.peak_n == pytest.approx(peak, rel=1e-9)
    assert row.swing_m == pytest.approx(2.0)
    assert row.over_edge == "corner"


def test_an_edge_that_the_fall_reaches_counts():
    edges = {"lip": site.edge(0.99, -0.4, radius=0.5e-3)}
    people = {"lead": site.person(start=site.exact(0.4), out=site.exact(1.0))}
    scenario = two_lines(edges=edges)
    scenario.options["only"].people.update(people)
    row = rows_of(scenario, depth=0.0)["anchor", "left"]
    # the person hangs 0.4 m above the lip and falls 0.7 m before the rope is straight
    assert row.holds is None
    assert row.over_edge == "lip"


def test_whoever_was_taken_over_falls_too():
    job = {"lead": (site.descend(1.0), site.take_over("mate"), site.rest(60.0))}
    scenario = over_a_corner(3.0, job=job)
    found = single_failures(scenario, "only", "lead", {1: 4.0, 2: 4.0, 3: 4.0})
    rows = {(r.step, r.component): r for r in found}
    for step, mass in ((1, 100.0), (2, 180.0), (3, 180.0)):
        drop, peak = caught_over_the_corner(4.0, mass)
        assert rows[step, "left"].drop_m == pytest.approx(drop, rel=1e-9)
        assert rows[step, "left"].peak_n == pytest.approx(peak, rel=1e-9)
        # nobody falls if the line that hangs slack goes
        assert rows[step, "right"].peak_n == pytest.approx(mass * 9.81)


def test_protection_counts_from_the_step_that_places_it_to_the_one_that_removes_it():
    job = {"lead": (site.rest(60.0), site.place("corner"), site.remove("corner"))}
    scenario = over_a_corner(
        2.0, friction=0.45, protect={"corner": site.protection("pad", friction=0.3)}, job=job
    )
    found = single_failures(scenario, "only", "lead", {1: 2.0, 2: 2.0, 3: 2.0})
    rows = {r.step: r for r in found if r.component == "left"}
    slope = 2.0 / (3.0 + 2.0)  # of the unfolded line
    bend = math.acos(slope**2 / (1.0 + slope**2))
    for step, friction in ((1, 0.45), (2, 0.3), (3, 0.45)):
        drop, peak = caught_over_the_corner(2.0, ratio=math.exp(friction * bend))
        assert rows[step].peak_n == pytest.approx(peak, rel=1e-9)
        assert rows[step].drop_m == pytest.approx(drop, rel=1e-9)


def test_a_line_above_a_re_anchor_that_fails_swings_to_its_own_plumb_line():
    low = {"low": site.anchor(0.5, 2.0, along=1.5)}
    safety = site.line("right", role="safety line", backup=site.backup(9e3, 5.0))
    scenario = two_lines(site.line("left", re_anchor=("low",)), safety, anchors=low)
    row = rows_of(scenario, depth=0.0)["re-anchor", "low"]
    rope = math.hypot(4.0, 1.5) + LOOP_M + 2.0
    fall = rope - 6.0
    peak = WEIGHT + math.sqrt(WEIGHT**2 + 2 * WEIGHT * 45e3 * fall / rope)
    assert row.why == "the working line holds, clear of edges"
    assert row.drop_m == pytest.approx(fall + peak * rope / 45e3, rel=1e-9)
    assert row.swing_m == pytest.approx(1.5)


def test_one_pad_under_both_lines_is_not_independent():
    job = {"lead": (site.descend(2.0),)}
    scenario = over_a_corner(2.0, protect={"corner": "pad"}, job=job)
    pair = scenario.options["only"].lines["lead"]
    pair.working.protect["corner"] = pair.safety.protect["corner"]
    apart = rows_of(scenario, depth=2.0)["protection", "pad at corner"]
    assert (apart.holds, apart.independent) == (True, True)
    scenario.anchors["right"] = site.anchor(-3.0, 0.0, along=0.2)
    close = rows_of(scenario, depth=2.0)["protection", "pad at corner"]
    assert (close.holds, close.independent) == (None, False)
    assert close.why == "one pad at corner lies under both lines of lead"


def test_a_device_that_may_slip_below_the_weight_is_not_said_to_hold():
    unsure = site.backup(1.2e3)
    unsure = unsure.model_copy(update={"slips": site.spread(1.2e3, 0.9e3, 1.5e3, "N")})
    safety = site.line("right", role="safety line", backup=unsure)
    row = rows_of(two_lines(safety=safety), depth=0.0)["anchor", "left"]
    assert math.isfinite(row.drop_m)  # as its middle says
    assert (row.holds, row.cause) == (None, Cause.WEAK)
    assert "may slip at less" in row.why


@pytest.mark.parametrize("least_n", [1.5e3, 9e3])
def test_teeth_tear_in_a_short_drop_too(least_n):
    toothed = site.backup(9e3, 0.0)
    toothed = toothed.model_copy(update={"tears": site.exact(least_n, "N")})
    above = {"right": site.anchor(0.5, 6.0, along=0.2)}
    safety = site.line("right", role="safety line", backup=toothed)
    row = rows_of(two_lines(safety=safety, anchors=above), depth=0.0)["anchor", "left"]
    assert 0.0 < row.drop_m < 1.0
    assert row.is_above(Figure.TEAR) == (least_n < 2 * WEIGHT)  # a fall pulls at least twice it


def test_teeth_on_the_working_line_tear_where_it_falls_and_not_where_it_rests():
    toothed = site.backup(9e3).model_copy(update={"tears": site.exact(0.5e3, "N")})
    bypass = {"flange": site.sling()}
    working = site.line("far bollards", backup=toothed, bypass=bypass, protect={"kerb": "pad"})
    rows = rows_of(site.pier(working))
    assert rows["protection", "bypass sling at flange"].is_above(Figure.TEAR)  # falls its slack
    resting = rows["protection", "pad at kerb"]
    assert (resting.drop_m, resting.is_above(Figure.TEAR)) == (0.0, False)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_of_several_re_anchors_the_one_above_takes_over(count):
    """The first one gone puts the line back on the flange; below another it stays clear of it."""
    bolts = {f"bolt {k}": site.anchor(0.7, -4.0 - 3.0 * k) for k in range(count)}
    working = site.line("far bollards", re_anchor=tuple(bolts))
    scenario = site.pier(working, safety=None, anchors={**site.PIER, **bolts})
    rows = rows_of(scenario, depth=5.0 + 3.0 * count)
    lowest = rows["re-anchor", f"bolt {count - 1}"]
    assert lowest.over_edge == ("flange" if count == 1 else None)


@pytest.mark.parametrize("factor", [1.0, 0.5])
@pytest.mark.parametrize("termination", [0.5, 0.65, 0.9, 1.0])
def test_a_rope_holds_what_its_strength_in_a_termination_holds(termination, factor):
    """Held to the careful peak that stands in the same row."""
    peak = rows_of(two_lines(), depth=0.0)["anchor", "left"].peak_careful_n
    for share, holds in ((1.0 + 1e-6, True), (1.0 - 1e-6, False)):
        rope = site.rope(
            strength=site.exact(share * peak / termination / factor, "N"),
            strength_factor=site.exact(factor, "1"),
            termination=site.exact(termination, "1"),
        )
        row = rows_of(two_lines(ropes={"new": rope}), depth=0.0)["anchor", "left"]
        assert row.holds is holds
        assert ("more than new holds" in row.why) is not holds


@pytest.mark.parametrize("depth", [0.0, 5.0, 20.0])
def test_nobody_swings_where_only_protection_goes(depth):
    working = site.line("far bollards", protect={"kerb": "pad"}, bypass={"flange": site.sling()})
    rows = rows_of(site.pier(working), depth=depth)
    gone = [row for (kind, _), row in rows.items() if kind == "protection"]
    assert gone
    assert {row.swing_m for row in gone} == {0.0}
    assert {row.holds for row in gone} == {True}  # on the bare flange of 2 mm too: nothing travels


def test_a_bypass_sling_that_goes_drops_its_person_the_slack_of_the_line_beside_it():
    """Over a corner without friction: 6 m of rope take a fall of 0.1 m."""
    corner = {"corner": site.edge(0.0, 0.0, radius=5e-3, friction=0.0)}
    working = site.line("left", bypass={"corner": site.sling()})
    people = {"lead": site.person(start=site.exact(3.0), out=site.exact(0.0))}
    only = site.option(working, None, people=people)
    scenario = site.scenario({"only": only}, anchors={"left": site.anchor(-3.0, 0.0)}, edges=corner)
    row = rows_of(scenario, depth=3.0)["protection", "bypass sling at corner"]
    peak = WEIGHT + math.sqrt(WEIGHT**2 + 2 * WEIGHT * 45e3 * 0.1 / 6.0)
    assert row.peak_n == pytest.approx(peak, rel=1e-9)
    assert row.drop_m == pytest.approx(0.1 + peak * 6.0 / 45e3, rel=1e-9)


@pytest.mark.parametrize(
    ("aside_m", "reached"), [(0.5, True), (1.9, True), (2.1, False), (3.5, False)]
)
def test_who_has_swung_further_than_two_metres_is_out_of_reach(aside_m, reached):
    anchors = {"right": site.anchor(0.5, 6.0, along=aside_m)}
    row = rows_of(two_lines(anchors=anchors), depth=0.0)["anchor", "left"]
    assert (row.holds, row.reachable) == (True, reached)
    assert row.swing_m == pytest.approx(aside_m)


def test_the_way_that_is_left_below_is_told_of_every_fall_however_short_and_of_no_rest():
    above = {"right": site.anchor(0.5, 6.0)}
    safety = site.line("right", role="safety line", backup=site.backup(9e3, 0.0))
    stiff = {"new": site.rope(stiffness=120e3)}
    below = {"water": site.exact(-20.0)}
    scenario = two_lines(safety=safety, anchors=above, below=below, ropes=stiff)
    rows = rows_of(scenario, depth=0.0)
    row = rows["anchor", "left"]
    assert 0.0 < row.drop_careful_m < 1.0
    feet_m = 1.2 + row.drop_careful_m
    assert row.clearance_m == {"water": pytest.approx(20.0 - feet_m)}
    assert rows["anchor", "right"].clearance_m == {}


def post_at(along_m):
    """A post of any height beside the work."""
    return {"post": gear.Obstacle.model_construct(along=site.exact(along_m), from_=None, to=None)}


@pytest.mark.parametrize(
    ("along_m", "met"), [(0.0, False), (-3.0, False), (2.5, True), (4.2, True), (4.4, False)]
)
def test_who_swings_into_something_below_the_safety_line_is_not_held(along_m, met):
    """From 0 m to the safety line at 2 m and as far beyond, half a body of 0.3 m before them."""
    row = rows_of(two_lines(beside=post_at(along_m)), depth=0.0)["anchor", "left"]
    assert (row.holds, row.cause) == ((False, Cause.NO_ROOM) if met else (True, Cause.HOLDS))
    assert ("would swing into post" in row.why) == met
    free = rows_of(two_lines(), depth=0.0)["anchor", "left"]
    assert row.reachable is not met
    told = row.drop_m, row.drop_careful_m, row.swing_m, row.peak_careful_n
    assert told == (free.drop_m, free.drop_careful_m, free.swing_m, free.peak_careful_n)
    assert row.room is None  # beside it, not below


@pytest.mark.parametrize(
    ("along_m", "met"), [(-2.0, False), (1.0, True), (1.7, True), (1.9, False)]
)
def test_who_swings_out_of_a_deviation_that_goes_swings_from_it_to_below_the_anchor(along_m, met):
    """From -1.5 m to 0 m and as far beyond."""
    led = site.line("left", deviations=(site.deviation("beside", length=1e-9),))
    row = rows_of(two_lines(led, beside=post_at(along_m)), depth=0.0)["deviation", "beside"]
    assert row.holds is not met
    assert ("would swing into post" in row.why) == met


@pytest.mark.parametrize("moved_m", [-4.0, 0.0, 1.0, 30.0])
def test_a_swing_is_as_wide_wherever_along_the_face_the_site_is_counted_from(moved_m):
    anchors = {"left": site.anchor(0.5, 6.0, along=moved_m),
               "beside": site.anchor(0.5, 3.0, along=moved_m - 1.5)}  # fmt: skip
    people = {"lead": site.person(start=site.exact(6.0), out=site.exact(0.5))}
    led = site.line("left", deviations=(site.deviation("beside", length=1e-9),))
    only = site.option(led, None, people=people)
    row = rows_of(site.scenario({"only": only}, anchors=anchors), depth=0.0)["deviation", "beside"]
    assert row.swing_m == pytest.approx(1.5)
