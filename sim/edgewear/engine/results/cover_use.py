"""What protection went through in a run: the friction on it, and the rope that slid over it."""

from __future__ import annotations

from collections.abc import Iterator
from math import nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.case.edge_conditions import BYPASS
from edgewear.engine.player import Change, Player
from edgewear.mechanics import Buffers


class CoverUse(NamedTuple):
    """Of the n edges of a section the most that one piece went through; NaN: nothing lay there."""

    energy_j: NDArray[np.float64]  # (n,) of friction
    slip_m: NDArray[np.float64]  # (n,)


def cover_use(player: Player, row: int, buffers: Buffers) -> CoverUse:
    """Read what lay on the edges of a section, and what it went through while it did.

    A piece that is taken off and put back begins anew, as a rope of its own does on it.

    Parameters:
        player: at the end of a run.
        row: of the section.
        buffers: of a rope that lay in it.
    """
    spells = [list(_spells(player, row, edge, buffers)) for edge in range(len(buffers.edges))]
    return CoverUse(
        np.array([max((energy for energy, _ in some), default=nan) for some in spells]),
        np.array([max((slip for _, slip in some), default=nan) for some in spells]),
    )


def _spells(player: Player, row: int, edge: int, buffers: Buffers) -> Iterator[tuple[float, float]]:
    """Friction energy and sliding path under each piece that lay there, one after the other."""
    case, sums = player.case, buffers.sums[edge]
    end = Change(-1, 0, 0, float(sums["energy_j"]), float(sums["slip_m"]))
    cover, before = case.rigged.sections[row].edges[edge].protection, Change(-1)
    for change in (*player.changes_under(row, edge, buffers), end):
        if cover is not None and cover != BYPASS:
            yield change.energy_j - before.energy_j, change.slip_m - before.slip_m
        if change is not end:
            cover, before = case.conditions[change.variant][2], change
