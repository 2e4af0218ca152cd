"""What is kept of an option's rigging, against statics done by hand."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from edgewear.rigging import problems, rig
from edgewear.rigging.findings import figures
from support import site
from support.site import facts

WEIGHT = 100 * 9.81


BEND = math.radians(30)


def direct(safety=None, **more):
    edges = {"test edge": site.edge(radius=1e-3, friction=0.2)}
    working = site.line(None, over=site.passes(("test edge", 20.0, BEND)))
    job = {"lead": (site.descend(4.0), site.work(600, 0.1))}
    return site.scenario({"only": site.option(working, safety)}, job=job, edges=edges, **more)


def test_stretch_bounce_and_tensions_of_a_line_with_a_given_bend():
    found = facts(direct(), "only")["sections"][0]
    assert found["work_depth_m"] == pytest.approx(7.0)  # starts 3 m below the edge
    ratio = math.exp(0.2 * math.radians(30))
    assert found["edges"][0]["tension_ratio"] == pytest.approx(ratio, rel=1e-12)
    stretch = WEIGHT * 7.0 / 30e3 + WEIGHT / ratio * 20.0 / 30e3
    assert found["stretch_m"] == pytest.approx(stretch, rel=1e-12)
    # material: each length less its stretch at the dynamic stiffness, 45 kN
    material = [20 / (1 + WEIGHT / ratio / 45e3), 7 / (1 + WEIGHT / 45e3)]
    give = sum(material) / 45e3 + 1 / 10e3
    sliding = math.sqrt(1 / (give * 100)) / (2 * math.pi)
    assert found["frequency_sliding_hz"] == pytest.approx(sliding, rel=1e-12)
    assert found["haul_at_top_n"] == pytest.approx(WEIGHT * ratio, rel=1e-12)
    # unfolded: 2 * 0.1 m of sway, 20 m of 27 m behind the edge
    assert found["edges"][0]["sideways_m"] == pytest.approx(0.2 * 20 / 27, rel=1e-12)


def test_everything_can_be_written_as_json():
    padded = site.line("far bollards", protect={"kerb": "pad"}, re_anchor=("pier bolts",))
    safety = site.line("parapet posts", role="safety line", backup=site.backup())
    for scenario in (direct(), site.pier(padded, safety)):
        found = facts(scenario, "only")
        assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_forces_on_a_line_balance_at_every_point():
    scenario = site.pier(site.line("far bollards"))
    option = scenario.options["only"]
    section = rig(scenario, "only").sections[0]
    hung = figures.hang(scenario, option, section, 20.5)
    total = np.array(hung.anchor().vector_n)
    for k in range(len(hung.ratios)):
        total += hung.at(k).vector_n
    # all that anchor and edges bear together is the pull of the last free length
    assert total == pytest.approx(WEIGHT * np.array(hung.directions[-1]), abs=1e-9)


def test_a_deviation_bears_what_its_angle_says():
    anchors = {**site.PIER, "spike": site.anchor(3.0, -8.0)}
    working = site.line(
        "pier bolts", deviations=(site.deviation("spike", length=0.5, strength=10e3),)
    )
    scenario = site.pier(working, anchors=anchors, job={"lead": (site.descend(10.0),)})
    rows = [r for r in facts(scenario, "only")["loads"] if r["use"] == "deviation"]
    by_case = {row["case"]: row for row in rows}
    bend = math.radians(facts(scenario, "only")["sections"][0]["edges"][0]["bend_deg"])
    expected = 2 * 2 * WEIGHT * math.sin(bend / 2)  # two people, no friction: the careful end
    assert by_case["rescue"]["peak_n"] == pytest.approx(expected, rel=1e-9)
    assert by_case["rescue"]["strength_n"] == 10e3  # its sling is weaker than its anchor
    # in line with its sling: the ring hangs from the spike
    pull = np.array(by_case["rescue"]["direction"])
    drawn = facts(scenario, "only")["drawing"]["lines"][0]["path"]
    (ring,) = [p["at"] for p in drawn if p["kind"] == "deviation"]
    assert pull == pytest.approx((np.array(ring) - (3.0, 0.0, -8.0)) / 0.5, abs=1e-6)


def test_fixings_of_pairs_and_y_hangs():
    anchors = {**site.PIER, "far bollards": site.anchor(-22.0, 0.3, kind="y-hang")}
    rows = facts(site.pier(site.line("far bollards"), anchors=anchors), "only")["loads"]
    working = {r["case"]: r for r in rows if r["line"] == "working line"}
    leg = 2 * WEIGHT / (2 * math.cos(math.radians(30)))  # legs 60 degrees apart
    assert working["rescue"]["each_fixing_n"] == pytest.approx([leg, leg], rel=1e-12)


def test_drop_swing_and_clearance_on_the_safety_line():
    safety = site.line("parapet posts", role="safety line", backup=site.backup(4e3, 0.5))
    scenario = site.pier(site.line("far bollards"), safety, below={"water": site.exact(-30.0)})
    (row,) = facts(scenario, "only")["transfers"]
    assert row["over"] == ["kerb", "flange", "ledge"]
    assert row["swing_m"] == pytest.approx(1.5)  # the posts stand 1.5 m aside
    assert row["clearance_m"]["water"] == pytest.approx(30 - 20.5 - row["drop_careful_m"] - 1.2)
    assert 0.7 < row["drop_m"] < row["drop_careful_m"]  # slack and arrest alone


def test_rope_from_anchor_to_person_with_knots_and_loops():
    scenario = site.pier(site.line("far bollards", re_anchor=("pier bolts",)))
    rows = facts(scenario, "only")["ropes"]
    to_kerb, to_flange = math.hypot(21.6, 0.1), math.hypot(0.7, 1.2)
    to_bolts, down = math.hypot(0.4, 3.0), math.hypot(0.2, 16.5)
    needed = 1.5 + to_kerb + to_flange + to_bolts + 1.0 + down
    assert rows[0]["needed_m"] == pytest.approx(needed, rel=1e-12)
    assert rows[0]["tail_m"] == pytest.approx(60 - needed, rel=1e-9)


def test_a_rope_that_does_not_reach_is_an_error_with_an_address():
    scenario = site.pier(site.line("far bollards"), ropes={"new": site.rope(length=40.0)})
    (found,) = problems(scenario)
    assert found[0] == "ropes/new/length"
    assert "40 m does not reach" in found[1]
    assert problems(site.pier(site.line("far bollards"))) == []


def test_a_job_that_climbs_past_the_top_is_an_error():
    scenario = site.pier(site.line("far bollards"), job={"lead": (site.cross("flange"),
                         site.ascend(4.0))})  # fmt: skip
    ((address, message),) = problems(scenario)
    assert address == "job/lead"
    assert "climbs 1.2 m past" in message  # from 2.5 m deep; the bollards are 0.3 m up


def test_an_anchor_without_a_place_is_an_error():
    anchors = {**site.PIER, "far bollards": site.anchor()}
    ((address, message),) = problems(site.pier(site.line("far bollards"), anchors=anchors))
    assert address == "anchors/far bollards"
    assert "has no place" in message


def test_more_edges_than_a_line_can_have_is_an_error():
    edges = {f"step {k}": site.edge(0.1 * k, -0.5 * k) for k in range(13)}
    job = {"lead": (site.descend(8.0),)}
    ((address, message),) = problems(
        site.pier(site.line("far bollards"), safety=None, edges=edges, job=job)
    )
    assert address == "options/only"
    assert "13 edges: at most 12" in message


def test_more_deviations_than_a_line_can_have_is_an_error():
    bolts = {f"bolt {k}": site.anchor(1.5, -5.0 - k) for k in range(5)}
    working = site.line("pier bolts", deviations=tuple(site.deviation(name) for name in bolts))
    scenario = site.pier(working, safety=None, anchors={**site.PIER, **bolts})
    assert any("5 deviations: at most 4" in message for _, message in problems(scenario))


def test_words_are_shown_with_what_they_were_taken_to_mean():
    edges = {**site.PIER_EDGES, "kerb": site.edge(-0.4, 0.2, radius=5e-3, low=3e-3, basis="class",
                                                  is_="worn masonry arris")}  # fmt: skip
    rows = facts(site.pier(site.line("far bollards"), edges=edges), "only")["words"]
    (row,) = [r for r in rows if r["address"] == "edges/kerb/radius"]
    assert row["typed"] == "worn masonry arris"
    assert (row["value"], row["low"]) == (5e-3, 3e-3)


def test_what_covers_an_edge_is_said_where_the_line_does_not_touch_it_too():
    pads = {"kerb": "pad", "flange": "sleeve", "ledge": "pad"}
    working = site.line("far bollards", protect=pads, re_anchor=("pier bolts",))
    first = facts(site.pier(working), "only")["sections"][0]
    assert [e["name"] for e in first["edges"]] == ["kerb", "flange"]
    assert first["covers"] == pads


def test_a_sling_that_carries_the_load_is_named_where_protection_would_be():
    slings = {"kerb": site.sling(), "flange": site.sling(clamps=100.0)}  # the second bears nobody
    covers = facts(site.pier(site.line("far bollards", bypass=slings)), "only")["sections"][0]
    assert covers["covers"]["kerb"] == "bypass sling"
    assert covers["covers"]["flange"] is None


def test_a_roller_at_the_first_edge_is_said_to_saw_at_the_second():
    working = site.line("far bollards", protect={"kerb": "roller", "flange": "pad"})
    said = rig(site.pier(working), "only").warnings
    assert any("the roller at 'kerb'" in s and "saws at 'flange'" in s for s in said)
