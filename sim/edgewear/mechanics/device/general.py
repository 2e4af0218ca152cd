"""The general step on a device: the same stages in a loop, so that their code is there once.

And what a run over one edge of plain friction never meets, left out.
"""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.movement.mover import drive
from edgewear.mechanics.step.flow import SIXTH, early
from edgewear.mechanics.step.stage import stage_any


def step_in_a_loop(
    n: int, w: Floats, phase: int, y: float, v: float, part_s: float, time_s: float, h: float
) -> Any:
    """Classical RK4 over h [s] from SPAN, as `stage.step`; leaves the change in the D rows."""
    for i in range(r.D_EXPOSURE - r.D_SLIP + 16):
        w[r.D_SLIP + i] = 0.0
    for i in range(8):
        w[r.GLOBAL + i] = 0.0
    for i in range(n + 1):
        w[r.STAGE + i] = w[r.SPAN + i]
    y1, v1, p1 = y, v, part_s
    dy = dv = dp = 0.0
    fine = True
    sixth = h * SIXTH
    for stage in range(4):
        weight = sixth if stage == 0 or stage == 3 else 2.0 * sixth
        share = 0.0 if stage == 0 else (h if stage == 3 else 0.5 * h)
        reach = h if stage == 2 else (0.0 if stage == 3 else 0.5 * h)
        driven = drive(phase, time_s + share, p1, w)
        a, p, ok = stage_any(n, w, driven, phase == r.RISE, y1, v1, weight, reach)
        fine = fine and ok
        for i in range(n + 1):
            if stage == 0:
                w[r.T_START + i] = w[r.T + i]
                w[r.Q_START + i] = w[r.Q + i]
                w[r.WORN_START + i] = w[r.WORN + i]
            elif stage == 2:
                w[r.T_MIDDLE + i] = w[r.T + i]
                w[r.Q_MIDDLE + i] = w[r.Q + i]
        dy += weight * v1
        dv += weight * a
        dp += weight * p
        y1 = y + reach * v1
        v1 = v + reach * a
        p1 = part_s + reach * p
    friction = 0.0
    for i in range(n + 1):
        w[r.D_SPAN + i] = w[r.D_SLIP + i] - w[r.D_SLIP + i + 1]
        friction += w[r.D_ENERGY + i]
        w[r.EARLY_SLIP + i] = early(w[r.D_SLIP + i], w[r.Q_START + i], w[r.Q + i], h)
        w[r.EARLY_EXPOSURE + i] = early(w[r.D_EXPOSURE + i], w[r.WORN_START + i], w[r.WORN + i], h)
    w[r.GLOBAL + r.FRICTION] = friction
    return y + dy, v + dv, part_s + dp, fine


def no_power(n: int, w: Floats, take: float, limited: bool) -> Any:
    """Friction of another power: not on a device."""
    return False


def no_static(
    n: int, w: Floats, phase: int, y: float, v: float, part_s: float, time_s: float
) -> None:
    """Static friction above kinetic: not on a device."""
