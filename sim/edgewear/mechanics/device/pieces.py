"""A step of the grid that is made in pieces, in the registers of a device.

As `step.divided_step`: what leaves too much of the energy balance open is halved, the next piece is
twice as long again. What has worn the rope cannot be taken back, and a later piece may be one that
has to be made elsewhere; so the pieces are first tried to their end and then made, which is the
same work a second time and rare: some 1.4 steps of an ascent are divided. How far they have come
lies in the thread's column.
"""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.device import columns as c
from edgewear.mechanics.device.quick_step import Line

WHOLE, TRIED, MADE = 0, 1, 2
"""A step is not divided; its pieces are tried; they are made."""
MOST_PIECES = 60
"""Tries after which a step is left to the general way, which has 400."""
NOTHING_S = 1e-12
"""So little of a step is none."""


def piece(b: Floats, me: int, way: int, line: Line, time_s: float, whole_s: float) -> Any:
    """What is tried next: (the line where it begins, time since the phase began, length [s])."""
    if way == WHOLE:
        return line, time_s, whole_s
    at = Line(
        b[c.AT_Y, me], b[c.AT_V, me], b[c.AT_PART, me], b[c.AT_S0, me], b[c.AT_S1, me],
        line.phase_tick, line.tick,
    )  # fmt: skip
    return at, b[c.TIME, me], b[c.SIZE, me]


def opened(b: Floats, me: int, way: int, line: Line, time_s: float, whole_s: float) -> Any:
    """Halve what leaves too much open; returns how the step is made from here on."""
    if way == WHOLE:
        _begin(b, me, line, time_s, whole_s)
        return TRIED
    b[c.SIZE, me] *= 0.5
    b[c.TRIES, me] += 1.0
    b[c.HALVES, me] += 1.0
    return way


def _begin(b: Floats, me: int, line: Line, time_s: float, whole_s: float) -> None:
    """From the step's begin on, the first piece half of it."""
    _at(b, me, line)
    b[c.TIME, me], b[c.LEFT, me], b[c.SIZE, me] = time_s, whole_s, 0.5 * whole_s
    b[c.TRIES, me], b[c.HALVES, me] = 0.0, 1.0


def _at(b: Floats, me: int, line: Line) -> None:
    b[c.AT_Y, me], b[c.AT_V, me], b[c.AT_PART, me] = line.y, line.v, line.part_s
    b[c.AT_S0, me], b[c.AT_S1, me] = line.s0, line.s1


def further(b: Floats, me: int, new: Line) -> None:
    """A piece is done; the next one is twice as long, and no longer than what is left."""
    _at(b, me, new)
    size_s = b[c.SIZE, me]
    left_s = b[c.LEFT, me] - size_s
    b[c.TIME, me] += size_s
    b[c.LEFT, me] = left_s
    b[c.SIZE, me] = min(left_s, 2.0 * size_s)
    b[c.TRIES, me] += 1.0


def tried(b: Floats, me: int, new: Line, line: Line, time_s: float, whole_s: float) -> Any:
    """A piece stands; after the last one they are made, from the step's begin on."""
    further(b, me, new)
    if b[c.LEFT, me] > NOTHING_S:
        return TRIED
    _begin(b, me, line, time_s, whole_s)
    return MADE
