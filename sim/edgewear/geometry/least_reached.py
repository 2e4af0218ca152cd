"""Where something that grows reaches zero, in few looks at it."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, copysign, log2, ulp

CLOSE_ULPS = 4
"""Gap in last bits below which only halving goes on: there rounding says what is found."""

NARROWING = 0.02
"""How far a guess is moved towards the middle, over the gap's square over the first gap."""

MORE = 1
"""Looks beyond those of halving alone that the worst course may take."""


def least_reached(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return the least number at which `excess` is no longer negative, to the last bit.

    Straight lines between the ends, each guess moved a little towards the middle so that both ends
    close in, and never so far from it that halving would have been quicker (interpolate, truncate,
    project: Oliveira and Takahashi 2020, from memory).

    Parameters:
        excess: grows.
        low: the least that is given back.
        high: is given back where nothing below it reaches 0.
    """
    below = excess(low)
    if below >= 0.0:
        return low
    above, whole = excess(high), high - low
    close = CLOSE_ULPS * ulp(high)
    room = close * 2.0 ** (ceil(log2(max(whole / close, 1.0))) + MORE)
    while True:
        middle = 0.5 * (low + high)
        if middle in (low, high):  # no number lies between: nothing changes any more
            return high
        at = middle
        if above > 0.0 and high - low > close:
            straight = low - below * (high - low) / (above - below)
            nudge = max(NARROWING * (high - low) ** 2 / whole, 0.5 * close)
            off = max(abs(middle - straight) - nudge, 0.0)
            at = middle + copysign(min(off, 0.5 * (room - (high - low))), straight - middle)
        room *= 0.5
        found = excess(at)
        if found < 0.0:
            low, below = at, found
        else:
            high, above = at, found
