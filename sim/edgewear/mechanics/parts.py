"""What a kernel works on: the arrays of one line, handed on together."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.arrays import Buffers
from edgewear.mechanics.jit import inlined


@inlined
def lane_of(b: Any, regimes: Any, i: int) -> Any:
    """Buffers of lane i among those of several lines, with the contact sets of its run."""
    return Buffers(
        b.line[i : i + 1], b.edges[i], b.person[i : i + 1], b.wear[i : i + 1], regimes,
        b.state[i : i + 1], b.sums[i], b.pending[i], b.exposure[i], b.cells, b.travel, b.trace,
        b.trace_ticks, b.mark_state[i], b.mark_sums[i], b.work[i],
    )  # fmt: skip
