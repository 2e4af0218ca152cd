"""What the largest exposure can have grown to: never below what it is."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import Kind
from mechanics.test_plain_line import random_line
from support.lines import JERKY, direct, move, surveyed

ROUNDING = 1e-9
"""Relative: the bound is exact but for rounding, of some 1e3 additions."""
EVERY_TICKS = 97
"""Less than one step of 10 ms: after each step there is a look from outside."""


def stays_above(buffers, tape, variation) -> float:
    """Play a tape step by step; the largest share of the bound that was really reached."""
    tightest = 0.0
    for movement in tape:
        until, status = int(buffers.state["tick"][0]), 0
        while not status & 1:
            until += EVERY_TICKS
            status = mechanics.advance(buffers, movement, variation, until_tick=until)
            largest, _, _ = mechanics.worst(buffers)
            bound = float(buffers.state["bound_j_m"][0])
            assert largest <= bound * (1.0 + ROUNDING)
            tightest = max(tightest, largest / bound if bound else 0.0)
    return tightest


@pytest.mark.parametrize("seed", range(6))
def test_the_bound_is_never_below_the_worst_place(seed: int) -> None:
    stays_above(*random_line(seed))


@pytest.mark.long
@pytest.mark.parametrize("seed", range(6, 200))
def test_the_bound_is_never_below_the_worst_place_at_large(seed: int) -> None:
    stays_above(*random_line(seed))


def test_the_bound_holds_where_bends_and_contact_lengths_change() -> None:
    buffers = surveyed((0.0, 0.0), [(3.0, -0.1), (3.5, -2.0)], 3.8, radius_m=0.05)
    tape = [
        move(Kind.LOAD, depth_m=9.0),
        move(Kind.STROKES, length_m=5.0, **JERKY),
        move(Kind.FEED, length_m=0.5, speed_m_s=0.3, stop_s=0.2, cycles=2),
    ]
    stays_above(buffers, tape, np.zeros((0, 2)))


def worked(buffers, until_tick=None) -> None:
    """Ten minutes of work in place, most of it passed in closed form."""
    work = move(Kind.WORK, duration_ticks=6_000_000, bounce_m=0.03, bounce_hz=1.0, tool_n=150.0)
    mechanics.advance(buffers, move(Kind.LOAD, depth_m=10.0))
    kwargs = {} if until_tick is None else {"until_tick": until_tick}
    mechanics.advance(buffers, work, **kwargs)


@pytest.mark.parametrize("sheath_j_m", [6e3, 40e3, 100e3])
def test_the_core_shows_when_it_does_in_work_passed_in_closed_form(sheath_j_m: float) -> None:
    buffers = direct([20.0], [45.0], sheath_j_m=sheath_j_m)
    worked(buffers)
    seen = int(buffers.state["core_tick"][0])
    period, step = 10_000, 100
    before = direct([20.0], [45.0], sheath_j_m=sheath_j_m)
    worked(before, seen - step)
    after = direct([20.0], [45.0], sheath_j_m=sheath_j_m)
    worked(after, seen + period)
    assert mechanics.worst(before)[0] < sheath_j_m <= mechanics.worst(after)[0]
