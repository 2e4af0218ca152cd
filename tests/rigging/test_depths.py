"""The depth at which a line takes a length of rope, against a plain search that lays all out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from edgewear.geometry.flat_string import flat_length_m
from edgewear.geometry.taut_string import taut
from edgewear.rigging.laying import depth_of, lay
from edgewear.rigging.model import EdgeOnLine, Section


def halved(section, rope_m, from_m):
    """Sixty halvings, each of the whole line laid out: the plain twin."""
    low, high = from_m, from_m + rope_m + 1.0
    if lay(section, low).length_m >= rope_m:
        return low
    for _ in range(60):
        middle = 0.5 * (low + high)
        if lay(section, middle).length_m < rope_m:
            low = middle
        else:
            high = middle
    return high


def a_section(rng, kind):
    """A line over up to four edges: along the face, askew, led by a point, or by a track."""
    anchor = (-rng.uniform(0.5, 12), rng.uniform(-3, 3), rng.uniform(-0.5, 2))
    edges, out, up = [], 0.0, 0.0
    for k in range(int(rng.integers(0, 5))):
        half = rng.choice([0.3, 2.0, 20.0])  # short ones are met at their ends
        askew = rng.uniform(-0.3, 0.3) if kind == "askew" else 0.0
        ends = (out - askew, -half, up), (out + askew, half, up)
        edges.append(EdgeOnLine(f"edge {k}", *ends, None, 1.0, 0.2))
        out, up = out + rng.uniform(-0.2, 0.8), up - rng.uniform(0.2, 3.0)
    if kind == "led":
        point = (out + 0.5, 0.0, up - 1.0)
        edges.append(EdgeOnLine("ring", point, point, None, 0, 0, kind="deviation", reach_m=0.4))
    load = (out + rng.uniform(-0.4, 1.0), rng.uniform(-2, 2))
    track = ((0.0, out, 0.0), (3.0, out + 0.4, 0.2), (9.0, out + 0.9, 0.2))
    return Section(
        "line", "safety line", "hand", "rope", "post", anchor, tuple(edges), kind == "direct",
        load, -math.inf, math.inf, track_m=track if kind == "track" else (),
    )  # fmt: skip


KINDS = ("along", "askew", "led", "track", "direct")


def check_depths(kind, seed):
    rng = np.random.default_rng(seed)
    section, from_m = a_section(rng, kind), float(rng.uniform(0, 12))
    short_m = lay(section, from_m).length_m
    for rope_m in (short_m - 0.1, short_m, short_m + float(rng.uniform(0, 8))):
        assert depth_of(section, rope_m, from_m) == halved(section, rope_m, from_m)


@pytest.mark.parametrize("kind", KINDS)
def test_a_depth_is_to_the_last_bit_what_plain_halving_gives(kind):
    for seed in range(2 if kind in ("askew", "led") else 6):  # those in space take longer
        check_depths(kind, seed)


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_many_depths_are_to_the_last_bit_what_plain_halving_gives(kind):
    for seed in range(6, 306):
        check_depths(kind, seed)


@pytest.mark.parametrize("seed", range(30))
def test_a_length_alone_is_to_the_last_bit_that_of_the_line_laid_out(seed):
    section = a_section(np.random.default_rng(seed), "along")
    edges = [(one.start_m, one.end_m) for one in section.edges]
    for depth_m in (-0.5, 0.0, 1.7, 6.0, 40.0):
        load = (*section.load_m, -depth_m)
        found = flat_length_m(section.anchor_m, edges, load)
        assert found in (None, taut(section.anchor_m, edges, load).length_m)
        if not edges or all(start[1] == -20.0 for start, _ in edges):
            assert found is not None  # wide ones are never met at their ends
