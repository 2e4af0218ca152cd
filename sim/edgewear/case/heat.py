"""What heat meets at each contact: the sheath's and the edge's conductivity and capacity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from edgewear.case.edge_conditions import BYPASS, Condition
from edgewear.case.model import Records
from edgewear.case.nominal_records import cover_of
from edgewear.layout import MAX_EDGES
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
"""What one contact of a section is made of."""

METAL = (50.0, 3.7e6)
"""Conductivity [W/(m K)] and heat capacity [J/(m3 K)] of rigid protection and of connectors, as
steel (from memory)."""

FABRIC = (0.1, 1.0e6)
"""The same of a pad or a sleeve; assumed: textile with air in it."""


def fill_heat(scenario: Scenario, option: Option, rigged: Rigged) -> Records:
    """HEAT (sections, MAX_EDGES) of the nominal materials; unused rows stay zero."""
    heat = np.zeros((len(rigged.sections), MAX_EDGES), HEAT)
    for row, section in enumerate(rigged.sections):
        for column, edge in enumerate(section.edges):
            heat[row, column] = _contact(scenario, option, section, edge)
    return heat


def heat_of_conditions(
    scenario: Scenario, option: Option, rigged: Rigged, conditions: Sequence[Condition]
) -> Records:
    """HEAT (conditions,) of each condition that an edge may get into."""
    heat = np.zeros(len(conditions), HEAT)
    for place, condition in enumerate(conditions):
        section = rigged.sections[condition.row]
        cover = None if condition.cover == BYPASS else condition.cover
        edge = replace(section.edges[condition.edge], protection=cover)
        heat[place] = _contact(scenario, option, section, edge)
    return heat


def _contact(
    scenario: Scenario, option: Option, section: Section, on_line: EdgeOnLine
) -> tuple[float, ...]:
    """HEAT of a rope on an edge, or on what lies there."""
    sheath = scenario.ropes[section.rope].sheath
    partner = _partner(scenario, option, section, on_line)
    return (
        sheath.conductivity.value, sheath.heat_capacity.value, *partner,
        sheath.softens.low, sheath.melts.low,
    )  # fmt: skip


def _partner(
    scenario: Scenario, option: Option, section: Section, on_line: EdgeOnLine
) -> tuple[float, float]:
    """Conductivity and heat capacity of what the rope slides over."""
    if on_line.protection is not None:
        cover = cover_of(scenario, option, section, on_line.name, on_line.protection)
        return FABRIC if cover.level == "soft" else METAL
    if on_line.kind != "edge":
        return METAL
    surface = scenario.edges[on_line.name].surface
    return surface.conductivity.value, surface.heat_capacity.value
