"""Published answers: capstans, falls, bounces, friction read both ways, contact heat."""

from __future__ import annotations

from collections.abc import Iterator
from math import log, pi, sqrt

from edgewear import bench
from edgewear.bench import Bend
from edgewear.rigging.loads import self_lowering_n, stop_load_factor
from edgewear.study.verify_row import Row, off, share

DELANEY = "Delaney, Physics for Roping Technicians (2022), p. 88"
IMPACT = "impact-force equation"
DERIVED = "Euler-Eytelwein (derived)"

TURNS = {0.25: 1.32, 0.5: 1.73, 1: 3.00, 2: 9.02, 3: 27.08, 4: 81.31, 5: 244.15, 6: 733.15}
"""Turns on a bar with mu 0.175 -> ratio of tensions."""

HOSTS = (
    (0.21, 90),
    (0.15, 180),
    (0.19, 90),
    (0.18, 90),
    (0.14, 180),
    (0.18, 90),
    (0.25, 90),
    (0.19, 180),
    (0.21, 90),
    (0.24, 180),
    (0.24, 180),
    (0.37, 180),
    (0.36, 180),
    (0.44, 90),
)
"""Friction coefficient and wrap angle [deg] of the fourteen hosts."""


def published(full: bool) -> Iterator[Row]:
    """Work the published answers.

    Parameters:
        full: all hosts instead of every third.
    """
    yield from _capstans()
    yield from _falls()
    yield from _bounce()
    yield from _friction(HOSTS if full else HOSTS[::3])
    yield from _heat()


def _capstans() -> Iterator[Row]:
    held = bench.hang(981.0, [Bend(0.2, 1.5 * pi)])[0]
    source = "pickedshares.com, Engineering Mechanics 1, exercise 27"
    yield off("capstan: 981 N over three quarters of a turn [N]", source, held, 382.26, 0.01)
    source = "Beer & Johnston, Vector Mechanics: Statics, problem 8.104"
    mu = log(5000.0 / 80.0) / (4.0 * pi)
    yield off("capstan inverted: friction of two turns [1]", source, mu, 0.329, 0.0005)
    held = bench.hang(5000.0, [Bend(mu, 4.0 * pi)])[0]
    yield share("that friction holds 5,000 with 80", source, held, 80.0, 1e-6)
    bollards = [Bend(0.2, 5.0 * pi / 3.0), Bend(0.2, 5.0 * pi / 3.0)]
    raised = bench.pull(50.0, bollards).raise_n
    source = "thestudentroom.co.uk, thread 155631"
    yield off("two bollards in series [N]", source, raised, 406.0, 0.5)
    source = "physicsforums.com, thread 811107"
    pull = self_lowering_n(180.0, 0.6, pi)
    yield off("a person lowers themself over a limb [lbf]", source, pull, 23.7, 0.05)
    worst = max(
        abs(1000.0 / bench.hang(1000.0, [Bend(0.175, turns * 2.0 * pi)])[0] - ratio)
        for turns, ratio in TURNS.items()
    )
    yield Row("turns on a bar, largest of eight ratios [1]", DELANEY, worst, 0.01)
    read = bench.pull(981.0, [Bend(0.2, pi / 2)])
    yield off("stick band, lower end [N]", DERIVED, read.lower_n, 716.53, 0.01)
    yield off("stick band, upper end [N]", DERIVED, read.raise_n, 1343.09, 0.01)
    source = "power-law capstan (derived)"
    grip = Bend(0.5, pi / 2, radius_m=0.01, exponent=0.85)
    raised = bench.pull(500.0, [grip]).raise_n
    yield share("capstan with power-law friction, n 0.85", source, raised, 582.776, 1e-3)
    raised = bench.pull(500.0, [Bend(0.2, pi / 2)]).raise_n
    yield share("the same with n 1", source, raised, 684.554, 1e-3)


def _falls() -> Iterator[Row]:
    factor, weight = 4.6 / 2.6, 80.0 * 9.81
    stiffness = ((12000.0 - weight) ** 2 - weight**2) / (2.0 * weight * factor)
    peak = bench.drop(80.0, stiffness, 2.6, 4.6)
    yield share("standard fall of a dynamic rope", f"EN 892; {IMPACT}", peak, 12000.0, 1e-3)
    for fall, force in ((0.0, 1962.0), (0.3, 4518.0), (1.0, 7262.5)):
        peak = bench.drop(100.0, 19620.0, 10.0, fall * 10.0)
        yield share(f"drop of 100 kg, fall factor {fall:g}", IMPACT, peak, force, 1e-3)
    rate = 2.0 * 53.0 * 9.8 * 35.0 / 22.0**2
    peak = bench.drop(53.0 * 9.8 / 9.81, rate * 13.0, 13.0, 13.0)
    source = "jiskha.com, question 1302123574"
    yield share("jump on a 13 m cord", source, peak, 1652.6, 1e-3)
    source = "Kane 2007, Arboriculture & Urban Forestry 33(1)"
    for speed, stop, expected in ((1.0, 1.0, 1.051), (2.5, 0.1, 4.186)):
        found = stop_load_factor(speed, stop)
        yield off(f"descent stopped from {speed:g} m/s [1]", source, found, expected, 0.001)


def _bounce() -> Iterator[Row]:
    damping = 2.0 * 0.05 * sqrt(12000.0 * 150.0)
    found = bench.bounce(150.0, 12000.0 * 10.0, 10.0, damping / 12000.0)
    source = "worked example of logarithmic decrement"
    yield off("bounce, undamped [rad/s]", source, found.undamped_rad_s, 8.944, 0.001)
    yield off("bounce, damped [rad/s]", source, found.damped_rad_s, 8.933, 0.001)
    yield share("bounce, decrement", source, found.log_decrement, 0.315, 2e-3)
    yield share("bounce, damping ratio", source, found.damping_ratio, 0.05, 2e-3)


def _friction(hosts: tuple[tuple[float, int], ...]) -> Iterator[Row]:
    worst = max(
        abs(bench.raise_lower(75.0 * 9.81, mu, wrap * pi / 180.0) - mu) for mu, wrap in hosts
    )
    name = f"friction from raising and lowering, largest of {len(hosts)} hosts [1]"
    yield Row(name, DELANEY, worst, 1e-4)


def _heat() -> Iterator[Row]:
    import numpy as np

    from edgewear.engine.heat_source import FAST_LIMIT, moving_band_rise

    speeds = np.array([1.0, 10.0, 100.0])
    found = moving_band_rise(speeds) / np.array([3.116, 10.948, 35.323])
    worst = float(np.abs(found - 1.0).max())
    yield Row("moving band of heat, largest of three speeds", "Jaeger 1942", worst, 1e-3)
    yield share("its fast limit", "Jaeger 1942", FAST_LIMIT, 3.5449, 1e-3)
