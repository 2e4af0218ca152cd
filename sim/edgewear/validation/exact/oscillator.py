"""A weight with constant friction: published turning points, by the step of every job."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from edgewear.engine.bench_line import BenchLine, Bend, vertex
from edgewear.layout import TICK_S, Kind
from edgewear.terms import GRAVITY_M_S2
from edgewear.validation.exact.row import Row

SPRING_N_M = 100.0
FRICTION_N = 5.0
FIRST_M = 1.0
"""Spring rate, friction force and first deflection. The turning points do not depend on the mass:
here it is the one whose weight holds the deflection, so that the rope is never slack."""

TURNING_M = (-0.9, 0.8, -0.7, 0.6, -0.5, 0.4, -0.3, 0.2, -0.1, 0.0)
"""Each swing ends 2*F/k short of the one before; |k*x| < F at the tenth."""

BEHIND_M, BELOW_M = 1e6, 1.0
"""Rope behind and below the bend: so much more behind that the rope below is stiff (the weight
moves 1e-7 m before the rope slips) and that what is behind stays the same."""

DAMPINGS_S = (4e-4, 8e-4, 12e-4, 16e-4)
"""Values of tau from which the limit without damping is taken, by a cubic in tau."""

SOURCE = "Marchewka, Abbott & Beichner, Am. J. Phys. 72 (2004) 477"


def oscillator(full: bool) -> Iterator[Row]:
    """Work the dry-friction oscillator, m 1 kg, k 100 N/m, F 5 N, from 1 m."""
    swung = [swing(tau_s) for tau_s in DAMPINGS_S]
    table = np.array([turning_m for turning_m, _ in swung])
    limit = np.linalg.solve(np.vander(1e3 * np.array(DAMPINGS_S), increasing=True), table)[0]
    worst = float(np.abs(limit - TURNING_M).max())
    yield Row("dry-friction oscillator: ten turning points [m]", SOURCE, worst, 1e-6)
    drift = max(moved_m for _, moved_m in swung)
    yield Row("it rests from the tenth half swing on: movement [m]", SOURCE, drift, 1e-6)


def swing(tau_s: float, swings: float = 11.0) -> tuple[np.ndarray, float]:
    """Let the weight go where the rope is just straight, and read where it turns.

    The friction is that of a bend with F = a*N^0: T_hi = T_lo + a*R*theta, whatever the tension.
    The rope is K/k long in all, and of the bend's friction the share that lies behind it reaches
    the weight.

    Parameters:
        tau_s: of the rope [s]; swings: half swings to wait.

    Returns:
        Turning points upwards (10,) [m], and how far the weight moves after the tenth [m].
    """
    rope_m = BEHIND_M + BELOW_M
    friction_n = FRICTION_N * rope_m / (BEHIND_M - FIRST_M)  # at rest so much less lies behind
    bend = Bend(friction_n, 1.0, after_m=BEHIND_M, radius_m=1.0, exponent=0.0)
    mass_kg = SPRING_N_M * FIRST_M / GRAVITY_M_S2
    ticks = round(swings * np.pi * np.sqrt(mass_kg / SPRING_N_M) / TICK_S)
    stand = BenchLine(
        SPRING_N_M * rope_m, tau_s, mass_kg, [bend],
        rope_m=2.0 * rope_m, cell_m=0.1 * rope_m, samples=ticks, sample_ticks=1,
    )  # fmt: skip
    stand.make(Kind.LOAD, depth_m=BELOW_M)
    stand.make(Kind.DROP, depth_m=BELOW_M, length_m=0.0, duration_ticks=ticks)
    samples = stand.samples()
    up_m = BELOW_M + FIRST_M - samples["depth_m"]
    moved = np.diff(up_m)
    turns = 1 + np.flatnonzero(moved[:-1] * moved[1:] <= 0.0)[: len(TURNING_M)]
    time_s = samples["tick"] * TICK_S
    turning_m = np.array([vertex(time_s, up_m, int(k))[1] for k in turns])
    return turning_m, float(np.ptp(up_m[turns[-1] :]))
