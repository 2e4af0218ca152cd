"""When each third of the sheath is worn, by edge and in all: the rope one step before and after."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import Kind
from edgewear.mechanics.arrays import SUMS, WORK_ROWS
from edgewear.mechanics.wear.worst_place import scan
from mechanics.test_plain_line import random_line
from support.lines import JERKY, direct, move

THIRDS = (1 / 3, 2 / 3, 1.0)
STEP_TICKS = 100
"""One step: the last of a rise is cut where the rise is over, if a whole one fits."""
ROUNDING = 1e-9
"""Relative, of a demand: sums of some 1e3 additions in another order."""


def demands(buffers) -> dict[int, float]:
    """Largest demand from each edge alone, and from all together (-1)."""
    whole = float(mechanics.worst(buffers)[0] / buffers.wear["sheath_j_m"][0])
    return {-1: whole, **dict(enumerate(mechanics.demand_by_edge(buffers)))}


def until(make, tick: int) -> dict[int, float]:
    """Demands after all steps that end by a tick."""
    buffers, tape, variation = make()
    for movement in tape:
        if not mechanics.advance(buffers, movement, variation, until_tick=tick) & 1:
            break
    return demands(buffers)


def marked(buffers) -> dict[tuple[int, int], int]:
    """The ticks that the kernels wrote down."""
    state, sums = buffers.state[0], buffers.sums
    ticks = {(-1, k): int(state["worn_tick"][k]) for k in range(2)}
    ticks[-1, 2] = int(state["core_tick"])
    ticks |= {(j, k): int(sums["worn_tick"][j, k]) for j in range(len(sums)) for k in range(3)}
    return {key: tick for key, tick in ticks.items() if tick >= 0}


def agrees(make) -> int:
    """Hold each mark to the step in which it came about; how many there were."""
    buffers, tape, variation = make()
    for movement in tape:
        mechanics.advance(buffers, movement, variation)
    quick, last = marked(buffers), demands(buffers)
    reached = {(j, k) for j in last for k, third in enumerate(THIRDS) if last[j] >= third}
    assert quick.keys() == reached
    for (row, k), tick in quick.items():
        assert until(make, tick + STEP_TICKS)[row] >= THIRDS[k] * (1.0 - ROUNDING)
        assert until(make, tick - 1)[row] < THIRDS[k] * (1.0 + ROUNDING)
    return len(quick)


def thin(seed: int):
    """Make a random line again and again, its sheath so thin that it is worn on the way."""
    buffers, tape, variation = random_line(seed)
    for movement in tape:
        mechanics.advance(buffers, movement, variation)
    sheath_j_m = max(float(mechanics.worst(buffers)[0]) * (0.4 + 0.13 * (seed % 7)), 1.0)

    def make():
        buffers, tape, variation = random_line(seed)
        buffers.wear["sheath_j_m"] = sheath_j_m
        buffers.wear["breaking_n"] = 1e9  # nothing parts on the way
        return buffers, tape, variation

    return make


@pytest.mark.parametrize("seed", range(4))
def test_marks_are_set_in_the_step_in_which_a_third_is_worn(seed: int) -> None:
    agrees(thin(seed))


@pytest.mark.long
@pytest.mark.parametrize("seed", range(4, 200))
def test_marks_are_set_in_the_step_in_which_a_third_is_worn_at_large(seed: int) -> None:
    agrees(thin(seed))


def test_marks_are_set_in_work_passed_in_closed_form() -> None:
    work = move(Kind.WORK, duration_ticks=6_000_000, bounce_m=0.03, bounce_hz=1.0, tool_n=150.0)
    load = move(Kind.LOAD, depth_m=10.0)
    buffers = direct([20.0], [45.0], sheath_j_m=60e3, breaking_n=1e9)
    for movement in (load, work):
        mechanics.advance(buffers, movement)
    found = marked(buffers)
    assert found.keys() == {(row, k) for row in (-1, 0) for k in range(3)}
    period, step = 10_000, 100
    for (_, k), tick in found.items():
        for end, reached in ((tick - step, False), (tick + period, True)):
            again = direct([20.0], [45.0], sheath_j_m=60e3, breaking_n=1e9)
            mechanics.advance(again, load)
            mechanics.advance(again, work, until_tick=end)
            assert (mechanics.worst(again)[0] >= 60e3 * THIRDS[k]) is reached


def test_marks_of_a_whole_movement_are_those_of_its_pieces() -> None:
    climb = move(Kind.STROKES, length_m=6.0, **JERKY)
    ways = []
    for piece in (None, 313):
        buffers = direct([10.0, 4.0], [40.0, 60.0], sheath_j_m=4e3, breaking_n=1e9)
        mechanics.advance(buffers, move(Kind.LOAD, depth_m=20.0))
        status, tick = 0, 0
        while not status & 1:
            tick += piece or 10**9
            status = mechanics.advance(buffers, climb, np.zeros((0, 2)), until_tick=tick)
        ways.append(marked(buffers))
    assert ways[0] == ways[1]
    assert len(ways[0]) >= 4


def test_one_edge_is_looked_at_as_beside_another_that_wore_nothing() -> None:
    rng = np.random.default_rng(7)
    for _ in range(300):
        cells = int(rng.integers(2, 300))
        pending, exposure = np.zeros((2, cells + 4)), np.zeros((2, cells))
        sums = np.zeros(2, SUMS)
        sums["pending_low"] = sums["worn_low"] = cells
        sums["pending_high"] = sums["worn_high"] = -1
        if rng.random() < 0.9:
            low, high = np.sort(rng.integers(0, cells, 2))
            exposure[0, low : high + 1] = np.round(rng.exponential(3.0, high + 1 - low))
            sums["worn_low"][0], sums["worn_high"][0] = low, high
        if rng.random() < 0.9:
            low, high = np.sort(rng.integers(0, cells + 3, 2))
            pending[0, low : high + 1] = rng.normal(size=high + 1 - low)
            sums["pending_low"][0], sums["pending_high"][0] = low, high
        times, work = float(rng.integers(1, 9)), np.zeros(WORK_ROWS * 16)
        alone = scan(pending[:1], exposure[:1], sums[:1], times, work)
        assert alone == scan(pending, exposure, sums, times, work)
