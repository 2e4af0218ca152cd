"""Slip rates where every span is under tension: edges that slip alike are taken together.

Along a *run* of spans s .. e, joined by edges that slip, tensions are in fixed proportion,
T_i = P_i*T_s, P growing by R_j at an edge that slips toward the load and falling by it at one that
slips toward the anchor. With T_i = A_i - B_i*(q_i - q_(i+1)), that is
T_i/B_i = A_i/B_i - (q_i - q_(i+1)), summed over the run

    T_s * sum(P_i/B_i) = sum(A_i/B_i) - (q_s - q_(e+1))

and q at the ends is 0 or what anchor and device do. So a run takes one division and no elimination.
Which edges slip is found by policy iteration as in `slip`; what is limp, or held by static or
power-law friction, is left to `slip`.
"""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.slip.slip import TOLERANCE

PASSES = 10


@inlined
def _gather(n: int, w: Floats, take: float, piece: float) -> Any:
    """Sums of P_i/B_i and A_i/B_i from every span to the end of its run, for the modes guessed.

    Returns those of the first span.
    """
    ease = w[r.EASE + n]
    give = w[r.GIVE + n]
    if piece == 3.0:
        yields = take * w[r.REGIME_P + r.PER_RANGE]
        ease += yields
        give += yields * w[r.LINE_P + r.FULL_N]
    elif piece == 1.0:
        give += take
    w[r.EASES + n] = ease
    w[r.GIVES + n] = give
    j = n
    while j > 0:
        if w[r.MODE + j] == 0.0:
            ease = w[r.EASE + j - 1]
            give = w[r.GIVE + j - 1]
        else:
            ease = w[r.EASE + j - 1] + ease * _rise(j, w)
            give += w[r.GIVE + j - 1]
        w[r.EASES + j - 1] = ease
        w[r.GIVES + j - 1] = give
        j -= 1
    return ease, give


@inlined
def _rise(j: int, w: Floats) -> Any:
    """Tension behind edge j over that before it, where it slips as guessed."""
    if w[r.MODE + j] > 0.0:
        return w[r.RATIO + j]
    return w[r.FALLS + j]


@inlined
def _judged(j: int, mode: float, before: float, after: float, w: Floats) -> Any:
    """Mode of edge j by the tensions and the rate found: as it was, if they bear it out."""
    ratio = w[r.RATIO + j]
    tolerance = TOLERANCE * (1.0 + before + after)
    if mode == 0.0:
        if after - ratio * before > tolerance:
            return 1.0
        if before - ratio * after > tolerance:
            return -1.0
        return 0.0
    above = w[r.EASE + j - 1]
    below = w[r.EASE + j]
    steep = above + below * ratio if mode > 0.0 else above * ratio + below
    if mode * w[r.Q + j] * steep <= above * below * tolerance:
        return 0.0
    return mode


@inlined
def _lay(n: int, w: Floats, feed: float, tension: float) -> Any:
    """Tensions and rates of the modes guessed; returns (smallest tension, whether all hold).

    tension: of the first span. Modes that do not hold are renewed.
    """
    holds = True
    rate = feed
    least = tension
    w[r.T] = tension
    for j in range(1, n + 1):
        mode = w[r.MODE + j]
        before = tension
        if mode == 0.0:
            rate = 0.0
            tension = w[r.GIVES + j] / w[r.EASES + j]
            least = min(least, tension)
        else:
            rate += w[r.EASE + j - 1] * before - w[r.GIVE + j - 1]
            tension = before * _rise(j, w)
        w[r.Q + j] = rate
        w[r.T + j] = tension
        found = _judged(j, mode, before, tension, w)
        if found != mode:
            w[r.MODE + j] = found
            holds = False
    return least, holds


@inlined
def solve_taut(n: int, w: Floats, feed: float, take: float, limited: bool) -> Any:
    """Rates Q_1 .. Q_n and tensions of a line without limp spans; False: look more closely.

    Starts from the modes and the piece found last; what is found does not depend on them.
    """
    piece = w[r.PIECE + n] if limited else 1.0
    if not 1.0 <= piece <= 3.0:
        piece = 1.0
    for _ in range(PASSES):
        ease, give = _gather(n, w, take, piece)
        least, holds = _lay(n, w, feed, (give - feed) / ease)
        if not least > 0.0:
            return False
        last = w[r.T + n]
        if limited:
            found = 1.0
            if last > w[r.LINE_P + r.WEIGHT_N]:
                found = 3.0 if last < w[r.LINE_P + r.FULL_N] else 2.0
            holds = holds and found == piece
            piece = found
        if holds:
            w[r.PIECE + n] = piece
            return last <= w[r.LINE_P + r.CAP_N]
    return False
