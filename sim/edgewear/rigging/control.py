"""Levels of control and the statuses that geometry alone decides.

The hierarchy, best first: edge avoided; re-anchored or deviated; rigid or rolling protection; soft
protection; bypass; bare. An option's level is the lowest of those at the edges where its working
lines are loaded; an edge that a re-anchor or deviation frees counts as re-anchored or deviated.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import get_args

from edgewear.rigging.contacts import Contact
from edgewear.rigging.loads import G_M_S2
from edgewear.rigging.model import Section
from edgewear.rigging.profile import steps_of
from edgewear.scenario.gear import CUTTING_RADIUS_M, Protection, Sling
from edgewear.scenario.models import Level, Line, Option, Scenario

LEVELS: tuple[str, ...] = get_args(Level)
"""Best first."""

AVOIDED, FREED, RIGID, SOFT, BYPASS, BARE = LEVELS

NOT_ACCEPTABLE = "not acceptable: protect the edge"
CUTTING = "cutting edge"
ONE_LINE = "one line"
NOT_INDEPENDENT = "not independent"

BARE_BELOW_DIAMETERS = 4.0
"""An unprotected edge with a radius below this many rope diameters is a bare edge.

Delaney, Physics for Roping Technicians (2022), p. 82: a bend of at least 4 rope diameters keeps
the strength.
"""

SIDEWAYS_RADIUS_M = 3e-3
"""A bare edge below this radius cuts a loaded rope that travels along it [m]."""

_LOADING = {
    "ascend",
    "descend",
    "work",
    "swing",
    "cross edge",
    "lower",
    "haul",
    "reciprocate",
    "take over",
}


def lowest(levels: Iterable[str]) -> str:
    """Return the lowest of some levels of control; the best where there is none."""
    return max(levels, key=LEVELS.index, default=AVOIDED)


def why_not_higher(option: Option, control: str) -> dict[str, str]:
    """Return the reason recorded for each level above an option's own, or "not recorded"."""
    above = LEVELS[: LEVELS.index(control)]
    given: dict[str, str] = {str(level): why for level, why in option.why_not_higher.items()}
    return {level: given.get(level, "not recorded") for level in above}


def line_of(option: Option, section: Section) -> Line:
    """Return the line of an option that a section was cut from."""
    lines = option.lines[section.person]
    if section.role == "safety line" and lines.safety is not None:
        return lines.safety
    return lines.working


def level_at(scenario: Scenario, option: Option, section: Section, edge: str) -> str:
    """Return the level of control at an edge that a section is loaded over.

    Protection counts only if it is in place whenever the line is loaded; so does a bypass sling,
    which must also bear the person's strongest push with its weakest part.
    """
    line = line_of(option, section)
    piece = line.protect.get(edge) or _placed(scenario, section.person, edge)
    if piece is not None and not bare_at_times(scenario, section.person, edge, "protection"):
        return piece.level
    if (
        edge in line.bypass
        and not bare_at_times(scenario, section.person, edge, "bypass sling")
        and _bears(line.bypass[edge], option, section.person)
    ):
        return BYPASS
    return BARE


def _placed(scenario: Scenario, person: str, edge: str) -> Protection | None:
    """Return what a step of the person's own list places on an edge, where it says what."""
    for step in steps_of(scenario.job.get(person, ())):
        if step.step == "place protection" and step.edge == edge and step.with_:
            return scenario.protections.get(step.with_)
    return None


def _bears(sling: Sling, option: Option, person: str) -> bool:
    """Tell whether the weakest part of a bypass sling bears the person's strongest push."""
    who = option.people.get(person)
    if who is None:
        return True
    push_n = who.mass.value * G_M_S2 * who.force_ratio.value
    return min(sling.strength.low, sling.clamps.low) >= push_n


def bare_at_times(scenario: Scenario, person: str, edge: str, what: str) -> bool:
    """Tell whether a person's line is loaded over an edge while its protection or sling is off.

    Parameters: `what`: "protection" or "bypass sling", as in `place protection`.

    It is where the person puts it on only after beginning to load the line, or takes it off
    and loads the line before it is back. An edge that only others put it on counts as bare at
    first, and one that others take it off as bare in the end: nobody knows when they come.
    """
    on = {"protection": "place protection", "bypass sling": "fix bypass sling"}[what]
    off = f"remove {what}"
    own = list(steps_of(scenario.job.get(person, ())))
    placed = [k for k, s in enumerate(own) if s.step == on and _edge(s) == edge]
    taken = [k for k, s in enumerate(own) if s.step == off and _edge(s) == edge]
    loading = [k for k, s in enumerate(own) if s.step in _LOADING]
    if _others_do(scenario, person, edge, off) or (
        not placed and _others_do(scenario, person, edge, on)
    ):
        return True
    if not loading:
        return False
    late = bool(placed) and loading[0] < placed[0]
    return late or any(_uncovered(k, placed, loading) for k in taken)


