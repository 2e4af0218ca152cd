"""`flow.slip` without branches, for lanes: a choice is between numbers that are both there."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.jit import inlined
from edgewear.mechanics.slip.slip import TOLERANCE
from edgewear.mechanics.step.flow import Taut


@inlined
def lifts_all(
    a0: float, b0: float, a1: float, b1: float, take: float, ratio: float, c: Taut
) -> Any:
    """Whether the person takes in all that is to be taken: it pulls no more than the weight.

    That tension is a fraction; both sides are multiplied by what it is divided by.
    """
    a, held, steep = a1 + b1 * take, ratio * a0, ratio * b0
    tolerance = TOLERANCE * (1.0 + a0 + a)
    over, under = a - held, ratio * a - a0
    up = over > tolerance
    down = (not up) & (under < -tolerance)
    stiff_up, stiff_down = steep + b1, b0 + ratio * b1
    pulled, loose = held * stiff_up + steep * over, a * stiff_down - b1 * under
    stiff_slides = stiff_up if up else stiff_down
    sliding = pulled if up else loose
    below = sliding if up | down else a
    stiff = stiff_slides if up | down else 1.0
    return below <= c.weight_n * stiff


@inlined
def together(
    a0: float, b0: float, a1: float, b1: float, take: float, limited: bool, even: bool,
    ratio: float, falls: float, near: float, c: Taut,
) -> Any:  # fmt: skip
    """Slip rate and tensions, as `flow.slip`: what its pieces have in common is computed once.

    even: whether to try the piece on which all is taken in, see `lifts_all`. falls: 1/ratio.
    """
    taken = a1 + b1 * take
    held = ratio * a0
    steep = ratio * b0
    held_up = (not even) & (a1 - b1 * near >= c.full_n)
    yields = (not even) & (not held_up)
    a = taken if even else a1
    part_share = b1 * (take * c.per_range)
    share = part_share if yields else 0.0
    full = c.full_n if yields else 0.0
    tolerance = TOLERANCE * (1.0 + a0 + a)
    over = (a - held) + share * (full - held)
    under = (ratio * a - a0) + share * (ratio * full - a0)
    up = over > tolerance
    down = (not up) & (under < -tolerance)
    per_up = (steep + b1) + share * steep
    per_down = (b0 + ratio * b1) + share * b0
    moved = over if up else under
    stiff = per_up if up else per_down
    slides = up | down
    found = (moved if slides else a + share * full) / (stiff if slides else 1.0 + share)
    q = found if slides else 0.0
    lifted = a0 + b0 * q
    given = lifted if yields else ratio * a - ratio * b1 * q
    above_down = given if down else a0
    above = lifted if up else above_down
    loose = lifted * falls if yields else a - b1 * q
    below_down = loose if down else found
    pulled = held + steep * q
    below = pulled if up else below_down
    yielded = (c.full_n - below) * c.per_range
    part_full = 0.0 if held_up else 1.0
    part = yielded if yields else part_full
    same_even = (not limited) | (below <= c.weight_n)
    same_full = below >= c.full_n
    same_yield = (c.weight_n < below) & (below < c.full_n)
    same = (even & same_even) | (held_up & same_full) | (yields & same_yield)
    return q, above, below, part, same & (above > 0.0) & (below > 0.0) & (below <= c.cap_n)
