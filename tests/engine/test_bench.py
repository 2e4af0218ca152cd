"""Laboratory set-ups against published answers; each names its source.

Where nothing else is said beside it, a tolerance is what the last printed digit of the answer
leaves open.
"""

from __future__ import annotations

from math import exp, log, pi, sqrt

import pytest

from edgewear import bench
from edgewear.bench import Bend
from edgewear.errors import UsageError
from edgewear.geometry.catch import impact_n

QUARTER = pi / 2

DAMPING_FREE = 1e-3
"""The peak falls between two steps of at most 10 ms; a cosine that far off its top is 0.1 % low."""


def test_a_weight_is_held_over_three_quarters_of_a_turn() -> None:
    # pickedshares.com, Engineering Mechanics 1, exercise 27: 981 N, mu 0.2, wrap 3*pi/2
    assert bench.hang(981.0, [Bend(0.2, 1.5 * pi)])[0] == pytest.approx(382.26, abs=0.01)


def test_friction_that_holds_a_ship_with_two_turns() -> None:
    # Beer & Johnston, Vector Mechanics: Statics, problem 8.104: 80 lbf hold 5,000 lbf
    mu = log(5000.0 / 80.0) / (4.0 * pi)
    assert mu == pytest.approx(0.329, abs=0.0005)
    assert bench.hang(5000.0, [Bend(mu, 4.0 * pi)])[0] == pytest.approx(80.0, rel=1e-9)
    turns = log(20000.0 / 80.0) / (2.0 * pi * mu)
    assert turns == pytest.approx(2.67, abs=0.021)  # printed from mu rounded to 0.329
    assert bench.hang(20000.0, [Bend(mu, turns * 2.0 * pi)])[0] == pytest.approx(80.0, rel=1e-9)


def test_two_bollards_in_series_multiply() -> None:
    # thestudentroom.co.uk, thread 155631: 50 N, mu 0.2, 5*pi/3 on each
    bollards = [Bend(0.2, 5.0 * pi / 3.0), Bend(0.2, 5.0 * pi / 3.0)]
    assert bench.pull(50.0, bollards).raise_n == pytest.approx(406.0, abs=0.5)


def test_a_person_lowers_themself_over_a_limb() -> None:
    # physicsforums.com, thread 811107: 180 lbf, mu 0.6, wrap pi, both strands carry them
    ratio = 100.0 / bench.hang(100.0, [Bend(0.6, pi)])[0]
    assert 180.0 / (1.0 + ratio) == pytest.approx(23.7, abs=0.05)
    assert 180.0 / ratio == pytest.approx(27.3, abs=0.05)  # the documented mistake, one strand


@pytest.mark.parametrize(
    ("turns", "ratio"),
    list(
        zip(
            (0.25, 0.5, 1, 2, 3, 4, 5, 6),
            (1.32, 1.73, 3.00, 9.02, 27.08, 81.31, 244.15, 733.15),
            strict=True,
        )
    ),
)
def test_turns_on_a_bar(turns: float, ratio: float) -> None:
    # Delaney, Physics for Roping Technicians (2022), p. 88: mu 0.175
    held = bench.hang(1000.0, [Bend(0.175, turns * 2.0 * pi)])[0]
    assert 1000.0 / held == pytest.approx(ratio, abs=0.01)


def test_the_standard_fall_of_a_dynamic_rope() -> None:
    # EN 892 fall arrangement, impact-force equation: h 4.6 m, L 2.6 m, 80 kg, 12 kN, g 9.81
    factor, weight = 4.6 / 2.6, 80.0 * 9.81
    assert factor == pytest.approx(1.77, abs=0.005)
    assert sqrt(2.0 * 9.81 * 4.6) == pytest.approx(9.50, abs=0.005)
    stiffness = ((12000.0 - weight) ** 2 - weight**2) / (2.0 * weight * factor)
    assert stiffness == pytest.approx(45070.0, abs=5.0)
    assert impact_n(80.0, stiffness, 2.6, 4.6) == pytest.approx(12000.0, rel=1e-9)
    assert bench.drop(80.0, stiffness, 2.6, 4.6) == pytest.approx(12000.0, rel=DAMPING_FREE)


