"""What the largest exposure can have grown to since it was last looked for.

While the rope slides one way over an edge, a place collects X'(s)/window over the travel s during
which it lies in the contact: at most the largest X'/window of the slide times the contact length,
and at most the sum of X/window. So a whole slide counts about as much as its worst place gets,
however many steps it took. Slides add up, as if all had their worst place in common.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from edgewear.mechanics.jit import inlined, njit

LEAST_SLIP_M = 1e-5
"""A shorter slip counts alone: the deposit has a least travel of its own."""
SAME_PLACE_M = 1e-12
"""A slide goes on where the last one ended, but for rounding [m]."""


class Slide(NamedTuple):
    """The slide under way at an edge since the last look."""

    way: float  # 1 toward the load, -1 toward the anchor, 0: none
    at_m: float  # material at the edge at its end
    steep_j_m3: float  # largest exposure per travel and contact length
    wide_m: float  # largest contact length
    total_j_m: float  # sum of exposure per contact length


@inlined
def grown(slide: Slide, at_m: float, slip_m: float, amount_j: float, contact_m: float) -> Any:
    """How much more the worst place can have after one slip more [J/m], and the slide then.

    at_m: material at the edge before. amount_j: exposure the slip deposits. No branch.
    """
    way = 1.0 if slip_m > 0.0 else -1.0
    spread = amount_j / contact_m
    far = abs(slip_m)
    thin = amount_j / far
    alone = spread if far <= contact_m else thin
    goes_on = (way == slide.way) & (way * (slide.at_m - at_m) > -SAME_PLACE_M)
    steep = slide.steep_j_m3 if goes_on else 0.0
    wide = slide.wide_m if goes_on else 0.0
    total = slide.total_j_m if goes_on else 0.0
    before = min(steep * wide, total)
    steep = max(steep, spread / far)
    wide = max(wide, contact_m)
    total += spread
    more = min(steep * wide, total) - before
    single = (far < LEAST_SLIP_M) | (more > alone)
    end_m = at_m - slip_m
    return (
        alone if single else more,
        slide.way if single else way,
        slide.at_m if single else end_m,
        slide.steep_j_m3 if single else steep,
        slide.wide_m if single else wide,
        slide.total_j_m if single else total,
    )


@inlined
def grows(edge: Any, at_m: float, slip_m: float, amount_j: float, contact_m: float) -> Any:
    """`grown` at an edge, a record of SUMS."""
    slide = Slide(edge.run_way, edge.run_at_m, edge.run_j_m3, edge.run_contact_m, edge.run_j_m)
    growth, way, at, steep, wide, total = grown(slide, at_m, slip_m, amount_j, contact_m)
    edge.run_way = int(way)
    edge.run_at_m = at
    edge.run_j_m3 = steep
    edge.run_contact_m = wide
    edge.run_j_m = total
    return growth


@njit
def forget_slides(sums: Any) -> Any:
    """Begin to count anew, after a look."""
    for row in range(sums.shape[0]):
        sums[row].run_way = 0
