"""How fast an edge uses up what lies on it, and how well it holds it: nominal, for the job."""

from __future__ import annotations

from edgewear.case.nominal_records import severity
from edgewear.scenario.models.gear import Edge
from edgewear.scenario.models.scenario import Scenario

RUBBED = 0.5
"""Share of a cover's wear on a steel arris of 1 mm that is the rope's doing; the rest is the
edge's, from below; assumed."""

HOLDS = 0.2
"""Friction of an edge on which a cover creeps as the library says: steel; assumed."""


def use(scenario: Scenario, edge: Edge) -> float:
    """Tell how fast an edge uses up what lies on it, relative to a steel arris of 1 mm [1].

    The rope rubs from above wherever the cover lies; an edge cuts from below by its severity
    (roughness, sharpness), so a sharp edge is through sooner than a round one.
    """
    return RUBBED + (1.0 - RUBBED) * severity(scenario, edge)


def drag(edge: Edge) -> float:
    """Tell how far a cover is dragged along on an edge, relative to steel [1]; never less."""
    friction = edge.friction.value
    return max(1.0, HOLDS / friction) if friction > 0.0 else float("inf")


__all__ = ["drag", "use"]
