"""A Runge-Kutta step of a taut line over one edge: floats in, a tuple of floats out, no branch.

Same scheme and same order of operations as `one_edge_step`, so that both give the same bits; what
holds only here: the bend is given, and the load hangs plumb below the edge.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from edgewear.mechanics.jit import inlined
from edgewear.mechanics.movement.mover import minimum_jerk, ramped
from edgewear.mechanics.step.flow import Taut, flows, slip, springs


class Moved(NamedTuple):
    """What moves the device in a phase."""

    limited: bool  # a rise, which the person's force limits
    ramps: bool  # even speed between two ramps, else minimum jerk
    rate_m_s: float
    per_duration: float  # [1/s]
    duration_s: float
    ramp_s: float


class Hung(NamedTuple):
    """How the load hangs."""

    point_m: float  # depth of the edge
    extra_m: float  # the body spring as rope, less the body's offset
    ratio: float  # exp(mu*theta)


class Taken(NamedTuple):
    """State of a taut line over one edge."""

    y: float  # depth [m]
    v: float  # speed down [m/s]
    part_s: float  # progress of a force-limited rise
    s0: float  # unstretched rope above the edge [m]
    d1: float  # below it, with the body's share [m]


@inlined
def taken_in(time_s: float, part_s: float, m: Moved) -> Any:
    """Nominal rate of taking in at the device [m/s], as `mover.device_here`."""
    share = part_s if m.limited else time_s
    jerked = m.rate_m_s * minimum_jerk(share * m.per_duration)
    even = m.rate_m_s * ramped(time_s, m.duration_s, m.ramp_s)
    return even if m.ramps else jerked


@inlined
def stage(at: Taken, time_s: float, near: float, m: Moved, hung: Hung, c: Taut) -> Any:
    """The flow at one stage: rates of the state, what is summed, and tensions and strains.

    Returns (acceleration, rate of part_s, slip, device), (path, power, worn, device's work, energy
    that leaves, viscous, mixing), (tensions, strains), all well.
    """
    take = taken_in(time_s, at.part_s, m)
    down = at.y - hung.point_m
    length = down + hung.extra_m
    e0, e1, a0, b0, a1, b1 = springs(length, 1.0, at.v, at.s0, at.d1, c)
    q, t0, t1, part, fine = slip(a0, b0, a1, b1, take, m.limited, hung.ratio, near, c)
    a, drawn, speed, power, worn, viscous, mixing = flows(
        1.0, at.v, take, part, m.limited, e0, e1, q, t0, t1, c
    )
    fine = fine & (e0 > 0.0) & (e1 > 0.0) & (down > 0.0)
    return (
        (a, part, q, drawn),
        (speed, power, worn, viscous, mixing),
        (t0, t1, e0, e1),
        fine,
    )


@inlined
def onward(start: Taken, reach: float, at: Taken, rates: Any) -> Any:
    """State at the next stage: the start and `reach` [s] of the rates at this one."""
    a, part, q, drawn = rates
    return Taken(
        start.y + reach * at.v,
        start.v + reach * a,
        start.part_s + reach * part,
        start.s0 - reach * q,
        start.d1 + reach * (q - drawn),
    )


@inlined
def summed(
    sums: Any, weight: float, at: Taken, rates: Any, booked: Any, ends: Any, k: float
) -> Any:
    """Add a stage to the sums of a step."""
    y, v, part_s, slid, drawn, path, energy, worn, device, leaves, viscous, mixing = sums
    a, part, q, d = rates
    speed, power, wear, lost, mixed = booked
    _, t1, _, e1 = ends
    return (
        y + weight * at.v,
        v + weight * a,
        part_s + weight * part,
        slid + weight * q,
        drawn + weight * d,
        path + weight * speed,
        energy + weight * power,
        worn + weight * wear,
        device + weight * t1 * (1.0 + e1) * d,
        leaves + weight * 0.5 * k * e1 * e1 * d,
        viscous + weight * lost,
        mixing + weight * mixed,
    )


@inlined
def taut_step(start: Taken, time_s: float, h: float, m: Moved, hung: Hung, c: Taut) -> Any:
    """Classical Runge-Kutta over h [s].

    Returns the changes (y, v, part_s, slip, drawn at the device, path, friction energy, exposure,
    device's work, energy that leaves, viscous, mixing), the slip rate and (tensions, strains) at
    the start, at the middle and at the last stage, and whether all holds: else the general step
    has to do it.
    """
    half = 0.5 * h
    sixth = h / 6.0
    third = h / 3.0
    none = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    r1, booked, ends1, fine1 = stage(start, time_s, 0.0, m, hung, c)
    sums = summed(none, sixth, start, r1, booked, ends1, c.k)
    at = onward(start, half, start, r1)
    r2, booked, ends, fine2 = stage(at, time_s + half, r1[2], m, hung, c)
    sums = summed(sums, third, at, r2, booked, ends, c.k)
    at = onward(start, half, at, r2)
    r3, booked, ends3, fine3 = stage(at, time_s + half, r2[2], m, hung, c)
    sums = summed(sums, third, at, r3, booked, ends3, c.k)
    at = onward(start, h, at, r3)
    r4, booked, ends4, fine4 = stage(at, time_s + h, r3[2], m, hung, c)
    sums = summed(sums, sixth, at, r4, booked, ends4, c.k)
    return sums, (r1[2], ends1), (r3[2], ends3), (r4[2], ends4), fine1 & fine2 & fine3 & fine4
