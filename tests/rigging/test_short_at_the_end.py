"""A rope that is long enough by the middle values and too short at the careful end is told."""

from __future__ import annotations

from math import ceil, hypot

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.rigging import rig
from edgewear.rigging.lengths import TIED_M
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: an anchor that was paced
setting: alpine
anchors: {{post: {{out: {{value: -{behind} m, low: -{far} m, high: -{near} m}}, along: 0 m,
  up: {up} m, kind: pair}}}}
edges: {{lip: {{out: 0 m, up: {{value: 0 m, low: -{off} m, high: {off} m}}, radius: 10 mm,
  surface: steel}}}}
ropes: {{red: {{like: low-stretch 11, length: {rope:.6f} m}}}}
people: {{ann: {{mass: 90 kg, out: 0.5 m, along: {aside} m}}}}
lines: {{ann: {{anchor: post, rope: red}}}}
options: {{only: {{}}}}
job: [{{cross edge: lip}}, {{descend: {down} m}}]
"""
TOP_M, OUT_M = 1.5, 0.5
"""Whoever crosses an edge hangs so deep below it, and ann so far out [m]."""

DIRECT = """\
edgewear: 1
title: bends given
setting: test
anchors: {{post: {{kind: pair}}}}
edges: {{lip: {{radius: 10 mm, surface: steel}}, nose: {{radius: 10 mm, surface: steel}}}}
ropes: {{red: {{like: low-stretch 11, length: {rope:.6f} m}}}}
people: {{ann: {{mass: 90 kg, start: 5 m}}}}
lines: {{ann: {{anchor: post, rope: red, over: [{over}]}}}}
options: {{only: {{}}}}
job: [{{descend: {down} m}}]
"""


def tenths(low: float, high: float):
    return st.integers(round(10 * low), round(10 * high)).map(lambda k: k / 10)


def rope_m(spots: dict[str, float], aside: float, down: float) -> float:
    """Give the straight line with both faces at the edge unfolded into one plane."""
    before = hypot(spots["post out"] - spots["lip out"], spots["post up"] - spots["lip up"])
    after = hypot(OUT_M - spots["lip out"], TOP_M + down + spots["lip up"])
    return TIED_M + hypot(before + after, spots["post along"] - aside)


def careful_by_hand_m(scenario, aside: float, down: float) -> tuple[float, float]:
    """Give what the rope needs in the middle, and what its careful end adds [m]."""
    post, lip = scenario.anchors["post"], scenario.edges["lip"]
    known = {"post out": post.out, "post along": post.along, "post up": post.up,
             "lip out": lip.out, "lip up": lip.up}  # fmt: skip
    middle = {name: value.value for name, value in known.items()}
    usual = rope_m(middle, aside, down)
    adds = [max(rope_m({**middle, name: end}, aside, down) - usual
                for end in (value.low, value.high)) for name, value in known.items()]  # fmt: skip
    return usual, hypot(*(max(one, 0.0) for one in adds))


def said_of(scenario) -> list[str]:
    return [one for one in rig(scenario, "only").warnings if "too short" in one]


@settings(max_examples=60, deadline=None)
@given(tenths(4, 20), tenths(0.2, 3), tenths(0.1, 1), tenths(0.0, 0.3), tenths(0, 3),
       tenths(3, 30), st.sampled_from([0.0, 0.3, 0.9, 1.1, 3.0, 30.0]))  # fmt: skip
def test_a_rope_is_told_that_the_careful_end_would_use_up(
    behind, spread, up, off, aside, down, spare
):
    """`spare` of what the careful end adds is left over in the middle."""
    places = {"behind": behind, "far": behind + spread, "near": behind - spread, "up": up,
              "off": off, "aside": aside, "down": down}  # fmt: skip
    usual, more = careful_by_hand_m(load_text(SITE.format(**places, rope=900), "m"), aside, down)
    has = round(usual + spare * more + 1e-5, 6)  # above what is refused: rounding of the text
    said = said_of(load_text(SITE.format(**places, rope=has), "made.yaml"))
    assert len(said) == (spare < 1.0)
    for words in said:
        # to tenths, upwards; on a tenth rounding decides
        missing, needed = (float(words.split(before)[1].split(" m")[0])
                           for before in ("may be ", "it needs "))  # fmt: skip
        for told, by_hand in ((missing, usual + more - has), (needed, usual + more)):
            assert ceil(10 * (by_hand - 1e-4)) <= round(10 * told) <= ceil(10 * (by_hand + 1e-4))
        assert f"'post' out -{behind + spread:.1f} m instead of -{behind:g} m" in words or off > 0
        assert "measure 'post', or take a longer rope" in words or off > 0


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(tenths(1, 9), tenths(0, 0.9)), min_size=1, max_size=2), tenths(1, 20),
       st.sampled_from([0.0, 0.5, 0.9, 1.1, 2.0]))  # fmt: skip
def test_lengths_given_directly_count_alike(legs, down, spare):
    over = ", ".join(
        f"{{edge: {edge}, after: {{value: {m} m, low: {m - off:.1f} m, high: {m + off:.1f} m}}, "
        "bend: 45 deg}"
        for edge, (m, off) in zip(("lip", "nose"), legs, strict=False)
    )
    more = hypot(*(off for _, off in legs))
    usual = TIED_M + sum(m for m, _ in legs) + 5 + down
    has = usual + spare * more + 1e-5  # above what is refused
    said = said_of(load_text(DIRECT.format(over=over, down=down, rope=has), "made.yaml"))
    assert len(said) == (spare < 1.0 and more > 0.0)
    for words in said:
        assert f"needs {ceil(10 * (usual + more) - 1e-6) / 10:.1f} m" in words


@pytest.mark.parametrize("behind", [3.0, 14.0])
@pytest.mark.parametrize("down", [5.0, 20.0])
def test_nothing_is_told_of_a_rope_that_no_range_makes_too_short(behind, down):
    over = f"{{edge: lip, after: {{value: {behind} m, low: {behind} m, high: {behind} m}}, "
    text = DIRECT.format(over=over + "bend: 90 deg}", down=down, rope=TIED_M + behind + 5 + down)
    assert said_of(load_text(text, "made.yaml")) == []
