"""Published answers: capstans, falls, bounces, friction read both ways, contact heat."""

from __future__ import annotations

from collections.abc import Iterator
from math import log, log10, pi, radians, sqrt

from edgewear import bench
from edgewear.bench import Bend
from edgewear.engine.bench_line import BenchLine
from edgewear.geometry.catch import impact_n
from edgewear.geometry.loads import self_lowering_n, stop_load_factor
from edgewear.layout import Kind
from edgewear.terms import GRAVITY_M_S2
from edgewear.validation.exact.row import Row, off, share

DELANEY = "Delaney, Physics for Roping Technicians (2022), p. 88"
IMPACT = "impact-force equation"
DERIVED = "Euler-Eytelwein (derived)"

TURNS = {0.25: 1.32, 0.5: 1.73, 1: 3.00, 2: 9.02, 3: 27.08, 4: 81.31, 5: 244.15, 6: 733.15}
"""Turns on a bar with mu 0.175 -> ratio of tensions."""

HOSTS = (
    (98, 50, 90, 0.21),
    (88, 35, 180, 0.15),
    (89, 49, 90, 0.19),
    (92, 53, 90, 0.18),
    (87, 36, 180, 0.14),
    (92, 52, 90, 0.18),
    (103, 47, 90, 0.25),
    (125, 37, 180, 0.19),
    (92, 47, 90, 0.21),
    (127, 29, 180, 0.24),
    (140, 31, 180, 0.24),
    (179, 17, 180, 0.37),
    (140, 15, 180, 0.36),
    (135, 34, 90, 0.44),
)
"""Readings while 75 kg go up and down [kg], wrap [deg] and friction coefficient of 14 hosts."""

NYLON_W_M_K = (-2.6135, 2.3239, -4.7586, 7.1602, -4.9155, 1.6324, -0.2507, 0.0131)
NYLON_J_KG_K = (-5.2929, 25.301, -54.874, 71.061, -52.236, 21.648, -4.7317, 0.42518)
"""Coefficients of log10(value) over powers of log10(kelvin), from memory; both give the printed
0.3368 W/(m K) and 1619.2 J/(kg K) at 300 K."""

NYLON_KG_M3 = 1140.0
"""Density of nylon, from memory."""


def published(full: bool) -> Iterator[Row]:
    """Work the published answers."""
    yield from _capstans()
    yield from _turns()
    yield from _stick_band()
    yield from _power_law()
    yield from _falls()
    yield from _bounce()
    yield from _friction()
    yield from _heat()
    yield from _nylon()


def _capstans() -> Iterator[Row]:
    held = bench.hang(981.0, [Bend(0.2, 1.5 * pi)])[0]
    source = "pickedshares.com, Engineering Mechanics 1, exercise 27"
    yield off("capstan: 981 N over three quarters of a turn [N]", source, held, 382.26, 0.01)
    bollards = [Bend(0.2, 5.0 * pi / 3.0), Bend(0.2, 5.0 * pi / 3.0)]
    raised = bench.pull(50.0, bollards).raise_n
    source = "thestudentroom.co.uk, thread 155631"
    yield off("two bollards in series [N]", source, raised, 406.0, 0.5)
    source = "physicsforums.com, thread 811107"
    pull = self_lowering_n(180.0, 0.6, pi)
    yield off("a person lowers themself over a limb [lbf]", source, pull, 23.7, 0.05)


def _turns() -> Iterator[Row]:
    source = "Beer & Johnston, Vector Mechanics: Statics, problem 8.104"
    guess = 0.3
    held = bench.hang(5000.0, [Bend(guess, 4.0 * pi)])[0]
    mu = guess * log(5000.0 / 80.0) / log(5000.0 / held)
    yield off("capstan inverted: friction of two turns [1]", source, mu, 0.329, 0.0005)
    held = bench.hang(5000.0, [Bend(mu, 4.0 * pi)])[0]
    yield share("that friction holds 5,000 with 80", source, held, 80.0, 1e-9)
    turns = log(20000.0 / 80.0) / log(20000.0 / bench.hang(20000.0, [Bend(mu, 2.0 * pi)])[0])
    yield off("turns with which 80 hold 20,000 [1]", source, turns, 2.67, 0.005)
    worst = max(
        abs(1000.0 / bench.hang(1000.0, [Bend(0.175, turns * 2.0 * pi)])[0] - ratio)
        for turns, ratio in TURNS.items()
    )
    yield Row("turns on a bar, largest of eight ratios [1]", DELANEY, worst, 0.01)


def _stick_band() -> Iterator[Row]:
    read = bench.pull(981.0, [Bend(0.2, pi / 2)])
    yield off("stick band, lower end [N]", DERIVED, read.lower_n, 716.53, 0.01)
    yield off("stick band, upper end [N]", DERIVED, read.raise_n, 1343.09, 0.01)
    held = read.load_n - read.lower_n
    yield off("stick band, friction at its lower end [N]", DERIVED, held, 264.47, 0.01)


