"""How fast an edge uses up what lies on it, and how well it holds it: nominal, for the job."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from edgewear.case.filling.numbers import Numbers
from edgewear.case.nominal_records import severity
from edgewear.rigging.findings.control import line_of, piece_at
from edgewear.rigging.model import Rigged
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
    return RUBBED + (1.0 - RUBBED) * float(severity(scenario, "", edge, Numbers()))


def drag(edge: Edge) -> float:
    """Tell how far a cover is dragged along on an edge, relative to steel [1]; never less."""
    friction = edge.friction.value
    return max(1.0, HOLDS / friction) if friction > 0.0 else float("inf")


@dataclass(frozen=True)
class CoverLimits:
    """What a piece of protection on an edge withstands; None: without end."""

    line: str
    edge: str
    name: str
    energy_j: float | None  # friction that wears it through
    slip_m: float | None  # of rope that drags it off


def cover_limits(scenario: Scenario, option: str, rigged: Rigged) -> tuple[CoverLimits, ...]:
    """Give each piece that lies between a line and an edge, or that a step places there.

    Parameters: `rigged`: the option over the survey.
    """
    found = _each(scenario, option, rigged)
    return tuple({(one.line, one.edge): one for one in found}.values())


def _each(scenario: Scenario, option: str, rigged: Rigged) -> Iterator[CoverLimits]:
    chosen = scenario.options[option]
    for section in rigged.planned:
        for item in section.edges:
            piece = piece_at(scenario, line_of(chosen, section), section.person, item.name)
            if item.kind != "edge" or piece is None:
                continue
            edge = scenario.edges[item.name]
            creep = piece.creep.value * drag(edge)
            yield CoverLimits(
                line=section.line,
                edge=item.name,
                name=f"{piece.is_} at {item.name}",
                energy_j=piece.capacity.value * piece.covers.value / use(scenario, edge),
                slip_m=0.5 * piece.covers.value / creep if creep > 0.0 else None,
            )


__all__ = ["CoverLimits", "cover_limits", "drag", "use"]
