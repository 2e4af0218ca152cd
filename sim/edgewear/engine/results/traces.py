"""Everything a run wrote down, not thinned: samples of the course, travel of every stroke."""

from __future__ import annotations

import numpy as np

from edgewear.case import Records
from edgewear.engine.player import Player
from edgewear.engine.results.nominal_tables import TIMELINE_DTYPE, HasPlayer
from edgewear.layout import TICK_S


def trace_of(done: HasPlayer, option: str) -> Records:
    """Give every sample of every line that was used, `records.TIMELINE` (n,)."""
    player, blocks = done.player, [np.zeros(0, TIMELINE_DTYPE)]
    for row in sorted(player.in_use):
        buffers = player.buffers(row)
        taken = min(int(buffers.state["samples"][0]), buffers.trace.size)
        samples = buffers.trace[:taken]
        rows = np.zeros(taken, TIMELINE_DTYPE)
        rows["option"], rows["line"] = option, player.case.line_names[row]
        rows["time_s"] = samples["tick"] * TICK_S
        for name in ("depth_m", "tension_n", "anchor_n", "slip_m", "demand"):
            rows[name] = samples[name]
        blocks.append(rows)
    return np.concatenate(blocks)


def travel_of(player: Player) -> list[tuple[str, str, int, float]]:
    """Give line, edge, stroke from 1 and travel [m] of every stroke that touched an edge."""
    found = []
    for row in sorted(player.in_use):
        buffers, line = player.buffers(row), player.case.line_names[row]
        for edge, travels in zip(player.case.edge_names[row], buffers.travel, strict=False):
            made = np.flatnonzero(~np.isnan(travels))
            found += [(line, edge, int(k) + 1, float(travels[k])) for k in made]
    return found
