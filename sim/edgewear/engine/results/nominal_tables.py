"""Tables of one run for a page: what happened, the demand along the rope, the course over time."""

from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np

from edgewear import mechanics, records
from edgewear.case import Records
from edgewear.engine.player import Piece, Player, Recording
from edgewear.engine.run_job import Performance
from edgewear.errors import UsageError
from edgewear.job.log import COLUMNS
from edgewear.layout import TICK_S

FULL = Recording(travel=100_000, trace=4_000, trace_ticks=1_000)
"""Everything a page shows: the travel of every stroke, and samples of the course."""

HALF_STEP = Recording(step_s=0.0075)
"""Half the ordinary step: what changes with it is the error of stepping."""

MOST_SAMPLES = 2_000
"""Samples of the course kept for each rope; a longer one is thinned evenly."""

MOST_ROOM = 20_000_000
"""Samples that are held at once, about a gigabyte."""


def recording_at(rate_hz: float, ticks: int) -> Recording:
    """Record the course so many times a second.

    Parameters:
        rate_hz: samples a second, at most one a tick.
        ticks: that the run may take; twice as many are made room for.

    Raises:
        UsageError: no such rate, or more samples than fit.
    """
    if not 0.0 < rate_hz <= 1.0 / TICK_S:
        raise UsageError(f"rate {rate_hz:g} Hz: above 0 and at most {1.0 / TICK_S:g} is allowed")
    every = max(1, round(1.0 / (rate_hz * TICK_S)))
    room = 2 * ticks // every + 1_000
    if room > MOST_ROOM:
        most_hz = MOST_ROOM / (2 * ticks * TICK_S)
        raise UsageError(
            f"rate {rate_hz:g} Hz: {room:,} samples of a run this long do not fit; "
            f"at most {most_hz:.3g} Hz do"
        )
    return FULL._replace(trace=room, trace_ticks=every)


EVENT_DTYPE = records.numpy_dtype(records.EVENT)
WEAR_DTYPE = records.numpy_dtype(records.WEAR)
TIMELINE_DTYPE = records.numpy_dtype(records.TIMELINE)


class HasPlayer(Protocol):
    """A run that has been played."""

    @property
    def player(self) -> Player:
        """The lines at its end."""


class Alone(NamedTuple):
    """A run played from a tape, with nobody to write a log."""

    player: Player


def events_of(done: Performance, option: str) -> Records:
    """Give what happened, `records.EVENT` (n,), in the order it happened."""
    rows = np.zeros(len(done.log), EVENT_DTYPE)
    rows["option"] = option
    for name in COLUMNS:
        rows[name] = [getattr(entry, name) for entry in done.log]
    return rows


def wear_of(done: HasPlayer, option: str) -> Records:
    """Give the demand along every rope that was used, `records.WEAR` (n,); worn stretches only."""
    blocks = [_wear(done.player, piece, option) for piece in done.player.pieces_in_order()]
    return np.concatenate([np.zeros(0, WEAR_DTYPE), *blocks])


def timeline_of(done: HasPlayer, option: str, most: int | None = MOST_SAMPLES) -> Records:
    """Give the course of every rope that was used, `records.TIMELINE` (n,).

    Parameters:
        done: the run.
        option: its name, for the rows.
        most: samples kept for each rope; a longer course is thinned evenly. None: all.
    """
    blocks = [_course(done.player, piece, option, most) for piece in done.player.pieces_in_order()]
    return np.concatenate([np.zeros(0, TIMELINE_DTYPE), *blocks])


def _wear(player: Player, piece: Piece, option: str) -> Records:
    buffers = piece.buffers
    demand, along = mechanics.demand(buffers), mechanics.along_m(buffers)
    before = mechanics.demand_before(buffers)
    worn = np.flatnonzero(demand > 0)
    kept = slice(max(worn[0] - 1, 0), worn[-1] + 2) if worn.size else slice(0, 0)
    rows = np.zeros(demand[kept].size, WEAR_DTYPE)
    rows["option"] = option
    rows["line"], rows["rope"] = player.case.line_names[piece.row], piece.rope
    rows["along_m"], rows["demand"], rows["before"] = along[kept], demand[kept], before[kept]
    return rows


def _course(player: Player, piece: Piece, option: str, most: int | None) -> Records:
    buffers = piece.buffers
    taken = min(int(buffers.state["samples"][0]), buffers.trace.size)
    samples = buffers.trace[: taken : 1 if most is None else max(taken // most, 1)]
    rows = np.zeros(samples.size, TIMELINE_DTYPE)
    rows["option"] = option
    rows["line"], rows["rope"] = player.case.line_names[piece.row], piece.rope
    rows["time_s"] = samples["tick"] * TICK_S
    for name in ("depth_m", "tension_n", "anchor_n", "slip_m", "demand"):
        rows[name] = samples[name]
    return rows
