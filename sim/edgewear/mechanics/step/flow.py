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

SIXTH = 1.0 / 6.0
"""Weight of the first and the last stage, by the length of a step: Runge and Kutta's, classical."""


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
def asked(level_n: float, a0: float, ratio: float, falls: float) -> Any:
    """Rate at which rope slides over the edge to a tension `level_n` below it, by b0 as in `slip`.

    The tension above is then level/R (toward the load), or R*level (toward the anchor).
    """
    return max(level_n * falls - a0, 0.0) + min(level_n * ratio - a0, 0.0)


@inlined
def _solved(
    a0: float, b0: float, a: float, b1: float, whole: float, ratio: float, falls: float
) -> Any:
    """Slip rate and tensions for a0 + b0*q above the edge and (a - b1*q)/whole below."""
    held = whole * a0
    tolerance = TOLERANCE * (1.0 + a0 + a)
    over = a - ratio * held
    if over > tolerance:
        q = over / (ratio * (whole * b0) + b1)
        above = a0 + b0 * q
        return q, above, above * ratio
    under = ratio * a - held
    if under < -tolerance:
        q = under / (whole * b0 + ratio * b1)
        above = a0 + b0 * q
        return q, above, above * falls
    return 0.0, a0, a / whole


@inlined
def slip(
    a0: float, b0: float, a1: float, b1: float, take: float, limited: bool, ratio: float,
    falls: float, c: Taut,
) -> Any:  # fmt: skip
    """Slip rate and tensions of one edge.

    a0 + b0*q and a1 - b1*q: tensions above and below, the device still; falls: 1/ratio. T_1 = R*T_0
    where the rope slips toward the load (q > 0), T_0 = R*T_1 where it slips toward the anchor;
    R = exp(mu*theta) (Euler-Eytelwein; model page 3.1). Where the device takes in all that it may
    the tension below is a1 + b1*take - b1*q, where the person yields
    (a1 + share*F_max - b1*q)/(1 + share), where the person is held up a1 - b1*q: of these the one
    that holds. What a tension below asks of the edge grows with it, what the device leaves of it
    falls: so the rates at just m*g, and F_max, tell whether it is above, without a division.
    Returns (rate, tension above, below, share of the take that the device makes, whether the rope
    is taut and the device holds).
    """
    taken = a1 + b1 * take
    part = 1.0
    if not limited or (taken - c.weight_n) * b0 <= b1 * asked(c.weight_n, a0, ratio, falls):
        q, above, below = _solved(a0, b0, taken, b1, 1.0, ratio, falls)
    elif (a1 - c.full_n) * b0 >= b1 * asked(c.full_n, a0, ratio, falls):
        q, above, below = _solved(a0, b0, a1, b1, 1.0, ratio, falls)
        part = 0.0
    else:
        share = b1 * (take * c.per_range)
        q, above, below = _solved(a0, b0, a1 + share * c.full_n, b1, 1.0 + share, ratio, falls)
        part = (c.full_n - below) * c.per_range
    return q, above, below, part, above > 0.0 and 0.0 < below <= c.cap_n


@inlined
def springs(length: float, by_depth: float, v: float, s0: float, d1: float, c: Taut) -> Any:
    """Strains e_0, e_1, tensions K*e_0 + b0*q above and a1 - b1*q below for a slip rate q, K*e_1.

    length: of the rope below the edge, the body's share in it [m]; by_depth: its derivative by
    depth; s0, d1: unstretched rope above and below the edge, below with the body's share [m].
    Returns (e_0, e_1, K*e_0, b0, a1, b1, K*e_1).
    """
    inverse = 1.0 / (s0 * d1)  # one division: of all that a step does it takes the longest
    inverse0 = inverse * d1
    inverse1 = inverse * s0
    e0 = (c.above_m - s0) * inverse0
    e1 = (length - d1) * inverse1
    per0, per1 = c.k_tau * inverse0, c.k_tau * inverse1
    elastic1 = c.k * e1
    a1 = elastic1 + per1 * (by_depth * v)
    return e0, e1, c.k * e0, per0 * (1.0 + e0), a1, per1 * (1.0 + e1), elastic1


@inlined
def flows(
    by_depth: float, v: float, drawn: float, e0: float, e1: float, elastic0: float,
    elastic1: float, q: float, t0: float, t1: float, c: Taut,
) -> Any:  # fmt: skip
    """What that comes to: acceleration, path, power, worn, viscous, mixing.

    v = (1 + e_m)*|q|, P = |T_1 - T_0|*v (model page 6.1). Mixing: energy lost because rope of one
    strain joins rope of another, [(T_0 + T_1)/2 - K*e_m]*(e_1 - e_0)*q (derived). drawn: rope that
    the device takes in [m/s]; elastic0, elastic1: K*e_0, K*e_1 [N].
    """
    speed = (1.0 + 0.5 * (e0 + e1)) * abs(q)
    power = abs(t1 - t0) * speed
    damped0, damped1 = t0 - elastic0, t1 - elastic1
    below = damped1 * (by_depth * v - (1.0 + e1) * (q - drawn))
    return (
        c.gravity - t1 * (by_depth * c.per_mass),
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
        below + damped0 * (1.0 + e0) * q,
        0.5 * (damped0 + damped1) * (e1 - e0) * q,
    )


@inlined
def early(whole: float, begin: float, end: float, h: float) -> Any:
    """What a step of h [s] comes to in its first half, of what it comes to in all.

    begin, end: the rates at its ends. The parabola through the rates at the start, in the middle
    and at the end, whose integral over the step is Simpson's rule, comes to
    h/24*(5*start + 8*middle - end) over its first half: half of the whole, and h/8*(start - end).
    """
    return 0.5 * whole + 0.125 * h * (begin - end)
