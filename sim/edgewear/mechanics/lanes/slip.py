"""`flow.slip` without branches, for lanes: a choice is between numbers that are both there."""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.jit import inlined
from edgewear.mechanics.slip.slip import TOLERANCE
from edgewear.mechanics.step.flow import Taut, asked


@inlined
def slip(
    a0: float, b0: float, a1: float, b1: float, take: float, limited: bool, ratio: float,
    falls: float, c: Taut,
) -> Any:  # fmt: skip
    """Slip rate and tensions of one edge, as `flow.slip`."""
    taken = a1 + b1 * take
    lifts = (taken - c.weight_n) * b0 <= b1 * asked(c.weight_n, a0, ratio, falls)
    even = (not limited) | lifts
    stopped = (a1 - c.full_n) * b0 >= b1 * asked(c.full_n, a0, ratio, falls)
    held_up = (not even) & stopped
    share = b1 * (take * c.per_range)
    yielding = a1 + share * c.full_n
    over_weight = a1 if held_up else yielding
    a = taken if even else over_weight
    fixed = even | held_up
    more = 1.0 + share
    whole = 1.0 if fixed else more
    held = whole * a0
    over, under = a - ratio * held, ratio * a - held
    tolerance = TOLERANCE * (1.0 + a0 + a)
    up, down = over > tolerance, under < -tolerance
    steep, flat = whole * b0, ratio * b1
    moved, stiff = (over if up else under), (ratio * steep + b1 if up else steep + flat)
    slides = up | down
    found = (moved if slides else a) / (stiff if slides else whole)
    q = found if slides else 0.0
    above = a0 + b0 * q
    sliding = above * (ratio if up else falls)
    below = sliding if slides else found
    given = (c.full_n - below) * c.per_range
    part = 0.0 if held_up else given
    part = 1.0 if even else part
    return q, above, below, part, (above > 0.0) & (below > 0.0) & (below <= c.cap_n)
