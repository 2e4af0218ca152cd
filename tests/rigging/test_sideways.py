"""Sideways travel of a rope along an edge under a swaying load: its path and its wear."""

from __future__ import annotations

import math

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import EDGE, LINE, MOVEMENT, PERSON, WEAR, Kind, Status

WEIGHT = 981.0
BEND = math.radians(30)


def swayed(sway_m, friction, seconds=60.0, bounce_m=0.0):
    """A line with 20 m behind an edge and 5 m below it, the load swaying once in 4 s."""
    line, edges = np.zeros(1, LINE), np.zeros(1, EDGE)
    person, wear = np.zeros(1, PERSON), np.ones(1, WEAR)
    for field, value in {
        "direct": 1,
        "edge_count": 1,
        "stiffness_n": 45e3,
        "viscous_s": 0.03,
        "diameter_m": 0.011,
        "device_slip_n": np.inf,
        "rope_m": 60.0,
    }.items():
        line[field] = value
    for field, value in {"friction": friction, "radius_m": 5e-3, "after_m": 20.0}.items():
        edges[field] = value
    edges["bend_rad"] = BEND
    for field in ("static_ratio", "power_exponent", "severity", "wet_factor"):
        edges[field] = 1.0
    person["mass_kg"], person["body_stiffness_n_m"], person["force_ratio"] = 100.0, 1e4, 1.5
    wear["sheath_j_m"], wear["core_j_m"], wear["breaking_n"] = 1e12, 1e12, 3e4
    wear["law"] = 1  # plain energy
    table = mechanics.route(line, edges)
    buffers = mechanics.allocate(line, edges, person, wear, table)
    work = {
        "kind": Kind.WORK,
        "duration_ticks": round(seconds / 1e-4),
        "sway_m": sway_m,
        "sway_hz": 0.25,
        "bounce_m": bounce_m,
        "bounce_hz": 0.25 if bounce_m else 0.0,
    }
    for movement in ({"kind": Kind.LOAD, "depth_m": 5.0}, work):
        record = np.zeros(1, MOVEMENT)
        for field, value in movement.items():
            record[field] = value
        args = (record, np.ones((1, 2)), 2**62, False, 0, np.inf)
        assert mechanics.advance(buffers, *args) & Status.DONE
    return buffers


def expected_path(sway_m, friction, cycles=15):
    """Coulomb friction holds the crossing, then it follows as in an unfolded plane."""
    held = friction * 2 * math.sin(BEND / 2) * 5.0
    return cycles * 4 * max(0.0, sway_m - held) * 20.0 / 25.0


@pytest.mark.parametrize(("sway_m", "friction"), [(0.3, 0.05), (0.5, 0.1), (0.2, 0.0)])
def test_the_crossing_follows_what_friction_does_not_hold(sway_m, friction):
    sums = swayed(sway_m, friction).sums[0]
    # the rope's stretch and a little sliding toward the ends change it by some per cent
    assert sums["lateral_m"] == pytest.approx(expected_path(sway_m, friction), rel=0.05)
    force = friction * 2 * math.sin(BEND / 2) * WEIGHT
    assert sums["lateral_j"] == pytest.approx(force * sums["lateral_m"], rel=0.02)


def test_friction_holds_a_small_sway():
    buffers = swayed(0.15, 0.2)
    assert expected_path(0.15, 0.2) == 0.0
    assert buffers.sums["lateral_m"][0] == 0.0
    assert buffers.sums["lateral_exposure_j"][0] == 0.0


def test_sideways_travel_wears_the_rope_where_it_lies():
    buffers = swayed(0.3, 0.05)
    largest, _, edge = mechanics.worst(buffers)
    # all of it on one contact length, 11 mm: the larger of radius times bend and the diameter
    assert edge == 0
    # (and half a per cent of sliding toward the ends while the first sways settle)
    assert largest == pytest.approx(buffers.sums["lateral_exposure_j"][0] / 0.011, rel=1e-2)
    assert buffers.sums["lateral_j_m"][0] == pytest.approx(largest, rel=1e-2)
    longer = swayed(0.3, 0.05, seconds=600.0)
    assert longer.sums["lateral_j_m"][0] == pytest.approx(mechanics.worst(longer)[0], rel=1e-2)
    # ten times as long, ten times the wear, the periods passed in closed form counted alike
    assert mechanics.worst(longer)[0] == pytest.approx(10 * largest, rel=1e-2)
    assert longer.sums["lateral_j"][0] == pytest.approx(10 * buffers.sums["lateral_j"][0], rel=1e-2)
