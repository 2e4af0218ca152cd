"""What people together ask of an anchor, and each rope of its line."""

from __future__ import annotations

import pytest

from edgewear.rigging.findings.facts import facts
from edgewear.scenario.models import scenario as models
from support import site

G = 9.81
HEAVY, LIGHT = 100.0, 80.0
PUSH = 1.5  # of the weight, the legs' largest, as the support's people have it


def two_on_one(**more):
    """Two people, each on a line of their own from one beam clear of edges; safety lines apart."""
    anchors = {
        "beam": site.anchor(0.0, 0.0, strength=3e3),
        "left": site.anchor(0.0, 0.0, along=-2.0),
        "right": site.anchor(0.0, 0.0, along=2.0),
    }
    people = {"ann": site.person(HEAVY), "ben": site.person(LIGHT)}
    lines = {
        who: models.PersonLines.model_construct(
            working=site.line("beam"),
            safety=site.line(fixed, role="safety line", backup=site.backup()),
        )
        for who, fixed in (("ann", "left"), ("ben", "right"))
    }
    option = site.option(None, lines=lines, people=people, **more)
    job = {who: (site.descend(10.0),) for who in people}
    return site.scenario({"only": option}, anchors=anchors, people=people, job=job)


def borne(scenario, name):
    return {one.case: one for one in facts(scenario, "only").bears if one.name == name}


def test_an_anchor_bears_what_all_who_hang_on_it_ask_together():
    beam = borne(two_on_one(), "beam")
    # nothing bends the lines: weights times the legs' push add up
    assert beam["in work"].load == pytest.approx((HEAVY + LIGHT) * G * PUSH, rel=1e-9)
    assert set(beam["in work"].people) == {"ann", "ben"}
    assert len(beam["in work"].lines) == 2
    # a casualty of 100 kg on one line while the other person works: the harder of the two ways
    ways = [(LIGHT + 100) * G + HEAVY * G * PUSH, (HEAVY + 100) * G + LIGHT * G * PUSH]
    assert beam["rescue"].load == pytest.approx(max(ways), rel=1e-9)
    assert beam["rescue"].others == pytest.approx(HEAVY * G * PUSH, rel=1e-9)


def test_an_anchor_of_one_person_bears_no_more_than_theirs():
    left = borne(two_on_one(), "left")
    assert left["catch"].others == 0.0
    assert left["catch"].people == ("ann",)


def test_a_rope_holds_what_its_knots_leave_of_it():
    ropes = [one for one in facts(two_on_one(), "only").bears if one.kind == "rope"]
    assert {one.most for one in ropes} == {30e3 * 0.65}  # as the support's rope is made
