"""Knots and clamped slings that a haul, a lower or a shift would pull past an edge."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.rigging.problems import problems
from edgewear.rigging.rig import rig
from edgewear.scenario import load_text

TEXT = """edgewear: 1
title: what is pulled past an edge
setting: alpine
anchors:
  post: {{out: -4 m, up: 1 m, kind: pair, releasable: yes}}
  other: {{out: -4 m, along: 6 m, up: 1 m, kind: pair}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 60 mm, surface: steel}}}}
ropes: {{r: {{like: low-stretch 11, length: 90 m, stopper: yes}}}}
people: {{tech: {{mass: 80 kg, along: 0 m}}, mate: {{mass: 80 kg, along: 6 m}}}}
lines:
  tech: {{anchor: post, rope: r{line}}}
  mate: {{anchor: other, rope: r}}
options: {{only: {{}}}}
job:
  tech: [{tech}]
  mate: [{mate}]
"""
LIP_M = hypot(4.0, 1.0)  # of rope from the post
SPAN_M = 1.2  # of the library's sling, between its clamps
ROOM = "cross edge: lip, descend: 30 m, "
HAUL, LOWER = "haul: {{height: {} m, person: tech}}", "lower: {{height: {} m, person: tech}}"


def read(line="", tech=ROOM + "event: there, wait for: done", mate="", ends="event: done"):
    steps = ", ".join(part for part in ("wait for: there", mate, ends) if part)
    return load_text(TEXT.format(line=line, tech=tech, mate=steps))


def refused(scenario) -> list[str]:
    return [f"{at}: {said}" for at, said in problems(scenario)]


def remarks(scenario) -> list[str]:
    return [text for text in rig(scenario, "only").warnings if "pulls" in text]


MOVES = st.lists(st.integers(-60, 60).filter(bool), min_size=1, max_size=4)  # tenths of a metre


def steps_of(tenths) -> str:
    """Out at the top is a lower, in a haul."""
    return ", ".join((LOWER if n > 0 else HAUL).format(abs(n) / 10) for n in tenths)


@settings(max_examples=60, deadline=None)  # each reads and rigs a scenario
@given(st.integers(10, 200), MOVES)
def test_a_knot_that_would_pass_the_edge_or_the_post_is_refused_and_no_other(tenths, moves):
    """By hand: where the knot is after each move, and whether the lip or the post lies between."""
    places = [tenths / 10]
    for move in moves:
        places.append(places[-1] + move / 10)
    steps = [
        k
        for k, (a, b) in enumerate(pairwise(places))
        if any(min(a, b) < p - 1e-3 and p + 1e-3 < max(a, b) for p in (0.0, LIP_M))
    ]
    if any(abs(at) < 0.01 for at in places):
        return  # ends at the post itself: to the tenth what rounding makes of it
    found = refused(read(f", knots: [{tenths / 10} m]", mate=steps_of(moves)))
    found = [text for text in found if "knot" in text]
    assert len(found) == bool(steps)
    if steps:
        assert found[0].startswith(f"job/mate/{steps[0] + 2}/")  # after the wait
        down = places[steps[0] + 1] < places[steps[0]]
        first = "lip" if places[steps[0]] > LIP_M or not (down or places[steps[0]] < 0) else "post"
        assert f"past '{first}'" in found[0]


@settings(max_examples=60, deadline=None)  # each reads and rigs a scenario
@given(MOVES)
def test_no_more_rope_passes_a_clamped_sling_than_it_spans(moves):
    """By hand: how far the rope is from where it was when the sling was clamped to it."""
    moved, steps = 0, []
    for k, move in enumerate(moves):
        moved += move
        steps += [k] * (abs(moved) > 10 * SPAN_M)
    scenario = read(", bypass: {lip: sling}", mate=steps_of(moves))
    found = [text for text in refused(scenario) if "sling" in text]
    assert len(found) == bool(steps)
    if steps:
        assert found[0].startswith(f"job/mate/{steps[0] + 2}/")
        assert "the sling at lip must be taken off first (`remove bypass sling`)" in found[0]
        assert "the edge is bare then" in found[0]


FIX, OFF = "fix bypass sling: lip", "remove bypass sling: lip"


@pytest.mark.parametrize(
    ("tech", "mate", "said"),
    [
        # on from the start, taken off by whoever hauls, before it or after it
        ("event: there, wait for: done", f"{OFF}, {HAUL.format(3)}", None),
        ("event: there, wait for: done", f"{HAUL.format(3)}, {OFF}", "problem"),
        # by the other, who waits or is waited for
        (f"{OFF}, event: there, wait for: done", HAUL.format(3), None),
        (f"event: there, wait for: done, {OFF}", HAUL.format(3), "problem"),
        # nobody knows which comes first
        (f"event: there, {OFF}, wait for: done", HAUL.format(3), "remark"),
        # put on by a step: the rope that was moved before does not count
        (f"event: there, wait for: done, {FIX}, ascend: 1 m", HAUL.format(3), None),
        (f"{FIX}, event: there, wait for: done", HAUL.format(3), "problem"),
        (f"event: there, wait for: done, {FIX}, shift rope: 2 m", HAUL.format(3), "shift"),
        (f"event: there, wait for: done, {FIX}, shift rope: 1 m", HAUL.format(3), None),
        (f"{FIX}, {OFF}, event: there, wait for: done", HAUL.format(3), None),
        # one's own shift, and one too many
        ("event: there, shift rope: 1 m, wait for: done", "", None),
        ("event: there, shift rope: 1 m, shift rope: 1 m, wait for: done", "", "shift"),
        # others' moves add to it, or take it back, for all that anybody knows
        ("event: there, shift rope: 1 m, wait for: done", LOWER.format(1), "remark"),
        ("event: there, wait for: done, shift rope: 1 m", LOWER.format(1), "shift"),
        ("event: there, wait for: done, shift rope: 1 m", HAUL.format(1), None),
    ],
)
def test_whether_the_sling_is_on_follows_from_the_lists_and_what_they_wait_for(tech, mate, said):
    scenario = read(", bypass: {lip: sling}", ROOM + tech, mate)
    found = [text for text in refused(scenario) if "sling" in text]
    if said in ("problem", "shift"):
        [text] = found
        assert text.startswith("job/mate/" if said == "problem" else "job/tech/")
        assert ("shift rope" in text) is (said == "shift")
    else:
        assert found == []
        assert bool(remarks(scenario)) is (said == "remark")


@pytest.mark.parametrize("tied", ["lower unloaded: 9 m", "ascend: 9 m", "descend: 9 m"])
def test_who_moves_along_a_rope_that_stays_pulls_nothing_past_an_edge(tied):
    for line in (", bypass: {lip: sling}", ", knots: [5 m]"):
        scenario = read(line, ROOM + tied + ", event: there, wait for: done")
        assert refused(scenario) == []
        assert remarks(scenario) == []


def test_rope_let_through_stroke_by_stroke_adds_up():
    """Every stroke lets 50 mm through: the sling is past its span long before 20 m are climbed."""
    line = ", bypass: {lip: sling}, shift: {every: 1, by: 50 mm}"
    scenario = read(line, ROOM + "event: there, wait for: done, ascend: 20 m")
    [text] = [text for text in refused(scenario) if "sling" in text]
    assert text.startswith("job/tech/5/ascend")
