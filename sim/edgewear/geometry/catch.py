"""What the line does to the person: stretch, bounce, catch, drop and swing.

All closed forms for a massless rope of stiffness K (N per unit strain) that lies over edges
with resistances R_j = exp(mu_j*theta_j), counted from the fixed point.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, inf, isinf, pi, sqrt

from edgewear.terms import GRAVITY_M_S2


def working_length_m(free_m: Sequence[float], resistances: Sequence[float]) -> float:
    """Return the length of rope that stretches as if it bore the whole load [m].

    Parameters: `free_m`: lengths from the fixed point to the load, one more than `resistances`.

    Under a load put on slowly the tension falls by R at every edge towards the fixed point, so
    l_eff = l_N + l_(N-1)/R_N + l_(N-2)/(R_N*R_(N-1)) + ...
    """
    if len(free_m) != len(resistances) + 1:
        raise ValueError("one free length more than edges is due")
    share, length = 1.0, free_m[-1]
    for free, ratio in zip(reversed(free_m[:-1]), reversed(resistances), strict=True):
        share /= ratio
        length += free * share
    return length


def stretch_m(tension_n: float, stiffness_n: float, length_m: float) -> float:
    """Return how far the load sinks by the stretch of the rope: T*l_eff/K [m]."""
    return tension_n * length_m / stiffness_n


def natural_frequencies_hz(
    stiffness_n: float, unstretched_m: Sequence[float], body_stiffness_n_m: float, mass_kg: float
) -> tuple[float, float]:
    """Return the bounce rates with the rope sliding at every edge and stuck at the last [Hz].

    Parameters: `stiffness_n`: K, dynamic; `unstretched_m`: material between the fixed points
    and edges, from the fixed point to the person; `body_stiffness_n_m`: inf for a dead weight.

    f = sqrt(k/m)/(2*pi), 1/k = sum(s_i)/K + 1/k_body; stuck with the last s_i alone.
    """
    body = 0.0 if isinf(body_stiffness_n_m) else 1.0 / body_stiffness_n_m

    def rate(length_m: float) -> float:
        give = length_m / stiffness_n + body
        return sqrt(1.0 / (give * mass_kg)) / (2.0 * pi) if give > 0 else inf

    return rate(sum(unstretched_m)), rate(unstretched_m[-1])


def sawing_m(
    length_m: float, stiffness_n: float, ratio: float, lowest_n: float, highest_n: float
) -> float:
    """Return the travel of a mark at an edge in one slow cycle of tension [m of new rope].

    Parameters: `length_m`: l_0, from the fixed point to the edge; `stiffness_n`: K; `ratio`: R at
    the edge; `lowest_n`, `highest_n`: tension on the load's side within the cycle.

    A = l_0/(1 + R*T_min/K) - l_0/(1 + T_max/(R*K)); none inside the stick band, T_max <= R^2*T_min.
    """
    if highest_n <= ratio**2 * lowest_n:
        return 0.0
    return length_m / (1.0 + ratio * lowest_n / stiffness_n) - length_m / (
        1.0 + highest_n / (ratio * stiffness_n)
    )


def stop_travel_m(median_m: float, high_m: float) -> float:
    """Return the travel of a tape mark at which work stops because the forecast does not hold [m].

    Parameters: `median_m`, `high_m`: 50th and 95th percentile of the forecast travel a stroke.

    The largest of three strokes stays below it in 19 of 20 sites where the forecast holds: the
    0.95^(1/3) quantile (2.122 standard deviations) of a log-normal through the two percentiles.
    """
    if median_m <= 0.0:
        return high_m
    return float(median_m * (high_m / median_m) ** (2.1212 / 1.6449))


def impact_n(mass_kg: float, stiffness_n: float, length_m: float, fall_m: float) -> float:
    """Return the peak force of a fall into an undamped rope [N].

    F = m*g + sqrt((m*g)^2 + 2*m*g*K*f), f = fall height over rope length. The impact-force
    equation; over-predicts for a person's body, up to 30 % low at high masses and fall factors.
    """
    weight = mass_kg * GRAVITY_M_S2
    return weight + sqrt(weight**2 + 2.0 * weight * stiffness_n * fall_m / length_m)


@dataclass(frozen=True)
class Catch:
    """A fall held by a line."""

    peak_n: float
    drop_m: float  # in all: free fall, rope run through the device, stretch at the peak
    slip_m: float  # rope run through the device


def catch(
    mass_kg: float,
    stiffness_n: float,
    length_m: float,
    fall_m: float,
    slip_force_n: float = inf,
) -> Catch:
    """Return peak force and drop of a fall into a rope through a device that slips at a force.

    Parameters: `length_m`: rope that stretches as if it bore all (`working_length_m`); `fall_m`:
    free fall before the rope is straight; `slip_force_n`: inf for a device that never slips.

    Where the impact force would pass the slip force F, the rope stretches to F and the device
    pays out s until the energy is spent: m*g*(h + x + s) = F*x/2 + F*s, x = F*l/K. A slip force
    that does not exceed the weight never stops the fall: s is inf.
    """
    peak = impact_n(mass_kg, stiffness_n, length_m, fall_m)
    if peak <= slip_force_n:
        return Catch(peak, fall_m + stretch_m(peak, stiffness_n, length_m), 0.0)
    weight = mass_kg * GRAVITY_M_S2
    if slip_force_n <= weight:
        return Catch(slip_force_n, inf, inf)
    sunk = stretch_m(slip_force_n, stiffness_n, length_m)
    slip = (weight * (fall_m + sunk) - slip_force_n * sunk / 2.0) / (slip_force_n - weight)
    return Catch(slip_force_n, fall_m + sunk + slip, slip)


def swing(aside_m: float, below_m: float) -> tuple[float, float]:
    """Return how far a person swings to the plumb line, and how deep they sink by it [m].

    Parameters: `aside_m`: level distance to the plumb line of the point they swing about;
    `below_m`: how far they are below that point.
    """
    return abs(aside_m), hypot(aside_m, below_m) - below_m
