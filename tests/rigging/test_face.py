"""Along a stepped face nobody carries more than their weight, and plumb is where air is below."""

from __future__ import annotations

from itertools import pairwise
from math import cos, exp, hypot, inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear import simulate
from edgewear.rigging import rig
from edgewear.rigging.face import MOST_POINTS, face
from edgewear.rigging.laying import lay
from edgewear.rigging.model import EdgeOnLine, Section
from edgewear.rigging.survey import STAND_OFF
from edgewear.scenario import load_text
from support import site

STEPS = st.lists(
    st.tuples(st.floats(-0.3, 3.0), st.floats(0.1, 4.0)), min_size=1, max_size=6
)  # how much further out and down each edge lies than the one before [m]
ANCHORS = st.tuples(st.floats(-20.0, -0.2), st.floats(-0.5, 2.0))
FRICTION = 0.2
BESIDE_M = 1e-5


def stepped(steps: list[tuple[float, float]]) -> dict[str, tuple[float, float, float]]:
    """Middles of edges, the first at the origin."""
    out = down = 0.0
    found = {"edge 0": (0.0, 0.0, 0.0)}
    for k, (further, lower) in enumerate(steps, 1):
        out, down = out + further, down + lower
        found[f"edge {k}"] = (out, 0.0, -down)
    return found


def section_over(edges: dict, anchor: tuple[float, float]) -> Section:
    """A line over the edges, its load on the way along their face."""
    plumb_m = max(p[0] for p in edges.values()) + STAND_OFF.value
    way = tuple((p.depth_m, p.out_m, 0.0) for p in face(edges, plumb_m))
    items = [EdgeOnLine(n, (x, -9.0, z), (x, 9.0, z), None, 0.0, 0.0)
             for n, (x, _, z) in edges.items()]  # fmt: skip
    items.sort(key=lambda item: item.start_m[0] - item.start_m[2])
    return Section("working line", "working line", "lead", "rope", "posts",
                   (anchor[0], 0.0, anchor[1]), tuple(items), False, (plumb_m, 0.0), -inf, inf,
                   way, way)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(steps=STEPS, anchor=ANCHORS, share=st.floats(0.0, 1.0))
def test_a_person_at_rest_carries_at_most_their_weight_times_the_friction_gain(
    steps, anchor, share
) -> None:
    """Virtual work: the rope's tension is the weight over the rope that a metre of depth takes."""
    section = section_over(stepped(steps), anchor)
    if not section.track_m:
        return
    top, bottom = section.track_m[0][0], section.track_m[-1][0] + 3.0
    depth = top + 0.05 + share * (bottom - top)
    above, below = lay(section, depth - BESIDE_M), lay(section, depth + BESIDE_M)
    if above.edges != below.edges:  # the rope comes onto an edge just there
        return
    over_weight = 2.0 * BESIDE_M / (below.length_m - above.length_m)
    gain = exp(FRICTION * sum(above.bends_rad))
    # whoever stands off a plumb face 1.5 m below its edge pulls the rope aside by that much
    aside = 1.0 / cos(STAND_OFF.value / 1.5)
    # 1e-4: the length between two depths 2e-5 m apart, to 1e-15 of some 10 m
    assert over_weight <= max(gain, aside) + 1e-4


@given(steps=STEPS)
def test_a_way_goes_down_and_never_through_an_edge(steps) -> None:
    edges = stepped(steps)
    plumb_m = max(p[0] for p in edges.values()) + STAND_OFF.value
    way = face(edges, plumb_m)
    assert len(way) <= MOST_POINTS
    if not way:
        assert all(p[0] <= 0.02 for p in edges.values())  # nothing stands out: plumb all along
        return
    assert all(a.depth_m < b.depth_m for a, b in pairwise(way))
    section = section_over(edges, (-5.0, 0.5))
    for out, _, up in edges.values():
        assert section.load_at(-up)[0] > out
    assert way[-1].out_m == plumb_m
    assert section.load_at(way[-1].depth_m + 10.0)[0] == plumb_m


SITE = """\
edgewear: 1
title: three receding edges
setting: test
anchors: {posts: {out: -6 m, up: 0.5 m, kind: pair}}
edges:
  one: {out: 0 m, up: 0 m, radius: 10 mm, surface: steel}
  two: {out: 2 m, up: -3 m, radius: 10 mm, surface: steel}
  three: {out: 4.5 m, up: -5 m, radius: 10 mm, surface: steel}
ropes: {rope: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {lead: {mass: 110 kg, technique: smooth}}
options: {only: {anchor: posts, rope: rope}}
job: [{cross edge: one}, {rest: 1 min}]
when: {core visible: carry on}
"""


def test_below_the_first_of_three_receding_edges_the_weight_is_enough() -> None:
    [line] = simulate(load_text(SITE, "receding"))["lines"]
    # one edge is touched: hung on slowly, the rope below it carries what the slope leaves
    assert line["peak_tension_n"] <= 110 * 9.81
    # 1.5 m down a face of 2 m to 3 m the rope lies along it, and bears its share of the weight
    assert line["peak_tension_n"] == pytest.approx(110 * 9.81 * 3 / hypot(2, 3), rel=0.03)


def test_a_plain_face_is_plumb_as_before() -> None:
    edges = {"kerb": site.edge(0.0, 0.0), "string": site.edge(-0.5, -2.0)}
    scenario = site.pier(site.line("far bollards"), edges=edges, job={"lead": (site.descend(9.0),)})
    section = rig(scenario, "only").sections[0]
    assert section.track_m == ()
    assert section.load_m[0] == pytest.approx(0.3)
