"""Sine and cosine in plain sums and products, which lanes and single runs make alike."""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics.jit import inlined

PER_QUARTER = 2.0 / math.pi
QUARTER_HIGH, QUARTER_LOW = 1.5707963267341256, 6.077100506506192e-11
"""pi/2 in two parts, the first of 33 bits: so many quarters as 2**20 of it leave no rounding."""
S_7, S_8 = -1 / 1307674368000, 1 / 355687428096000
C_7, C_8 = -1 / 87178291200, 1 / 20922789888000
"""Last terms of the series: 1/15!, 1/17!; 1/14!, 1/16!."""
HALF_UP = 6755399441055744.0
"""1.5*2**52: added and taken off again, it rounds to the nearest whole number."""


@inlined
def sine_cosine(x: float) -> Any:
    """sin(x) and cos(x), |x| below a million, to two units in the last place.

    Quarter turns taken off (Cody and Waite's way), the series of both to the 17th power on what is
    left of an eighth of a turn. The library's own are calls, which no loop over lanes can make.
    """
    quarters = (x * PER_QUARTER + HALF_UP) - HALF_UP
    y = (x - quarters * QUARTER_HIGH) - quarters * QUARTER_LOW
    z = y * y
    s_4 = 1 / 362880 + z * (-1 / 39916800 + z * (1 / 6227020800 + z * (S_7 + z * S_8)))
    s = y + y * z * (-1 / 6 + z * (1 / 120 + z * (-1 / 5040 + z * s_4)))
    c_4 = 1 / 40320 + z * (-1 / 3628800 + z * (1 / 479001600 + z * (C_7 + z * C_8)))
    c = 1.0 + z * (-1 / 2 + z * (1 / 24 + z * (-1 / 720 + z * c_4)))
    odd = quarters - 2.0 * ((0.5 * quarters - 0.25 + HALF_UP) - HALF_UP)
    turned = odd != 0.0
    over = quarters - 4.0 * ((0.25 * quarters - 0.375 + HALF_UP) - HALF_UP)
    sine = c if turned else s
    cosine = s if turned else c
    below = over >= 2.0
    left = (over == 1.0) | (over == 2.0)
    return -sine if below else sine, -cosine if left else cosine
