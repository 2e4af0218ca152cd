"""Which steps runs can take side by side."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as s
from edgewear.mechanics.arrays import Buffers
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.step.one_edge_step import is_single
from edgewear.mechanics.wear.wear import window_m


@inlined
def takes(p: Buffers) -> Any:
    """Whether a lane can take the next step.

    That is one of a stroke over one edge, both spans taut, the bend given, wear by the first law.
    """
    state, w = p.state[0], p.work
    phase = state.phase
    if state.count != 1 or not (phase == s.RISE or phase == s.DROP or phase == s.PAUSE):
        return False
    if not is_single(1, phase, w) or w[s.REGIME_P + s.FIXED_BEND] == 0.0:
        return False
    if w[s.REGIME_P + s.OUT] != 0.0 or w[s.LINE_P + s.LAW] != 0.0 or p.trace.shape[0] > 0:
        return False
    window = window_m(w[s.RADIUS + 1], w[s.BEND + 1], p.line[0].diameter_m)
    return window == w[s.WINDOW + 1]
