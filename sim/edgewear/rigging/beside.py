"""What somebody swings into who is caught by a line that hangs elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf, isfinite, sqrt

from edgewear.findings.failure import Met
from edgewear.rigging.laying import lay, plumb_along_m
from edgewear.rigging.lengths import BODY_M
from edgewear.rigging.model import Section
from edgewear.scenario.models.gear import Obstacle
from edgewear.scenario.models.scenario import Scenario
from edgewear.terms import GRAVITY_M_S2

HALF_BODY_M = 0.3
"""Half of a person's width, arms and kit included [m]; assumed, 0.25-0.5 m."""

ABOVE_HARNESS_M = 0.7
"""From the harness to above the head [m]; assumed, 0.6-0.8 m."""


@dataclass(frozen=True)
class Swung:
    """A swing: as a pendulum about the line's last point, to the plumb line and as far beyond."""

    from_m: float  # where along the face it begins
    plumb_m: float  # where it comes to rest
    rope_m: float  # from the last point that the line bends over to the person
    depth_m: float  # of the person before
    drop_m: float

    @property
    def wide_m(self) -> float:
        """How far it swings to each side of the plumb line [m]."""
        return abs(self.from_m - self.plumb_m)


def swung_on(
    section: Section, depth_m: float, drop_m: float, from_m: float | None = None
) -> Swung | None:
    """Return the swing to below the point from which a section hangs that catches somebody.

    Parameters: `from_m`: where along the face they hung; on the way of the load if None.

    None where bends are given, or nothing ends the fall: then nothing is known of a swing.
    """
    if section.direct or not isfinite(drop_m):
        return None
    laid = lay(section, depth_m)
    begins_m = section.load_at(depth_m)[1] if from_m is None else from_m
    return Swung(begins_m, plumb_along_m(section, laid), laid.free_m[-1], depth_m, drop_m)


def met_by(scenario: Scenario, swung: Swung | None) -> Met | None:
    """Return what a swing comes to first; None: nothing, or nothing is known."""
    return None if swung is None else next(hits(scenario, swung), None)


def hits(scenario: Scenario, swung: Swung) -> Iterator[Met]:
    """Give what a swing comes to, in the order of the scenario.

    Damping is left out, the careful end. What somebody touches before they swing is not counted.
    """
    for name, found in scenario.beside.items():
        if not _at_height(found, swung):
            continue
        aside_m = abs(found.along.value - swung.from_m)
        meets_m = abs(_meets_m(found.along.value, swung))
        if aside_m > HALF_BODY_M and meets_m < swung.wide_m:
            yield Met(name, aside_m, speed_m_s(swung, meets_m))


def _meets_m(along_m: float, swung: Swung) -> float:
    """Where the body's middle is, from the plumb line, when its side meets an obstacle [m]."""
    away_m = along_m - swung.plumb_m
    way = 1.0 if swung.plumb_m >= swung.from_m else -1.0
    return away_m - way * HALF_BODY_M


def speed_m_s(swung: Swung, at_m: float) -> float:
    """Give the speed so far from the plumb line: v^2 = 2*g*(h(start) - h(here)) [m/s].

    h(x) = l - sqrt(l^2 - x^2) is the height above the lowest point of a pendulum of length l.
    """
    length_m = max(swung.rope_m, swung.wide_m)
    rises = [length_m - sqrt(max(length_m**2 - x**2, 0.0)) for x in (swung.wide_m, at_m)]
    return sqrt(2.0 * GRAVITY_M_S2 * max(rises[0] - rises[1], 0.0))


def _at_height(found: Obstacle, swung: Swung) -> bool:
    """Tell whether an obstacle stands at a height through which the body comes."""
    top_m = inf if found.from_ is None else found.from_.value
    bottom_m = -inf if found.to is None else found.to.value
    head_m = ABOVE_HARNESS_M - swung.depth_m
    feet_m = -swung.depth_m - swung.drop_m - BODY_M
    return top_m >= feet_m and bottom_m <= head_m
