"""Lines cut into sections, and the depths of a job, against sums done by hand."""

from __future__ import annotations

import math

import pytest

from edgewear.errors import UsageError
from edgewear.rigging import rig
from edgewear.rigging.laying import lay
from support import site

PAD = {"kerb": "pad", "flange": "pad", "ledge": "pad"}


def test_a_line_from_behind_runs_over_every_edge_in_order():
    rigged = rig(site.pier(site.line("far bollards")), "only")
    working, safety = rigged.sections
    assert [e.name for e in working.edges] == ["kerb", "flange", "ledge"]
    assert (working.line, safety.line) == ("working line", "safety line")
    assert (working.top_m, working.bottom_m) == (-math.inf, math.inf)
    # 1.5 m below the flange, which is 1.0 m down
    assert rigged.start_depth_m == pytest.approx(2.5)
    # 0.3 m out from the ledge at 0.6 m, below the working line's anchor
    assert working.load_m == pytest.approx((0.9, 0.0))


def test_a_re_anchor_cuts_a_line_and_frees_the_edges_above():
    rigged = rig(site.pier(site.line("far bollards", re_anchor=("pier bolts",))), "only")
    above, below, _ = rigged.sections
    assert above.bottom_m == below.top_m == pytest.approx(4.5)  # 0.5 m below the bolts
    assert below.line == "working line below pier bolts"
    assert below.edges == ()
    assert below.anchor_m == (0.7, 0.0, -4.0)


def test_someone_who_starts_below_a_re_anchor_never_loads_the_rope_above():
    job = {"lead": (site.ascend(5.0),)}  # highest point 3 m below the ledge at 3.5 m
    scenario = site.pier(site.line("far bollards", re_anchor=("pier bolts",)), job=job)
    rigged = rig(scenario, "only")
    assert rigged.start_depth_m == pytest.approx(3.5 + 3.0 + 5.0)
    assert [s.anchor for s in rigged.sections] == ["pier bolts", "parapet posts"]
    assert rigged.control == "re-anchored or deviated"


def test_a_re_anchor_above_the_edge_shortens_the_setback_only():
    anchors = {**site.PIER, "kerb bolts": site.anchor(-1.0, 0.2)}
    scenario = site.pier(
        site.line("far bollards", re_anchor=("kerb bolts",), protect=PAD), anchors=anchors
    )
    rigged = rig(scenario, "only")
    section = rigged.sections[0]
    assert section.anchor == "kerb bolts"
    assert [e.name for e in section.edges] == ["kerb", "flange", "ledge"]
    assert lay(section, 20.5).setback_m(0) == pytest.approx(0.6)
    assert rigged.control == "soft"


def test_an_anchor_out_on_the_structure_meets_only_what_lies_below_it():
    anchors = {**site.PIER, "web": site.anchor(0.35, -1.5)}
    rigged = rig(site.pier(site.line("web"), anchors=anchors), "only")
    assert [e.name for e in rigged.sections[0].edges] == ["ledge"]


def test_given_bends_count_depth_from_the_last_edge():
    edges = {"test edge": site.edge(radius=1e-3)}
    working = site.line(None, over=site.passes(("test edge", 20.0, math.radians(30))))
    job = {"lead": (site.repeat(4, site.ascend(5.0), site.lower_unloaded(5.0)),)}
    scenario = site.scenario({"only": site.option(working)}, job=job, edges=edges, setting="test")
    rigged = rig(scenario, "only")
    assert rigged.start_depth_m == pytest.approx(8.0)  # climbs 5 m to 3 m below the edge
    (section,) = rigged.sections
    assert section.direct
    assert section.edges[0].bend_rad == pytest.approx(math.radians(30))
    assert rigged.status == ("one line",)
    assert rigged.drawing["direct"] is True


def test_a_repeat_that_does_not_come_back_reaches_as_deep_as_it_adds_up():
    job = {"lead": (site.repeat(3, site.descend(4.0), site.ascend(1.0)),)}
    rigged = rig(site.pier(site.line("far bollards"), job=job), "only")
    # highest at the start: 3 m below the ledge at 3.5; deepest 4 + 3 + 3 = 10 m below that
    assert rigged.start_depth_m == pytest.approx(6.5)
    assert rigged.drawing["lines"][0]["to_m"] == pytest.approx(16.5)


def test_where_people_say_they_start_and_hang_counts():
    people = {"lead": site.person(start=site.exact(2.0), out=site.exact(1.4), along=site.exact(3))}
    only = site.option(site.line("far bollards"), people=people)
    job = {"lead": (site.descend(18.0),)}
    scenario = site.pier(site.line("far bollards"), options={"only": only}, job=job)
    rigged = rig(scenario, "only")
    assert rigged.start_depth_m == pytest.approx(5.5)
    assert rigged.sections[0].load_m == (1.4, 3.0)


def test_someone_else_can_haul():
    lines = site.option(site.line("far bollards"), who="casualty").lines
    lines |= site.option(site.line("far bollards"), who="rescuer").lines
    both = {"casualty": site.person(), "rescuer": site.person()}
    job = {
        "casualty": (site.descend(6.0),),
        "rescuer": (site.descend(2.0), site.haul(8.0, "casualty")),
    }
    scenario = site.pier(
        site.line("far bollards"),
        options={"only": site.option(site.line("far bollards"), lines=lines, people=both)},
        people=both,
        job=job,
    )
    rigged = rig(scenario, "only")
    assert [s.line for s in rigged.sections] == ["casualty working line", "rescuer working line"]
    # hauled 2 m above where it began: that is the highest point, 3 m below the ledge at 3.5 m
    assert rigged.starts_m == pytest.approx({"casualty": 8.5, "rescuer": 6.5})
    assert rig(scenario, "only", "rescuer").start_depth_m == pytest.approx(6.5)


def test_names_that_nobody_defined_are_told():
    scenario = site.pier(site.line("far bollards"))
    with pytest.raises(UsageError, match="there are only"):
        rig(scenario, "onyl")
    with pytest.raises(UsageError, match="there are lead"):
        rig(scenario, "only", "leda")


def test_a_drawing_is_to_scale():
    rigged = rig(site.pier(site.line("far bollards")), "only")
    drawn = rigged.drawing["lines"][0]
    points = [p["at"] for p in drawn["path"]]
    for before, after in zip(drawn["path"], drawn["path"][1:], strict=False):
        gap = math.dist(before["at"], after["at"])
        assert after["after_m"] == pytest.approx(gap, rel=1e-12)
    assert points[0] == [-22.0, 0.0, 0.3]
    assert points[-1] == pytest.approx([0.9, 0.0, -20.5])
    assert [p["kind"] for p in drawn["path"]] == ["anchor", "edge", "edge", "edge", "person"]
    # slope of the last piece: 0.3 m out over 17 m
    last_bend = drawn["path"][-2]["bend_deg"]
    ledge_in = math.degrees(math.atan2(2.5, 0.3))
    assert last_bend == pytest.approx(math.degrees(math.atan2(17.0, 0.3)) - ledge_in, abs=1e-9)
