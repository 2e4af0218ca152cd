"""What of a drop and a peak is above its limit, and where that is said."""

from __future__ import annotations

import pytest

from edgewear.findings.limits import Figure
from edgewear.rigging import single_failures
from edgewear.rigging.findings.facts import facts as all_facts
from edgewear.rigging.findings.limits import MOST_DROP_M, MOST_PEAK_N, beyond_limits, tearing
from edgewear.scenario.models.scenario import Limits
from support import site
from support.site import facts


def with_limits(**limits):
    return site.pier(site.line("far bollards"), limits=Limits(**limits))


@pytest.mark.parametrize(
    ("drop", "peak", "said"),
    [
        (2.0, 6e3, 0),  # EN 12841, from memory: within 2 m, at most 6 kN
        (2.01, 6e3, 1),
        (2.0, 6.01e3, 1),
        (3.4, 7e3, 2),
        (None, None, 0),
    ],
)
def test_two_metres_and_six_kilonewtons_where_nothing_is_said(drop, peak, said):
    assert (MOST_DROP_M, MOST_PEAK_N) == (2.0, 6e3)
    found = beyond_limits(with_limits(), drop, peak)
    assert len(found) == said
    assert all("from memory" in one.words for one in found)


def test_the_scenarios_own_limits_come_first():
    tight = with_limits(drop=site.exact(1.0), peak=site.exact(3e3, "N"))
    assert tuple(one.words for one in beyond_limits(tight, 1.2, 4e3)) == (
        "drop of 1.2 m, more than 1 m (limits/drop)",
        "peak of 4.0 kN, more than 3 kN (limits/peak)",
    )
    wide = with_limits(drop=site.exact(4.0), peak=site.exact(8e3, "N"))
    assert beyond_limits(wide, 3.4, 7e3) == ()


def falling(job, arrest=0.5, **more):
    """Lead, who may take over a mate of 80 kg, 2 m aside of the safety line, over one corner."""
    anchors = {"left": site.anchor(-3.0, 0.0), "right": site.anchor(-3.0, 0.0, along=2.0)}
    edges = {"corner": site.edge(0.0, 0.0, radius=5e-3)}
    safety = site.line(
        "right", role="safety line", backup=site.backup(9e3, arrest), protect={"corner": "pad"}
    )
    people = {"lead": site.person(start=site.exact(3.0)), "mate": site.person(mass=80.0)}
    only = site.option(site.line("left", protect={"corner": "pad"}), safety, people=people)
    return site.scenario(
        {"only": only}, anchors=anchors, edges=edges, job={"lead": job}, people=people, **more
    )


ALONE = (site.descend(1.0), site.work(600.0))
WITH_MATE = (site.descend(1.0), site.take_over("mate"), site.descend(4.0))


def test_a_single_failure_says_what_is_above_its_limit():
    short = single_failures(falling(ALONE), "only", "lead", {1: 4.0})
    long = single_failures(falling(ALONE, arrest=2.0), "only", "lead", {1: 4.0})
    row = {r.component: r for r in short}["left"]
    assert not row.is_above(Figure.DROP)
    row = {r.component: r for r in long}["left"]
    assert row.is_above(Figure.DROP)
    said = f"drop of {row.drop_careful_m:.1f} m at its careful end, more than 2 m"
    assert row.beyond[0].words.startswith(said)
    # nobody falls when the line that hangs slack goes
    assert {r.component: r for r in long}["right"].beyond == ()


def test_a_swing_off_the_pad_is_told_with_the_failure():
    rows = {r.component: r for r in single_failures(falling(ALONE), "only", "lead", {1: 4.0})}
    # unfolded the line is straight: 3 m behind the corner and 4 m below it, it crosses 3/7 of
    # the 2 m aside of its anchor, and swings to hang plumb below that
    travel = 2.0 * 3.0 / 7.0
    (said,) = rows["left"].beyond
    assert said.words == f"swings off its protection: {travel:.1f} m along corner (pad)"


def test_transfers_weigh_whoever_was_taken_over_and_count_pads_that_were_placed():
    alone = facts(falling(ALONE), "only")["transfers"]
    both = facts(falling(WITH_MATE), "only")["transfers"]
    assert {row["mass_kg"] for row in alone} == {100.0}
    assert {row["mass_kg"] for row in both} == {100.0, 180.0}
    heavy = next(row for row in both if row["mass_kg"] == 180.0)
    assert heavy["with"] == ["mate"]
    assert heavy["depth_m"] == pytest.approx(8.0)  # 3 m, 1 m and 4 m down
    assert heavy["peak_n"] > max(row["peak_n"] for row in alone)
    # one and the same fall as in the table of single failures
    (row,) = [
        r for r in single_failures(falling(WITH_MATE), "only", "lead", {3: 8.0})
        if r.component == "left"
    ]  # fmt: skip
    assert heavy["drop_m"] == pytest.approx(row.drop_m, rel=1e-12)


def test_a_pad_that_is_placed_first_counts_in_a_transfer_and_on_the_page():
    place = (site.place("corner"), *ALONE)
    scenario = falling(place)
    rough = scenario.edges["corner"]
    scenario.edges["corner"] = rough.model_copy(update={"friction": site.exact(0.6, "1")})
    placed = facts(scenario, "only")
    scenario.job["lead"] = ALONE  # in place from the start
    there = facts(scenario, "only")
    assert placed["transfers"][0]["peak_n"] == pytest.approx(there["transfers"][0]["peak_n"])
    assert [s["covers"] for s in placed["sections"]] == [{"corner": "pad"}] * 2
    assert {e["protection"] for e in placed["drawing"]["edges"]} == {"pad"}
    scenario.job["lead"] = (*ALONE, site.place("corner"))
    late = facts(scenario, "only")
    assert late["sections"][0]["covers"] == {"corner": "pad, bare at times"}


def test_the_loads_of_a_catch_and_a_rescue_carry_both():
    loads = facts(falling(WITH_MATE), "only")["loads"]
    both = facts(falling(WITH_MATE), "only")["transfers"]
    catch = next(r for r in loads if (r["name"], r["case"]) == ("right", "catch"))
    assert catch["peak_n"] == pytest.approx(max(r["peak_careful_n"] for r in both))
    rescue = next(r for r in loads if (r["name"], r["case"]) == ("left", "rescue"))
    assert rescue["peak_n"] == pytest.approx(200.0 * 9.81)  # a second person of 100 kg at least


def test_the_parts_of_a_drop_add_up_to_it():
    scenario = falling(ALONE, arrest=1.0)
    for one in all_facts(scenario, "only").transfers:
        made = one.made_of
        whole_m = made.slack_m + made.device_m + made.stretch_m + made.sunk_m
        assert whole_m == pytest.approx(one.drop_m, abs=1e-12)  # rounding of four sums
        assert (made.slack_m, made.sunk_m > 0) == (0.2, True)
        assert made.device_m >= 1.0


def test_teeth_may_tear_from_their_least_force_on():
    toothed = site.backup().model_copy(update={"tears": site.spread(5e3, 4e3, 6e3, "N")})
    assert [len(tearing(toothed, peak)) for peak in (3999.0, 4e3, 9e3)] == [0, 1, 1]
    assert tearing(site.backup(), 9e3) == tearing(None, 9e3) == ()
    [one] = tearing(toothed, 9e3)
    assert (one.figure, one.careful) == (Figure.TEAR, True)
