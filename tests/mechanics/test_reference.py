"""The step kernel against an independent solver, and the order in which its error falls."""

from __future__ import annotations

import math

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import EDGE, LINE, MOVEMENT, PERSON, WEAR, Kind, Status
from twins.lines import TECHNIQUES
from twins.reference_line import System, run


def random_system(seed):
    """One to six bends, any technique, 0.5 to 60 m behind the last bend."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 7))
    setback = rng.uniform(0.5, 60.0)
    shares = rng.dirichlet(np.full(count, 2.0))
    technique = TECHNIQUES[int(rng.integers(3))]
    return System(
        after_m=tuple(np.maximum(setback * shares, 0.1)),
        bends_rad=tuple(np.radians(rng.uniform(1.0, 170.0, count))),
        frictions=tuple(rng.uniform(0.05, 0.45, count)),
        stiffness_n=rng.uniform(25e3, 60e3),
        tau_s=rng.uniform(0.015, 0.06),
        mass_kg=rng.uniform(75.0, 130.0),
        body_n_m=rng.uniform(5e3, 15e3),
        force_ratio=rng.uniform(1.3, 1.8),
        depth_m=rng.uniform(5.0, 12.0),
        rise_m=technique["rise_m"],
        back_m=technique["sit_back_m"],
        rise_s=technique["rise_s"],
        drop_s=technique["drop_s"],
        pause_s=technique["pause_s"],
        strokes=3,
    )


def kernel(system, step_s=0.01):
    """Buffers of the same system after the same strokes, by the step kernel."""
    count = len(system.after_m)
    line, edges = np.zeros(1, LINE), np.zeros(count, EDGE)
    person, wear = np.zeros(1, PERSON), np.ones(1, WEAR)
    line["direct"], line["edge_count"], line["rope_m"] = 1, count, 150.0
    line["stiffness_n"], line["viscous_s"] = system.stiffness_n, system.tau_s
    line["diameter_m"], line["device_slip_n"] = system.contact_m, math.inf
    edges["friction"], edges["bend_rad"] = system.frictions, system.bends_rad
    edges["after_m"], edges["radius_m"] = system.after_m, 1e-4
    for field in ("static_ratio", "power_exponent", "severity", "wet_factor"):
        edges[field] = 1.0
    person["mass_kg"], person["body_stiffness_n_m"] = system.mass_kg, system.body_n_m
    person["force_ratio"] = system.force_ratio
    wear["sheath_j_m"] = wear["core_j_m"] = wear["breaking_n"] = 1e30
    wear["presliding_m"], wear["law"] = 0.0, 1
    table = mechanics.route(line, edges)
    buffers = mechanics.allocate(line, edges, person, wear, table, cell_m=2e-4, step_s=step_s)
    load, climb = np.zeros(1, MOVEMENT), np.zeros(1, MOVEMENT)
    load["kind"], load["depth_m"] = Kind.LOAD, system.depth_m
    climb["kind"], climb["length_m"] = Kind.STROKES, system.strokes * system.rise_m
    climb["rise_m"], climb["sit_back_m"] = system.rise_m, system.back_m
    climb["rise_s"], climb["drop_s"] = system.rise_s, system.drop_s
    climb["pause_s"] = system.pause_s
    for movement in (load, climb):
        args = (movement, np.zeros((10, 2)), 2**62, False, 0, math.inf)
        assert mechanics.advance(buffers, *args) & Status.DONE
    return buffers


def check(seed):
    """The figures that the kernel must reach, or an absolute floor where they are smaller.

    0.1 % is asked of the default step; 0.1 mm, 20 mJ and 0.1 N are nothing on site.
    """
    system = random_system(seed)
    answer, buffers = run(system), kernel(system)
    sums = buffers.sums
    assert sums["slip_m"] == pytest.approx(answer.slip_m, rel=1e-3, abs=1e-4)
    assert sums["energy_j"] == pytest.approx(answer.energy_j, rel=1e-3, abs=0.02)
    assert buffers.state["peak_n"][0] == pytest.approx(answer.peak_n, rel=1e-3, abs=0.1)
    # the reference's own window is cut to 0.1 mm of 11 mm
    assert mechanics.worst(buffers)[0] == pytest.approx(answer.worst_j_m, rel=5e-3, abs=2.0)


@pytest.mark.parametrize("seed", range(4))
def test_random_systems_agree_with_an_independent_solver(seed):
    check(seed)


COARSE = pytest.mark.xfail(
    reason="six bends of 520 degrees in all within 4.7 m, shortest span 0.17 m: at steps of 10 ms "
    "one of them is off by 0.03 J of 4.5 J; at 5 ms all agree",
    strict=True,
)
SEEDS = [pytest.param(seed, marks=COARSE) if seed == 136 else seed for seed in range(100, 300)]


@pytest.mark.long
@pytest.mark.parametrize("seed", SEEDS)
def test_200_random_systems_agree_with_an_independent_solver(seed):
    check(seed)


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


@pytest.mark.long
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
