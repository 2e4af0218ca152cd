"""How long a rescue takes: its legs one after the other, each as uncertain as it is typed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from math import ceil, floor, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.findings.rescue import STAGES, SUSPENSION, Reached
from edgewear.scenario.text.quantities import Measured

DRAWS = 16_000
"""Rescues that are drawn; with so many the 19-of-20 value is known to two or three in a hundred."""

CAREFUL = 0.95
"""Of so many rescues a time is not exceeded."""


class Leg(NamedTuple):
    """A part of a rescue: a time, a way at a speed, or a wait of up to a time."""

    stage: str
    what: str
    quantity: Measured  # [s]; with a way its speed [m/s]
    way_m: float = 0.0
    up_to: bool = False  # any share of it is as likely
    gone_s: float = 0.0  # so much of a time has passed already

    @property
    def middle_s(self) -> float:
        """By the middle of everything [s]."""
        if self.way_m:
            return self.way_m / self.quantity.value
        return max(self.quantity.value * (0.5 if self.up_to else 1.0) - self.gone_s, 0.0)


def fixed(stage: str, what: str, time_s: float) -> Leg:
    """A leg whose time is known."""
    return Leg(stage, what, Measured.exact(time_s, "s"))


def middle_s(legs: Sequence[Leg]) -> float:
    """All legs together, by the middle of everything [s]."""
    return sum(leg.middle_s for leg in legs)


@lru_cache(maxsize=512)
def reached(
    legs: tuple[Leg, ...], limits: tuple[tuple[str, float], ...]
) -> tuple[tuple[str, Reached], ...]:
    """When each stage is reached, the legs taken one after the other and independent.

    Where hanging still has a limit, the whole is held to that too: from the fault until down.

    The 19-of-20 value is an order statistic of the draws; the interval beside it covers the true
    one with 95 % confidence, by the binomial distribution of how many draws lie below it.
    """
    most = dict(limits)
    found = []
    total_s: NDArray[np.float64] = np.zeros(DRAWS)
    middle = 0.0
    for stage in STAGES:
        for number, leg in enumerate(legs):
            if leg.stage == stage:
                total_s = total_s + _drawn(leg, number)
                middle += leg.middle_s
        found.append((stage, _stage(np.sort(total_s), middle, most.get(stage))))
    if SUSPENSION in most:
        found.append((SUSPENSION, replace(found[-1][1], limit_s=most[SUSPENSION])))
    return tuple(found)


def _stage(ordered_s: NDArray[np.float64], middle: float, limit_s: float | None) -> Reached:
    count = len(ordered_s)
    half = 1.96 * sqrt(count * CAREFUL * (1.0 - CAREFUL))
    low, high = floor(CAREFUL * count - half) - 1, ceil(CAREFUL * count + half)
    p95_s, low_s, high_s = (
        float(ordered_s[min(max(k, 0), count - 1)])
        for k in (ceil(CAREFUL * (count + 1)) - 1, low, high)
    )
    return Reached(middle, p95_s, low_s, high_s, limit_s)


def _drawn(leg: Leg, number: int) -> NDArray[np.float64]:
    """Draws of one leg [s]; they belong to what it is and to its place among the legs."""
    from edgewear.engine.draws import quantile, uniforms

    quantity = leg.quantity
    name = f"rescue: {leg.what} {number}"
    if quantity.distribution == "fixed":
        values = np.full(DRAWS, quantity.value)
    else:
        share = uniforms(0, name, 0, DRAWS)
        ends = quantity.value, quantity.low, quantity.high
        values = quantile(quantity.distribution, *ends, share)
    if leg.way_m:
        times: NDArray[np.float64] = leg.way_m / np.maximum(values, quantity.value / 10)
        return times
    whole_s = values * uniforms(0, f"{name} share", 0, DRAWS) if leg.up_to else values
    return np.maximum(whole_s - leg.gone_s, 0.0)
