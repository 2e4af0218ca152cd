"""Who of those around a casualty can come, and what is there: each said by one thing alone."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import inf

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from edgewear.procedure.rescue_ways.moment import Moment, Someone, people_of, watchers
from edgewear.procedure.rescue_ways.scene import (
    ON_TOP,
    Engaged,
    Scene,
    cannot_reach,
    is_free,
    stands_on_top,
    where,
)
from edgewear.rigging import rig
from edgewear.scenario import load_text
from edgewear.terms import GRAVITY_M_S2, SAFETY, WORKING
from support.planted.sound import text_of

OPTION, KG = "as written", 90.0
HANGING = {"hangs": True, "depth_m": 12.0}


@cache
def _rigged(text: str):
    scenario = load_text(text, "made.yaml")
    return scenario, tuple(rig(scenario, OPTION).sections)


def rigged(changes: tuple = ()):
    """The sound procedure with some changes, and its rigging."""
    return _rigged(text_of("pick-off", dict(changes)))


def scene(rescuer=None, changes=(), extra=None, engaged=None, **moment) -> Scene:
    """The technician hangs 8 m deep; the rescuer stands on top, or is as given."""
    scenario, sections = rigged(tuple(changes))
    people = {
        "technician": Someone("technician", hangs=True, depth_m=8.0, able=False),
        "rescuer": Someone("rescuer", **(rescuer or {})),
    }
    there = Moment(1000, people, **moment)
    return Scene(scenario, OPTION, sections, there, "technician", extra or {},
                 engaged or Engaged())  # fmt: skip


@pytest.mark.parametrize(
    ("rescuer", "why"),
    [
        ({}, ""),
        (HANGING, ""),
        ({"fell": True, "able": False}, "rescuer has fallen"),
        ({"able": False}, "rescuer cannot act"),
        ({"carried_by": "technician"}, "rescuer hangs on the lines of technician"),
        ({"carries": ["ann", "bob"]}, "rescuer carries ann and bob"),
        ({"lost": {WORKING}}, "rescuer hangs on one line, the other is lost"),
    ],
)
def test_somebody_is_free_unless_one_thing_keeps_them(rescuer, why) -> None:
    assert is_free(scene(rescuer), "rescuer") == why


@pytest.mark.parametrize(
    ("until", "why"), [(0.0, ""), (1000.0, ""), (1001.0, "who is away"), (inf, "who is away")]
)
def test_whoever_only_watches_is_free_unless_away(until: float, why: str) -> None:
    """The fault ends at a tick: from it on they are back."""
    assert is_free(scene(away_until=until), "who") == why
    assert is_free(scene(away_until=until), "rescuer") == ""


@pytest.mark.parametrize(
    ("rescuer", "more", "why"),
    [
        (HANGING, {}, ""),
        (HANGING, {"engaged": Engaged({"rescuer": "ann"})}, "rescuer is with ann"),
        (HANGING, {"engaged": Engaged({"bob": "ann"})}, ""),
        ({**HANGING, "stuck": "device jammed"}, {}, "rescuer cannot go on: device jammed"),
        (HANGING, {"heard_from": 1001.0},
         "rescuer cannot be called: communication is lost"),
        (HANGING, {"heard_from": 1000.0}, ""),
        ({}, {"heard_from": inf}, ""),  # on top they are told by word of mouth
    ],
)  # fmt: skip
def test_somebody_comes_along_their_lines_unless_one_thing_keeps_them(rescuer, more, why) -> None:
    assert cannot_reach(scene(rescuer, **more), "rescuer") == why


@pytest.mark.parametrize(
    ("rescuer", "top", "said"),
    [
        ({}, True, ON_TOP),
        (HANGING, False, "12.0 m deep"),
        ({"hangs": True}, False, "on their lines"),
        ({"carried_by": "technician", "depth_m": 3.0}, False, "3.0 m deep"),
        ({"fell": True}, False, "on their lines"),
    ],
)
def test_who_does_not_hang_stands_on_top(rescuer, top, said) -> None:
    there = scene(rescuer)
    assert stands_on_top(there, "rescuer") == top
    assert where(there, "rescuer") == said
    assert stands_on_top(there, "edge attendant")
    assert where(there, "edge attendant") == ON_TOP


def test_one_waits_for_those_at_a_rope_alone() -> None:
    engaged = Engaged(hands=frozenset({"ann"}), until_s=70.0)
    assert [engaged.wait_s(names) for names in (["ann", "bob"], ["bob"], [])] == [70.0, 0.0, 0.0]


@pytest.mark.parametrize(
    ("role", "along_m"), [(WORKING, {"technician": 0.0, "rescuer": 1.6}),
                          (SAFETY, {"technician": 0.8, "rescuer": 2.4})]
)  # fmt: skip
def test_who_hangs_is_plumb_below_the_anchor_of_the_line_that_holds(role, along_m) -> None:
    there = scene({**HANGING, "role": role})
    there.moment.people["technician"].role = role
    found = {name: there.along_m(one) for name, one in there.moment.people.items()}
    assert found == pytest.approx(along_m, abs=1e-9)  # of metres, solved for
    assert there.along_m(Someone("edge attendant")) == 0.0


def test_what_hangs_is_all_that_is_carried_and_was_added() -> None:
    there = scene({"carries": ["technician"]}, extra={"technician": 20.0, "rescuer": 5.0})
    assert there.mass_kg("technician") == KG + 20.0
    assert there.mass_kg("rescuer") == 2 * KG + 25.0
    assert there.mass_kg("edge attendant") == 0.0
    assert there.mass_kg() == 0.0


def test_a_casualty_who_was_taken_over_hangs_where_the_other_does() -> None:
    there = scene({**HANGING, "carries": ["technician"]})
    there.moment.people["technician"].carried_by = "rescuer"
    assert (there.held_by.name, there.depth_m) == ("rescuer", 12.0)
    assert (scene().held_by.name, scene().depth_m) == ("technician", 8.0)


BELOW = (("below", {"roof": "-7.9 m", "here": "-8 m", "ground": "-30 m", "ledge": "-20 m"}),)


def test_the_first_thing_below_somebody_is_where_they_could_stand() -> None:
    assert scene(changes=BELOW).ground() == ("ledge", 20.0)
    assert scene(changes=(("below", None),)).ground() is None
    deep = replace(scene(changes=BELOW))
    deep.moment.people["technician"].depth_m = 31.0
    assert deep.ground() is None


LEDGE = {"out": "0.5 m", "up": "-3 m", "radius": "60 mm", "surface": "steel"}
SPURS = tuple(
    (f"anchors/{name}", {"out": out, "up": "0 m", "along": "5 m", "kind": "pair",
                         "is": "structural steel"})
    for name, out in (("behind", "-0.1 m"), ("at it", "0 m"), ("before", "0.2 m"))
)  # fmt: skip


def test_one_stands_behind_every_edge() -> None:
    """Edges at 0 m and 0.5 m out: the first of them is where the face begins."""
    there = scene(changes=(("edges/ledge", LEDGE), *SPURS))
    assert [there.stands_at(name) for name in ("behind", "at it", "before", "none such")] == [
        True, False, False, True]  # fmt: skip
    further = scene(changes=(("edges/lip/out", "0.15 m"), ("edges/ledge", LEDGE), *SPURS))
    assert [further.stands_at(name) for name in ("at it", "before")] == [True, False]
    assert there.rim_m("technician") == 0.0  # the edge that they cross, not the lowest


HEIGHTS = st.integers(-30, 40)


@given(
    st.lists(st.tuples(st.integers(-20, 20), HEIGHTS), min_size=1, max_size=3),
    st.tuples(st.integers(-30, 30), HEIGHTS),
)
@settings(deadline=None)
def test_who_stands_at_the_highest_edge_reaches_a_point_just_above_it(edges, point) -> None:
    """In tenths of a metre: what lies behind an edge of the upper ones, or an arm from one."""
    made = [(f"edges/e{k}", {"out": f"{out / 10} m", "up": f"{up / 10} m",
                             "radius": "4 mm", "surface": "steel"})
            for k, (out, up) in enumerate(edges)]  # fmt: skip
    made = [("edges/lip/out", f"{edges[0][0] / 10} m"), ("edges/lip/up", f"{edges[0][1] / 10} m"),
            *made[1:]]  # fmt: skip
    out, up = point
    spur = ("anchors/spur", {"out": f"{out / 10} m", "up": f"{up / 10} m", "along": "5 m"})
    there = scene(changes=(*made, spur))
    top = max(height for _, height in edges)
    at_its_end = {abs(out - at) for at, _ in edges} | {top - height for _, height in edges}
    assume(8 not in at_its_end and up - top != 30)  # rounding decides
    upper = [at for at, height in edges if top - height <= 8]
    above = up > top
    arm = any(abs(out - at) <= 8 for at in upper) and up - top <= 30
    behind_all = out < min(at for at, _ in edges)
    assert there.stands_at("spur") == (behind_all or (above and (out < min(upper) or arm)))
    assert there.over_the_top("spur") == above


@pytest.mark.parametrize("wide_m", [0.6, 0.8, 1.0, 1.5])
@pytest.mark.parametrize("up_m", [0.3, 2.2, 3.0])
def test_over_a_manhole_one_stands_beside_it(wide_m: float, up_m: float) -> None:
    rims = [("edges/lip/out", f"{-wide_m / 2} m"), ("edges/lip/up", "0 m"),
            ("edges/far", {"out": f"{wide_m / 2} m", "up": "0 m", "radius": "4 mm",
                           "surface": "steel"}),
            ("anchors/tripod", {"out": "0 m", "up": f"{up_m} m", "along": "5 m"})]  # fmt: skip
    assert scene(changes=tuple(rims)).stands_at("tripod")


def test_others_pull_at_the_fixed_point_that_they_hang_on() -> None:
    there = scene(HANGING, extra={"rescuer": 10.0})
    pull_n = (KG + 10.0) * GRAVITY_M_S2
    assert there.on_anchor_n("mid east", set()) == pull_n
    assert there.on_anchor_n("mid east", {"rescuer"}) == 0.0
    assert there.on_anchor_n("west", {"technician"}) == 0.0
    assert there.on_anchor_n("west", set()) == KG * GRAVITY_M_S2
    assert scene().on_anchor_n("mid east", set()) == 0.0  # the rescuer stands
    caught = scene({**HANGING, "role": SAFETY})
    assert caught.on_anchor_n("east", set()) == KG * GRAVITY_M_S2
    assert caught.on_anchor_n("mid east", set()) == 0.0


@pytest.mark.parametrize(
    ("moment", "why"),
    [
        ({}, ""),
        ({"gone": {"west"}}, "does not hold any more"),
        ({"gone": {"east"}}, ""),
        ({"parted": {"technician working line"}, "spent": {"technician working line"}},
         "does not hold any more"),
        ({"spent": {"technician working line"}}, "is lost: its core shows"),
        ({"spent": {"technician safety line"}}, ""),
    ],
)  # fmt: skip
def test_a_line_is_lost_by_its_fixed_point_or_its_rope(moment, why) -> None:
    there = scene(**moment)
    section = there.section("technician", WORKING, 8.0)
    assert section is not None
    assert there.lost(section) == (f"the technician working line {why}" if why else "")


def test_what_lies_on_an_edge_is_there_until_it_is_bare() -> None:
    for bare, pieces in (({}, ["pad"]), ({"bare": {"lip"}}, [None])):
        section = scene(**bare).section("technician", WORKING, 8.0)
        assert [edge.protection for edge in section.edges] == pieces
    assert scene().section("edge attendant", WORKING, 8.0) is None
    assert scene().line_of("edge attendant", WORKING) is None
    lines = rigged()[0].options[OPTION].lines["rescuer"]
    assert scene().line_of("rescuer", WORKING) == lines.working
    assert scene().line_of("rescuer", SAFETY) == lines.safety


@pytest.mark.parametrize(("radius", "sharp"), [("60 mm", False), ("1 mm", True)])
def test_an_edge_far_below_a_rope_s_diameter_is_sharp(radius: str, sharp: bool) -> None:
    there = scene(changes=(("edges/lip/radius", radius),))
    section = there.section("technician", WORKING, 8.0)
    assert there.is_sharp(section, "lip") == sharp
    assert not there.cuts("lip")
    assert not there.cuts("none such")


NOBODY = (("lines/technician/attendant", None), ("when", {}))
OTHER = (("lines/rescuer/safety line/attendant", "technician"),)


def test_whoever_a_line_or_the_scenario_names_watches() -> None:
    found = [watchers(rigged(names)[0], OPTION) for names in ((), NOBODY, NOBODY + OTHER, OTHER)]
    assert found == [["edge attendant"], [], ["technician"], ["edge attendant", "technician"]]
    own = {"technician": True, "rescuer": True}
    assert people_of(rigged()[0], OPTION) == {**own, "edge attendant": False}
    assert people_of(rigged(NOBODY + OTHER)[0], OPTION) == own


@pytest.mark.parametrize(
    ("out_m", "up_m", "reached"),
    [(0.8, 1.0, True), (0.81, 1.0, False), (0.8, 3.0, True), (0.8, 3.01, False),
     (-0.4, 9.0, True), (0.4, 9.0, False), (0.4, 0.01, True), (0.4, -0.01, False)],
)  # fmt: skip
def test_whoever_stands_at_the_highest_edge_reaches_so_far_out_and_up(out_m, up_m, reached) -> None:
    """0.8 m out and 3 m up, both still within reach; behind the edge at any height."""
    spur = {"out": f"{out_m} m", "up": f"{up_m} m", "along": "5 m", "kind": "pair",
            "is": "structural steel"}  # fmt: skip
    assert scene(changes=(("anchors/spur", spur),)).stands_at("spur") == reached


@pytest.mark.parametrize(("down_m", "counts"), [(0.8, True), (0.81, False)])
def test_an_edge_an_arm_below_the_highest_is_one_to_stand_at(down_m, counts) -> None:
    step = {"out": "2 m", "up": f"-{down_m} m", "radius": "60 mm", "surface": "steel"}
    spur = {"out": "2.5 m", "up": "1 m", "along": "5 m", "kind": "pair", "is": "structural steel"}
    there = scene(changes=(("edges/step", step), ("anchors/spur", spur)))
    assert there.stands_at("spur") == counts


def test_a_point_that_nobody_placed_is_not_known_to_lie_above() -> None:
    there = scene()
    assert [there.over_the_top(name) for name in ("west", "no such")] == [True, False]
