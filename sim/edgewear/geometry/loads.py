"""Loads on anchors, deviations and haulers: plain functions of tensions and directions.

A line pulls on whatever bends or ends it along its free lengths; every load is the vector sum
of those pulls. Friction follows Euler-Eytelwein, R = exp(mu*theta).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, exp, radians, sin

import numpy as np

from edgewear.geometry.points import Point
from edgewear.geometry.taut_string import unit
from edgewear.terms import GRAVITY_M_S2

Y_HANG_RAD = radians(60.0)
"""Angle between the legs of a Y-hang; assumed, up to 90 degrees in use."""


@dataclass(frozen=True)
class Load:
    """A force on something fixed: its size and where it points."""

    size_n: float
    vector_n: Point

    @property
    def direction(self) -> Point:
        """Unit vector of the force; zero when there is none."""
        if self.size_n == 0.0:
            return 0.0, 0.0, 0.0
        x, y, z = self.vector_n
        return x / self.size_n, y / self.size_n, z / self.size_n


def _load(vector: Sequence[float]) -> Load:
    x, y, z = (float(v) for v in vector)
    return Load(float(np.linalg.norm((x, y, z))), (x, y, z))


def anchor_load(tension_n: float, leaving: Point) -> Load:
    """Return the load on an anchor: the tension along the line that leaves it.

    Parameters: `tension_n`: at the anchor [N]; `leaving`: unit vector of the first free length.
    """
    return _load([tension_n * v for v in leaving])


def bend_load(before_n: float, arriving: Point, after_n: float, leaving: Point) -> Load:
    """Return the load on what bends a line: an edge, a deviation, a pulley.

    Parameters: `before_n`, `after_n`: tensions on either side [N]; `arriving`, `leaving`: unit
    vectors of travel from the fixed point to the load before and after the bend.

    The line pulls back along the length before and on along the length after it:
    F = T2*d2 - T1*d1.
    """
    return _load([after_n * o - before_n * i for i, o in zip(arriving, leaving, strict=True)])


def between(a: Point, b: Point) -> Point:
    """Return the unit vector from one point to another; zero where they are one."""
    return unit((b[0] - a[0], b[1] - a[1], b[2] - a[2]))


def in_plane(before_n: float, after_n: float, bend_rad: float) -> Load:
    """Return the load on a bend of which only the angle is known.

    The line arrives along x and is turned downwards: the direction is that frame's, the size
    holds in any.
    """
    leaving = (cos(bend_rad), 0.0, -sin(bend_rad))
    return bend_load(before_n, (1.0, 0.0, 0.0), after_n, leaving)


def fixing_loads_n(kind: str, load_n: float) -> tuple[float, ...]:
    """Return the load of each fixing of an anchor [N].

    Parameters: `kind`: "single", "pair" or "y-hang"; `load_n`: on the anchor as a whole.

    A pair shares evenly while it hangs as it was tied; a Y-hang's legs open by 60 degrees,
    assumed. Either way one fixing bears the whole load if the other fails.
    """
    if kind == "pair":
        return load_n / 2.0, load_n / 2.0
    if kind == "y-hang":
        leg = y_hang_leg_n(load_n, Y_HANG_RAD)
        return leg, leg
    return (load_n,)


def deviation_load_n(tension_n: float, angle_rad: float) -> float:
    """Return the load on a deviation without friction: 2*T*sin(angle/2) [N].

    Parameters: `tension_n`: in the line [N]; `angle_rad`: by which it turns the line [rad].
    """
    return 2.0 * tension_n * sin(angle_rad / 2.0)


def leg_loads_n(load: Point, legs: Sequence[Point]) -> tuple[float, ...]:
    """Share a load among the legs of an anchor [N].

    Parameters: `load`: force on the master point [N]; `legs`: unit vectors from the master point
    towards each anchor.

    Two legs, or three not in a plane, carry what balances the load exactly; more legs, or legs
    that cannot balance it, the least squares share. A leg cannot push: one that would goes slack
    and the rest is shared anew.
    """
    carrying = list(range(len(legs)))
    while carrying:
        matrix = np.array([legs[k] for k in carrying], dtype=float).T
        shares = np.linalg.lstsq(matrix, -np.array(load, dtype=float), rcond=None)[0]
        if float(shares.min()) >= -1e-9:
            found = dict(zip(carrying, (max(float(s), 0.0) for s in shares), strict=True))
            return tuple(found.get(k, 0.0) for k in range(len(legs)))
        carrying.remove(carrying[int(shares.argmin())])
    return tuple(0.0 for _ in legs)


def y_hang_leg_n(tension_n: float, angle_rad: float) -> float:
    """Return the load of each leg of an even Y-hang: T/(2*cos(angle/2)) [N].

    Parameters: `tension_n`: at the master point [N]; `angle_rad`: between the legs, below pi.
    """
    return tension_n / (2.0 * cos(angle_rad / 2.0))


def resistance(friction: float, bend_rad: float) -> float:
    """Return the ratio of tensions at which a line slips over a bend: R = exp(mu*theta)."""
    return exp(friction * bend_rad)


def held_n(load_n: float, bends: Sequence[tuple[float, float]]) -> float:
    """Return the tension at the anchor under a load applied slowly to a slack line [N].

    Parameters: `load_n`: at the person [N]; `bends`: (friction, bend [rad]) from the anchor.
    """
    return load_n / _product(bends)


def haul_n(load_n: float, bends: Sequence[tuple[float, float]], advantage: float = 1.0) -> float:
    """Return the pull needed at the hands to raise a load over bends [N].

    Parameters: `load_n`: what hangs [N]; `bends`: (friction, bend [rad]); `advantage`: of the
    haul system, its own losses counted. At 1 this is the tension that enters the haul system.
    """
    return load_n * _product(bends) / advantage


def _product(bends: Sequence[tuple[float, float]]) -> float:
    found = 1.0
    for friction, bend_rad in bends:
        found *= resistance(friction, bend_rad)
    return found


def self_lowering_n(weight_n: float, friction: float, wrap_rad: float) -> float:
    """Return the pull by which a person lowers themself over a bar [N].

    Both strands carry the person: W = T*(1 + exp(mu*theta)).
    """
    return weight_n / (1.0 + resistance(friction, wrap_rad))


def stop_load_factor(speed_m_s: float, stop_m: float) -> float:
    """Return peak over static load of a descent stopped evenly: 1 + v^2/(2*g*y).

    Source: Kane 2007, Arboriculture & Urban Forestry 33(1).
    """
    return 1.0 + speed_m_s**2 / (2.0 * GRAVITY_M_S2 * stop_m)
