"""Knots in a rope: at which depth a person comes to them, and what they cannot be pulled past."""

from __future__ import annotations

from itertools import accumulate
from typing import NamedTuple

from edgewear.rigging.laying import depth_of, lay
from edgewear.rigging.model import Section


class Knot(NamedTuple):
    """A knot that a person meets on their way along a line."""

    name: str
    depth_m: float


def knots_of(section: Section) -> tuple[Knot, ...]:
    """Return the knots below a section's last edge, from the top; those above it nobody passes."""
    from_m = max((-e.start_m[2] for e in section.edges), default=-section.anchor_m[2])
    from_m = 0.0 if section.direct else from_m
    found = [Knot(_name(at_m), depth_of(section, at_m, from_m)) for at_m in section.knots_m]
    return tuple(knot for knot in found if knot.depth_m > from_m)


def stopped_by(section: Section, depth_m: float, up_m: float) -> tuple[str, ...]:
    """Return which knots a haul or a lower would have to pull past a fixed point or an edge.

    Parameters: `depth_m`: where the load hangs; `up_m`: how far it is raised [m]; below 0 it is
    lowered, and what lies beyond the load is let out at the fixed point.
    """
    laid = lay(section, depth_m)
    points_m = [0.0, *accumulate(laid.free_m[:-1])]
    return tuple(
        _name(at_m)
        for at_m in section.knots_m
        if any(min(at_m, at_m - up_m) < p < max(at_m, at_m - up_m) for p in points_m)
        or (up_m < 0.0 and at_m > laid.length_m)
    )


def _name(at_m: float) -> str:
    return f"the knot at {at_m:g} m"
