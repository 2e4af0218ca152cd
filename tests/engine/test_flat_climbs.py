"""A climb that ends where the rope comes flat: why it is given up, and a remark before."""

from __future__ import annotations

from math import hypot

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import edgewear
from edgewear.rigging import rig
from edgewear.rigging.laying import lifting_share
from edgewear.scenario import load_text
from edgewear.study.limits.trials import trials_of

SITE = """\
edgewear: 1
title: A climb aside of the anchor
setting: alpine
target: 60 %
anchors: {{post: {{out: -{behind} m, along: 0 m, up: {up} m, kind: pair}}}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 10 mm, surface: steel}}}}
ropes: {{red: {{like: low-stretch 11, length: 80 m}}}}
people: {{ann: {{mass: 90 kg, out: {out} m, along: {aside} m}}}}
lines: {{ann: {{anchor: post, rope: red}}}}
options: {{only: {{}}}}
job: [{{cross edge: lip}}, {{descend: {down} m}}, {{ascend: {down} m}}]
"""
TOP_M = 1.5
"""Whoever crosses an edge hangs so deep below it [m]."""

LEAST_PUSH = 1.3
"""Of the legs, its low end, times the weight (library)."""


def tenths(low: float, high: float):
    return st.integers(round(10 * low), round(10 * high)).map(lambda k: k / 10)


def site(**numbers):
    return load_text(SITE.format(**numbers), "made.yaml")


def lifts(behind: float, up: float, out: float, aside: float, depth: float) -> float:
    """Slope of the line over depth, both faces at the edge unfolded into one plane.

    Length = hypot(before + after, aside), before and after being the level distances from the
    edge in that plane; d(after)/d(depth) = depth / after.
    """
    before, after = hypot(behind, up), hypot(out, depth)
    return (before + after) / hypot(before + after, aside) * depth / after


def over_the_lip(behind: float, up: float, out: float, aside: float, depth: float) -> bool:
    """Tell whether the straight line from the anchor to the load passes below the edge."""
    return up * out < behind * depth


PLACES = {"behind": tenths(0.5, 6), "up": tenths(0, 1), "out": tenths(0.3, 1.2)}


@settings(max_examples=60, deadline=None)
@given(st.fixed_dictionaries({**PLACES, "aside": tenths(0, 6)}), tenths(1.5, 30))
def test_what_of_the_pull_lifts_is_the_slope_of_the_unfolded_line(places, depth) -> None:
    [section] = rig(site(**places, down=30), "only").sections
    assume(over_the_lip(**places, depth=depth))
    assert lifting_share(section, depth) == pytest.approx(
        lifts(**places, depth=depth), abs=1e-6
    )  # a difference over 0.2 mm: its error is a third derivative times 1e-8, and rounding 1e-11


@settings(max_examples=60, deadline=None)
@given(st.fixed_dictionaries({**PLACES, "aside": tenths(0, 6)}), tenths(2, 20))
def test_a_climb_is_remarked_on_where_the_least_push_lifts_nobody(places, down) -> None:
    share = lifts(**places, depth=TOP_M)
    assume(abs(share * LEAST_PUSH - 1.0) > 1e-5)  # on the limit rounding decides
    assume(over_the_lip(**places, depth=TOP_M))
    said = [text for text in rig(site(**places, down=down), "only").warnings if "flat" in text]
    assert len(said) == (share * LEAST_PUSH < 1.0)
    assert all(f"step 3 ends where the rope comes so flat that {share:.2f}" in one for one in said)


@pytest.mark.parametrize("aside", [3.5, 4.5, 6.0])
@pytest.mark.parametrize("down", [6, 15])
def test_a_climb_that_is_given_up_says_how_flat_the_rope_comes(down, aside) -> None:
    places = {"behind": 2.0, "up": 0.5, "out": 0.5, "aside": aside}
    share = lifts(**places, depth=TOP_M)
    with pytest.raises(edgewear.RunFailed) as failed:
        edgewear.simulate(site(**places, down=down))
    said = f"(by the survey the rope comes so flat at its end that {share:.2f} of its"
    assert f"the climb of {down} m was given up too low" in str(failed.value)
    assert said in str(failed.value)
    assert "push 1.5 times the weight" in str(failed.value)


@pytest.mark.parametrize("aside", [4.5, 6.0])
def test_trials_that_are_given_up_say_so_too(aside) -> None:
    """By the survey and the middle push, which are one in all of them: it is told once."""
    places = {"behind": 2.0, "up": 0.5, "out": 0.5, "aside": aside}
    share = lifts(**places, depth=TOP_M)
    [reason] = set(trials_of(site(**places, down=6), "only", 4, 0).runs["reason"])
    assert f"(by the survey the rope comes so flat at its end that {share:.2f}" in reason
    assert "push 1.5 times the weight" in reason


@pytest.mark.parametrize("aside", [0.0, 0.5, 1.0])
def test_a_climb_close_to_the_plumb_line_is_made(aside) -> None:
    places = {"behind": 2.0, "up": 0.5, "out": 0.5, "aside": aside}
    assert edgewear.simulate(site(**places, down=6))["lines"]
