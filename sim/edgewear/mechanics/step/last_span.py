"""Where the load hangs: the last free length and the bend of the rope above it, swayed or not."""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit


@inlined
def last_length(y: float, sway_m: float, w: Floats) -> Any:
    """Last free length of a closed regime, its derivative by depth and by sway.

    l = sqrt(u^2 + o^2 + s^2), u below the last point, o out from it, s aside (model page 2.3).
    """
    down = y - w[r.REGIME_P + r.POINT]
    out = w[r.REGIME_P + r.OUT]
    if out == 0.0 and sway_m == 0.0 and down > 0.0:
        return down, 1.0, 0.0
    length = math.sqrt(down * down + out * out + sway_m * sway_m)
    per_length = 1.0 / length
    return length, down * per_length, sway_m * per_length


@inlined
def aside(length: float, sway_m: float) -> Any:
    """Length to a load that is swayed aside, its derivative by what it was and by the sway.

    sqrt(l^2 + s^2), the sway across the last free length (model page 5.5).
    """
    if sway_m == 0.0:
        return length, 1.0, 0.0
    far = math.sqrt(length * length + sway_m * sway_m)
    per_far = 1.0 / far
    return far, length * per_far, sway_m * per_far


@inlined
def tilt(bend: float) -> Any:
    """How a sway adds to a bend: see `bend_aside`."""
    return bend / math.tan(bend) if bend > 1e-6 else 1.0


@inlined
def bend_aside(bend: float, share: float, tilted: float) -> Any:
    """Wrap angle at an edge above a load swayed aside by a share of the length between them.

    cos(theta') = cos(theta)*cos(phi), sin(phi) the share, to the second order in it: theta'^2 =
    theta^2 + sin(phi)^2*theta*cot(theta) (derived). tilted: the last factors, as where the bend
    begins.
    """
    return math.sqrt(max(bend * bend + share * share * tilted, 0.0))


@njit
def last_bend(y: float, sway_m: float, w: Floats) -> Any:
    """Wrap angle at the last edge of a closed regime, between incoming rope and load.

    atan2(|a x b|, a . b) of the two directions, which stays exact for small angles.
    """
    down = y - w[r.REGIME_P + r.POINT]
    out = w[r.REGIME_P + r.OUT]
    in_out = w[r.REGIME_P + r.IN_OUT]
    in_down = w[r.REGIME_P + r.IN_DOWN]
    along = in_out * out + in_down * down
    across = in_out * down - in_down * out
    return math.atan2(math.sqrt(across * across + sway_m * sway_m), along)
