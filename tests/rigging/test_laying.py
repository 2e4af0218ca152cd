"""Lines led through deviations and pulleys, and lines with given bends."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from edgewear.rigging.laying import lay, taut_through
from edgewear.rigging.model import EdgeOnLine, Section


def edge(name, out, up, half=10.0):
    return EdgeOnLine(name, (out, -half, up), (out, half, up), None, 0.0, 0.0)


def led(name, point, reach=0.0, kind="deviation"):
    return EdgeOnLine(name, point, point, None, 0.0, 0.0, kind=kind, reach_m=reach)


def test_a_pulley_above_the_edge_lifts_the_line_clear():
    items = [led("frame", (0.5, 0.0, 2.0), kind="high directional"), edge("coping", 0.0, 0.0)]
    path = taut_through((-5.0, 0.0, 0.0), items, (0.5, 0.0, -10.0))
    assert path.edges == (0,)
    assert path.length_m == pytest.approx(math.hypot(5.5, 2.0) + 12.0, rel=1e-12)
    arriving = math.atan2(2.0, 5.5)
    assert path.bends_rad[0] == pytest.approx(math.pi / 2 + arriving, abs=1e-12)


def test_a_ring_on_a_sling_settles_where_the_line_is_shortest():
    anchor, centre, reach = (0.0, 0.0, 0.0), np.array([2.0, 0.5, -6.0]), 0.7
    load = (0.0, 0.0, -15.0)
    path = taut_through(anchor, [led("bolt", tuple(centre), reach)], load)

    def length(angles):
        a, b = angles
        ring = centre + reach * np.array([np.cos(a) * np.cos(b), np.sin(b), np.sin(a) * np.cos(b)])
        return np.linalg.norm(ring - anchor) + np.linalg.norm(ring - load)

    starts = [(a, b) for a in np.arange(0, 6.0, 1.0) for b in (-0.5, 0.5)]
    best = min(minimize(length, start, method="BFGS").fun for start in starts)
    # a flat minimum: a slope of 1e-5 leaves the length good to 1e-10
    assert path.length_m == pytest.approx(best, rel=1e-8)
    ring = np.array(path.points[1])
    assert np.linalg.norm(ring - centre) == pytest.approx(reach, rel=1e-12)


def test_a_slack_sling_bears_nothing():
    path = taut_through((0.0, 0.0, 0.0), [led("bolt", (0.5, 0.0, -6.0), 0.7)], (0.0, 0.0, -15.0))
    assert path.edges == ()
    assert path.length_m == pytest.approx(15.0)


def test_a_deviation_below_the_load_is_not_on_the_line_yet():
    items = [led("bolt", (2.0, 0.0, -6.0), 0.2)]
    assert taut_through((0.0, 0.0, 0.0), items, (0.0, 0.0, -5.0)).edges == ()
    assert taut_through((0.0, 0.0, 0.0), items, (0.0, 0.0, -7.0)).edges == (0,)


def test_a_deviation_takes_the_line_off_an_edge_below_it():
    ledge = edge("ledge", 0.6, -5.0)
    bare = taut_through((0.0, 0.0, 0.0), [ledge], (0.5, 0.0, -12.0))
    assert bare.edges == (0,)
    items = [led("bolt", (1.5, 0.0, -4.0), 0.3), ledge]
    assert taut_through((0.0, 0.0, 0.0), items, (0.9, 0.0, -12.0)).edges == (0,)


def test_given_bends_stay_as_they_are_and_depth_counts_from_the_last():
    passed = EdgeOnLine("test edge", (0, 0, 0), (0, 0, 0), None, 20.0, math.radians(30))
    section = Section(
        "line", "working line", "climber", "rope", "anchor", (0.0, 0.0, 0.0),
        (passed,), True, (0.0, 0.0), -math.inf, math.inf,
    )  # fmt: skip
    laid = lay(section, 5.0, aside_m=1.0)
    assert laid.free_m == (20.0, 5.0)
    assert laid.bends_rad == (math.radians(30),)
    assert laid.length_m == 25.0
    assert laid.setback_m(0) == 20.0
