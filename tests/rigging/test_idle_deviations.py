"""A deviation that never carries is remarked on; one that leads the line is not."""

from __future__ import annotations

from math import hypot

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from edgewear.rigging import rig
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: A line from behind a lip, past a deviation
setting: alpine
target: 60 %
anchors:
  post: {{out: -3 m, along: 0 m, up: 0.5 m, kind: pair}}
  boom: {{out: {out} m, along: {along} m, up: -{depth} m, kind: pair}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 10 mm, surface: steel}}}}
ropes: {{red: {{like: low-stretch 11, length: 100 m}}}}
people: {{ann: {{mass: 90 kg, start: 1 m, out: {hangs} m, along: 0 m}}}}
lines: {{ann: {{anchor: post, rope: red, {deviated}}}}}
options: {{only: {{}}}}
job: [{{descend: {down} m}}, {{work: {{for: 1 min, sway: {sway} m}}}}, {{ascend: {down} m}}]
"""
NEAR_M = 0.02
"""Nearer than this to the sling's length whether the ring is pulled may differ by depth."""
GIVES = 0.06
"""Share of the rope by which somebody sinks at most: 3.2 % for 981 N (its elongation), so 5.8 % for
twice the weight of 90 kg, more than the push of one person's legs comes to."""


def tenths(low: float, high: float):
    return st.integers(round(10 * low), round(10 * high)).map(lambda k: k / 10)


def site(sling: float | None, **numbers):
    deviated = "" if sling is None else f"deviations: [{{anchor: boom, sling: {sling} m}}]"
    return rig(load_text(SITE.format(deviated=deviated, **numbers), "made.yaml"), "only")


def said(rigged) -> list[str]:
    return [text for text in rigged.warnings if "carries nothing" in text]


def off_m(out: float, along: float, depth: float, hangs: float, deepest: float) -> float:
    """How far a line from the lip at the origin to a load plumb below passes from a point [m].

    The straight line through (0, 0) and (hangs, deepest) in the plane along = 0; closed form.
    """
    return hypot((hangs * depth - out * deepest) / hypot(hangs, deepest), along)


@settings(max_examples=60, deadline=None)
@given(tenths(0.1, 1.5), tenths(3, 8), tenths(0.3, 1.5), tenths(0.1, 1.5), tenths(4, 30))
def test_it_is_remarked_on_exactly_where_the_line_passes_within_its_sling(
    out, depth, hangs, sling, further
) -> None:
    """Where the load passes it within reach, the furthest off is at one end of the way below.

    One that the load does not pass within reach draws it in, and leads the line where it is out
    of reach in the end.
    """
    deepest = depth + further
    most = max(off_m(out, 0.0, depth, hangs, d) for d in (depth, deepest))
    deeper = deepest + GIVES * (hypot(3.0, 0.5) + hypot(hangs, deepest))
    sunk = max(most, off_m(out, 0.0, depth, hangs, deeper))
    in_reach = abs(hangs - out) < sling - NEAR_M
    assume(in_reach or off_m(out, 0.0, depth, hangs, deepest) > sling)
    assume(sling < most - NEAR_M or sling > sunk + NEAR_M)
    numbers = {"out": out, "along": 0.0, "depth": depth, "hangs": hangs, "down": deepest - 1}
    rigged = site(sling, **numbers, sway=0.0)
    assert len(said(rigged)) == (most < sling)
    assert all("passes within its sling's length" in text for text in said(rigged))
    if most < sling:  # what carries nothing changes no level
        assert rigged.edge_levels == site(None, **numbers, sway=0.0).edge_levels


@settings(max_examples=30, deadline=None)
@given(tenths(0.1, 1.5), tenths(-1, 1), tenths(5, 20), tenths(0.3, 1.5), tenths(0.1, 1.5),
       tenths(1, 3))  # fmt: skip
def test_one_that_nobody_gets_below_carries_nothing(out, along, depth, hangs, sling, above) -> None:
    """By more than the rope gives: twenty metres of it less than a metre."""
    numbers = {"out": out, "along": along, "depth": depth, "hangs": hangs}
    [text] = said(site(sling, **numbers, down=max(depth - 1 - above, 0.1), sway=0.0))
    assert "boom carries nothing anywhere in this job as surveyed: nobody gets below it" in text


@settings(max_examples=30, deadline=None)
@given(tenths(3, 8), tenths(4, 10), st.sampled_from([0.2, 0.3]), st.sampled_from([1.0, 1.2]))
def test_one_that_work_to_the_side_loads_is_not_remarked_on(depth, further, sling, sway) -> None:
    """Right behind the plumb line: only the work to the side takes the line further off.

    The line to (sway, deepest) is off by sway * depth / deepest in the plane of the face.
    """
    numbers = {"out": 0.3, "along": 0.0, "depth": depth, "hangs": 0.3, "down": depth + further - 1}
    plumb = max(off_m(0.3, 0.0, depth, 0.3, d) for d in (depth, depth + further))
    assume(plumb < sling - NEAR_M)
    off = sway * depth / (depth + further)
    assume(abs(hypot(off, plumb) - sling) > 0.2)
    assert len(said(site(sling, **numbers, sway=0.0))) == 1
    assert len(said(site(sling, **numbers, sway=sway))) == (off < sling)


@settings(max_examples=30, deadline=None)
@given(tenths(0.8, 1.5), tenths(3, 8), tenths(0.2, 0.6), tenths(10, 20), st.booleans())
def test_one_that_carries_for_a_moment_alone_is_not_remarked_on(
    out, depth, nearer, further, deepest
) -> None:
    """As it is passed, or once the rope has stretched: how far the line is off grows all the way.

    Fifteen metres of this rope give by more than 0.1 m under the push of the legs.
    """
    hangs, down = round(out - nearer, 1), max(depth + further, 15.0)
    places = (down, down + 0.1) if deepest else (depth + 0.001, depth + 0.05)
    near, far = (off_m(out, 0.0, depth, hangs, d) for d in places)
    growing = far > near
    assume(growing == deepest)  # passed: furthest off just below it; sunk: further off the deeper
    others = (depth + 0.001, down) if deepest else (depth + 0.05, down)
    sling = (near + far) / 2
    assume(all(off_m(out, 0.0, depth, hangs, d) < sling for d in others))
    assert not said(
        site(sling, out=out, along=0.0, depth=depth, hangs=hangs, down=down - 1, sway=0.0)
    )
