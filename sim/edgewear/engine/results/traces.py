"""The travel of every stroke that a run wrote down."""

from __future__ import annotations

import numpy as np

from edgewear.engine.player import Player


def travel_of(player: Player) -> list[tuple[str, int, str, int, float]]:
    """Give line, rope, edge, stroke from 1 and travel [m] of every stroke that touched an edge."""
    found = []
    for row, rope, buffers in player.pieces_in_order():
        line = player.case.line_names[row]
        for edge, travels in zip(player.case.edge_names[row], buffers.travel, strict=False):
            made = np.flatnonzero(~np.isnan(travels))
            found += [(line, rope, edge, int(k) + 1, float(travels[k])) for k in made]
    return found
