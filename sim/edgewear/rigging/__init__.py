"""Rigging: from a survey and an option to lines with edges, levels of control and loads."""

from __future__ import annotations

from edgewear.geometry.points import Point
from edgewear.rigging.findings.facts import facts
from edgewear.rigging.findings.failures import single_failures
from edgewear.rigging.findings.standing import standing
from edgewear.rigging.model import EdgeOnLine, Rigged, Section
from edgewear.rigging.problems import problems
from edgewear.rigging.reach import WITHIN_REACH_M, sees
from edgewear.rigging.rig import rig

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
