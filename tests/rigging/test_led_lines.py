"""Families of lines led through deviations: no sling reaches further than it is long.

A ring is moved to where the line is shortest, with the crossings beside it as they lie; those are
then moved to the ring. A ring may draw a crossing so far aside that nothing pulls the ring any
more, though the line without it would pass far beyond its sling.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from edgewear import load
from edgewear.mechanics.contacts.led_line import ground_of
from edgewear.mechanics.contacts.led_line import lay as lay_compiled
from edgewear.rigging import rig
from edgewear.rigging.laying import lay, lay_to, taut_through
from edgewear.rigging.model import EdgeOnLine, Section
from support import site
from support.section_records import records

NEAR_M = 1e-9  # rings are moved until none moves by more than 1e-11 m; a line adds up a few


def edge(name, out, up):
    return EdgeOnLine(name, (out, -10.0, up), (out, 10.0, up), None, 0.0, 0.0)


def led(name, point, reach):
    return EdgeOnLine(name, point, point, None, 0.0, 0.0, kind="deviation", reach_m=reach)


def metres(low, high):
    return st.floats(low, high).map(lambda value: round(value, 3))


@st.composite
def lines(draw):
    """An anchor behind one to three edges, one or two deviations between or below, and a load.

    No two rings can meet: where they lie in one place, neither is moved alone to a shorter line.
    """
    items = [edge("top", 0.0, 0.0)]
    if draw(st.booleans()):
        items.append(edge("ledge", draw(metres(0.1, 0.6)), draw(metres(-3.0, -0.5))))
    height = -3.5
    for name in ("first", "second")[: draw(st.integers(1, 2))]:
        height -= draw(metres(1.3, 5.0))
        place = (draw(metres(0.1, 1.5)), draw(metres(-1.5, 1.5)), height)
        items.append(led(name, place, draw(metres(0.05, 0.6))))
    if draw(st.booleans()):
        items.append(edge("beam", draw(metres(0.5, 1.0)), height - draw(metres(0.2, 8.0))))
    below = draw(st.sampled_from([0.05, 0.3, 2.0, 30.0]))
    load = (draw(metres(0.9, 1.6)), draw(metres(-0.5, 0.5)), height - below)
    anchor = (draw(metres(-10.0, -1.0)), draw(metres(-2.0, 2.0)), 0.3)
    return anchor, tuple(items), load


def off_m(path, k, centre):
    """How far from an anchor the line passes that a deviation there may lead."""
    passed = sum(n < k for n in path.edges)
    a, b = (np.array(path.points[passed + d]) for d in (0, 1))
    if k in path.edges:
        return float(np.linalg.norm(b - centre))
    share = np.clip((centre - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
    return float(np.linalg.norm(a + share * (b - a) - centre))


@given(lines())
@settings(max_examples=300)
def test_no_line_passes_beyond_the_length_of_a_sling(made) -> None:
    anchor, items, load = made
    path = taut_through(anchor, items, load)
    for k, item in enumerate(items):
        if item.kind == "deviation":
            assert off_m(path, k, np.array(item.start_m)) <= item.reach_m + NEAR_M


@given(lines(), st.integers(0, 2**32 - 1))
@settings(max_examples=60)
def test_no_other_place_of_a_ring_makes_the_line_shorter(made, seed) -> None:
    anchor, items, load = made
    path = taut_through(anchor, items, load)
    draws = np.random.default_rng(seed)
    for k, item in enumerate(items):
        if item.kind != "deviation":
            continue
        aside = draws.normal(size=3)
        aside *= item.reach_m * draws.random() / np.linalg.norm(aside)
        place = np.array(item.start_m) + aside
        held = EdgeOnLine(item.name, tuple(place), tuple(place), None, 0.0, 0.0,
                          kind="high directional")  # fmt: skip
        other = taut_through(anchor, (*items[:k], held, *items[k + 1 :]), load)
        assert path.length_m <= other.length_m + NEAR_M


def _reaches(one, edge) -> bool:
    out, up = one.start_m[0] - edge.start_m[0], one.start_m[2] - edge.start_m[2]
    return float(np.hypot(out, up)) <= one.reach_m and one is not edge


@given(lines())
@settings(max_examples=200)
def test_the_kernels_lay_the_same_line(made) -> None:
    """An edge within the reach of a sling is left out: where a ring lies on the very crossing the
    rope may rest at more places than one, and the two programs need not choose the same."""
    anchor, items, load = made
    assume(not any(_reaches(one, edge) for one in items for edge in items if edge.reach_m == 0.0))
    section = Section(
        "line", "working line", "climber", "rope", "anchor", anchor, items, False, load[:2],
        -np.inf, np.inf,
    )  # fmt: skip
    plain = lay_to(section, load)
    ground = ground_of(*records(section))
    count = lay_compiled(ground, -load[2])
    assert tuple(ground.item[:count]) == plain.edges
    pieces = np.linalg.norm(np.diff(ground.points[: count + 2], axis=0), axis=1)
    assert pieces.sum() == pytest.approx(plain.length_m, abs=NEAR_M)


def deviated(out, along, down, sling):
    anchors = {
        "top": site.anchor(-3.0, 0.5),
        "clamp": site.anchor(out, -down, along=along),
    }
    line = site.line("top", deviations=(site.deviation("clamp", sling),))
    return rig(site.pier(line, anchors={**site.PIER, **anchors}), "only").sections[0]


@given(metres(-0.2, 1.4), metres(-1.5, 1.5), metres(5.0, 12.0), metres(0.02, 1.0))
@settings(max_examples=100)
def test_a_line_gets_no_longer_in_a_jump_where_its_load_passes_a_deviation(
    out, along, down, sling
) -> None:
    section = deviated(out, along, down, sling)
    passing = [down - 1e-6, down, down + 1e-6]
    above, at, below = (np.array([*section.load_at(d), -d]) for d in passing)
    longer = lay(section, passing[-1]).length_m - lay(section, passing[0]).length_m
    # The load passes within the ring's reach, so that a line from there on to below fits the ring.
    assert abs(longer) <= np.linalg.norm(at - above) + np.linalg.norm(below - at) + NEAR_M


JOB = """
edgewear: 1
title: past a deviation
setting: test
anchors:
  top: {{out: -3 m, up: 0.5 m, kind: pair, strength: 22 kN}}
  clamp: {{out: {out:.2f} m, along: {along:.2f} m, up: -{down:.2f} m, strength: 22 kN}}
edges:
  coping: {{out: 0 m, up: 0 m, is: chamfered concrete}}
  ledge: {{out: {ledge:.2f} m, up: -2 m, radius: 5 mm, surface: steel}}
ropes: {{rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{climber: {{mass: 90 kg, technique: {technique}}}}}
options:
  led: {{anchor: top, rope: rope, deviations: [{{anchor: clamp, sling: {sling:.2f} m}}]}}
job: [{{cross edge: coping}}, {{descend: 15 m}}, {{ascend: 13 m}}]
"""


@pytest.mark.parametrize("seed", range(30))
def test_people_climb_past_a_deviation_wherever_it_is(seed) -> None:
    draws = np.random.default_rng(seed)
    text = JOB.format(
        out=draws.uniform(-0.2, 1.4),
        along=draws.uniform(-1.5, 1.5),
        down=draws.uniform(4.0, 13.0),
        ledge=draws.uniform(0.2, 0.8),
        sling=draws.choice([0.05, 0.2, 0.6, 1.0]),
        technique=draws.choice(["smooth", "normal", "jerky"]),
    )
    assert load(text).run("led").outcome().status == "ok"
