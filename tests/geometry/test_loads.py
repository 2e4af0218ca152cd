"""Loads on anchors, deviations and haulers against published answers and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.geometry import loads

ANGLES = st.floats(0.0, 3.0)


def test_a_person_who_lowers_themself_over_a_limb():
    # physicsforums.com, thread 811107: both strands carry them; 27.3 is the documented mistake
    assert loads.self_lowering_n(180.0, 0.6, math.pi) == pytest.approx(23.7, abs=0.05)


@pytest.mark.parametrize(("speed", "stop", "factor"), [(1.0, 1.0, 1.051), (2.5, 0.1, 4.186)])
def test_a_descent_stopped_evenly(speed, stop, factor):
    # Kane 2007, Arboriculture & Urban Forestry 33(1); printed to three places
    assert loads.stop_load_factor(speed, stop) == pytest.approx(factor, abs=0.001)


def test_capstan_exercises():
    # pickedshares.com, Engineering Mechanics 1, exercise 27; printed to two places
    assert loads.held_n(981.0, [(0.2, 1.5 * math.pi)]) == pytest.approx(382.26, abs=0.01)
    # thestudentroom.co.uk, thread 155631: two bollards in series
    wrap = 5 * math.pi / 3
    assert loads.haul_n(50.0, [(0.2, wrap), (0.2, wrap)]) == pytest.approx(406, abs=0.5)


def test_hauling_over_a_concrete_edge_doubles_the_load():
    # mu 0.44 measured on concrete (Delaney 2022, p. 88); "twice" to half a per cent
    assert loads.haul_n(1000.0, [(0.44, math.pi / 2)]) == pytest.approx(2000.0, rel=5e-3)
    assert loads.haul_n(1000.0, [(0.44, math.pi / 2)], advantage=3.0) == pytest.approx(
        2000.0 / 3, rel=5e-3
    )


@given(tension=st.floats(1.0, 1e4), angle=ANGLES)
def test_a_deviation_carries_the_vector_sum(tension, angle):
    arriving, leaving = (1.0, 0.0, 0.0), (math.cos(angle), 0.0, -math.sin(angle))
    load = loads.bend_load(tension, arriving, tension, leaving)
    # 2*T*sin(angle/2); rounding grows where the pulls nearly cancel
    assert load.size_n == pytest.approx(loads.deviation_load_n(tension, angle), abs=1e-12 * tension)
    if angle > 1e-3:
        bisector = -(math.pi + angle) / 2
        assert load.direction == pytest.approx(
            (math.cos(bisector), 0.0, math.sin(bisector)), abs=1e-9
        )


def test_no_load_has_no_direction():
    assert loads.bend_load(5.0, (1.0, 0.0, 0.0), 5.0, (1.0, 0.0, 0.0)).direction == (0, 0, 0)


@given(tension=st.floats(1.0, 1e4), angle=ANGLES)
def test_legs_of_an_even_y_hang(tension, angle):
    legs = [(math.sin(s * angle / 2), 0.0, math.cos(angle / 2)) for s in (-1, 1)]
    shares = loads.leg_loads_n((0.0, 0.0, -tension), legs)
    total = np.array(legs).T @ np.array(shares)
    assert total == pytest.approx((0.0, 0.0, tension), abs=1e-9 * tension)
    if angle > 1e-3:
        leg = loads.y_hang_leg_n(tension, angle)
        assert shares == pytest.approx((leg, leg), rel=1e-9)


def test_at_120_degrees_every_leg_carries_the_whole_load():
    # a Y-hang's textbook figure: 2*cos(60 degrees) = 1
    assert loads.y_hang_leg_n(3000.0, math.radians(120)) == pytest.approx(3000.0, rel=1e-12)


def test_a_leg_that_would_push_goes_slack():
    legs = [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8)]
    # the pull is to the other side of the upright leg: only that one holds, as well as it can
    shares = loads.leg_loads_n((0.3, 0.0, -1.0), legs)
    assert shares[1] == 0.0
    assert shares[0] == pytest.approx(1.0, rel=1e-12)


def test_three_legs_in_space_balance_the_load_exactly():
    rng = np.random.default_rng(3)
    legs = np.array([[1.0, 0.0, 2.0], [-1.0, 1.0, 2.0], [0.0, -1.0, 2.0]])
    legs /= np.linalg.norm(legs, axis=1)[:, None]
    for _ in range(20):
        shares = rng.uniform(10, 1000, 3)
        found = loads.leg_loads_n(tuple(-(legs.T @ shares)), [tuple(x) for x in legs])
        assert found == pytest.approx(shares, rel=1e-9)


def test_an_anchor_is_pulled_along_the_line():
    load = loads.anchor_load(900.0, (0.6, 0.0, -0.8))
    assert load.size_n == pytest.approx(900.0)
    assert load.vector_n == pytest.approx((540.0, 0.0, -720.0))
