"""What a step leaves open in the energy balance, by which it is judged and halved.

Where an edge starts or stops to slip, or the rope loses its tension, the rates have a kink; a
Runge-Kutta step across it errs with the square of its length, and the balance shows by how much.
"""

from __future__ import annotations

from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.step.regime import lengths

OPEN_M = 5e-7
"""A step may leave open what the weight does by sinking so far [m]; more, and it is halved.

A sixtieth of what a stroke's balance bears (3e-5 of some m*g*1 m). With twice as much, a kink
within a step of 15 ms costs up to 0.7 % of a slip of 15 mm; 0.1 % or 0.1 mm are asked."""
EVEN = 0.1
"""A step across which the tension at the load changes by less of the weight is not looked at,
unless an edge starts, stops or turns in it, the rope has no tension, or the device slips: what
is smooth and so small errs by next to nothing."""


@inlined
def uneven(n: int, w: Floats, taken_s: float) -> Any:
    """Whether a tried step has something in it that its balance should be looked at for."""
    if taken_s < 2.0 * TICK_S:
        return False
    before = w[r.T_START + n]
    after = w[r.T + n]
    if abs(after - before) > EVEN * w[r.LINE_P + r.WEIGHT_N]:
        return True
    if before <= 0.0 or after <= 0.0 or after >= w[r.LINE_P + r.CAP_N]:
        return True
    for j in range(1, n + 1):
        if w[r.Q_START + j] * w[r.Q + j] <= 0.0 and w[r.Q_START + j] != w[r.Q + j]:
            return True
    return False


@njit
def stored(
    n: int, w: Floats, share: float, phase: int, y: float, v: float, part_s: float, time_s: float
) -> Any:
    """Energy of rope, body spring, motion and height [J], the rope moved by a share of D_SPAN.

    K*sum(e_i^2*s_i)/2 + m*v^2/2 - m*g*y, the body spring as further rope in the last span.
    """
    lengths(n, w, phase, y, part_s, time_s)
    stretched = 0.0
    for i in range(n + 1):
        extra = w[r.LINE_P + r.BODY_M] if i == n else 0.0
        material = w[r.SPAN + i] + share * w[r.D_SPAN + i]
        strain = (w[r.KINK + i] - material) / (material + extra)
        if strain > 0.0:
            stretched += strain * strain * (material + extra)
    moving = w[r.LINE_P + r.MASS] * v * v
    return 0.5 * (w[r.LINE_P + r.K] * stretched + moving) - w[r.LINE_P + r.WEIGHT_N] * y


@njit
def flowed(w: Floats) -> Any:
    """What came in less what was lost during a tried step [J]."""
    given = w[r.GLOBAL + r.DEVICE] - w[r.GLOBAL + r.LEAVES]
    given += w[r.GLOBAL + r.FEED_WORK] + w[r.GLOBAL + r.MOVER]
    return given - w[r.GLOBAL + r.VISCOUS] - w[r.GLOBAL + r.FRICTION] - w[r.GLOBAL + r.MIXING]


@njit
def too_open(
    n: int, w: Floats, phase: int,
    y: float, v: float, part_s: float, time_s: float,
    y1: float, v1: float, p1: float, taken_s: float,
) -> Any:  # fmt: skip
    """Whether a tried step from (y, v, part_s) to (y1, v1, p1) leaves more open than it may."""
    before = stored(n, w, 0.0, phase, y, v, part_s, time_s)
    after = stored(n, w, 1.0, phase, y1, v1, p1, time_s + taken_s)
    return abs(flowed(w) - after + before) > OPEN_M * w[r.LINE_P + r.WEIGHT_N]
