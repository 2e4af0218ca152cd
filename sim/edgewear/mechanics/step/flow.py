"""The flow of a line over one edge at an instant: floats in, a tuple of floats out, no arrays.

The step of a line over one edge and a device call the same functions.
State: depth y, speed v, unstretched rope s_0 above and s_1 below the edge, progress of a
force-limited rise. Strain e_i = l_i/s_i - 1, tension T_i = K*(e_i + tau*e_i') (Kelvin-Voigt; model
page 2.4). The body spring has the rope's tau, so it is exactly c = K/k_body of further rope below.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from edgewear.mechanics.jit import inlined
from edgewear.mechanics.slip.slip import TOLERANCE
from edgewear.mechanics.wear.wear import worn_rate


class Taut(NamedTuple):
    """What stays as it is while a load hangs over one edge, both spans taut."""

    k: float  # stiffness [N per unit strain]
    k_tau: float  # stiffness by damping time [N s]
    above_m: float  # free length above the edge [m]
    gravity: float  # [m/s2]
    per_mass: float  # [1/kg]
    weight_n: float  # of the load
    full_n: float  # largest force of the person, at which a rise stands still [N]
    per_range: float  # 1/(full_n - weight_n) [1/N]
    cap_n: float  # tension at which the device lets rope through [N]
    law: float  # wear law: 0, 1 or 2
    cold: float  # share of wear that needs no speed
    per_speed: float  # 1/(reference speed) [s/m]
    threshold: float  # of power a contact area, third law [W/m2]
    gain: float  # exposure per joule and newton at the edge [1/N]
    severity: float  # M_edge*M_wet
    area: float  # of contact [m2]


@inlined
def _plain(a0: float, b0: float, a1: float, b1: float, ratio: float) -> Any:
    """Slip rate and tensions for a0 + b0*q above the edge and a1 - b1*q below."""
    tolerance = TOLERANCE * (1.0 + a0 + a1)
    over = a1 - ratio * a0
    if over > tolerance:
        q = over / (ratio * b0 + b1)
        return q, a0 + b0 * q, ratio * a0 + ratio * b0 * q
    under = ratio * a1 - a0
    if under < -tolerance:
        q = under / (b0 + ratio * b1)
        return q, ratio * a1 - ratio * b1 * q, a1 - b1 * q
    return 0.0, a0, a1


@inlined
def _yielding(
    a0: float, b0: float, a1: float, b1: float, share: float, full_n: float, ratio: float
) -> Any:
    """The same for (a1 + share*full_n - b1*q)/(1 + share) below: the person lifts the less."""
    tolerance = TOLERANCE * (1.0 + a0 + a1)
    held = ratio * a0
    over = (a1 - held) + share * (full_n - held)
    if over > tolerance:
        steep = ratio * b0
        q = over / ((steep + b1) + share * steep)
        return q, a0 + b0 * q, held + steep * q
    under = (ratio * a1 - a0) + share * (ratio * full_n - a0)
    if under < -tolerance:
        q = under / ((b0 + ratio * b1) + share * b0)
        above = a0 + b0 * q
        return q, above, above * (1.0 / ratio)
    return 0.0, a0, (a1 + share * full_n) / (1.0 + share)


@inlined
def slip(
    a0: float, b0: float, a1: float, b1: float, take: float, limited: bool, ratio: float,
    near: float, c: Taut,
) -> Any:  # fmt: skip
    """Slip rate and tensions of one edge: that of the piece of the last span that holds at `near`.

    a0 + b0*q and a1 - b1*q: tensions above and below, the device still. near: a slip rate not far
    from that to be found. T_1 = R*T_0 where the rope slips toward the load (q > 0), T_0 = R*T_1
    where it slips toward the anchor; R = exp(mu*theta) (Euler-Eytelwein; model page 3.1). Where the
    person yields, the tension below is (a1 + share*F_max - b1*q)/(1 + share). Returns (rate,
    tension above, below, share of the take that the device makes, whether it holds: else the rope
    slips on another piece or is limp).
    """
    x = a1 - b1 * near
    part = 1.0
    if not limited or x + b1 * take <= c.weight_n:
        q, above, below = _plain(a0, b0, a1 + b1 * take, b1, ratio)
        same = not limited or below <= c.weight_n
    elif x >= c.full_n:
        q, above, below = _plain(a0, b0, a1, b1, ratio)
        same = below >= c.full_n
        part = 0.0
    else:
        share = b1 * (take * c.per_range)
        q, above, below = _yielding(a0, b0, a1, b1, share, c.full_n, ratio)
        same = c.weight_n < below < c.full_n
        part = (c.full_n - below) * c.per_range
    return q, above, below, part, same and above > 0.0 and 0.0 < below <= c.cap_n


@inlined
def springs(length: float, by_depth: float, v: float, s0: float, d1: float, c: Taut) -> Any:
    """Strains e_0, e_1 and tensions a0 + b0*q above, a1 - b1*q below for a slip rate q.

    length: of the rope below the edge, the body's share in it [m]; by_depth: its derivative by
    depth; s0, d1: unstretched rope above and below the edge, below with the body's share [m].
    """
    damping = (c.k_tau * by_depth) * v
    inverse = 1.0 / (s0 * d1)  # one division: of all that a step does it takes the longest
    inverse0 = inverse * d1
    inverse1 = inverse * s0
    stretch0 = c.above_m - s0
    stretch1 = length - d1
    e0 = stretch0 * inverse0
    e1 = stretch1 * inverse1
    b0 = c.k_tau * c.above_m * (inverse0 * inverse0)
    b1 = c.k_tau * length * (inverse1 * inverse1)
    return e0, e1, c.k * e0, b0, (c.k * stretch1 + damping) * inverse1, b1


@inlined
def flows(
    by_depth: float, v: float, take: float, part: float, limited: bool,
    e0: float, e1: float, q: float, t0: float, t1: float, c: Taut,
) -> Any:  # fmt: skip
    """What that comes to: acceleration, drawn at the device, path, power, worn, viscous, mixing.

    v = (1 + e_m)*|q|, P = |T_1 - T_0|*v (model page 6.1). Mixing: energy lost because rope of one
    strain joins rope of another, [(T_0 + T_1)/2 - K*e_m]*(e_1 - e_0)*q (derived).
    """
    drawn = take
    if limited:
        drawn = take * part
    mean = 0.5 * (e0 + e1)
    speed = (1.0 + mean) * abs(q)
    power = abs(t1 - t0) * speed
    below = (t1 - c.k * e1) * (by_depth * v - (1.0 + e1) * (q - drawn))
    return (
        c.gravity - t1 * (by_depth * c.per_mass),
        drawn,
        speed,
        power,
        worn_rate(
            power,
            speed,
            max(t0, t1),
            c.law,
            c.cold,
            c.per_speed,
            c.threshold,
            c.gain,
            c.severity,
            c.area,
        ),
        below + (t0 - c.k * e0) * (1.0 + e0) * q,
        (0.5 * (t0 + t1) - c.k * mean) * (e1 - e0) * q,
    )
