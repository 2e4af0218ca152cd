"""The same site by coordinates, leg by leg and with its bends given: the same line."""

from __future__ import annotations

import math

import pytest

from edgewear.rigging import rig
from edgewear.rigging.laying import lay
from edgewear.scenario import load_text
from support.site import facts

BODY = """
ropes: {rope: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {lead: {mass: 100 kg, out: 0.6 m}}
job: [{descend: 12 m}, {work: {for: 10 min, sway: 0 m}}]
"""
BY_COORDINATES = """edgewear: 1
title: a site
setting: test
anchors: {post: {out: -4 m, up: 1.1 m}}
edges:
  parapet: {out: 0 m, up: 0 m, radius: 10 mm, surface: concrete}
  string: {out: 0.3 m, up: -1.4 m, radius: 5 mm, surface: steel}
options: {only: {rope: rope, anchor: post}}
"""
BY_LEGS = """edgewear: 1
title: a site
setting: test
anchors:
  post:
    legs: ["4 m back, 1.1 m up, over the parapet", "0.3 m out, 1.4 m down, over string"]
edges:
  parapet: {radius: 10 mm, surface: concrete}
  string: {radius: 5 mm, surface: steel}
options: {only: {rope: rope, anchor: post}}
"""

# by hand: the fall of each straight piece below the level
FIRST = math.atan2(1.1, 4.0)
SECOND = math.atan2(1.4, 0.3)
DEEP = 1.4 + 3.0 + 12.0  # 3 m below the last edge, then down
THIRD = math.atan2(DEEP - 1.4, 0.3)
GIVEN = f"""edgewear: 1
title: a site
setting: test
edges:
  parapet: {{radius: 10 mm, surface: concrete}}
  string: {{radius: 5 mm, surface: steel}}
options:
  only:
    rope: rope
    over:
      - {{edge: parapet, after: {math.hypot(4.0, 1.1):.13f} m, bend: {SECOND - FIRST:.13f} rad}}
      - {{edge: string, after: {math.hypot(0.3, 1.4):.13f} m, bend: {THIRD - SECOND:.13f} rad}}
"""


def line(text, depth):
    rigged = rig(load_text(text + BODY, "site.yaml"), "only")
    laid = lay(rigged.sections[0], depth)
    return laid, rigged, facts(load_text(text + BODY, "site.yaml"), "only")["sections"][0]


def test_three_ways_to_say_a_site_give_one_line():
    placed, rigged, said = line(BY_COORDINATES, DEEP)
    walked, by_legs, said_of_legs = line(BY_LEGS, DEEP)
    given, direct, said_of_bends = line(GIVEN, math.hypot(0.3, DEEP - 1.4))
    assert rigged.start_depth_m == pytest.approx(4.4, abs=1e-12)
    assert by_legs.start_depth_m == pytest.approx(4.4, abs=1e-12)
    assert direct.start_depth_m == pytest.approx(3.0, abs=1e-12)  # counted from the last edge
    for other in (walked, given):
        assert other.free_m == pytest.approx(placed.free_m, abs=1e-9)
        assert other.bends_rad == pytest.approx(placed.bends_rad, abs=1e-9)
        assert other.setback_m(1) == pytest.approx(placed.setback_m(1), abs=1e-9)
    assert said_of_legs["stretch_m"] == pytest.approx(said["stretch_m"], abs=1e-9)
    # depth counts from the last edge there, along the rope: 0.3 m out over 15 m is 3 mm
    assert said_of_bends["stretch_m"] == pytest.approx(said["stretch_m"], rel=2e-4)
