"""What the steps of a job have made of a person's rigging by the end of each: load, protection."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from edgewear.rigging.findings.control import line_of
from edgewear.rigging.model import Section
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import (
    PlaceProtection,
    RemoveProtection,
    Repeat,
    Step,
    TakeOver,
)
from edgewear.scenario.models.walking import leaves, round_of


@dataclass(frozen=True)
class Standing:
    """How a person hangs at the end of a step, their depth apart."""

    mass_kg: float | None  # theirs and of those they took over; None: of nobody known
    placed: frozenset[str]  # edges on which they have placed protection and left it
    carried: tuple[str, ...] = ()  # whom they took over


class Place(NamedTuple):
    """Where somebody hangs in their job."""

    step: int  # of their list, from 1
    depth_m: float
    made: int = 0  # how many steps of that step, a repeat, they have made; 0: it is over


def standing(scenario: Scenario, option: Option, person: str, step: int, made: int = 0) -> Standing:
    """Return the load on a person's lines and the protection they have placed by then.

    Parameters: `step`: of the person's list, from 1; what that step does counts; `made`: how many
    steps of that step, a repeat, count; 0: all.
    """
    who = option.people.get(person)
    mass_kg = who.mass.value if who is not None else None
    placed: set[str] = set()
    carried: list[str] = []
    for done in _done(scenario, person, step, made):
        if isinstance(done, PlaceProtection):
            placed.add(done.edge)
        elif isinstance(done, RemoveProtection):
            placed.discard(done.edge)
        elif isinstance(done, TakeOver) and mass_kg is not None and done.person in option.people:
            mass_kg += option.people[done.person].mass.value
            carried.append(done.person)
    return Standing(mass_kg, frozenset(placed), tuple(carried))


def _done(scenario: Scenario, person: str, step: int, made: int) -> Iterator[Step]:
    """Give the steps of a person's list up to a number, those inside a repeat once.

    Where `made` of the last one, a repeat, count: a whole round, if there was one, and the rest.
    """
    steps = scenario.job.get(person, ())
    last = steps[step - 1] if 0 < step <= len(steps) else None
    if not made or not isinstance(last, Repeat):
        yield from leaves(steps[:step])
        return
    one = round_of(last)
    before, left = divmod(made, len(one))
    yield from leaves(steps[: step - 1])
    yield from (*one * bool(before), *one[:left])


def protected(option: Option, section: Section, placed: frozenset[str]) -> Section:
    """Return a section with the protection that its line names on the edges it was placed on.

    A section as cut is bare wherever some step of the job places protection.
    """
    protect = line_of(option, section).protect
    edges = tuple(
        replace(edge, protection=protect[edge.name].is_)
        if edge.name in placed and edge.name in protect
        else edge
        for edge in section.edges
    )
    return replace(section, edges=edges)
