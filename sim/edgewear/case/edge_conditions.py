"""What else an edge may be during a job: bare, under protection, bypassed, wet.

A variant is an EDGE record that takes the place of an edge's own numbers when somebody or
something changes it; its uncertain numbers are drawn as those of the edge itself are.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

from edgewear.case.filling.numbers import Numbers
from edgewear.case.model import Records
from edgewear.case.nominal_records import fill_edge
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import EdgeOnLine, Rigged, Section
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import FixBypassSling, PlaceProtection
from edgewear.scenario.models.walking import leaves

BYPASS = "bypass sling"
"""Cover of an edge where a sling carries the load instead of the rope."""


class Condition(NamedTuple):
    """What an edge is at some moment."""

    row: int  # of the section
    edge: int  # which edge of it, counted from the fixed point
    cover: str | None  # kind of protection, `BYPASS`, None: bare
    state: str  # dry, wet, gritty, icy


def conditions_of(scenario: Scenario, option: Option, rigged: Rigged) -> tuple[Condition, ...]:
    """Every condition that an edge may get into during the job, each once.

    None where nothing in the scenario can change an edge. Protection in place may be worn through
    or dragged off, which leaves the edge bare; a sling takes the rope's wear.
    """
    changes = _changes(scenario)
    if not changes and not any(
        e.protection or e.name in line_of(option, s).bypass
        for s in rigged.sections
        for e in s.edges
    ):
        return ()
    states = tuple(scenario.weather) if changes else ()
    return tuple(
        Condition(row, column, cover, state)
        for row, section in enumerate(rigged.sections)
        for column, edge in enumerate(section.edges)
        if edge.kind == "edge"
        for cover in _covers(scenario, option, section, edge)
        for state in dict.fromkeys((scenario.edges[edge.name].state, *states))
    )


def _changes(scenario: Scenario) -> bool:
    """Whether an edge may become another than it was, by a fault, a reaction or a step."""
    if scenario.faults or any(reaction.do == "re-rig" for reaction in scenario.when.values()):
        return True
    return any(step.changes for steps in scenario.job.values() for step in leaves(steps))


def slung_later(scenario: Scenario, person: str) -> set[str]:
    """Edges that a person's own steps fix a bypass sling at; until then it is not there."""
    steps = leaves(scenario.job.get(person, ()))
    return {step.edge for step in steps if isinstance(step, FixBypassSling)}


def _covers(
    scenario: Scenario, option: Option, section: Section, edge: EdgeOnLine
) -> Iterable[str | None]:
    """What may lie between rope and edge during the job."""
    line = line_of(option, section)
    covers: list[str | None] = [None]
    if edge.name in line.protect:
        covers.append(line.protect[edge.name].is_)
    for steps in scenario.job.values():
        for step in leaves(steps):
            if isinstance(step, PlaceProtection) and step.edge == edge.name and step.with_:
                covers.append(step.with_)
    if edge.name in line.bypass:
        covers.append(BYPASS)
    return dict.fromkeys(covers)


def fill_condition(
    scenario: Scenario,
    option: Option,
    section: Section,
    condition: Condition,
    numbers: Numbers,
    runs: int,
) -> Records:
    """EDGE (runs,) of a condition; a sling takes the wear, the friction stays that of the edge."""
    bypassed = condition.cover == BYPASS
    edge = section.edges[condition.edge]
    on_line = replace(edge, protection=None if bypassed else condition.cover)
    record = fill_edge(scenario, option, section, on_line, numbers, runs, condition.state)
    if bypassed:
        record["severity"] = 0.0
    return record
