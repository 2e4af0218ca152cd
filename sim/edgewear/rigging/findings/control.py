"""Levels of control and the statuses that geometry alone decides.

The hierarchy, best first: edge avoided; re-anchored or deviated; rigid or rolling protection; soft
protection; bypass; bare. An option's level is the lowest of those at the edges where its working
lines are loaded; an edge that a re-anchor or deviation frees counts as re-anchored or deviated.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import inf

from edgewear.rigging.contacts import Contact
from edgewear.rigging.model import EdgeOnLine, Section
from edgewear.rigging.profile import made
from edgewear.rigging.sections import last_m
from edgewear.rigging.survey import placed_edges
from edgewear.scenario.models.gear import Protection, Sling
from edgewear.scenario.models.scenario import Line, Option, Scenario
from edgewear.scenario.models.step import JobStep
from edgewear.scenario.models.steps import (
    FixBypassSling,
    PlaceProtection,
    RemoveBypassSling,
    RemoveProtection,
)
from edgewear.scenario.models.walking import leaves, made_by_others
from edgewear.terms import (
    AVOIDED,
    BARE,
    BYPASS,
    CUTTING,
    FREED,
    GRAVITY_M_S2,
    LEVELS,
    NOT_ACCEPTABLE,
    NOT_INDEPENDENT,
    ONE_LINE,
    WORKING,
)

BARE_BELOW_DIAMETERS = 4.0
"""An unprotected edge with a radius below this many rope diameters is a bare edge.

Delaney, Physics for Roping Technicians (2022), p. 82: a bend of at least 4 rope diameters keeps
the strength.
"""

SIDEWAYS_RADIUS_M = 3e-3
"""A bare edge below this radius cuts a loaded rope that travels along it [m]."""

_PUT_ON_AND_TAKEN_OFF: dict[str, tuple[type[JobStep], type[JobStep]]] = {
    "protection": (PlaceProtection, RemoveProtection),
    "bypass sling": (FixBypassSling, RemoveBypassSling),
}
"""What keeps an edge off the rope -> the steps that put it there and take it away."""


def lowest(levels: Iterable[str]) -> str:
    """Return the lowest of some levels of control; the best where there is none."""
    return max(levels, key=LEVELS.index, default=AVOIDED)


def why_not_higher(option: Option, control: str) -> dict[str, str]:
    """Return the reason recorded for each level above an option's own, or "not recorded"."""
    above = LEVELS[: LEVELS.index(control)]
    given: dict[str, str] = {str(level): why for level, why in option.why_not_higher.items()}
    return {level: given.get(level, "not recorded") for level in above}


def line_of(option: Option, section: Section) -> Line:
    """Return the line of an option that a section was cut from; a section has always one."""
    lines = option.lines[section.person]
    line = lines.working if section.role == WORKING else lines.safety
    if line is None:
        raise ValueError(f"no {section.role} for {section.person}")
    return line


def level_at(scenario: Scenario, option: Option, section: Section, edge: str) -> str:
    """Return the level of control at an edge that a section is loaded over.

    Protection counts only if it is in place whenever the line is loaded; so does a bypass sling,
    which must also bear the person's strongest push with its weakest part.
    """
    line = line_of(option, section)
    piece = piece_at(scenario, line, section.person, edge)
    if piece is not None and not bare_at_times(
        scenario, option, section.person, edge, "protection"
    ):
        return piece.level
    if (
        edge in line.bypass
        and not bare_at_times(scenario, option, section.person, edge, "bypass sling")
        and _bears(line.bypass[edge], option, section.person)
    ):
        return BYPASS
    return BARE


def level_of(scenario: Scenario, option: Option, section: Section, contact: Contact) -> str:
    """Return the level of control at a contact: off its protection the edge is bare."""
    if left_in_work(option, section, contact) is not None:
        return BARE
    return level_at(scenario, option, section, contact.edge)


def left_in_work(option: Option, section: Section, contact: Contact) -> Protection | None:
    """Return the protection that a line in use travels further along an edge than it reaches.

    From end to end, so that no place of the piece would do; as if no friction held the line. What
    is fixed to the rope goes with it. Where both lines share the load, the safety line is in use.
    """
    piece = line_of(option, section).protect.get(contact.edge)
    used = section.role == WORKING or option.both_lines_loaded
    if not used or piece is None or not contact.loaded:
        return None
    off = piece.fixed_to == "structure" and contact.aside_m > piece.covers.value
    return piece if off else None


