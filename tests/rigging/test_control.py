"""Levels of control and statuses: each rule triggered, and none ever broken."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.rigging import rig
from edgewear.rigging.findings.control import (
    BARE_BELOW_DIAMETERS,
    bare_at_times,
    level_at,
    parts_rope,
)
from edgewear.rigging.rig import Layout
from edgewear.terms import LEVELS
from support import site

PADS = {"kerb": "pad", "flange": "pad", "ledge": "pad"}
NOT_ACCEPTABLE = "not acceptable: protect the edge"
SAFETY = site.line("other", role="safety line", protect={"coping": "pad"})


def rigged(working, **more):
    return rig(site.pier(working, **more), "only")


def one_edge(working, radius=2e-3, sway=0.0, who="lead", **more):
    """A single edge, the line from 5 m behind it, work 5 m below it."""
    options = {"only": site.option(working, SAFETY, who=who)}
    options = more.pop("options", options)
    scenario = site.scenario(
        options,
        **{
            "anchors": {
                "post": site.anchor(-5.0, 0.0),
                "other": site.anchor(-5.0, 0.0, along=2.0),
                "bolt": site.anchor(0.6, -1.0),
                "bolt two": site.anchor(0.6, -1.0, along=2.0),
                "frame": site.anchor(0.5, 1.5),
                "side bolt": site.anchor(2.5, -0.2),
            },
            "edges": {"coping": site.edge(0.0, 0.0, radius=radius)},
            "job": {who: (site.cross("coping"), site.descend(3.5), site.work(600, sway))},
            **more,
        },
    )
    return rig(scenario, "only")


def test_bare():
    found = rigged(site.line("far bollards"))
    assert found.control == "bare"
    assert found.edge_levels == {"kerb": "bare", "flange": "bare", "ledge": "bare"}
    assert NOT_ACCEPTABLE in found.status
    assert found.why_not_higher == dict.fromkeys(LEVELS[:-1], "not recorded")


def test_the_lowest_level_at_a_loaded_edge_counts():
    found = rigged(site.line("far bollards", protect={**PADS, "kerb": "roller"}))
    assert found.edge_levels == {"kerb": "rigid or rolling", "flange": "soft", "ledge": "soft"}
    assert found.control == "soft"
    assert NOT_ACCEPTABLE not in found.status


def test_reasons_are_kept_for_the_levels_above():
    only = site.option(
        site.line("post", protect={"coping": "pad"}),
        site.line("other", role="safety line"),
        why_not_higher={"edge avoided": "no steel above"},
    )
    found = one_edge(site.line("post"), options={"only": only})
    assert found.why_not_higher == {
        "edge avoided": "no steel above",
        "re-anchored or deviated": "not recorded",
        "rigid or rolling": "not recorded",
    }


def test_bypass():
    found = one_edge(site.line("post", bypass={"coping": site.sling()}))
    assert found.control == "bypass"
    assert NOT_ACCEPTABLE not in found.status
    assert any("4.0 kN" in sentence for sentence in found.warnings)  # its clamps, not its tape


def test_avoided_by_a_high_directional():
    found = one_edge(site.line("post", high_directional="frame"))
    assert found.edge_levels == {"coping": "re-anchored or deviated"}
    assert NOT_ACCEPTABLE not in found.status
    straight = one_edge(site.line("bolt"))
    assert straight.control == "edge avoided"
    assert straight.edge_levels == {}


def test_a_round_edge_is_not_acceptable_only_below_four_diameters():
    bare = site.line("post")
    assert NOT_ACCEPTABLE in one_edge(bare, radius=0.0439).status
    assert NOT_ACCEPTABLE not in one_edge(bare, radius=0.0441).status
    assert NOT_ACCEPTABLE not in one_edge(bare, radius=4 * 0.011).status  # not below them


@pytest.mark.parametrize("radius_m", [1e-3, 2.99e-3, 3e-3, 4e-3])
@pytest.mark.parametrize("bare", [True, False])
@pytest.mark.parametrize("travel_m", [0.0, 0.0109, 0.0111, 0.5])
def test_travel_parts_a_rope_over_a_bare_edge_below_three_millimetres_alone(
    radius_m, bare, travel_m
):
    sharp = site.scenario({}, edges={"lip": site.edge(0.0, 0.0, radius=radius_m)})
    parts = bare and radius_m < 3e-3 and travel_m > 0.011
    assert parts_rope(sharp, "lip", bare, travel_m, 0.011) is parts
    assert parts_rope(sharp, "lip") is False
    cutting = site.scenario({}, edges={"lip": site.edge(0.0, 0.0, radius=0.7e-3)})
    assert parts_rope(cutting, "lip", bare, travel_m, 0.011) is True


def test_of_a_class_the_lower_end_of_the_radius_counts():
    wide = {"coping": site.edge(0.0, 0.0, radius=0.05, low=0.02, basis="class")}
    assert NOT_ACCEPTABLE in one_edge(site.line("post"), edges=wide).status
    cutting = {"coping": site.edge(0.0, 0.0, radius=1.6e-3, low=0.5e-3, basis="class")}
    assert "cutting edge" in one_edge(site.line("post"), edges=cutting).status
    measured = {"coping": site.edge(0.0, 0.0, radius=1.6e-3, low=0.5e-3, basis="measured")}
    assert "cutting edge" not in one_edge(site.line("post"), edges=measured).status


@pytest.mark.parametrize("setting", ["industrial", "alpine", "test"])
def test_only_industrial_work_is_told_to_protect(setting):
    found = one_edge(site.line("post"), setting=setting)
    assert (NOT_ACCEPTABLE in found.status) == (setting == "industrial")
    said = "bare edge: the loaded working line runs over coping without protection"
    assert (said in found.warnings) == (setting == "alpine")
    covered = one_edge(site.line("post", protect={"coping": "pad"}), setting=setting)
    assert said not in covered.warnings


@pytest.mark.parametrize("kind", ["pad", "roller", None])
def test_an_edge_that_cuts_is_a_cutting_edge_whatever_protects_it(kind):
    protect = {"coping": kind} if kind else {}
    found = one_edge(site.line("post", protect=protect), radius=0.7e-3)
    assert "cutting edge" in found.status
    burred = {"coping": site.edge(0.0, 0.0, radius=0.02, condition="burred")}
    assert "cutting edge" in one_edge(site.line("post", protect=protect), edges=burred).status


def test_a_cutting_edge_that_both_lines_are_kept_off_is_none():
    safety = site.line("bolt two", role="safety line")
    for working in (site.line("bolt"), site.line("post", high_directional="frame")):
        off = {"only": site.option(working, safety)}
        assert "cutting edge" not in one_edge(working, radius=0.3e-3, options=off).status
        over = {"only": site.option(working, SAFETY)}
        assert "cutting edge" in one_edge(working, radius=0.3e-3, options=over).status


def test_the_swing_of_a_catch_is_no_sideways_travel():
    working = site.line("post", protect={"coping": "pad"})
    only = {"only": site.option(working, site.line("other", role="safety line"))}
    assert "cutting edge" not in one_edge(working, radius=2.9e-3, options=only).status


def test_a_catch_that_swings_off_its_pad_is_said():
    """The crossing swings half of 2 m aside, a pad of 0.6 m covers 0.3 m to either side."""
    working = site.line("post", protect={"coping": "pad"})
    wide = site.line(
        "other", role="safety line", protect={"coping": site.protection("pad", covers=6.0)}
    )
    sleeve = site.line(
        "other", role="safety line", protect={"coping": site.protection("sleeve", fixed_to="rope")}
    )
    for safety, off in ((SAFETY, True), (wide, False), (sleeve, False)):
        found = one_edge(working, options={"only": site.option(working, safety)})
        assert any("off its protection" in said for said in found.warnings) == off


def test_an_edge_that_only_the_fall_reaches_is_judged():
    """The person stays above the ledge, which the fall of two metres takes the line over."""
    working = site.line("frame")
    job = {"lead": (site.work(600, 0.0),)}
    people = {"lead": site.person(start=site.exact(0.2), out=site.exact(0.3))}
    anchors = {"frame": site.anchor(0.3, 3.0), "back": site.anchor(-1.0, 1.0)}
    edges = {"ledge": site.edge(0.2, -0.5, radius=0.5e-3)}
    for anchor, cuts in (("back", True), ("frame", False)):
        line = site.line(anchor, role="safety line")
        only = {"only": site.option(working, line, people=people)}
        found = one_edge(working, options=only, job=job, anchors=anchors, edges=edges)
        assert ("cutting edge" in found.status) == cuts


def test_sideways_travel_cuts_on_a_bare_sharp_edge_only():
    # 5 m behind and 5 m below: the crossing moves half of 2 * sway
    bare, padded = site.line("post"), site.line("post", protect={"coping": "pad"})
    below = math.hypot(5.0, 0.3)
    sway = 0.011 * (5.0 + below) / 5.0 / 2.0
    assert "cutting edge" in one_edge(bare, sway=1.02 * sway).status
    assert "cutting edge" not in one_edge(bare, sway=0.98 * sway).status
    assert "cutting edge" not in one_edge(padded, sway=1.02 * sway).status
    assert "cutting edge" not in one_edge(bare, sway=1.02 * sway, radius=3.1e-3).status


def test_one_line_is_said_in_every_setting():
    for setting in ("industrial", "alpine", "test"):
        found = rigged(site.line("far bollards"), safety=None, setting=setting)
        assert "one line" in found.status


def test_a_machine_needs_no_second_line():
    options = {"only": site.option(site.line("far bollards"), who="machine", people={})}
    scenario = site.pier(site.line("far bollards"), options=options, people={}, job={})
    assert "one line" not in rig(scenario, "only").status


def test_protection_that_comes_after_the_load_counts_as_missing():
    working = site.line("post", protect={"coping": "pad"})
    late = {"lead": (site.cross("coping"), site.descend(2.0), site.place("coping"))}
    early = {"lead": (site.place("coping"), site.cross("coping"), site.descend(2.0))}
    taken = {"lead": (site.descend(2.0), site.remove("coping"), site.ascend(1.0))}
    again = {"lead": (site.descend(2.0), site.remove("coping"), site.place("coping"))}
    resting = {"lead": (site.rest(60.0), site.place("coping"), site.descend(2.0))}
    assert one_edge(working, job=resting).control == "soft"  # who rests does not load it yet
    assert one_edge(working, job=late).control == "bare"
    assert NOT_ACCEPTABLE in one_edge(working, job=late).status
    assert one_edge(working, job=early).control == "soft"
    assert one_edge(working, job=taken).control == "bare"
    # placed by a step at all: bare until then
    assert one_edge(working, job=again).control == "bare"


def test_what_others_place_counts_as_missing_at_first():
    working = site.line("post", protect={"coping": "pad"})
    job = {"lead": (site.descend(2.0),), "mate": (site.place("coping"),)}
    assert one_edge(working, job=job).control == "bare"
    job = {"lead": (site.place("coping"), site.descend(2.0)), "mate": (site.place("coping"),)}
    assert one_edge(working, job=job).control == "soft"
    job = {"lead": (site.place("coping"), site.descend(2.0)), "mate": (site.remove("coping"),)}
    assert one_edge(working, job=job).control == "bare"


def test_a_light_load_is_no_load():
    # 20 kg is 196 N, below the 200 N from which a line counts as loaded
    light = {"lead": site.person(mass=20.0)}
    only = site.option(site.line("post"), site.line("other", role="safety line"), people=light)
    found = one_edge(site.line("post"), options={"only": only})
    assert found.control == "edge avoided"
    assert NOT_ACCEPTABLE not in found.status


def test_a_bare_edge_under_the_safety_line_is_said_and_judged_only_where_it_is_loaded():
    bare, working = site.line("other", role="safety line"), site.line("bolt")
    said = "if the working line is lost, the safety line catches over bare coping"
    for safety, loaded, status, told in (
        (bare, False, False, True),
        (bare, True, True, True),
        (SAFETY, False, False, False),
    ):
        only = site.option(working, safety, both_lines_loaded=loaded)
        found = one_edge(working, radius=3.5e-3, options={"only": only})
        assert (NOT_ACCEPTABLE in found.status) == status
        assert any(text.startswith(said) for text in found.warnings) == told


def test_both_lines_loaded_counts_the_safety_lines_level_too():
    working, safety = site.line("bolt"), site.line("other", role="safety line")
    only = site.option(working, safety, both_lines_loaded=True)
    assert one_edge(working, options={"only": only}).control == "bare"


def test_a_bypass_that_does_not_bear_the_person_is_none():
    # the strongest push is 1.5 body weights of 100 kg, 1.47 kN
    weak = site.line("post", bypass={"coping": site.sling(clamps=1.4e3)})
    assert one_edge(weak).control == "bare"
    assert NOT_ACCEPTABLE in one_edge(weak).status
    enough = site.line("post", bypass={"coping": site.sling(clamps=1.5e3)})
    assert one_edge(enough).control == "bypass"


def test_a_bypass_of_a_machine_which_has_no_weight_on_record_counts():
    working = site.line("post", bypass={"coping": site.sling(clamps=1.0)})
    anchors = {"post": site.anchor(-5.0, 0.0), "other": site.anchor(-5.0, 0.0, along=2.0)}
    options = {"only": site.option(working, SAFETY, who="machine", people={})}
    edges = {"coping": site.edge(0.0, 0.0)}
    scenario = site.scenario(options, anchors=anchors, edges=edges, who="machine", people={})
    only = scenario.options["only"]
    [section, _] = Layout(scenario, only, ["machine"]).sections
    assert level_at(scenario, only, section, "coping") == "bypass"


def test_what_the_own_step_places_counts_without_being_named_before():
    kinds = {"pad": site.protection("pad")}
    job = {"lead": (site.place("coping", "pad"), site.cross("coping"), site.descend(2.0))}
    assert one_edge(site.line("post"), job=job, protections=kinds).control == "soft"


def test_an_edge_that_is_worked_over_is_not_freed_by_a_re_anchor_further_down():
    working = site.line("far bollards", protect=PADS, re_anchor=("pier bolts",))
    passing = {"lead": (site.cross("flange"), site.descend(18.0), site.work(600, 0.0))}
    assert rigged(working, job=passing).control == "re-anchored or deviated"
    above = {"lead": (site.cross("flange"), site.work(600, 0.0), site.descend(18.0))}
    found = rigged(working, job=above)
    assert found.edge_levels["flange"] == "soft"
    assert found.control == "soft"


KINDS = st.sampled_from([None, "pad", "sleeve", "roller", "edge plate", "bypass"])


@given(
    kinds=st.tuples(KINDS, KINDS, KINDS),
    radii=st.tuples(*[st.sampled_from([0.3e-3, 1e-3, 5e-3, 0.05])] * 3),
    setting=st.sampled_from(["industrial", "alpine", "test"]),
    re_anchored=st.booleans(),
    safe_from=st.sampled_from(["parapet posts", "far bollards", None]),
    padded=st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_no_rule_is_ever_broken(kinds, radii, setting, re_anchored, safe_from, padded):
    names = ("kerb", "flange", "ledge")
    points = ((-0.4, 0.2), (0.3, -1.0), (0.6, -3.5))
    edges = {
        name: site.edge(*point, radius=r)
        for name, point, r in zip(names, points, radii, strict=True)
    }
    given_kinds = dict(zip(names, kinds, strict=True))
    working = site.line(
        "far bollards",
        protect={n: k for n, k in given_kinds.items() if k not in (None, "bypass")},
        bypass={n: site.sling() for n, k in given_kinds.items() if k == "bypass"},
        re_anchor=("pier bolts",) if re_anchored else (),
    )
    pads = PADS if padded else {}
    safety = site.line(safe_from, role="safety line", protect=pads) if safe_from else None
    found = rig(site.pier(working, safety, edges=edges, setting=setting), "only")
    # the hierarchy
    assert LEVELS.index(found.control) == max(LEVELS.index(v) for v in found.edge_levels.values())
    assert set(found.why_not_higher) == set(LEVELS[: LEVELS.index(found.control)])
    if re_anchored:
        assert set(found.edge_levels.values()) == {"re-anchored or deviated"}
    # The passage over the edges comes before the re-anchor is reached. There, 4.5 m deep, the
    # line still runs clear of the ledge: (0.6, -3.5) lies inside (0.3, -1.0) .. (0.9, -4.5).
    loaded = [
        (kind, radius)
        for name, kind, radius in zip(names, kinds, radii, strict=True)
        if not (re_anchored and name == "ledge")
    ]
    bare = any(kind is None and radius < 0.044 for kind, radius in loaded)
    cutting = any(radius < 0.75e-3 for _, radius in loaded)
    if safe_from is not None:  # a catch loads the safety line over all three
        cutting = cutting or any(radius < 0.75e-3 for radius in radii)
        unsaid = not padded and any(radius < 0.044 for radius in radii) and setting != "test"
        assert any("catches over bare" in text for text in found.warnings) == unsaid
    assert (NOT_ACCEPTABLE in found.status) == (setting == "industrial" and bare)
    assert ("cutting edge" in found.status) == cutting
    assert ("one line" in found.status) == (safe_from is None)
    if safe_from == "far bollards":
        assert "not independent" in found.status


@pytest.mark.parametrize(("share", "bare"), [(0.999, True), (1.0, False), (1.001, False)])
def test_bare_is_below_so_many_diameters(share, bare):
    found = one_edge(site.line("post"), radius=share * BARE_BELOW_DIAMETERS * 0.011)
    assert (NOT_ACCEPTABLE in found.status) == bare


def test_protection_is_followed_through_any_list_of_steps():
    """Step by step: on from the first unless the person puts it on; loaded while off is bare."""
    acts = {"on": site.place("coping"), "off": site.remove("coping"), "load": site.descend(1.0),
            "on elsewhere": site.place("kerb"), "off elsewhere": site.remove("kerb"),
            "wait": site.rest(1.0),
            "lifted": site.cross("coping", protection="lifted")}  # fmt: skip
    came = set()
    for seed in range(400):
        dice = random.Random(seed)
        mine = dice.choices(list(acts), k=dice.randint(0, 6))
        theirs = dice.choices(["load", "wait", "on elsewhere", "off elsewhere", "on", "off"],
                              weights=[9, 9, 9, 9, 1, 1], k=dice.randint(0, 2))  # fmt: skip
        covered, bare, hangs = "on" not in mine, False, False
        for act in mine:
            covered = {"on": True, "off": False}.get(act, covered)
            hangs |= act in ("load", "lifted")
            bare |= not covered and (act == "load" or (act == "wait" and hangs))
            bare |= act == "lifted"  # off while the devices pass the edge
        bare |= "off" in theirs or ("on" in theirs and "on" not in mine)
        job = {who: tuple(acts[act] for act in some)
               for who, some in (("lead", mine), ("second", theirs))}  # fmt: skip
        option = site.option(site.line("post"))
        scenario = site.scenario(
            {"only": option}, job=job, anchors={"post": site.anchor(-5.0, 0.0)},
            edges={"coping": site.edge(0.0, 0.0)},
        )  # fmt: skip
        found = bare_at_times(scenario, option, "lead", "coping", "protection")
        assert found == bare, (mine, theirs)
        came.add((bare, "off" in mine, "on" in mine))
    assert len(came) == 8


@pytest.mark.parametrize("times", [1, 2, 5])
def test_an_edge_further_down_is_loaded_by_who_is_deeper_than_it(times):
    """Step by step and round by round; places a whole metre apart, edges half a metre off them."""
    came = set()
    for seed in range(300):
        dice = random.Random(seed)
        edge_m = dice.choice([2.0, 4.0, 7.0])
        acts = {"on": site.place("kerb"), "off": site.remove("kerb"), "wait": site.rest(1.0),
                "down": site.descend(1.0), "up": site.ascend(1.0)}  # fmt: skip
        inner = dice.choices(list(acts), weights=[2, 2, 2, 6, 3], k=dice.randint(1, 6))
        first, last = ["down"] * dice.randint(0, 5), ["down"] * dice.randint(0, 3)
        mine = first + inner * times + last
        covered, bare, depth_m = "on" not in mine, False, 1.5  # below the coping, crossed first
        for act in mine:
            before_m, depth_m = depth_m, depth_m + {"down": 1.0, "up": -1.0}.get(act, 0.0)
            covered = {"on": True, "off": False}.get(act, covered)
            loads = act in ("down", "up", "wait")
            bare |= not covered and loads and max(before_m, depth_m) > edge_m
        rounds = site.repeat(times, *(acts[act] for act in inner))
        begin, end = ([acts[act] for act in some] for some in (first, last))
        steps = [site.cross("coping"), *begin, rounds, *end]
        option = site.option(site.line("post", protect={"kerb": "pad"}))
        scenario = site.scenario(
            {"only": option}, job={"lead": tuple(steps)}, anchors={"post": site.anchor(-5.0, 0.0)},
            edges={"coping": site.edge(0.0, 0.0), "kerb": site.edge(0.3, -edge_m)},
        )  # fmt: skip
        assert bare_at_times(scenario, option, "lead", "kerb", "protection") == bare, mine
        came.add((bare, "on" in mine, "off" in mine))
    assert len(came) > 5


@pytest.mark.parametrize(
    ("acts", "cover"),
    [
        (("load", "load"), "pad"),
        (("on", "load"), "pad"),
        (("load", "off", "on", "load"), None),  # on only after it was loaded
        (("load", "on", "load"), None),
        (("load", "off"), "pad"),
        (("load", "off", "load"), None),  # off while it is loaded again
    ],
)
def test_an_edge_that_is_bare_at_times_counts_as_bare(acts, cover):
    steps = {"on": site.place("coping"), "off": site.remove("coping"), "load": site.descend(2.0)}
    job = {"lead": tuple(steps[act] for act in acts)}
    option = site.option(site.line("post", protect={"coping": "pad"}))
    scenario = site.scenario(
        {"only": option}, job=job, anchors={"post": site.anchor(-5.0, 0.0)},
        edges={"coping": site.edge(0.0, 0.0)},
    )  # fmt: skip
    [section] = Layout(scenario, option, ["lead"]).covered
    assert [item.protection for item in section.edges] == [cover]


@pytest.mark.parametrize("lowered", [False, True])
@pytest.mark.parametrize(("depth_m", "deeper"), [(4.0, False), (12.0, True)])
def test_whom_others_move_may_be_deeper_than_their_own_steps_lead(lowered, depth_m, deeper):
    """Nobody knows when: the pad at 9 m comes too late then, wherever it is placed."""
    job = {
        "lead": (site.cross("coping"), site.descend(depth_m - 1.5), site.place("kerb"),
                 site.descend(10.0)),
        "second": (site.haul(3.0, "lead"),) if lowered else (),
    }  # fmt: skip
    option = site.option(site.line("post", protect={"kerb": "pad"}))
    scenario = site.scenario(
        {"only": option}, job=job, anchors={"post": site.anchor(-5.0, 0.0)},
        edges={"coping": site.edge(0.0, 0.0), "kerb": site.edge(0.3, -9.0)},
    )  # fmt: skip
    found = bare_at_times(scenario, option, "lead", "kerb", "protection")
    assert found == (deeper or lowered)
