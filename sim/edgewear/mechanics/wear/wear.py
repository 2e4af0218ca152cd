"""What friction energy does to a rope: laws of wear, strength, what the rope lies on."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit


@njit
def core_left(exposure_j_m: float, wear: Any) -> Any:
    """Share of the core's section left: A^(a+1) = A_core^(a+1)*[1 - (X - X_s)+/X_c].

    What is left carries the same load, so it wears the faster the less it is: dA/dX ~ A^(-a),
    integrated (model page 7.3; the exponent is assumed).
    """
    excess = exposure_j_m - wear.sheath_j_m
    if excess <= 0.0:
        return 1.0
    if excess >= wear.core_j_m:
        return 0.0
    left: float = (1.0 - excess / wear.core_j_m) ** (1.0 / (wear.core_exponent + 1.0))
    return left


@njit
def strength_n(exposure_j_m: float, wear: Any) -> Any:
    """Residual strength [N] at an exposure: what is left of sheath and core, each its share.

    F_0*[(1 - k)*(1 - X/X_s)+ + k*(1 - q*min(X/X_s, 1))*core left] (model page 7.4); q, what the
    core loses while only the sheath is rubbed, is 0 unless tests of one's own say otherwise.
    """
    sheath = max(0.0, 1.0 - exposure_j_m / wear.sheath_j_m)
    core = core_left(exposure_j_m, wear) * (1.0 - wear.core_weakening * (1.0 - sheath))
    share = wear.core_strength_share
    strength: float = wear.breaking_n * ((1.0 - share) * sheath + share * core)
    return strength


@njit
def exposure_rate(
    friction_n: float, slip_m: float, tension_n: float, speed_m_s: float, j: int, w: Floats
) -> Any:
    """Weighted exposure [J] of `slip_m` at an even speed, by the law in force at edge j.

    X' = P*M*(p/p_0)*(c + v/v_0), P*M, or M*(c*P + (P - P_0*area)+) (model page 6.2; friction work
    as the measure of wear after Archard, J. Appl. Phys. 24 (1953) 981, from memory).
    """
    energy = friction_n * slip_m
    law = w[r.LINE_P + r.LAW]
    if law == 0.0:
        pace = w[r.LINE_P + r.COLD] + speed_m_s * w[r.LINE_P + r.PER_SPEED]
        return energy * tension_n * w[r.GAIN + j] * pace
    if law == 1.0:
        return energy * w[r.SEVERITY + j]
    power = friction_n * speed_m_s
    excess = 0.0
    if power > 0.0:
        excess = max(0.0, 1.0 - w[r.LINE_P + r.THRESHOLD] * w[r.AREA + j] / power)
    return energy * w[r.SEVERITY + j] * (w[r.LINE_P + r.COLD] + excess)


@inlined
def worn_rate(
    power: float, speed: float, highest: float, law: float, cold: float, per_speed: float,
    threshold: float, gain: float, severity: float, area: float,
) -> Any:  # fmt: skip
    """Weighted exposure a second by the law in force: the rate of `exposure_rate`."""
    if law == 0.0:
        return power * highest * gain * (cold + speed * per_speed)
    if law == 1.0:
        return power * severity
    above = power - threshold * area
    return severity * (cold * power + max(above, 0.0))


@inlined
def worn_at(j: int, power: float, speed: float, highest: float, w: Floats) -> Any:
    """`worn_rate` at edge j."""
    return worn_rate(
        power, speed, highest, w[r.LINE_P + r.LAW], w[r.LINE_P + r.COLD],
        w[r.LINE_P + r.PER_SPEED], w[r.LINE_P + r.THRESHOLD], w[r.GAIN + j],
        w[r.SEVERITY + j], w[r.AREA + j],
    )  # fmt: skip


@njit
def seen_radius_m(edge: Any) -> Any:
    """Radius that the rope bends over [m]: the edge's and what lies on it, or that one's own."""
    radius: float = max(edge.radius_m + edge.thickness_m, edge.own_radius_m)
    return radius


@njit
def met_severity(edge: Any) -> Any:
    """M_edge*M_wet of what the rope lies on: 1/M = 1/M_bare + (spares - 1).

    What a cover spares adds up with what the edge itself would spare, so that a round or smooth
    edge stays milder under it than a sharp one, and no cover makes an edge more severe than bare.
    """
    bare: float = edge.severity
    if edge.spares > 1.0 and bare > 0.0:
        bare /= 1.0 + (edge.spares - 1.0) * bare
    return bare * edge.wet_factor


@njit
def window_m(radius_m: float, bend_rad: float, diameter_m: float) -> Any:
    """Length of rope in contact at an edge: L = max(R*theta, D) (model page 6.3)."""
    return max(radius_m * bend_rad, diameter_m)


@njit
def contact_radius_m(radius_m: float, arc_share: float, diameter_m: float) -> Any:
    """Radius that sets the contact pressure: a rope cannot lie sharper than its own section.

    max(r, a*D) (model page 6.2; the arc share a is assumed).
    """
    return max(radius_m, arc_share * diameter_m)


@njit
def gain(edge: Any, line: Any, wear: Any) -> Any:
    """Exposure per joule, newton of tension and unit of (c + v/v0): M_edge*M_wet/(w*D*r*p0).

    Model page 6.2 with p = T/(w*D*r): the tension spread over the strip that touches.
    """
    width = wear.width_share * line.diameter_m
    radius = contact_radius_m(seen_radius_m(edge), wear.arc_share, line.diameter_m)
    value: float = met_severity(edge) / (width * radius * wear.reference_pressure_pa)
    return value
