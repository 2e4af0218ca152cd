"""Which steps runs can take side by side."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as s
from edgewear.mechanics.arrays import Buffers, Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.step.one_edge_step import is_single
from edgewear.mechanics.wear.wear import window_m


@inlined
def takes(p: Buffers) -> Any:
    """Whether a lane can take the next step.

    All spans are taut, lengths and bends given or affine in the depth, wear is by the first law.
    Over one edge it is one of a stroke, else any but of feeding and waiting.
    """
    state, w = p.state[0], p.work
    phase = state.phase
    strokes = phase == s.RISE or phase == s.DROP or phase == s.PAUSE
    if not strokes and (phase == s.FEED or phase == s.WAIT or w[s.REGIME_P + s.BESIDE] == 0.0):
        return False
    if w[s.LINE_P + s.LAW] != 0.0 or p.trace.shape[0] > 0:
        return False
    given = w[s.REGIME_P + s.FIXED_BEND] != 0.0 and w[s.REGIME_P + s.OUT] == 0.0
    if w[s.REGIME_P + s.CLOSED] != 0.0 and not given:
        return False
    single = state.count == 1 and is_single(1, phase, w)
    if w[s.REGIME_P + s.BESIDE] != 0.0:
        fits = 1 <= state.count <= w[s.REGIME_P + s.BESIDE]
        return fits and not single and _plain(state.count, w)
    if not single:
        return False
    window = window_m(w[s.RADIUS + 1], w[s.BEND + 1], p.line[0].diameter_m)
    return window == w[s.WINDOW + 1]


@inlined
def _plain(n: int, w: Floats) -> Any:
    """Whether all spans are taut and no edge holds by more than it rubs by."""
    plain = w[s.LINE_P + s.ANY_STATIC] == 0.0 and w[s.LINE_P + s.ANY_POWER] == 0.0
    for i in range(n + 1):
        plain = plain and w[s.TAUT + i] != 0.0
    return plain
