"""What the largest exposure can have grown to since it was last looked for.

While the rope slides one way over an edge, a place collects X'(s)/window over the travel s during
which it lies in the contact: at most the largest X'/window of the slide times the contact length,
and at most the sum of X/window. So a whole slide counts about as much as its worst place gets,
however many steps it took. Slides add up, as if all had their worst place in common.
"""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.jit import inlined, njit

LEAST_SLIP_M = 1e-5
"""A shorter slip counts alone: the deposit has a least travel of its own."""
SAME_PLACE_M = 1e-12
"""A slide goes on where the last one ended, but for rounding [m]."""


@inlined
def grows(
    edge: Any, at_m: float, slip_m: float, turns: bool, spread: float, dense: float,
    contact_m: float,
) -> Any:  # fmt: skip
    """How much more the worst place can have after one step more at this edge [J/m].

    edge: record of SUMS. at_m: material at the edge before. turns: whether the halves of the step
    slip apart. spread: its exposure by contact length [J/m]; dense: the largest by contact length
    and travel in it [J/m2].
    """
    if turns or abs(slip_m) < LEAST_SLIP_M:
        return spread
    alone = min(dense * contact_m, spread)
    way = 1 if slip_m > 0.0 else -1
    steep, wide, total = 0.0, 0.0, 0.0
    if way == edge.run_way and way * (edge.run_at_m - at_m) > -SAME_PLACE_M:
        steep, wide, total = edge.run_j_m3, edge.run_contact_m, edge.run_j_m
    before = min(steep * wide, total)
    steep = max(steep, dense)
    wide = max(wide, contact_m)
    total += spread
    more = min(steep * wide, total) - before
    if more > alone:
        return alone
    edge.run_way = way
    edge.run_at_m = at_m - slip_m
    edge.run_j_m3 = steep
    edge.run_contact_m = wide
    edge.run_j_m = total
    return more


@njit
def forget_slides(sums: Any) -> Any:
    """Begin to count anew, after a look."""
    for row in range(sums.shape[0]):
        sums[row].run_way = 0
