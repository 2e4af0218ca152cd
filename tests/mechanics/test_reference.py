"""The step kernel against an independent solver, and the order in which its error falls."""

from __future__ import annotations

import math

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import EDGE, LINE, MOVEMENT, PERSON, WEAR, Kind, Status
from support.lines import direct, move
from support.random_systems import (
    kernel,
    on_a_slant,
    random_system,
    with_power_law,
    with_static,
    with_static_on_a_slant,
)
from twins.reference_line import run


def check(system, step_s=0.015):
    """The figures that the kernel must reach, or an absolute floor where they are smaller.

    0.1 % is asked of the default step; 0.1 mm, 20 mJ and 0.1 N are nothing on site.
    """
    answer, buffers = run(system), kernel(system, step_s)
    sums = buffers.sums
    assert sums["slip_m"] == pytest.approx(answer.slip_m, rel=1e-3, abs=1e-4)
    assert sums["energy_j"] == pytest.approx(answer.energy_j, rel=1e-3, abs=0.02)
    assert buffers.state["peak_n"][0] == pytest.approx(answer.peak_n, rel=1e-3, abs=0.1)
    # the reference's own window is cut to 0.1 mm of 11 mm
    assert mechanics.worst(buffers)[0] == pytest.approx(answer.worst_j_m, rel=5e-3, abs=2.0)


# 136: six bends of 520 degrees in 4.7 m, where the rope goes slack and comes tight in each stroke
@pytest.mark.parametrize("seed", [0, 1, 2, 3, 136])
def test_random_systems_agree_with_an_independent_solver(seed):
    check(random_system(seed))


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 300))
def test_200_random_systems_agree_with_an_independent_solver(seed):
    check(random_system(seed))


# the tolerances of `check` hold for these too: rates of slip are as smooth as with one Coulomb
# coefficient, or jump at releases that both sides locate, and so the default step is as good
@pytest.mark.parametrize("seed", range(10))
def test_power_law_friction_agrees_with_an_independent_solver(seed):
    check(with_power_law(seed))


@pytest.mark.parametrize("seed", range(10))
def test_a_bend_that_follows_the_depth_agrees_with_an_independent_solver(seed):
    check(on_a_slant(seed))


@pytest.mark.parametrize("seed", range(10))
def test_static_friction_where_the_bend_follows_the_depth_agrees_too(seed):
    check(with_static_on_a_slant(seed))


@pytest.mark.parametrize("seed", range(10))
def test_static_above_kinetic_friction_agrees_with_an_independent_solver(seed):
    check(with_static(seed))


@pytest.mark.long
@pytest.mark.parametrize("system", [with_power_law, on_a_slant])
@pytest.mark.parametrize("seed", range(100, 160))
def test_60_more_of_each_agree_with_an_independent_solver(system, seed):
    check(system(seed))


UNLOCATED = 137
"""Rope comes tight within a step and overloads a resting bend: scipy cannot locate that."""
SHORT = {127: "friction energy 0.109 % too high", 141: "peak 0.101 % too low, between two steps"}
"""What the default step, 10 ms with static friction, does not reach; with 0.3 ms both agree."""
WITH_STATIC = sorted(set(range(100, 160)) - {UNLOCATED, *SHORT})


@pytest.mark.long
@pytest.mark.parametrize("seed", WITH_STATIC)
def test_57_more_with_static_friction_agree_with_an_independent_solver(seed):
    check(with_static(seed))


@pytest.mark.long
@pytest.mark.xfail(
    reason="at the default step the error is 0.101 and 0.109 %, not 0.1", strict=True
)
@pytest.mark.parametrize("seed", SHORT, ids=SHORT.values())
def test_static_friction_where_the_default_step_falls_short(seed):
    check(with_static(seed))


@pytest.mark.long
@pytest.mark.parametrize("seed", SHORT)
def test_static_friction_where_a_shorter_step_is_needed(seed):
    check(with_static(seed), step_s=3e-4)


STEPS_S = (10e-3, 7e-3, 5e-3, 3.5e-3, 2.5e-3, 1.8e-3, 1.2e-3, 0.8e-3)


def errors(seed):
    """Relative error of the friction energy at each step, against steps of one tick."""
    system = random_system(seed)
    exact = kernel(system, 1e-4).sums["energy_j"].sum()
    found = [kernel(system, step_s).sums["energy_j"].sum() for step_s in STEPS_S]
    return np.maximum(np.abs(np.array(found) / exact - 1.0), 1e-10)


