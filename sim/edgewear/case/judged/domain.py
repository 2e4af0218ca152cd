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
from edgewear.rigging.model import EdgeOnLine
from edgewear.scenario.models.gear import Edge, Rope
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

SURFACE, STATE, FAMILY, SHEATHS = "steel", "dry", "low-stretch", ("polyamide", "reinforced")
"""Words that the observations were made with."""


class Judged(NamedTuple):
    """An input, and in which runs it lies outside the domain."""

    address: str
    where: NDArray[np.bool_]  # (runs,)


class Met(NamedTuple):
    """An edge as a section meets it where it is first used; (runs,) each."""

    touched: NDArray[np.bool_]
    setback_m: NDArray[np.float64]
    bend_rad: NDArray[np.float64]


Lying = Callable[[int, int], Met]
"""Gives how an edge (row of the section, column in it) lies in each run."""


def outside(recipe: Recipe, numbers: Numbers, lying: Lying, runs: int) -> tuple[str, ...]:
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
    found = list(_judged(recipe, numbers, lying, runs))
    out = np.array([one.where for one in found]).T.reshape(runs, len(found))
    patterns, which = np.unique(out, axis=0, return_inverse=True)
    texts = [
        ", ".join(dict.fromkeys(found[k].address for k in np.flatnonzero(pattern)))
        for pattern in patterns
    ]
    return tuple(texts[k] for k in np.ravel(which))


def _judged(recipe: Recipe, numbers: Numbers, lying: Lying, runs: int) -> Iterator[Judged]:
    scenario = recipe.scenario
    whole = np.ones(runs, bool)
    for row, section in enumerate(recipe.rigged.sections):
        if section.role == WORKING:
            for column, edge in enumerate(section.edges):
                if edge.kind == "edge":
                    yield from _of_met(scenario, edge, lying(row, column), numbers)
            rope = scenario.ropes[section.rope]
            yield from (
                Judged(one.address, whole & one.where)
                for one in _of_rope(section.rope, rope, numbers)
            )
    for name, person in recipe.option.people.items():
        address = f"people/{name}/mass"
        yield Judged(address, whole & ~DOMAIN["mass"].holds(numbers(address, person.mass)))
    for name, steps in scenario.job.items():
        for step in leaves(steps):
            if step.moving:
                yield Judged(f"job/{name}/{step.step}", whole)


def _of_met(scenario: Scenario, edge: EdgeOnLine, met: Met, numbers: Numbers) -> Iterator[Judged]:
    """Inputs of an edge that a section bends over."""
    loaded = met.touched & (met.bend_rad >= LOADED_BEND_RAD)
    yield Judged(f"edges/{edge.name}/bend", loaded & ~DOMAIN["bend"].holds(met.bend_rad))
    yield Judged(f"edges/{edge.name}/setback", loaded & ~DOMAIN["setback"].holds(met.setback_m))
    if edge.protection is not None:
        yield Judged(f"protect/{edge.name}", loaded)
        return
    for one in _of_edge(edge.name, scenario.edges[edge.name], numbers):
        yield Judged(one.address, loaded & one.where)


def _of_edge(name: str, edge: Edge, numbers: Numbers) -> Iterator[Judged]:
    """Inputs of a bare edge; a surface given in numbers is as good as its numbers."""
    address = f"edges/{name}/radius"
    other = edge.surface.name != SURFACE and edge.surface.name in built_in()["surfaces"]
    yield Judged(address, ~DOMAIN["radius"].holds(numbers(address, edge.radius)))
    yield Judged(f"edges/{name}/surface", np.array(other))
    yield Judged(f"edges/{name}/state", np.array(edge.state != STATE))
    yield Judged(f"edges/{name}/condition", np.array(edge.condition != "sound"))


def _of_rope(name: str, rope: Rope, numbers: Numbers) -> Iterator[Judged]:
    address = f"ropes/{name}/diameter"
    yield Judged(address, ~DOMAIN["diameter"].holds(numbers(address, rope.diameter)))
    yield Judged(f"ropes/{name}/family", np.array(rope.family != FAMILY))
    yield Judged(f"ropes/{name}/sheath", np.array(rope.sheath.name not in SHEATHS))
    yield Judged(f"ropes/{name}/condition", np.array(rope.condition != "new"))


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


__all__ = ["DOMAIN", "Met", "Range", "domain_lines", "outside"]