def _others_do(scenario: Scenario, person: str, edge: str, word: str) -> bool:
    """Tell whether somebody else's list has a step with this word at an edge."""
    return any(
        step.step == word and _edge(step) == edge
        for other, steps in scenario.job.items()
        if other != person
        for step in steps_of(steps)
    )


def _uncovered(taken: int, placed: list[int], loading: list[int]) -> bool:
    """Tell whether the line is loaded after protection was taken off and before it is back."""
    back = next((k for k in placed if k > taken), None)
    return any(k > taken and (back is None or k < back) for k in loading)


def _edge(step: object) -> str | None:
    return getattr(step, "edge", None)


def edge_levels(
    scenario: Scenario,
    option: Option,
    sections: Sequence[Section],
    found: Sequence[Contact],
    freed: Iterable[str],
) -> dict[str, str]:
    """Return the level of control at each edge of one person's working line.

    Where both lines share the load all the time, the safety line's edges count as well.

    Parameters: `found`: contacts of `sections`; `freed`: edges that a re-anchor, deviation or
    high directional takes the line off, if only after a passage.
    """
    levels = dict.fromkeys(freed, FREED)
    for contact in found:
        section = sections[contact.section]
        works = section.role == "working line" or option.both_lines_loaded
        if not works or contact.kind != "edge" or not contact.loaded:
            continue
        if contact.edge in levels and section.role == "working line":
            continue
        level = level_at(scenario, option, section, contact.edge)
        levels[contact.edge] = lowest([level, levels.get(contact.edge, level)])
    return levels


def is_bare(scenario: Scenario, option: Option, section: Section, contact: Contact) -> bool:
    """Tell whether a section is at some moment loaded over a bare edge.

    Loaded: more than 200 N, more than 2 degrees. Bare: radius (the lower end of a class) below
    4 rope diameters and neither intact protection nor a loaded bypass.
    """
    if contact.kind != "edge" or not contact.loaded:
        return False
    diameter_m = scenario.ropes[section.rope].diameter.value
    sharp = judged_radius_m(scenario, contact.edge) < BARE_BELOW_DIAMETERS * diameter_m
    return sharp and level_at(scenario, option, section, contact.edge) == BARE


def judged_radius_m(scenario: Scenario, edge: str) -> float:
    """Return the radius by which an edge is judged: of a class the lower end [m]."""
    radius = scenario.edges[edge].radius
    return radius.low if radius.basis in ("class", "library") else radius.value


def is_cutting(scenario: Scenario, option: Option, section: Section, contact: Contact) -> bool:
    """Tell whether a loaded edge can part the rope in one pass.

    Common practice, no published source: a radius below 0.75 mm, burred or broken, whatever
    protects it; or sideways travel of more than a rope diameter under load over a bare edge
    below 3 mm.
    """
    if contact.kind != "edge" or not contact.loaded:
        return False
    if scenario.edges[contact.edge].is_cutting:
        return True
    radius_m = judged_radius_m(scenario, contact.edge)
    if radius_m < CUTTING_RADIUS_M:
        return True
    bare = level_at(scenario, option, section, contact.edge) == BARE
    diameter_m = scenario.ropes[section.rope].diameter.value
    return bare and radius_m < SIDEWAYS_RADIUS_M and contact.aside_m > diameter_m


def statuses(
    scenario: Scenario,
    option: Option,
    sections: Sequence[Section],
    found: Sequence[Contact],
    shared: Sequence[str],
) -> tuple[str, ...]:
    """Return what geometry alone says of an option, worst first.

    Parameters: `sections`, `found`: of all its people, contacts numbered alike; `shared`: what
    both lines of a person depend on to a degree that they are not independent.
    """
    loaded = [
        (sections[c.section], c)
        for c in found
        if sections[c.section].role == "working line" or option.both_lines_loaded
    ]
    status = []
    if any(is_cutting(scenario, option, s, c) for s, c in loaded):
        status.append(CUTTING)
    industrial = scenario.setting == "industrial"
    if industrial and any(is_bare(scenario, option, s, c) for s, c in loaded):
        status.append(NOT_ACCEPTABLE)
    if any(p.safety is None for who, p in option.lines.items() if who in scenario.people):
        status.append(ONE_LINE)
    if shared:
        status.append(NOT_INDEPENDENT)
    return tuple(status)
