"""Wear that a rope brings to the job, laid where it is on each section of its line."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import Rigged, Section
from edgewear.scenario.models.gear import Rope
from edgewear.scenario.models.scenario import Line, Option, Scenario

Floats = NDArray[np.float64]

Z95 = 1.6448536269514722
"""Standard normal number of the 95th percentile."""

PAST = np.dtype([("z", np.float64)])
"""The world that a rope's past wear is in, as one standard normal number a section."""


class Past(NamedTuple):
    """Worn parts of the rope in one section, counted from its fixed point."""

    from_m: Floats  # (k,) [m]
    to_m: Floats  # (k,) [m]
    low: Floats  # (k,) 5th percentile of the sheath demand [1]
    middle: Floats
    high: Floats

    def demand(self, z: float) -> Floats:
        """Sheath demand of each part in one world, (k,) [1]: log-normal on either side."""
        end = self.high if z >= 0.0 else self.low
        middle, end = np.maximum(self.middle, 1e-12), np.maximum(end, 1e-12)
        return np.asarray(middle * (end / middle) ** (abs(z) / Z95))


def pasts(scenario: Scenario, option: Option, rigged: Rigged) -> tuple[Past | None, ...]:
    """Give the worn parts of every section; None where its rope has none.

    Below a re-anchor nobody plans which part of the rope lies where: there the worst of what is
    left of the rope is taken to lie everywhere.
    """
    return tuple(_of_section(scenario, option, section) for section in rigged.sections)


def _of_section(scenario: Scenario, option: Option, section: Section) -> Past | None:
    rope = scenario.ropes[section.rope]
    if not rope.worn:
        return None
    line = line_of(option, section)
    laid = _laid(rope, line)
    if line.anchor is None or section.anchor == line.anchor:
        return laid
    most = (np.array([float(ends.max())]) for ends in laid[2:])
    return Past(np.array([-1e4]), np.array([1e4]), *most)


def _laid(rope: Rope, line: Line) -> Past:
    """Count the worn parts from the line's anchor: past its tail, turned round or not."""
    begin = np.array([part.from_.value for part in rope.worn])
    end = np.array([part.to.value for part in rope.worn])
    if line.turned:
        begin, end = rope.length.value - end, rope.length.value - begin
    low, middle, high = (
        np.array([getattr(part.sheath, name) for part in rope.worn])
        for name in ("low", "value", "high")
    )
    return Past(begin - line.tail.value, end - line.tail.value, low, middle, high)