def piece_at(scenario: Scenario, line: Line, person: str, edge: str) -> Protection | None:
    """Return the protection that a line has on an edge, if only at times."""
    return line.protect.get(edge) or _placed(scenario, person, edge)


def cover_words(scenario: Scenario, option: Option, section: Section, edge: str) -> str | None:
    """Say what lies between a section and an edge while it is loaded; None: nothing ever does."""
    piece = piece_at(scenario, line_of(option, section), section.person, edge)
    level = level_at(scenario, option, section, edge)
    if level == BYPASS:
        return "bypass sling"
    if piece is None:
        return None
    return f"{piece.is_}, bare at times" if level == BARE else piece.is_


def covered(scenario: Scenario, option: Option, section: Section) -> Section:
    """Return a section with what lies on its edges whenever it is loaded: bare at times is bare.

    A section as cut is bare wherever some step of the job places protection.
    """
    edges = tuple(
        replace(item, protection=_in_place(scenario, option, section, item))
        if item.kind == "edge"
        else item
        for item in section.edges
    )
    return replace(section, edges=edges)


def _in_place(scenario: Scenario, option: Option, section: Section, item: EdgeOnLine) -> str | None:
    piece = line_of(option, section).protect.get(item.name)
    if piece is None:
        return item.protection
    if bare_at_times(scenario, option, section.person, item.name, "protection"):
        return None
    return piece.is_


def _placed(scenario: Scenario, person: str, edge: str) -> Protection | None:
    """Return what a step of the person's own list places on an edge, where it says what."""
    for step in leaves(scenario.job.get(person, ())):
        if isinstance(step, PlaceProtection) and step.edge == edge and step.with_:
            return scenario.protections.get(step.with_)
    return None


def _bears(sling: Sling, option: Option, person: str) -> bool:
    """Tell whether the weakest part of a bypass sling bears the person's strongest push."""
    who = option.people.get(person)
    if who is None:
        return True
    push_n = who.mass.value * GRAVITY_M_S2 * who.force_ratio.value
    return sling.holds_n >= push_n


def bare_at_times(scenario: Scenario, option: Option, person: str, edge: str, what: str) -> bool:
    """Tell whether a person's line is loaded over an edge while its protection or sling is off.

    Parameters: `what`: "protection" or "bypass sling", as in `place protection`.

    It is on from the start unless the person puts it on. Loaded is the line from where they first
    hang, by rests too, and over the edge once they are deeper than it. An edge that only others put
    it on counts as bare at first, and one that others take it off as bare in the end: nobody knows
    when they come.
    """
    on, off = _PUT_ON_AND_TAKEN_OFF[what]
    own = [s for s in leaves(scenario.job.get(person, ())) if s.at(edge)]
    placed = any(isinstance(s, on) for s in own)
    if _others_do(scenario, person, edge, off) or (
        not placed and _others_do(scenario, person, edge, on)
    ):
        return True
    if not placed and not any(isinstance(s, off) or s.lifts for s in own):
        return False
    hangs, there = False, not placed
    edge_m = -inf if _others_move(scenario, person) else _depth_m(scenario, edge)
    known, last = placed_edges(scenario), last_m(scenario, option, person)
    for passed in made(scenario, option, person, known, last):
        step, deepest_m = passed.step, max(passed.begin_m, passed.end_m)
        if step.at(edge) and isinstance(step, (on, off)):
            there = isinstance(step, on)
        if step.at(edge) and step.lifts and what == "protection":
            return True
        hangs = hangs or step.loading
        if not there and deepest_m > edge_m and (step.loading or (hangs and step.holding)):
            return True
    return False


def _depth_m(scenario: Scenario, edge: str) -> float:
    """Return how deep somebody hangs at least whose line lies on an edge [m]: deeper than it."""
    known = scenario.edges.get(edge)
    ends = () if known is None else (known.start_m, known.end_m)
    return -max((end[2] for end in ends if end is not None), default=inf)


def _others_move(scenario: Scenario, person: str) -> bool:
    """Tell whether somebody else hauls or lowers a person, and nobody knows when."""
    unknown = made_by_others(scenario.job, person).last
    return any(one.deeper_m(person, by) for by, step in unknown for one in leaves([step]))


