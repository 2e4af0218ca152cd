"""What follows a place of the survey: the way of a load, and at which depth people begin."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import reduce
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear.case.fallback import all_sections
from edgewear.case.filling.numbers import Column, Numbers
from edgewear.case.model import Records
from edgewear.case.nominal_records import write_track
from edgewear.layout import Kind
from edgewear.rigging.model import Section
from edgewear.rigging.profile import BELOW_CROSSED_EDGE_M
from edgewear.rigging.survey import (
    as_surveyed,
    beyond_first,
    fixed_points,
    order,
    place,
    placed_edges,
    tracks,
)
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import CrossEdge
from edgewear.scenario.models.walking import crossed_first, leaves
from edgewear.scenario.text.quantities import Measured

if TYPE_CHECKING:
    from edgewear.case.filling.recipe import Recipe

PLACES = ("out", "along", "up")
"""Coordinates of the survey."""

NEAR_M = 1e-9
"""Depths that are the same but for rounding [m]."""


def reordered(
    scenario: Scenario, option: Option, values: Mapping[str, NDArray[np.float64]], runs: int
) -> NDArray[np.bool_]:
    """Tell which runs have places that lead lines over other edges than the survey's do.

    Parameters:
        scenario: of the case; `option`: of the case.
        values: name -> (runs,) in SI; NaN leaves the scenario's own number.
        runs: how many.

    Returns:
        (runs,)
    """
    found = np.zeros(runs, np.bool_)
    if any(is_place(name) for name in values):
        before = order(scenario, option, as_surveyed)
        for was, now in zip(before, order(scenario, option, Numbers(values)), strict=True):
            found |= np.asarray(was != now)
    return found


def is_place(name: str) -> bool:
    """Tell whether a number is a coordinate of the survey."""
    first, _, rest = name.partition("/")
    return first in ("anchors", "edges") and rest.rpartition("/")[2] in PLACES


def follow(recipe: Recipe, lines: Records, numbers: Numbers) -> None:
    """Let the ways of loads follow the places of the runs.

    Parameters:
        recipe: of the case.
        lines: LINE (runs, lines), anchors moved; changed in place.
        numbers: of the runs.
    """
    for row, section in enumerate(recipe.rigged.sections):
        if not section.direct:
            out, along = tracks(recipe.scenario, recipe.option, section.person, numbers)
            lines["load_out_m"][:, row] += out - section.load_m[0]
            lines["load_along_m"][:, row] += along - section.load_m[1]
    if any(section.track_m for section in recipe.rigged.sections):
        _lead(recipe, lines, numbers)


def hang_on(recipe: Recipe, tape: Records, numbers: Numbers) -> None:
    """Let the depths at which people hang on follow the places of the runs.

    Parameters:
        recipe: of the case.
        tape: MOVEMENT (runs, m); changed in place.
        numbers: of the runs.
    """
    for person in dict.fromkeys(s.person for s in recipe.rigged.sections):
        _hang_on(recipe, tape, person, numbers)


def _lead(recipe: Recipe, lines: Records, numbers: Numbers) -> None:
    """Lead loads along faces and through deviations: the ways are found anew for every survey."""
    found: dict[tuple[float, ...], tuple[Section, ...]] = {}
    names = [name for name, _ in _places(recipe.scenario) if numbers.moves(name)]
    columns = [
        np.broadcast_to(numbers(name, value), len(lines))
        for name, value in _places(recipe.scenario)
        if name in names
    ]
    for run, survey in enumerate(zip(*columns, strict=True)):
        if survey not in found:
            moved = _surveyed(recipe.scenario, dict(zip(names, survey, strict=True)))
            found[survey] = all_sections(moved, recipe.rigged.option)
        for row, section in enumerate(found[survey]):
            write_track(lines[run : run + 1, row], section)


def _places(scenario: Scenario) -> Iterator[tuple[str, Measured]]:
    """Coordinates of edges and anchors, by address."""
    for group, things in (("edges", scenario.edges), ("anchors", scenario.anchors)):
        for name, thing in things.items():
            for word in PLACES:
                if (value := getattr(thing, word)) is not None:
                    yield f"{group}/{name}/{word}", value


def _surveyed(scenario: Scenario, places: Mapping[str, float]) -> Scenario:
    """A scenario with other coordinates [m]."""
    moved: dict[tuple[str, str], dict[str, Measured]] = {}
    for address, value in places.items():
        group, name, word = address.split("/")
        at: Measured = getattr(getattr(scenario, group)[name], word)
        moved.setdefault((group, name), {})[word] = at.model_copy(update={"value": value})
    changed: dict[str, dict[str, Any]] = {
        "edges": {**scenario.edges},
        "anchors": {**scenario.anchors},
    }
    for (group, name), words in moved.items():
        changed[group][name] = changed[group][name].model_copy(update=words)
    return scenario.model_copy(update=changed)


def _hang_on(recipe: Recipe, tape: Records, person: str, numbers: Numbers) -> None:
    """Depths of a person's loads: those of what they pass, or counted from where they begin."""
    rows = [i for i, s in enumerate(recipe.rigged.sections) if s.person == person]
    loads = np.flatnonzero((tape["kind"][0] == Kind.LOAD) & np.isin(tape["line"][0], rows))
    begins = lower_m(recipe, person, numbers)
    for index in loads:
        depth_m = float(tape["depth_m"][0, index])
        known = [lower for at_m, lower in _crossed(recipe, numbers) if abs(at_m - depth_m) < NEAR_M]
        tape["depth_m"][:, index] += known[0] if known else begins


def _crossed(recipe: Recipe, numbers: Numbers) -> list[tuple[float, Column]]:
    """Depths at which people hang who have crossed an edge, and how much lower they are [m]."""
    return [
        (BELOW_CROSSED_EDGE_M - edge.up.value, edge.up.value - numbers(f"edges/{name}/up", edge.up))
        for name, edge in recipe.scenario.edges.items()
        if edge.up is not None
    ]


def lower_m(recipe: Recipe, person: str, numbers: Numbers) -> Column:
    """How much lower than by the survey a person begins [m]."""
    scenario, option = recipe.scenario, recipe.option
    who, own = option.people.get(person), leaves(scenario.job.get(person, ()))
    crossed = next((s.edge for s in own if isinstance(s, CrossEdge)), None)
    edge = scenario.edges.get(crossed) if crossed is not None else None
    over = crossed is not None and crossed_first(scenario.job[person], person) == crossed
    if (over or who is None or who.start is None) and edge is not None and edge.up is not None:
        return edge.up.value - numbers(f"edges/{crossed}/up", edge.up)
    line = option.lines[person].working
    points = [place(scenario.anchors[name]) for name in fixed_points(line)]
    if line.over or not points or points[0] is None:
        return 0.0
    known = placed_edges(scenario)
    names = beyond_first(points[0], known)
    if not names:
        anchors = [scenario.anchors[name] for name in fixed_points(line)]
        ups = [(f"anchors/{n}/up", a.up) for n, a in zip(fixed_points(line), anchors, strict=True)]
    else:
        ups = [(f"edges/{n}/up", scenario.edges[n].up) for n in names]
    typed = [(name, up) for name, up in ups if up is not None]
    if len(typed) < len(ups):
        return 0.0
    lowest = reduce(np.minimum, [numbers(name, up) for name, up in typed])
    return min(up.value for _, up in typed) - lowest
