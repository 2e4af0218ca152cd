"""How errors fall with the step: order of convergence and energy balance of random climbs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from edgewear.engine.bench_line import BenchLine, Bend
from edgewear.layout import TICK_S, Kind
from edgewear.validation.exact.row import Row, off

CLIMBS = 20
STEPS_S = (10e-3, 7e-3, 5e-3, 3.5e-3, 2.5e-3, 1.8e-3, 1.2e-3, 0.8e-3)
EVEN_STEPS_S = (10e-3, 8e-3, 6.4e-3, 5e-3, 4e-3, 3.2e-3, 2.5e-3, 2e-3)
"""All divide the seconds after which a slow lowering is looked at."""
LOOKED_AT_S = 3.2
SMALL_STEP_S = 2e-3
"""Step at which the energy balance closes to a millionth."""

STROKES = (
    {"rise_m": 0.40, "sit_back_m": 0.10, "rise_s": 0.40, "drop_s": 0.15, "pause_s": 0.25},
    {"rise_m": 0.35, "sit_back_m": 0.05, "rise_s": 0.80, "drop_s": 0.30, "pause_s": 0.50},
    {"rise_m": 0.30, "sit_back_m": 0.02, "rise_s": 1.20, "drop_s": 0.50, "pause_s": 0.60},
)
"""Jerky, normal and smooth."""

SOURCE = "observed, against steps of one tick"


def steps(full: bool) -> Iterator[Row]:
    """Work the rows.

    Parameters:
        full: the order across switches too.
    """
    depth, slip = _orders_without_a_switch()
    yield off("order in the step, sliding without a switch, depth [1]", SOURCE, depth, 4.0, 0.1)
    yield off("order in the step, the same, sliding path [1]", SOURCE, slip, 4.0, 0.1)
    if full:
        order = float(np.median([order_across_switches(seed) for seed in range(CLIMBS)]))
        name = f"order in the step across switches, median of {CLIMBS} climbs: short of 2 [1]"
        yield Row(name, SOURCE, max(0.0, 2.0 - order), 0.2)
    for step_s, tolerance in ((0.015, 3e-5), (SMALL_STEP_S, 1e-6)):
        worst = max(climb(seed, step_s).residual() for seed in range(CLIMBS))
        name = f"energy balance, steps of {1e3 * step_s:g} ms, largest of {CLIMBS} climbs"
        yield Row(name, "every term integrated", worst, tolerance)


def climb(seed: int, step_s: float) -> BenchLine:
    """Make three strokes of a random technique over one to six random bends.

    Parameters:
        seed: of everything random; step_s: longest step [s].
    """
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 7))
    after_m = np.maximum(rng.uniform(0.5, 60.0) * rng.dirichlet(np.full(count, 2.0)), 0.2)
    wraps = np.radians(rng.uniform(1.0, 170.0, count))
    bends = [
        Bend(float(mu), float(wrap), float(free))
        for mu, wrap, free in zip(rng.uniform(0.05, 0.45, count), wraps, after_m, strict=True)
    ]
    stand = BenchLine(
        float(rng.uniform(25e3, 60e3)), float(rng.uniform(0.015, 0.06)),
        float(rng.uniform(75.0, 130.0)), bends,
        body_stiffness_n_m=float(rng.uniform(5e3, 15e3)), step_s=step_s,
    )  # fmt: skip
    stand.make(Kind.LOAD, depth_m=float(rng.uniform(5.0, 12.0)))
    stroke = STROKES[int(rng.integers(3))]
    stand.make(Kind.STROKES, length_m=3.0 * stroke["rise_m"], **stroke)
    return stand


def order_across_switches(seed: int) -> float:
    """Power of the step with which the error of a climb's friction energy falls."""

    def energy_j(step_s: float) -> float:
        return float(climb(seed, step_s).buffers.sums["energy_j"].sum())

    exact = energy_j(TICK_S)
    errors = [max(abs(energy_j(step_s) / exact - 1.0), 1e-12) for step_s in STEPS_S]
    return _slope(STEPS_S, errors)


def lowered(step_s: float) -> np.ndarray:
    """Depth and sliding path over three bends, all sliding, of a weight let down slowly [m].

    Parameters:
        step_s: longest step [s], which divides what is looked at.
    """
    bends = [Bend(0.2, 0.5, 8.0), Bend(0.3, 0.4, 3.0), Bend(0.1, 1.0, 2.0)]
    ticks = round(LOOKED_AT_S / TICK_S)
    stand = BenchLine(45e3, 0.03, 100.0, bends, samples=3, sample_ticks=ticks, step_s=step_s)
    stand.make(Kind.LOAD, depth_m=6.0)
    stand.make(Kind.FEED, length_m=-2.0, speed_m_s=0.5, stop_s=LOOKED_AT_S / 2.0)
    samples = stand.samples()
    seen = samples[samples["tick"] == ticks][0]
    return np.array([seen["depth_m"], seen["slip_m"]])


def _orders_without_a_switch() -> tuple[float, float]:
    exact = lowered(TICK_S)
    errors = np.abs([lowered(step_s) - exact for step_s in EVEN_STEPS_S])
    return _slope(EVEN_STEPS_S, errors[:, 0]), _slope(EVEN_STEPS_S, errors[:, 1])


def _slope(steps_s: tuple[float, ...], errors: list[float] | np.ndarray) -> float:
    """Slope of the logarithms, by least squares."""
    return float(np.polyfit(np.log(steps_s), np.log(errors), 1)[0])
