"""Where something that grows reaches zero: as halving finds it, and sooner."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.geometry.least_reached import least_reached

Growing = Callable[[float], float]

KINDS: dict[str, Callable[[float], Growing]] = {
    "straight": lambda at: lambda x: x - at,
    "a line past a corner": lambda at: lambda x: hypot(x, 3.0) - hypot(at, 3.0),
    "a line that takes up a corner": lambda at: (
        lambda x: hypot(x, 0.2) + max(x - 5, 0) / 9 - hypot(at, 0.2) - max(at - 5, 0) / 9
    ),
    "flat where it crosses": lambda at: lambda x: (x - at) ** 3,
    "a step": lambda at: lambda x: -1.0 if x < at else 1.0,
    "never reached": lambda at: lambda x: x - 1e3,
}
SMOOTH = ("straight", "a line past a corner", "a line that takes up a corner")


def halved(excess: Growing, low: float, high: float) -> float:
    """Halve until no number lies between."""
    while (middle := 0.5 * (low + high)) not in (low, high):
        low, high = (middle, high) if excess(middle) < 0.0 else (low, middle)
    return high


@pytest.mark.parametrize("kind", KINDS)
@given(at=st.floats(0.01, 40.0), share=st.floats(0.0, 0.99), more=st.floats(0.01, 60.0))
def test_it_is_what_halving_finds(kind: str, at: float, share: float, more: float) -> None:
    low = share * at  # lines past a corner grow from 0 on
    asked: list[float] = []
    excess = KINDS[kind](at)

    def looked(x: float) -> float:
        asked.append(x)
        return excess(x)

    found = least_reached(looked, low, at + more)
    plain: list[float] = []
    assert found == halved(lambda x: plain.append(x) or excess(x), low, at + more)
    # both ends once, one look more than halving by its own bound, and the last bits, by halving
    assert len(asked) <= len(plain) + 2 + 1 + 4


@pytest.mark.parametrize("kind", SMOOTH)
def test_it_looks_less_often_than_halving(kind: str) -> None:
    asked: list[float] = []
    plain: list[float] = []
    for at in np.random.default_rng(1).uniform(1.0, 40.0, 100):
        excess = KINDS[kind](float(at))
        least_reached(lambda x, f=excess: asked.append(x) or f(x), 0.0, float(at) + 9.0)
        halved(lambda x, f=excess: plain.append(x) or f(x), 0.0, float(at) + 9.0)
    # a straight line needs some 5 guesses from each side, and 2 or 3 halvings of the last bits
    assert len(asked) < 0.5 * len(plain)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "never reached"])
def test_what_is_reached_from_the_start_is_the_start(kind: str) -> None:
    assert least_reached(KINDS[kind](2.0), 2.0, 9.0) == 2.0
    assert least_reached(KINDS[kind](2.0), 3.0, 9.0) == 3.0
