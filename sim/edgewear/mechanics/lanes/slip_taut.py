"""`slip.slip_taut` without branches, for lanes over several edges; see `booking` for f and g."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.rows import NEXT
from edgewear.mechanics.slip.slip import TOLERANCE
from edgewear.mechanics.slip.slip_taut import PASSES


@inlined
def _begin(f: Floats, i: int) -> None:
    """The piece of the last span that holds as the search begins."""
    piece = f[r.PIECE + i]
    known = (f[r.LIMITED + i] != 0.0) & (piece >= 1.0) & (piece <= 3.0)
    f[r.PIECE + i] = piece if known else 1.0


@inlined
def _gather_last(f: Floats, g: Floats, i: int) -> None:
    """Sums of the last span, the device's share in them, as `_gather`."""
    ease, give = g[r.EASE + i], g[r.GIVE + i]
    take, piece = f[r.TAKE + i], f[r.PIECE + i]
    yields = take * f[r.PER_RANGE + i]
    more = give + yields * f[r.FULL + i]
    taken = give + take
    g[r.EASES + i] = ease + yields if piece == 3.0 else ease
    rest = taken if piece == 1.0 else give
    g[r.GIVES + i] = more if piece == 3.0 else rest


@inlined
def _gather(g: Floats, i: int) -> None:
    """Sums from the span above an edge to the end of its run, as `_gather`."""
    mode, above, given = g[r.GUESSED + i], g[r.EASE + i], g[r.GIVE + i]
    ratio, falls = g[r.RATIO + i], g[r.FALLS + i]
    rise = ratio if mode > 0.0 else falls
    ease = above + g[r.EASES + NEXT + i] * rise
    give = g[r.GIVES + NEXT + i] + given
    g[r.EASES + i] = above if mode == 0.0 else ease
    g[r.GIVES + i] = given if mode == 0.0 else give


@inlined
def _lay_first(f: Floats, g: Floats, i: int, t: int) -> None:
    """Tension of the first span."""
    tension = g[r.GIVES + i] / g[r.EASES + i]
    g[t + i] = tension
    f[r.LEAST + i], f[r.SETTLED + i] = tension, 1.0


@inlined
def _lay(f: Floats, g: Floats, i: int, t: int, q: int) -> None:
    """Rate of an edge and tension behind it, as `_lay`; its mode is renewed, as `_judged`."""
    mode, before, ratio = g[r.GUESSED + i], g[t + i], g[r.RATIO + i]
    above, below = g[r.EASE + i], g[r.EASE + NEXT + i]
    stands = mode == 0.0
    slid = g[q - NEXT + i] + (above * before - g[r.GIVE + i])
    falls = g[r.FALLS + i]
    rise = ratio if mode > 0.0 else falls
    held = g[r.GIVES + NEXT + i] / g[r.EASES + NEXT + i]
    rate, after = (0.0 if stands else slid), (held if stands else before * rise)
    least = f[r.LEAST + i]
    f[r.LEAST + i] = min(least, held) if stands else least
    g[q + i], g[t + NEXT + i] = rate, after
    tolerance = TOLERANCE * (1.0 + before + after)
    back = -1.0 if before - ratio * after > tolerance else 0.0
    starts = 1.0 if after - ratio * before > tolerance else back
    steep = above + below * ratio if mode > 0.0 else above * ratio + below
    rests = mode * rate * steep <= above * below * tolerance
    goes_on = 0.0 if rests else mode
    found = starts if stands else goes_on
    g[r.GUESSED + i] = found
    f[r.SETTLED + i] = f[r.SETTLED + i] if found == mode else 0.0


@inlined
def _lay_last(f: Floats, g: Floats, i: int, t: int) -> Any:
    """Whether all held in this pass, the piece of the last span with it; else 1 more to be done."""
    tension, piece = g[t + i], f[r.PIECE + i]
    yields = 3.0 if tension < f[r.FULL + i] else 2.0
    lifted = yields if tension > f[r.WEIGHT + i] else 1.0
    found = lifted if f[r.LIMITED + i] != 0.0 else 1.0
    settled = (f[r.SETTLED + i] != 0.0) & (found == piece)
    f[r.PIECE + i] = found
    pulls = f[r.LEAST + i] > 0.0
    fine = (f[r.FINE + i] != 0.0) & pulls
    f[r.FINE + i] = 1.0 if fine else 0.0
    f[r.SETTLED + i] = 1.0 if settled else 0.0
    return 1 if fine & (not settled) & (f[r.ACTIVE + i] != 0.0) else 0


@inlined
def solve_all(f: Floats, g: Floats, lanes: int, last: int, t: int, q: int) -> None:
    """Rates and tensions of every lane, as `solve_taut`; where it fails FINE is 0.

    A pass is made for all while one needs it: those that are settled come to the same again.
    last: from the first free length to the last; t, q: rows for the tensions and the rates.
    """
    end = g[last:]
    for i in range(lanes):
        _begin(f, i)
    for _ in range(PASSES):
        for i in range(lanes):
            _gather_last(f, end, i)
        for e in range(last - NEXT, -NEXT, -NEXT):
            edge = g[e:]
            for i in range(lanes):
                _gather(edge, i)
        for i in range(lanes):
            _lay_first(f, g, i, t)
        for e in range(0, last, NEXT):
            edge = g[e:]
            for i in range(lanes):
                _lay(f, edge, i, t, q)
        open_ones = 0
        for i in range(lanes):
            open_ones += _lay_last(f, end, i, t)
        if open_ones == 0:
            break
    for i in range(lanes):
        holds = (f[r.SETTLED + i] != 0.0) & (end[t + i] <= f[r.CAP + i])
        f[r.FINE + i] = f[r.FINE + i] if holds else 0.0
