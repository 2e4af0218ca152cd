"""The flow of a line over one edge at an instant: floats in, a tuple of floats out, no arrays.

The scalar step, the lanes and a device call the same functions, so that all three compute the same
bits. State: depth y, speed v, unstretched rope s_0 above and s_1 below the edge, progress of a
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
def slip(
    a0: float, b0: float, a1: float, b1: float, take: float, limited: bool, ratio: float,
    near: float, c: Taut,
) -> Any:  # fmt: skip
    """Slip rate and tensions of one edge: that of the piece of the last span that holds at `near`.

    a0 + b0*q and a1 - b1*q: tensions above and below, the device still. near: a slip rate not far
    from that to be found. T_1 = R*T_0 where the rope slips toward the load (q > 0), T_0 = R*T_1
    where it slips toward the anchor; R = exp(mu*theta) (Euler-Eytelwein; model page 3.1). Where the
    person yields, the tension below is (a1 + share*F_max - b1*q)/(1 + share). No branch: every
    choice is made between numbers, so that lanes take it. Returns (rate, tension above, below,
    share of the take that the device makes, whether it holds: else the rope slips on another piece
    or is limp).
    """
    x = a1 - b1 * near
    whole = (not limited) | (x + b1 * take <= c.weight_n)
    stands = (not whole) & (x >= c.full_n)
    yields = (not whole) & (x < c.full_n)
    share = b1 * (take * c.per_range)
    share = share if yields else 0.0
    with_take = a1 + b1 * take
    pull = with_take if whole else a1
    tolerance = TOLERANCE * (1.0 + a0 + pull)
    held = ratio * a0
    steep = ratio * b0
    over = (pull - held) + share * (c.full_n - held)
    under = (ratio * pull - a0) + share * (ratio * c.full_n - a0)
    to_load = over > tolerance
    to_anchor = (not to_load) & (under < -tolerance)
    excess = under if to_anchor else 0.0
    excess = over if to_load else excess
    stiff_load = (steep + b1) + share * steep
    stiff_anchor = (b0 + ratio * b1) + share * b0
    q = excess / (stiff_load if to_load else stiff_anchor)
    slid = a0 + b0 * q
    plain_above = ratio * pull - ratio * b1 * q
    above = plain_above if to_anchor & (not yields) else slid
    shared = pull + share * c.full_n
    falls = (above if to_anchor else shared) / (ratio if to_anchor else 1.0 + share)
    plain_below = pull - b1 * q
    below = falls if yields else plain_below
    slid_below = held + steep * q
    below = slid_below if to_load else below
    given = (c.full_n - below) * c.per_range
    part = 0.0 if stands else 1.0
    part = given if yields else part
    same = (not limited) | (below <= c.weight_n) if whole else below >= c.full_n
    between = (c.weight_n < below) & (below < c.full_n)
    same = between if yields else same
    return q, above, below, part, same & (above > 0.0) & (below > 0.0) & (below <= c.cap_n)


@inlined
def springs(length: float, by_depth: float, v: float, s0: float, d1: float, c: Taut) -> Any:
    """Strains e_0, e_1 and tensions a0 + b0*q above, a1 - b1*q below for a slip rate q.

    length: of the rope below the edge, the body's share in it [m]; by_depth: its derivative by
    depth; s0, d1: unstretched rope above and below the edge, below with the body's share [m].
    """
    damping = (c.k_tau * by_depth) * v
    inverse0 = 1.0 / s0
    inverse1 = 1.0 / d1
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
