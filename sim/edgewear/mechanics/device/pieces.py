"""A step of the grid that is made in pieces, in the registers of a device.

As `step.divided_step`: what leaves too much of the energy balance open is halved, the next piece is
twice as long again. What has worn the rope cannot be taken back, and a later piece may be one that
has to be made elsewhere; so the pieces are first tried to their end and then made, which is the
same work a second time and rare: some 1.4 steps of an ascent are divided.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from edgewear.mechanics.device.quick_step import Line

WHOLE, TRIED, MADE = 0, 1, 2
MOST_PIECES = 60
"""Tries after which a step is left to the general way, which has 400."""
NOTHING_S = 1e-12
"""So little of a step is none."""


class Pieces(NamedTuple):
    """How far a divided step has come."""

    way: int  # WHOLE: it is not divided; TRIED or MADE: the pieces are
    at: Line  # where the next one that is tried begins
    time_s: float  # of its begin, since the phase began
    left_s: float
    size_s: float  # of the next one
    tries: int
    halves: int


def whole(line: Line, time_s: float, size_s: float) -> Any:
    """A step that is not divided."""
    return Pieces(WHOLE, line, time_s, size_s, size_s, 0, 0)


def opened(p: Pieces, line: Line, time_s: float, whole_s: float) -> Any:
    """What is tried next where a try leaves too much open."""
    if p.way == WHOLE:
        return Pieces(TRIED, line, time_s, whole_s, 0.5 * whole_s, 0, 1)
    return Pieces(p.way, p.at, p.time_s, p.left_s, 0.5 * p.size_s, p.tries + 1, p.halves + 1)


def further(p: Pieces, new: Line) -> Any:
    """A piece is done; the next one is twice as long, and no longer than what is left."""
    left_s = p.left_s - p.size_s
    size_s = min(left_s, 2.0 * p.size_s)
    return Pieces(p.way, new, p.time_s + p.size_s, left_s, size_s, p.tries + 1, p.halves)


def tried(p: Pieces, new: Line, line: Line, time_s: float, whole_s: float) -> Any:
    """A piece stands; after the last one they are made, from the step's begin on."""
    following = further(p, new)
    if following.left_s > NOTHING_S:
        return following
    return Pieces(MADE, line, time_s, whole_s, 0.5 * whole_s, 0, 1)
