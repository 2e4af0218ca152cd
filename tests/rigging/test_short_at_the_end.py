"""A rope that is long enough by the middle values and too short at the careful end is told."""

from __future__ import annotations

from math import ceil, erfc, hypot, sqrt

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


RARE = 2.6601 / 1.6449
"""1 of 256 of a normal lies beyond 2.6601 deviations, 1 of 20 beyond 1.6449 (tables)."""


def careful_by_hand_m(scenario, aside: float, down: float, out=1.0) -> tuple[float, float]:
    """Give what the rope needs in the middle, and what its careful end adds [m].

    Parameters: `out`: how far out each distance lies, as a share of the way to its end.
    """
    post, lip = scenario.anchors["post"], scenario.edges["lip"]
    known = {"post out": post.out, "post along": post.along, "post up": post.up,
             "lip out": lip.out, "lip up": lip.up}  # fmt: skip
    middle = {name: value.value for name, value in known.items()}
    usual = rope_m(middle, aside, down)
    adds = [max(rope_m({**middle, name: end}, aside, down) - usual
                for end in (value.value + out * (one - value.value)
                            for one in (value.low, value.high)))
            for name, value in known.items()]  # fmt: skip
    return usual, hypot(*(max(one, 0.0) for one in adds))


def said_of(scenario) -> list[str]:
    return [one for one in remarks_of(scenario) if "at the careful end" in one and "may be" in one]


def remarks_of(scenario) -> list[str]:
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


@settings(max_examples=60, deadline=None)
@given(tenths(4, 20), tenths(0.2, 3), tenths(0.1, 1), tenths(0.0, 0.3), tenths(0, 3),
       tenths(3, 30), st.sampled_from([0.01, 0.3, 0.9, 1.01, 1.1, 3.0]))  # fmt: skip
def test_a_rope_that_1_case_in_256_would_use_up_is_told_as_that(
    behind, spread, up, off, aside, down, spare
):
    """`spare` is left over beyond the careful end, of what 1 case in 256 adds to it."""
    places = {"behind": behind, "far": behind + spread, "near": behind - spread, "up": up,
              "off": off, "aside": aside, "down": down}  # fmt: skip
    site = load_text(SITE.format(**places, rope=900), "m")
    usual, careful = careful_by_hand_m(site, aside, down)
    _, rare = careful_by_hand_m(site, aside, down, RARE)
    has = round(usual + careful + spare * (rare - careful) + 1e-4, 6)  # over rounding of the text
    said = remarks_of(load_text(SITE.format(**places, rope=has), "made.yaml"))
    assert len(said) == (spare < 1.0)
    for words in said:
        assert "long enough at the careful end" in words
        assert "in at least 1 case of 256 too short" in words
        told = float(words.split("then needs ")[1].split(" m")[0])
        assert ceil(10 * (usual + rare - 1e-3)) <= round(10 * told)  # four digits of the tables
        assert round(10 * told) <= ceil(10 * (usual + rare + 1e-3))


@pytest.mark.parametrize("spare_m", [0.2, 1.0, 2.0, 2.5, 3.0, 3.2, 3.5, 5.0])
@pytest.mark.parametrize("spread_m", [1.0, 2.0])
def test_what_is_told_is_the_share_of_draws_that_are_too_short(spare_m, spread_m):
    """One distance alone, straight back: the share beyond it is that of a normal, by its tail."""
    over = f"{{edge: lip, after: {{value: 14 m, low: {14 - spread_m} m, high: {14 + spread_m} m}}, "
    has = TIED_M + 14 + 5 + 6 + spare_m + 1e-5
    scenario = load_text(DIRECT.format(over=over + "bend: 90 deg}", down=6, rope=has), "made.yaml")
    assert scenario.options["only"].lines["ann"].working.over[0].after.distribution == "normal"
    beyond = 0.5 * erfc(spare_m / (spread_m / 1.6449) / sqrt(2.0))
    told = remarks_of(scenario)
    assert bool(told) == (beyond > 1 / 256)
    assert any("may be" in words for words in told) == (beyond > 1 / 20)
    # what is told is the least: with just a little beyond that end it is nearly 1 in 20
    rarely = 1 / 20 > beyond > 1 / 256
    assert any("in at least 1 case of 256" in words for words in told) == rarely


@pytest.mark.parametrize("spare_m", [0.5, 1.9, 2.1, 3.0])
@pytest.mark.parametrize("kind", ["uniform", "triangular"])
def test_what_has_ends_of_its_own_goes_no_further(kind, spare_m):
    over = "{edge: lip, after: {value: 14 m, low: 12 m, high: 16 m, "
    over += f"distribution: {kind}}}, bend: 90 deg}}"
    has = TIED_M + 14 + 5 + 6 + spare_m + 1e-5
    told = remarks_of(load_text(DIRECT.format(over=over, down=6, rope=has), "made.yaml"))
    assert bool(told) == (spare_m < 2.0)
