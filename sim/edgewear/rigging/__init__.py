"""Rigging: from a survey and an option to lines with edges, levels of control and loads."""

from __future__ import annotations

from edgewear.rigging.facts import facts
from edgewear.rigging.failures import single_failures
from edgewear.rigging.model import EdgeOnLine, Point, Rigged, Section
from edgewear.rigging.problems import problems
from edgewear.rigging.reach import WITHIN_REACH_M, sees
from edgewear.rigging.rig import rig
from edgewear.rigging.standing import standing

__all__ = [
    "WITHIN_REACH_M",
    "EdgeOnLine",
    "Point",
    "Rigged",
    "Section",
    "facts",
    "problems",
    "rig",
    "sees",
    "single_failures",
    "standing",
]
