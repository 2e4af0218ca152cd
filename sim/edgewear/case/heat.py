"""What heat meets at each contact: the sheath's and the edge's conductivity and capacity."""

from __future__ import annotations

import numpy as np

from edgewear.case.model import Records
from edgewear.layout import MAX_EDGES
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import EdgeOnLine, Rigged, Section
from edgewear.scenario.models.scenario import Option, Scenario

HEAT = np.dtype(
    [
        ("rope_w_m_k", np.float64),  # conductivity of the sheath
        ("rope_j_m3_k", np.float64),  # its heat capacity of a volume
        ("edge_w_m_k", np.float64),  # the same of what the rope lies on
        ("edge_j_m3_k", np.float64),
        ("softens_c", np.float64),  # lower ends of the ranges in which the fibre softens
        ("melts_c", np.float64),  # ... and melts or chars
    ]
)
"""One contact of a section."""

METAL = (50.0, 3.7e6)
"""Conductivity [W/(m K)] and heat capacity [J/(m3 K)] of rigid protection and of connectors, as
steel (from memory)."""

FABRIC = (0.1, 1.0e6)
"""The same of a pad or a sleeve; assumed: textile with air in it."""


def fill_heat(scenario: Scenario, option: Option, rigged: Rigged) -> Records:
    """HEAT (sections, MAX_EDGES) of the nominal materials; unused rows stay zero."""
    heat = np.zeros((len(rigged.sections), MAX_EDGES), HEAT)
    for row, section in enumerate(rigged.sections):
        sheath = scenario.ropes[section.rope].sheath
        for column, edge in enumerate(section.edges):
            partner = _partner(scenario, option, section, edge)
            heat[row, column] = (
                sheath.conductivity.value, sheath.heat_capacity.value, *partner,
                sheath.softens.low, sheath.melts.low,
            )  # fmt: skip
    return heat


def _partner(
    scenario: Scenario, option: Option, section: Section, on_line: EdgeOnLine
) -> tuple[float, float]:
    """Conductivity and heat capacity of what the rope slides over."""
    if on_line.protection is not None:
        level = line_of(option, section).protect[on_line.name].level
        return FABRIC if level == "soft" else METAL
    if on_line.kind != "edge":
        return METAL
    surface = scenario.edges[on_line.name].surface
    return surface.conductivity.value, surface.heat_capacity.value
