"""Stretch, bounce, catch and swing against published answers, integration and statics."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from edgewear.geometry import catch as line


@pytest.mark.parametrize(("factor", "force"), [(0.0, 1962.0), (0.3, 4518.0), (1.0, 7262.5)])
def test_drops_of_100_kg(factor, force):
    # impact-force equation, K 19.62 kN, printed to 0.1 N
    assert line.impact_n(100.0, 19620.0, 2.0, 2.0 * factor) == pytest.approx(force, abs=0.06)


def test_the_standard_fall_of_a_dynamic_rope():
    # EN 892: 80 kg, 4.6 m fall on 2.6 m of rope; K 45.07 kN gives 12 kN
    assert line.impact_n(80.0, 45070.0, 2.6, 4.6) == pytest.approx(12000.0, rel=1e-4)


@given(
    fall=st.floats(0.0, 3.0),
    length=st.floats(1.0, 30.0),
    slip_force=st.floats(1500.0, 9000.0),
)
@settings(max_examples=15, deadline=None)
def test_a_catch_agrees_with_an_integrated_fall(fall, length, slip_force):
    mass, stiffness = 100.0, 25000.0
    found = line.catch(mass, stiffness, length, fall, slip_force)
    assume(abs(found.peak_n - slip_force) > 1.0 or found.slip_m > 1e-3)

    def force(sunk, slipped):
        return min(max(stiffness * (sunk - fall - slipped) / length, 0.0), slip_force)

    def motion(_, state):
        sunk, speed, slipped = state
        pull = force(sunk, slipped)
        slipping = pull >= slip_force and speed > 0
        return [speed, 9.81 - pull / mass, speed if slipping else 0.0]

    def at_rest(_, state):
        return state[1]

    at_rest.terminal, at_rest.direction = True, -1
    fallen = solve_ivp(
        motion, (0, 60), [0.0, 1e-9, 0.0], events=at_rest, rtol=1e-9, atol=1e-10, max_step=2e-3
    )
    sunk, _, slipped = fallen.y[:, -1]
    # the slip begins between steps of 2 ms: some millimetres in a drop of metres
    assert sunk == pytest.approx(found.drop_m, rel=5e-3)
    assert slipped == pytest.approx(found.slip_m, abs=5e-3 * found.drop_m)


def test_a_device_that_slips_below_the_weight_never_stops_the_fall():
    assert line.catch(100.0, 25000.0, 5.0, 1.0, 900.0).drop_m == math.inf


def test_working_length_is_that_of_a_slow_load():
    # tension falls by R at every edge: sum of T_i*l_i/K
    free, ratios = (20.0, 1.5, 6.0), (1.3, 1.1)
    tension = 981.0
    sunk = (tension * 6.0 + tension / 1.1 * 1.5 + tension / (1.1 * 1.3) * 20.0) / 30000.0
    length = line.working_length_m(free, ratios)
    assert line.stretch_m(tension, 30000.0, length) == pytest.approx(sunk, rel=1e-12)
    with pytest.raises(ValueError, match="one free length more"):
        line.working_length_m((1.0,), (1.0,))


def test_bounce_rates_are_those_of_springs_in_series():
    sliding, stuck = line.natural_frequencies_hz(30000.0, (20.0, 5.0), 10000.0, 100.0)
    # 30 kN over 25 m is 1200 N/m in series with 10 kN/m: 1071.4 N/m; over 5 m 6000 -> 3750 N/m
    assert sliding == pytest.approx(math.sqrt(1071.428571428 / 100) / (2 * math.pi), rel=1e-9)
    assert stuck == pytest.approx(math.sqrt(3750 / 100) / (2 * math.pi), rel=1e-12)
    dead, _ = line.natural_frequencies_hz(12000.0, (1.0,), math.inf, 150.0)
    # standard worked example of logarithmic decrement: 150 kg on 12 kN/m, 8.944 rad/s
    assert 2 * math.pi * dead == pytest.approx(8.944, abs=0.001)


@given(ratio=st.floats(1.0, 2.0), low=st.floats(10.0, 900.0), high=st.floats(900.0, 3000.0))
def test_a_mark_travels_only_outside_the_stick_band(ratio, low, high):
    length, stiffness = 20.0, 30000.0
    travel = line.sawing_m(length, stiffness, ratio, low, high)
    if high <= ratio**2 * low:
        assert travel == 0.0
    else:
        # both ends of the cycle as statics of the length above the edge
        at_high = length / (1 + high / ratio / stiffness)
        at_low = length / (1 + low * ratio / stiffness)
        assert travel == pytest.approx(at_low - at_high, rel=1e-12)


def test_the_stop_value_is_passed_once_in_twenty_by_the_largest_of_three():
    rng = np.random.default_rng(11)
    travels = np.exp(rng.normal(math.log(0.05), 0.4, size=(200_000, 3)))
    low, high = np.quantile(travels, [0.5, 0.95])
    passed = (travels.max(axis=1) > line.stop_travel_m(low, high)).mean()
    # 200,000 trials of probability 0.05 and two estimated percentiles: 0.002 is 4 deviations
    assert passed == pytest.approx(0.05, abs=0.002)
    assert line.stop_travel_m(0.0, 0.01) == 0.01


def test_a_swing_ends_on_the_plumb_line():
    aside, sunk = line.swing(-3.0, 4.0)
    assert aside == 3.0
    assert sunk == pytest.approx(1.0)
