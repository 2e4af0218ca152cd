"""Where observations reach, and which inputs of an option lie outside.

Every observation is an ascent over one bare steel arris of 1 mm that bends a rope of 9 or 11 mm by
30 degrees, 20 m from its anchor, dry, with a person of about 90 kg. The ranges take in half and
twice that, or what lies between the observations; beyond them the law is carried on, not tested.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import radians
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.case.filling.numbers import Column, Numbers
from edgewear.case.judged.named import named
from edgewear.findings.outside import NEAR_TIMES, Outside, by_distance
from edgewear.rigging.findings.control import line_of, piece_at
from edgewear.rigging.model import EdgeOnLine
from edgewear.scenario.models.gear import Rope
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.steps import Ascend
from edgewear.scenario.models.walking import leaves
from edgewear.scenario.read.libraries import built_in
from edgewear.terms import LOADED_BEND_RAD, WORKING

if TYPE_CHECKING:
    from edgewear.case.filling.recipe import Recipe


class Range(NamedTuple):
    """A range of a number, and its unit for people."""

    low: float
    high: float
    unit: str
    each: float = 1.0  # SI in one of that unit

    def times(self, value: Column) -> Column:
        """Tell how many times beyond the nearer end values in SI lie; at most 1: inside."""
        values = np.asarray(value, dtype=np.float64)
        with np.errstate(divide="ignore"):
            found: Column = np.maximum(values / self.high, self.low / values)
        return found

    def holds(self, value: Column) -> NDArray[np.bool_]:
        """Tell whether values in SI lie inside, rounding aside."""
        slack, values = 1e-9 * max(abs(self.low), abs(self.high)), np.asarray(value)
        found: NDArray[np.bool_] = (self.low - slack <= values) & (values <= self.high + slack)
        return found


DOMAIN = {
    "bend": Range(radians(15), radians(60), "deg", radians(1)),
    "setback": Range(10.0, 40.0, "m"),
    "radius": Range(0.75e-3, 2e-3, "mm", 1e-3),
    "diameter": Range(9e-3, 11e-3, "mm", 1e-3),
    "mass": Range(70.0, 110.0, "kg"),
}
"""Numbers that the observations reach."""

CONDITION = "condition"
"""Of an edge: one that is not sound has no measure, and is far from what was observed."""

SURFACE, STATE, FAMILY, SHEATHS = "steel", "dry", "low-stretch", ("polyamide", "reinforced")
"""Words that the observations were made with."""


class Judged(NamedTuple):
    """An input, and in which runs it lies outside the domain."""

    address: str
    where: NDArray[np.bool_]  # (runs,)
    what: str
    of: str
    times: Column = np.nan  # beyond the nearest observed; NaN: another kind
    edge: str | None = None


class Met(NamedTuple):
    """An edge as a section meets it where it is first used; (runs,) each."""

    touched: NDArray[np.bool_]
    setback_m: NDArray[np.float64]
    bend_rad: NDArray[np.float64]


Lying = Callable[[int, int], Met]
"""Gives how an edge (row of the section, column in it) lies in each run."""


def outside(recipe: Recipe, numbers: Numbers, lying: Lying, runs: int) -> NDArray[np.object_]:
    """Addresses of the inputs outside the domain of the observations, for each run.

    Edges that no working line bends over do not count, nor do safety lines: they carry no load.

    Parameters:
        recipe: of the case.
        numbers: of the runs.
        lying: how each section lies in each run.
        runs: how many.

    Returns:
        A text a run, addresses comma separated; empty where nothing lies outside.
    """
    return named(((one.address, one.where) for one in _judged(recipe, numbers, lying, runs)), runs)


def graded(recipe: Recipe, numbers: Numbers, lying: Lying) -> tuple[Outside, ...]:
    """Inputs outside the domain with the scenario's own numbers, the furthest first.

    Parameters: as in `outside`, of one run.
    """
    found = {}
    for one in _judged(recipe, numbers, lying, 1):
        if one.where.all():
            times = float(np.ravel(one.times)[0])
            other = bool(np.isnan(times))
            far = one.what == CONDITION if other else times > NEAR_TIMES
            found[one.address] = Outside(
                one.address, one.what, one.of, one.edge, None if other else times, far
            )
    return by_distance(found.values())


def _judged(recipe: Recipe, numbers: Numbers, lying: Lying, runs: int) -> Iterator[Judged]:
    scenario = recipe.scenario
    whole = np.ones(runs, bool)
    for row, section in enumerate(recipe.rigged.planned):
        if section.role == WORKING:
            for column, edge in enumerate(section.edges):
                if edge.kind == "edge":
                    piece = piece_at(
                        scenario, line_of(recipe.option, section), section.person, edge.name
                    )
                    spares = 1.0 if piece is None else piece.severity.value
                    yield from _of_met(scenario, edge, lying(row, column), numbers, spares)
            rope = scenario.ropes[section.rope]
            yield from (
                one._replace(where=whole & one.where)
                for one in _of_rope(section.rope, rope, numbers)
            )
    for name, person in recipe.option.people.items():
        address = f"people/{name}/mass"
        mass = numbers(address, person.mass)
        out, times = whole & ~DOMAIN["mass"].holds(mass), DOMAIN["mass"].times(mass)
        yield Judged(address, out, "mass", name, times)
    for name, steps in scenario.job.items():
        for step in leaves(steps):
            if step.moving:
                yield Judged(f"job/{name}/{step.step}", whole, f"the step {step.step}", name)


def _of_met(
    scenario: Scenario, edge: EdgeOnLine, met: Met, numbers: Numbers, spares: float
) -> Iterator[Judged]:
    """Inputs of an edge that a section bends over."""
    loaded, name = met.touched & (met.bend_rad >= LOADED_BEND_RAD), edge.name
    for what, value in (("bend", met.bend_rad), ("setback", met.setback_m)):
        domain = DOMAIN[what]
        out, times = loaded & ~domain.holds(value), domain.times(value)
        yield Judged(f"edges/{name}/{what}", out, what, name, times, name)
    if edge.protection is not None:
        times = 1.0 / spares if spares > 0.0 else np.inf
        yield Judged(f"protect/{name}", loaded, "protection", name, times, name)
        return
    for one in _of_edge(name, scenario, numbers):
        yield one._replace(where=loaded & one.where)


def _of_edge(name: str, scenario: Scenario, numbers: Numbers) -> Iterator[Judged]:
    """Inputs of a bare edge; a surface given in numbers is as good as its numbers."""
    edge, radius = scenario.edges[name], DOMAIN["radius"]
    other = edge.surface.name != SURFACE and edge.surface.name in built_in()["surfaces"]
    size_m = numbers(f"edges/{name}/radius", edge.radius)
    lies = scenario.weather.get(edge.state) if scenario.weather else None
    for what, out, times in (
        ("radius", ~radius.holds(size_m), radius.times(size_m)),
        ("surface", np.array(other), _ratio(edge.roughness.value)),
        ("state", np.array(edge.state != STATE), _ratio(1.0 if lies is None else lies.value)),
        (CONDITION, np.array(edge.condition != "sound"), np.nan),
    ):
        yield Judged(f"edges/{name}/{what}", out, what, name, times, name)


def _ratio(factor: float) -> float:
    """How many times a factor of the law lies from that of the observations, which is 1."""
    return max(factor, 1.0 / factor) if factor > 0.0 else np.inf


def _of_rope(name: str, rope: Rope, numbers: Numbers) -> Iterator[Judged]:
    diameter_m = numbers(f"ropes/{name}/diameter", rope.diameter)
    domain = DOMAIN["diameter"]
    sheath = np.array(rope.sheath.name not in SHEATHS)
    for what, out, times in (
        ("diameter", ~domain.holds(diameter_m), domain.times(diameter_m)),
        ("family", np.array(rope.family != FAMILY), np.nan),
        ("sheath", sheath, _ratio(rope.sheath.toughness.value)),
        (CONDITION, np.array(rope.condition != "new"), _ratio(rope.strength_factor.value)),
    ):
        yield Judged(f"ropes/{name}/{what}", out, what, name, times)


def domain_lines() -> list[tuple[str, str]]:
    """Say the domain for people: (input, range or words)."""
    numbers = [
        (name, f"{one.low / one.each:g} to {one.high / one.each:g} {one.unit}")
        for name, one in DOMAIN.items()
    ]
    return [
        *numbers,
        ("surface of the edge", SURFACE),
        ("what lies on it", STATE),
        ("rope", f"{FAMILY}, new, sheath of " + " or ".join(SHEATHS)),
        ("protection", "none"),
        ("movement", Ascend.model_fields["step"].default),
    ]


__all__ = ["DOMAIN", "Met", "Range", "domain_lines", "graded", "outside"]