def _power_law() -> Iterator[Row]:
    source = "power-law capstan (derived)"
    grip = Bend(0.5, pi / 2, radius_m=0.01, exponent=0.85)
    raised = bench.pull(500.0, [grip]).raise_n
    yield off("capstan with power-law friction, n 0.85 [N]", source, raised, 582.776, 1e-3)
    raised = bench.pull(500.0, [Bend(0.2, pi / 2)]).raise_n
    yield off("the same with n 1 [N]", source, raised, 684.554, 1e-3)


def _falls() -> Iterator[Row]:
    factor, weight = 4.6 / 2.6, 80.0 * 9.81
    stiffness = ((12000.0 - weight) ** 2 - weight**2) / (2.0 * weight * factor)
    source = f"EN 892; {IMPACT}"
    yield off("standard fall: stiffness from 12 kN [kN]", source, stiffness / 1e3, 45.07, 0.005)
    falling = BenchLine(stiffness, 0.0, 80.0)
    falling.make(Kind.LOAD, depth_m=2.6)
    falling.make(Kind.DROP, depth_m=-2.0, length_m=4.6, duration_ticks=1)
    speed = falling.get("speed_m_s")
    yield off("standard fall: speed at its end [m/s]", source, speed, 9.50, 0.005)
    peak = impact_n(80.0, stiffness, 2.6, 4.6)
    yield share("standard fall: and back, by the equation", source, peak, 12000.0, 1e-9)
    peak = bench.drop(80.0, stiffness, 2.6, 4.6)
    yield share("standard fall: and back, by stepping", source, peak, 12000.0, 1e-3)
    for fall, force in ((0.0, 1962.0), (0.3, 4518.0), (1.0, 7262.5)):
        peak = bench.drop(100.0, 19620.0, 10.0, fall * 10.0)
        yield share(f"drop of 100 kg, fall factor {fall:g}", IMPACT, peak, force, 1e-3)
    rate = 2.0 * 53.0 * 9.8 * 35.0 / 22.0**2
    peak = bench.drop(53.0 * 9.8 / 9.81, rate * 13.0, 13.0, 13.0)
    source = "jiskha.com, question 1302123574"
    yield off("jump on a 13 m cord: spring rate [N/m]", source, rate, 75.1, 0.1)
    yield off("jump on a 13 m cord: peak [N]", source, peak, 1652.6, 0.1)
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
    read = 2.0 * found.damping_ratio * found.undamped_rad_s * 150.0
    yield share("bounce, damping [kg/s]", source, read, 134.2, 2e-3)


def _friction() -> Iterator[Row]:
    worst_back = worst_printed = 0.0
    for up_kg, down_kg, wrap_deg, mu in HOSTS:
        wrap_rad = radians(wrap_deg)
        back = bench.raise_lower(75.0 * GRAVITY_M_S2, mu, wrap_rad)
        worst_back = max(worst_back, abs(back - mu))
        printed = bench.Pull(up_kg, down_kg, 75.0).friction_times_wrap / wrap_rad
        worst_printed = max(worst_printed, abs(printed - mu))
    name = "friction from raising and lowering, largest of 14 hosts [1]"
    yield Row(name, DELANEY, worst_back, 1e-4)
    name = "the printed friction from the printed readings, largest of 14 [1]"
    yield Row(name, f"{DELANEY} (measured)", worst_printed, 0.006)


def _heat() -> Iterator[Row]:
    import numpy as np

    from edgewear.engine.results.heat_source import FAST_LIMIT, moving_band_rise

    speeds = np.array([1.0, 10.0, 100.0])
    found = moving_band_rise(speeds) / np.array([3.116, 10.948, 35.323])
    worst = float(np.abs(found - 1.0).max())
    yield Row("moving band of heat, largest of three speeds", "Jaeger 1942", worst, 1e-3)
    yield share("its fast limit", "Jaeger 1942", FAST_LIMIT, 3.5449, 1e-3)


def _nylon() -> Iterator[Row]:
    """The sheath's heat in the library against the fit it was taken from."""
    from edgewear.scenario.read.libraries import built_in

    nylon = built_in()["sheaths"]["polyamide"]
    given = [float(nylon[name]["value"].split()[0]) for name in ("conductivity", "heat capacity")]
    source = "NIST cryogenic material properties, polyamide fit"
    fitted = _fit(NYLON_W_M_K, 300.0)
    yield off("nylon at 300 K: conductivity [W/(m K)]", source, fitted, 0.3368, 0.3368e-3)
    yield share("nylon's conductivity in the library", source, given[0], fitted, 1e-3)
    fitted = _fit(NYLON_J_KG_K, 300.0)
    yield off("nylon at 300 K: heat capacity [J/(kg K)]", source, fitted, 1619.2, 1.6192)
    name = "nylon's heat capacity in the library, rounded to three digits"
    yield share(name, source, given[1], fitted * NYLON_KG_M3, 0.005 / 1.85)


def _fit(coefficients: tuple[float, ...], temperature_k: float) -> float:
    """Polynomial between the logarithms of temperature and value."""
    power: float = 10.0 ** sum(a * log10(temperature_k) ** i for i, a in enumerate(coefficients))
    return power
