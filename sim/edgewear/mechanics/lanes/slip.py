"""`flow.slip` without branches, for lanes: a choice is between numbers that are both there."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.jit import inlined
from edgewear.mechanics.slip.slip import TOLERANCE
from edgewear.mechanics.step.flow import Taut


@inlined
def together(
    a0: float, b0: float, a1: float, b1: float, take: float, limited: bool, ratio: float,
    falls: float, near: float, c: Taut,
) -> Any:  # fmt: skip
    """Slip rate and tensions, as `flow.slip`: what its pieces have in common is computed once.

    falls: 1/ratio.
    """
    x = a1 - b1 * near
    even = (not limited) | (x + b1 * take <= c.weight_n)
    held_up = (not even) & (x >= c.full_n)
    yields = (not even) & (not held_up)
    taken = a1 + b1 * take
    a = taken if even else a1
    part_share = b1 * (take * c.per_range)
    share = part_share if yields else 0.0
    full = c.full_n if yields else 0.0
    tolerance = TOLERANCE * (1.0 + a0 + a)
    held = ratio * a0
    over = (a - held) + share * (full - held)
    steep = ratio * b0
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


@inlined
def slip_at(
    a0: float, b0: float, a1: float, b1: float, take: float, limited: bool, ratio: float,
    falls: float, near: float, c: Taut, first: bool,
) -> Any:  # fmt: skip
    """The slip at a stage; at the first, which has no rate near by, it is tried twice."""
    q, t0, t1, part, ok = together(a0, b0, a1, b1, take, limited, ratio, falls, near, c)
    if first:
        q2, u0, u1, part2, ok2 = together(a0, b0, a1, b1, take, limited, ratio, falls, q, c)
        t0, t1, part = (t0 if ok else u0), (t1 if ok else u1), (part if ok else part2)
        q = q if ok else q2
        ok = ok | ok2
    return q, t0, t1, part, ok