def _others_do(scenario: Scenario, person: str, edge: str, kind: type[JobStep]) -> bool:
    """Tell whether somebody else's list has a step of this kind at an edge."""
    return any(
        isinstance(step, kind) and step.at(edge)
        for other, steps in scenario.job.items()
        if other != person
        for step in leaves(steps)
    )


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
        works = section.role == WORKING or option.both_lines_loaded
        if not works or not contact.bears_on_edge:
            continue
        if contact.edge in levels and section.role == WORKING:
            continue
        level = level_of(scenario, option, section, contact)
        levels[contact.edge] = lowest([level, levels.get(contact.edge, level)])
    return levels


def is_bare(scenario: Scenario, option: Option, section: Section, contact: Contact) -> bool:
    """Tell whether a section is at some moment loaded over a bare edge.

    Loaded: more than 200 N, at any bend. Bare: radius (the lower end of a class) below 4 rope
    diameters and neither intact protection nor a loaded bypass.
    """
    if not contact.bears_on_edge:
        return False
    diameter_m = scenario.ropes[section.rope].diameter.value
    sharp = judged_radius_m(scenario, contact.edge) < BARE_BELOW_DIAMETERS * diameter_m
    return sharp and level_of(scenario, option, section, contact) == BARE


def judged_radius_m(scenario: Scenario, edge: str) -> float:
    """Return the radius by which an edge is judged: of a class the lower end [m]."""
    radius = scenario.edges[edge].radius
    return radius.low if radius.basis in ("class", "library") else radius.value


def parts_rope(
    scenario: Scenario,
    edge: str,
    bare: bool = False,
    travel_m: float = 0.0,
    diameter_m: float = 0.0,
) -> bool:
    """Tell whether an edge can part a loaded rope in one pass; the one judge of it.

    Common practice, no published source: a radius below 0.75 mm, burred or broken, whatever
    protects it; or sideways travel of more than a rope diameter over a bare edge below 3 mm.

    Parameters: `bare`: nothing lies between them; `travel_m`: of the rope along the edge;
    `diameter_m`: of the rope.
    """
    if scenario.edges[edge].is_cutting:
        return True
    sharp = judged_radius_m(scenario, edge) < SIDEWAYS_RADIUS_M
    return bare and sharp and travel_m > diameter_m


def cuts(scenario: Scenario, contact: Contact) -> bool:
    """Tell whether a loaded edge is itself one that can part a rope, however it lies on it."""
    return contact.bears_on_edge and parts_rope(scenario, contact.edge)


def is_cutting(scenario: Scenario, option: Option, section: Section, contact: Contact) -> bool:
    """Tell whether a loaded edge can part the rope in one pass, as it is protected there."""
    if not contact.bears_on_edge:
        return False
    bare = level_of(scenario, option, section, contact) == BARE
    diameter_m = scenario.ropes[section.rope].diameter.value
    return parts_rope(scenario, contact.edge, bare, contact.aside_m, diameter_m)


def statuses(
    scenario: Scenario,
    option: Option,
    sections: Sequence[Section],
    found: Sequence[Contact],
    shared: Sequence[str],
) -> tuple[str, ...]:
    """Return what geometry alone says of an option, worst first.

    A safety line counts where it would be caught over an edge that cuts; where it shares the load
    all the time, as a working line does.

    Parameters: `sections`, `found`: of all its people, contacts numbered alike; `shared`: what
    both lines of a person depend on to a degree that they are not independent.
    """
    loaded = [(sections[c.section], c) for c in found]
    works = [(s, c) for s, c in loaded if s.role == WORKING or option.both_lines_loaded]
    status = []
    if any(cuts(scenario, c) for _, c in loaded) or any(
        is_cutting(scenario, option, s, c) for s, c in works
    ):
        status.append(CUTTING)
    industrial = scenario.setting == "industrial"
    if industrial and any(is_bare(scenario, option, s, c) for s, c in works):
        status.append(NOT_ACCEPTABLE)
    if any(p.safety is None for who, p in option.lines.items() if who in scenario.people):
        status.append(ONE_LINE)
    if shared:
        status.append(NOT_INDEPENDENT)
    return tuple(status)