@pytest.mark.parametrize(("factor", "peak_n"), [(0.0, 1962.0), (0.3, 4518.0), (1.0, 7262.5)])
def test_drops_without_damping(factor: float, peak_n: float) -> None:
    # impact-force equation (derived): 100 kg, K 19.62 kN, g 9.81
    assert bench.drop(100.0, 19620.0, 10.0, factor * 10.0) == pytest.approx(
        peak_n, rel=DAMPING_FREE
    )


def test_a_jump_on_a_long_cord() -> None:
    # jiskha.com, question 1302123574: 53 kg, 13 m cord, 35 m in all, g 9.8
    rate = 2.0 * 53.0 * 9.8 * 35.0 / 22.0**2
    assert rate == pytest.approx(75.1, abs=0.1)
    mass_of_the_same_weight = 53.0 * 9.8 / 9.81
    peak = bench.drop(mass_of_the_same_weight, rate * 13.0, 13.0, 13.0)
    assert peak == pytest.approx(1652.6, rel=DAMPING_FREE)


def test_a_damped_bounce() -> None:
    # standard worked example of logarithmic decrement: 150 kg, 12 kN/m, peaks 10 -> 7.3 mm
    damping = 2.0 * 0.05 * sqrt(12000.0 * 150.0)
    assert damping == pytest.approx(134.2, abs=0.05)
    found = bench.bounce(150.0, 12000.0 * 10.0, 10.0, damping / 12000.0)
    # peaks are read at steps of at most 10 ms, 1/70 of a period: up to 0.1 % low
    assert found.log_decrement == pytest.approx(0.315, rel=2e-3)
    assert found.damping_ratio == pytest.approx(0.0500, rel=2e-3)
    assert found.undamped_rad_s == pytest.approx(8.944, abs=1e-3)
    assert found.damped_rad_s == pytest.approx(8.933, abs=1e-3)


def test_the_stick_band_of_a_quarter_turn() -> None:
    # Euler-Eytelwein (derived): 981 N, mu 0.2, 90 degrees
    read = bench.pull(981.0, [Bend(0.2, QUARTER)])
    assert read.lower_n == pytest.approx(716.53, abs=0.01)
    assert read.raise_n == pytest.approx(1343.09, abs=0.01)
    assert read.load_n - read.lower_n == pytest.approx(264.47, abs=0.01)


@pytest.mark.parametrize(
    ("mu", "wrap_deg"),
    list(
        zip(
            (0.21, 0.15, 0.19, 0.18, 0.14, 0.25, 0.19, 0.24, 0.37, 0.36, 0.44),
            (90, 180, 90, 90, 180, 90, 180, 180, 180, 180, 90),
            strict=True,
        )
    ),
)
def test_friction_comes_back_from_raising_and_lowering(mu: float, wrap_deg: float) -> None:
    # Delaney, Physics for Roping Technicians (2022), p. 88: 75 kg over eleven hosts and wraps
    found = bench.raise_lower(75.0 * 9.81, mu, wrap_deg * pi / 180.0)
    assert found == pytest.approx(mu, abs=1e-5)  # what the slow pull's acceleration adds


def test_hauling_over_a_right_angle_of_concrete_takes_twice_the_load() -> None:
    # Euler-Eytelwein (derived) with the measured mu 0.44 of concrete, Delaney (2022), p. 88
    read = bench.pull(981.0, [Bend(0.44, QUARTER)])
    # 0.01 %: what the slow pull's acceleration adds
    assert read.raise_n / 981.0 == pytest.approx(exp(0.44 * QUARTER), rel=1e-4)
    assert round(read.raise_n / 981.0) == 2


def test_a_slow_machine_slips_by_its_travel_less_the_stretch() -> None:
    made = bench.reciprocate(120.0, 0.5, 0.02, 3, [Bend(0.2, 0.5, 5.0)])
    # to and fro the tension between drive and bend goes from W/R to W*R, R = exp(mu * wrap)
    strain = 120.0 * 9.81 / bench.STIFFNESS_N
    taken_up = 5.0 * strain * (exp(0.1) - exp(-0.1))
    path = 3 * 2 * (0.5 - taken_up) * (1.0 + strain)
    # small strain leaves out its square; the weight's start adds a little
    assert made.slip_m[0] == pytest.approx(path, rel=strain)
    assert made.energy_residual < 1e-4


def test_a_straight_rope_gives_no_friction_to_read() -> None:
    with pytest.raises(UsageError, match="a bend is needed"):
        bench.raise_lower(735.75, 0.2, 0.0)
