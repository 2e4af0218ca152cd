"""Where observations reach, and which inputs of an option lie outside.

Every observation is an ascent over one bare steel arris of 1 mm that bends a rope of 9 or 11 mm by
30 degrees, 20 m from its anchor, dry, with a person of about 90 kg. The ranges take in half and
twice that, or what lies between the observations; beyond them the law is carried on, not tested.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite, radians
from typing import NamedTuple

from edgewear.rigging.laying import lay
from edgewear.rigging.model import EdgeOnLine, Rigged, Section
from edgewear.scenario.models.gear import Edge, Rope
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import Ascend
from edgewear.scenario.models.walking import leaves
from edgewear.scenario.read.libraries import built_in
from edgewear.terms import LOADED_BEND_RAD, WORKING


class Range(NamedTuple):
    """A range of a number, and its unit for people."""

    low: float
    high: float
    unit: str
    each: float = 1.0  # SI in one of that unit

    def holds(self, value: float) -> bool:
        """Tell whether a value in SI lies inside, rounding aside."""
        slack = 1e-9 * max(abs(self.low), abs(self.high))
        return self.low - slack <= value <= self.high + slack


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


def outside(scenario: Scenario, option: Option, rigged: Rigged) -> tuple[str, ...]:
    """Addresses of the inputs of an option that lie outside the domain of the observations.

    Edges that no working line bends over do not count, nor do safety lines: they carry no load.
    """
    found: list[str] = []
    for section in rigged.sections:
        if section.role == WORKING:
            found += _of_section(scenario, section, rigged)
            found += _of_rope(section.rope, scenario.ropes[section.rope])
    for name, person in option.people.items():
        if not DOMAIN["mass"].holds(person.mass.value):
            found.append(f"people/{name}/mass")
    for name, steps in scenario.job.items():
        found += [f"job/{name}/{step.step}" for step in leaves(steps) if step.moving]
    return tuple(dict.fromkeys(found))


def _of_section(scenario: Scenario, section: Section, rigged: Rigged) -> Iterator[str]:
    """Inputs of the edges that a section bends over."""
    for edge, setback_m, bend_rad in _met(section, rigged):
        if edge.kind != "edge" or bend_rad < LOADED_BEND_RAD:
            continue
        if not DOMAIN["bend"].holds(bend_rad):
            yield f"edges/{edge.name}/bend"
        if not DOMAIN["setback"].holds(setback_m):
            yield f"edges/{edge.name}/setback"
        if edge.protection is not None:
            yield f"protect/{edge.name}"
        else:
            yield from _of_edge(edge.name, scenario.edges[edge.name])


def _met(section: Section, rigged: Rigged) -> Iterator[tuple[EdgeOnLine, float, float]]:
    """Edges that a section touches where it is first used, with setback and bend."""
    depth_m = max(section.top_m, rigged.starts_m.get(section.person, rigged.start_depth_m))
    if not isfinite(depth_m):
        return
    laid = lay(section, depth_m)
    for touched, index in enumerate(laid.edges):
        yield section.edges[index], laid.setback_m(touched), laid.bends_rad[touched]


def _of_edge(name: str, edge: Edge) -> Iterator[str]:
    """Inputs of a bare edge; a surface given in numbers is as good as its numbers."""
    if not DOMAIN["radius"].holds(edge.radius.value):
        yield f"edges/{name}/radius"
    if edge.surface.name != SURFACE and edge.surface.name in built_in()["surfaces"]:
        yield f"edges/{name}/surface"
    if edge.state != STATE:
        yield f"edges/{name}/state"
    if edge.condition != "sound":
        yield f"edges/{name}/condition"


def _of_rope(name: str, rope: Rope) -> Iterator[str]:
    if not DOMAIN["diameter"].holds(rope.diameter.value):
        yield f"ropes/{name}/diameter"
    if rope.family != FAMILY:
        yield f"ropes/{name}/family"
    if rope.sheath.name not in SHEATHS:
        yield f"ropes/{name}/sheath"
    if rope.condition != "new":
        yield f"ropes/{name}/condition"


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


__all__ = ["DOMAIN", "Range", "domain_lines", "outside"]
