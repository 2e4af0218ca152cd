"""exp(x) of a small x in plain sums and products, which lanes and single runs make alike."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.jit import inlined

SMALL = 0.25
"""Largest |x|: the next term of the series is then 1.2e-16 of the sum, half the last bit."""


@inlined
def near_one(x: float) -> Any:
    """exp(x), |x| <= `SMALL`: its series up to x^11/11!, even and odd powers apart.

    The library's own exp is a call, which no loop over lanes can make.
    """
    y = x * x
    even = 1.0 + y * (1 / 2 + y * (1 / 24 + y * (1 / 720 + y * (1 / 40320 + y * (1 / 3628800)))))
    odd = 1.0 + y * (1 / 6 + y * (1 / 120 + y * (1 / 5040 + y * (1 / 362880 + y * (1 / 39916800)))))
    return even + x * odd