def slope(values):
    """Power of the step with which values fall."""
    return float(np.polyfit(np.log(STEPS_S), np.log(values), 1)[0])


def test_the_error_falls_with_the_square_of_the_step_across_switches():
    # the middle system's error at each step: single runs scatter about it by a factor of three
    middle = np.median([errors(seed) for seed in range(400, 408)], axis=0)
    assert slope(middle) >= 1.8


def test_the_order_of_20_systems():
    assert np.median([slope(errors(seed)) for seed in range(400, 420)]) >= 1.8


@pytest.mark.parametrize("seed", [400, 403])
def test_at_steps_of_one_tick_both_solvers_agree_to_a_millionth(seed):
    system = random_system(seed)
    answer, sums = run(system), kernel(system, 1e-4).sums
    assert sums["energy_j"] == pytest.approx(answer.energy_j, rel=1e-6)
    assert sums["slip_m"] == pytest.approx(answer.slip_m, rel=1e-6)


def shaken(step_s):
    """Depth and speed of a person working on a straight rope: nothing slips, nothing switches."""
    line, edges = np.zeros(1, LINE), np.zeros(0, EDGE)
    person, wear = np.zeros(1, PERSON), np.ones(1, WEAR)
    line["direct"], line["rope_m"], line["diameter_m"] = 1, 80.0, 0.011
    line["stiffness_n"], line["viscous_s"], line["device_slip_n"] = 45e3, 0.03, math.inf
    person["mass_kg"], person["body_stiffness_n_m"], person["force_ratio"] = 90.0, 1e4, 1.5
    wear["sheath_j_m"] = wear["core_j_m"] = wear["breaking_n"] = 1e30
    table = mechanics.route(line, edges)
    buffers = mechanics.allocate(line, edges, person, wear, table, step_s=step_s)
    load, work = np.zeros(1, MOVEMENT), np.zeros(1, MOVEMENT)
    load["kind"], load["depth_m"] = Kind.LOAD, 20.0
    work["kind"], work["duration_ticks"] = Kind.WORK, 40_000
    work["tool_n"], work["bounce_m"], work["bounce_hz"] = 200.0, 0.02, 0.5
    for movement in (load, work):
        args = (movement, np.zeros((1, 2)), 2**62, False, 0, math.inf)
        assert mechanics.advance(buffers, *args) & Status.DONE
    return np.array([buffers.state["depth_m"][0], buffers.state["speed_m_s"][0]])


def test_without_a_switch_the_error_falls_with_the_fourth_power():
    steps = np.array([10.0, 8.0, 6.4, 5.0, 4.0, 3.2, 2.5, 2.0]) * 1e-3  # all divide 4 s
    exact = shaken(1e-4)
    error = [np.hypot(*(shaken(step_s) - exact)) for step_s in steps]
    assert np.polyfit(np.log(steps), np.log(error), 1)[0] == pytest.approx(4.0, abs=0.1)


def let_down(step_s):
    """Depth and sliding path after 3.2 s of a slow lowering: three bends slide all the time."""
    buffers = direct(
        [8.0, 3.0, 2.0], [30.0, 25.0, 60.0], [0.2, 0.3, 0.1],
        step_s=step_s, trace=3, trace_ticks=32_000,
    )  # fmt: skip
    mechanics.advance(buffers, move(Kind.LOAD, depth_m=6.0))
    lower = move(Kind.FEED, length_m=-2.0, speed_m_s=0.5, stop_s=1.6)
    assert mechanics.advance(buffers, lower) == Status.DONE
    assert list(buffers.sums["slips"]) == [1, 1, 1]
    seen = buffers.trace[buffers.trace["tick"] == 32_000][0]
    return np.array([seen["depth_m"], seen["slip_m"]])


def test_while_all_bends_slide_the_error_falls_with_the_fourth_power():
    steps = np.array([10.0, 8.0, 6.4, 5.0, 4.0, 3.2, 2.5, 2.0]) * 1e-3  # all divide 3.2 s
    exact = let_down(1e-4)
    depth, slip = np.abs([let_down(step_s) - exact for step_s in steps]).T
    assert np.polyfit(np.log(steps), np.log(depth), 1)[0] == pytest.approx(4.0, abs=0.1)
    assert np.polyfit(np.log(steps), np.log(slip), 1)[0] == pytest.approx(4.0, abs=0.1)
