"""Laboratory set-ups over the same step function as every job: hang, pull, drop, bounce ...

They have answers in closed form or in published tables, so they tell whether the numbers can be
trusted. Each builds a line on a test stand, moves it, and reads off what an instrument would.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, log, pi, sqrt

import numpy as np

from edgewear.engine.bench_line import BenchLine, Bend, vertex
from edgewear.errors import UsageError
from edgewear.layout import TICK_S, Kind
from edgewear.terms import GRAVITY_M_S2

__all__ = ["Bend", "Bounce", "Cycles", "Pull", "bounce", "drop", "hang", "pull"]
__all__ += ["raise_lower", "reciprocate"]

STIFFNESS_N = 30_000.0
"""Rope of the set-ups in which its stiffness does not matter [N per unit strain]."""

SLOW_M_S = 2e-4
"""Speed of a slow pull [m/s]: the weight gains speed and stops without a force that would show."""


@dataclass(frozen=True)
class Pull:
    """A slow pull at the anchor end with a weight on the other."""

    raise_n: float  # tension at the anchor end while the weight rises
    lower_n: float  # and while it sinks
    load_n: float  # the weight

    @property
    def friction_times_wrap(self) -> float:
        """ln(raise / lower) / 2: friction coefficient times wrap angle, read both ways."""
        return log(self.raise_n / self.lower_n) / 2.0


@dataclass(frozen=True)
class Bounce:
    """A free bounce of a weight on a straight rope."""

    undamped_rad_s: float
    damped_rad_s: float
    log_decrement: float

    @property
    def damping_ratio(self) -> float:
        """Share of critical damping."""
        return self.log_decrement / sqrt(4.0 * pi**2 + self.log_decrement**2)


@dataclass(frozen=True)
class Cycles:
    """To-and-fro cycles of a machine."""

    slip_m: tuple[float, ...]  # sliding path at each bend
    energy_j: tuple[float, ...]  # friction energy at each bend
    worst_j_m: float  # largest friction energy per metre of unstretched rope
    peak_n: float
    duration_s: float
    energy_residual: float


def hang(
    load_n: float, bends: Sequence[Bend], stiffness_n: float = STIFFNESS_N
) -> tuple[float, ...]:
    """Hang a weight slowly on a slack rope: tensions from the anchor to the load [N].

    Parameters:
        load_n: the weight [N].
        bends: from the anchor on.
        stiffness_n: K [N per unit strain].
    """
    stand = BenchLine(stiffness_n, 0.03, load_n / GRAVITY_M_S2, bends)
    stand.make(Kind.LOAD, depth_m=2.0)
    return stand.tensions_n()


def pull(load_n: float, bends: Sequence[Bend], stiffness_n: float = STIFFNESS_N) -> Pull:
    """Pull slowly at the anchor end, up and then down, and read the tension there.

    Capstan equation, Euler-Eytelwein: load * exp(+-sum(mu * wrap)).

    Parameters:
        load_n: the weight [N].
        bends: from the anchor on.
        stiffness_n: K [N per unit strain].
    """
    readings = []
    for sign in (1.0, -1.0):
        stand = BenchLine(stiffness_n, 0.03, load_n / GRAVITY_M_S2, bends)
        stand.make(Kind.LOAD, depth_m=3.0)
        way = _way_to_slip(stand, load_n, stiffness_n)
        stand.make(Kind.FEED, length_m=sign * way, speed_m_s=SLOW_M_S, stop_s=5.0)
        readings.append(stand.tensions_n()[0])
    return Pull(readings[0], readings[1], load_n)


def _way_to_slip(stand: BenchLine, load_n: float, stiffness_n: float) -> float:
    """Rope to move at the anchor until every bend slips: the stretch between the limits [m]."""
    edges = stand.buffers.edges
    highest_n = load_n * float(np.exp((edges["friction"] * edges["bend_rad"]).sum()))
    return 2.0 * (highest_n / stiffness_n) * float(edges["after_m"].sum() + 3.0) + 0.01


def raise_lower(load_n: float, friction: float, wrap_rad: float) -> float:
    """Raise and lower a weight over one host, and give the friction coefficient of the readings.

    Parameters:
        load_n: the weight [N].
        friction: coefficient of the host on the stand.
        wrap_rad: wrap angle.

    Raises:
        UsageError: no wrap, so that no coefficient follows from the readings.
    """
    if wrap_rad <= 0.0:
        raise UsageError(f"wrap of {wrap_rad} rad: a bend is needed to read a friction from it")
    return pull(load_n, [Bend(friction, wrap_rad)]).friction_times_wrap / wrap_rad


def drop(mass_kg: float, stiffness_n: float, length_m: float, fall_m: float) -> float:
    """Drop a weight onto an undamped straight rope: peak tension [N].

    F = m*g + sqrt((m*g)^2 + 2*m*g*K*f), f = fall height over rope length.

    Parameters:
        mass_kg: of the weight, without a body spring.
        stiffness_n: K [N per unit strain].
        length_m: unstretched rope.
        fall_m: free fall until the rope is straight.
    """
    stand = BenchLine(stiffness_n, 0.0, mass_kg, rope_m=length_m + 10.0)
    stand.make(Kind.LOAD, depth_m=length_m)
    period_s = 2.0 * pi * sqrt(mass_kg * length_m / stiffness_n)
    stand.make(
        Kind.DROP,
        depth_m=length_m - fall_m,
        length_m=fall_m,
        duration_ticks=round(1.5 * period_s / TICK_S),
    )
    return stand.get("peak_n")


def bounce(
    mass_kg: float, stiffness_n: float, length_m: float, viscous_s: float, fall_m: float = 0.0
) -> Bounce:
    """Let a weight bounce on a straight rope, and read frequency and decrement off its peaks.

    Parameters:
        mass_kg: of the weight.
        stiffness_n: K [N per unit strain].
        length_m: unstretched rope.
        viscous_s: tau [s]; above 0.
        fall_m: free fall before; 0 lets go at the rope's unstretched length.
    """
    natural = sqrt(stiffness_n / (mass_kg * length_m))
    ticks = round(12.0 * pi / natural / TICK_S)
    stand = BenchLine(stiffness_n, viscous_s, mass_kg, samples=ticks, sample_ticks=1)
    stand.make(Kind.LOAD, depth_m=length_m)
    stand.make(Kind.DROP, depth_m=length_m - fall_m, length_m=fall_m, duration_ticks=ticks)
    return _read_bounce(stand.samples(), length_m, mass_kg * GRAVITY_M_S2, stiffness_n)


def _read_bounce(
    samples: np.ndarray, length_m: float, weight_n: float, stiffness_n: float
) -> Bounce:
    """Lowest points of the weight below its rest position, and the decrement between them."""
    rest_m = length_m * (1.0 + weight_n / stiffness_n)
    away, time_s = samples["depth_m"] - rest_m, samples["tick"] * TICK_S
    inner = away[1:-1]
    lows = 1 + np.flatnonzero((inner > away[:-2]) & (inner >= away[2:]) & (inner > 0.0))
    (first_s, first_m), (last_s, last_m) = (vertex(time_s, away, k) for k in (lows[0], lows[-1]))
    damped = 2.0 * pi * (len(lows) - 1) / (last_s - first_s)
    decrement = log(first_m / last_m) / (len(lows) - 1)
    ratio = decrement / sqrt(4.0 * pi**2 + decrement**2)
    return Bounce(damped / sqrt(1.0 - ratio**2), damped, decrement)


def reciprocate(
    load_kg: float,
    travel_m: float,
    speed_m_s: float,
    cycles: int,
    bends: Sequence[Bend],
    *,
    stiffness_n: float = STIFFNESS_N,
    viscous_s: float = 0.03,
    body_stiffness_n_m: float = inf,
) -> Cycles:
    """Drag a rope to and fro over bends under a dead weight, as a machine does.

    Parameters:
        load_kg: the dead weight.
        travel_m: travel end to end; speed_m_s: of the drive.
        cycles: to-and-fro cycles.
        bends: from the drive on.
        stiffness_n, viscous_s: of the rope; body_stiffness_n_m: of a spring at the weight.
    """
    stand = BenchLine(stiffness_n, viscous_s, load_kg, bends, body_stiffness_n_m=body_stiffness_n_m)
    stand.make(Kind.LOAD, depth_m=travel_m + 2.0)
    stand.make(
        Kind.FEED, length_m=travel_m, speed_m_s=speed_m_s,
        stop_s=min(0.5, travel_m / speed_m_s / 4.0), cycles=cycles,
    )  # fmt: skip
    sums = stand.buffers.sums
    return Cycles(
        tuple(map(float, sums["slip_m"])),
        tuple(map(float, sums["energy_j"])),
        stand.worst_j_m(),
        stand.get("peak_n"),
        stand.tick * TICK_S,
        stand.residual(),
    )
