"""A rope that cannot be tied in at a re-anchor nobody comes down to is remarked on."""

from __future__ import annotations

from itertools import product
from math import hypot

import pytest

from edgewear.rigging import rig
from edgewear.rigging.lengths import LOOP_M, TIED_M
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: re-anchors that the job does not come to
setting: alpine
target: 30 %
anchors:
  post: {{out: -1 m, up: 1 m, kind: pair}}
  upper: {{out: {out} m, up: -{upper} m, kind: pair}}
  lower: {{out: {out} m, up: -{lower} m, kind: pair}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{a: {{like: low-stretch 11, length: {rope:.3f} m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg}}}}
lines: {{ann: {{anchor: post, rope: a, re-anchor: [upper, lower]}}}}
options: {{only: {{}}}}
job: [descend: {down} m]
"""
PLACES = list(product((0.2, 0.5), (20, 24), (30, 47)))


def said(out: float, upper: int, lower: int, rope: float, down: float) -> list[str]:
    text = SITE.format(out=out, upper=upper, lower=lower, rope=rope, down=down)
    found = rig(load_text(text, "made.yaml"), "only").warnings
    return [one for one in found if "does not reach the re-anchor" in one]


def takes_m(out: float, upper: int, lower: int) -> tuple[float, float]:
    """Straight from point to point over the lip, a loop at each re-anchor, and the knots."""
    first = hypot(1.0, 1.0) + hypot(out, upper)
    return first + LOOP_M + TIED_M, first + (lower - upper) + 2.0 * LOOP_M + TIED_M


@pytest.mark.parametrize(("out", "upper", "lower"), PLACES)
@pytest.mark.parametrize("more_m", [-0.02, 0.02])  # two centimetres: beyond any rounding of lengths
def test_it_is_remarked_on_where_the_straight_way_is_longer(out, upper, lower, more_m) -> None:
    for name, needed_m in zip(("upper", "lower"), takes_m(out, upper, lower), strict=True):
        told = said(out, upper, lower, needed_m + more_m, down=5)
        if name == "lower" and more_m > 0.0:
            assert told == []
        else:
            short_of = name if more_m < 0.0 else "lower"
            assert [f"the re-anchor '{short_of}'" in one for one in told] == [True]


@pytest.mark.parametrize(("out", "upper", "lower"), PLACES)
def test_a_re_anchor_that_the_job_comes_to_is_no_such_one(out, upper, lower) -> None:
    """What the job itself takes is refused if it is too long, and not remarked on."""
    _, needed_m = takes_m(out, upper, lower)
    assert said(out, upper, lower, needed_m + 5.0, down=lower + 1) == []
    [only] = said(out, upper, lower, needed_m - 1.0, down=upper)
    assert "the re-anchor 'lower'" in only
