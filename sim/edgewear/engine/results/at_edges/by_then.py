"""What each edge had done to somebody's rope by the moment at which it was looked at."""

from __future__ import annotations

from collections.abc import Collection
from math import inf
from typing import NamedTuple

import numpy as np

from edgewear import codes, mechanics
from edgewear.case import Batch, Case, Records
from edgewear.engine.play import play
from edgewear.engine.player import FOREVER, Player

PIECE_TICKS = 1_000
"""A climb is looked at this often, a tenth of a second: it rises by a few centimetres."""

SAME_M = 0.1
"""Rope climbed is typed no finer than this [m]; assumed.

What is typed as the height of a climb is then reached at its end, not at the next climb.
"""


class Moment(NamedTuple):
    """When somebody looked: whichever came first."""

    at_ticks: int  # since the start of the job
    climbed_m: float  # by the person


AFTER_ALL = Moment(FOREVER, inf)
"""When the job is done."""


class RopeThen(NamedTuple):
    """The rope that lay there at a moment."""

    rope: int  # which of the line's, from 1
    demand: dict[str, float]  # by edge: largest sheath demand from it alone so far [1]
    lain_over: frozenset[str]  # edges over which it had borne load


def rope_then(
    case: Case, batch: Batch, rows: Collection[int], moment: Moment, rope: int | None = None
) -> RopeThen:
    """Play a batch's first run up to a moment and look at the rope of somebody's line.

    Parameters:
        case, batch: the option, with its tape.
        rows: sections of the line.
        moment: when; the other lines go on to their end.
        rope: which of the line's, from 1; left out, the one that lay there.

    Raises:
        RunFailed: the kernel met something that is not a number.
    """
    player = _Watched(case, rows, moment)
    play(player, batch)
    asked = player.there if rope is None else rope
    demand, lain_over = dict[str, float](), set[str]()
    for piece in player.pieces():
        if piece.row in rows and piece.rope == asked:
            names = case.edge_names[piece.row]
            for name, worn in zip(names, mechanics.demand_by_edge(piece.buffers), strict=True):
                demand[name] = max(demand.get(name, 0.0), float(worn))
            bent = np.flatnonzero(piece.buffers.sums["wrap_rad"][: len(names)] > 0.0)
            lain_over.update(names[edge] for edge in bent)
    return RopeThen(asked, demand, frozenset(lain_over))


class _Watched(Player):
    """Lines at play, of which somebody's makes no movement any more from a moment on."""

    def __init__(self, case: Case, rows: Collection[int], moment: Moment) -> None:
        super().__init__(case)
        self.rows, self.moment = rows, moment
        self.there = 1  # which rope moved last

    def make(
        self,
        movement: Records,
        tick: int,
        until: int | None = None,
        exact: bool = False,
        armed: int = 0,
    ) -> int:
        """Make a movement as far as the moment; then the line counts as one that parted."""
        row, end = int(movement["line"][0]), FOREVER if until is None else until
        if row not in self.rows:
            return super().make(movement, tick, until, exact, armed)
        now = tick
        while not self._come(row, now):
            self.there = self.rope[row]
            now = min(self._piece(now), end)
            status = super().make(movement, tick, now, exact and now == end, armed)
            if status & (codes.DONE | armed) or now == end:
                return status
        return codes.PARTED

    def _piece(self, now: int) -> int:
        """Give the tick at which is looked again."""
        ahead = now + PIECE_TICKS if self.moment.climbed_m < inf else FOREVER
        return min(ahead, self.moment.at_ticks)

    def _come(self, row: int, now: int) -> bool:
        climbed_m = self.ascended_m[self._persons[row]]
        return bool(
            now >= self.moment.at_ticks or climbed_m >= max(self.moment.climbed_m - SAME_M, 0.0)
        )
