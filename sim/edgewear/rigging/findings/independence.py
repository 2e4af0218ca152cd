"""What the two lines of a person have in common, found and said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import dist

from edgewear import spelt
from edgewear.geometry.points import Point
from edgewear.rigging.contacts import Contact
from edgewear.rigging.laying import lay
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Stay
from edgewear.rigging.survey import fixed_points
from edgewear.scenario.models.scenario import Line, Option, Scenario

NEAR_M = 0.3
"""Lines that cross an edge closer than this rely on the same piece of edge [m]; assumed."""


@dataclass(frozen=True)
class Shared:
    """Something that both lines of a person depend on."""

    person: str
    kind: str  # anchor, rope, edge, protection or attendant
    name: str
    words: str
    counts: bool  # True: one failure of it takes both lines
    apart_m: float | None = None  # of an edge; None: not known


def shared_by(
    scenario: Scenario,
    option: Option,
    person: str,
    sections: Sequence[Section],
    found: Sequence[Contact],
    stays: Sequence[Stay],
) -> list[Shared]:
    """Return all that the working line and the safety line of a person share.

    Every shared edge is named. One that both cross within 0.3 m of each other, or of which
    nothing is known but its name, counts as one thing that can fail for both; where they cross
    further apart it is said and does not count. Lines that come together at the person cross an
    edge nearer to each other the nearer they hang below it, so they are held apart at the deepest
    and wherever somebody works; only a passage is not counted. A shared anchor, re-anchor,
    deviation, piece of protection, piece of rope or attendant always counts.
    """
    lines = option.lines[person]
    if lines.safety is None:
        return []
    same = [
        *_anchors(person, lines.working, lines.safety),
        *_kit(scenario, person, lines.working, lines.safety),
        *_edges(option, person, sections, found, [s.depth_m for s in stays if s.works]),
    ]
    who = lines.working.attendant
    if who is not None and who == lines.safety.attendant:
        words = f"one attendant, {who}, watches both lines of {person}"
        same.append(Shared(person, "attendant", who, words, True))
    return same


def _anchors(person: str, working: Line, safety: Line) -> list[Shared]:
    def held(line: Line) -> set[str]:
        led = {d.anchor for d in line.deviations}
        frame = {line.high_directional} if line.high_directional else set()
        return {*fixed_points(line), *led, *frame}

    return [
        Shared(person, "anchor", name, f"both lines of {person} hang on {name}", True)
        for name in sorted(held(working) & held(safety))
    ]


def _edges(
    option: Option,
    person: str,
    sections: Sequence[Section],
    found: Sequence[Contact],
    worked_m: Sequence[float],
) -> list[Shared]:
    """Name each edge that both lines touch, and the piece of protection if it is one."""
    touched: dict[str, dict[str, list[Contact]]] = {}
    for contact in found:
        section = sections[contact.section]
        if section.person == person and contact.kind == "edge":
            by_role = touched.setdefault(contact.edge, {})
            by_role.setdefault(section.role, []).append(contact)
    same = []
    for edge, by_role in touched.items():
        if len(by_role) < 2:
            continue
        apart = _least_m(edge, sections, by_role["working line"], by_role["safety line"], worked_m)
        same.append(_edge(person, edge, apart))
        piece = _one_piece(option, person, edge, apart)
        if piece:
            words = f"one {piece} at {edge} lies under both lines of {person}"
            same.append(Shared(person, "protection", edge, words, True))
    return same


def _edge(person: str, edge: str, apart_m: float | None) -> Shared:
    both = f"both lines of {person} run over {edge}"
    if apart_m is None:
        return Shared(person, "edge", edge, f"{both}; how far apart is not known", True)
    words = f"{both}, {spelt.tenths(apart_m)} apart"
    return Shared(person, "edge", edge, words, apart_m < NEAR_M, apart_m)


def _least_m(
    edge: str,
    sections: Sequence[Section],
    working: list[Contact],
    safety: list[Contact],
    worked_m: Sequence[float],
) -> float | None:
    """Return the least distance at an edge, at the deepest and at work [m]; None: given bends."""
    pairs = [
        (
            _crossing(sections[a.section], edge, depth_m),
            _crossing(sections[b.section], edge, depth_m),
        )
        for depth_m in worked_m
        for a in working
        for b in safety
    ]
    at_work = [dist(a, b) for a, b in pairs if a is not None and b is not None]
    deepest = _apart_m(working, safety)
    return min([*at_work, *([] if deepest is None else [deepest])], default=None)


def _crossing(section: Section, edge: str, depth_m: float) -> Point | None:
    """Return where a section crosses an edge with somebody at a depth; None: nowhere."""
    if section.direct or not section.top_m <= depth_m <= section.bottom_m:
        return None
    laid = lay(section, depth_m)
    names = [section.edges[k].name for k in laid.edges]
    return laid.points[names.index(edge) + 1] if edge in names else None


def _apart_m(working: list[Contact], safety: list[Contact]) -> float | None:
    """Return the least distance of the lines' crossings, at the deepest [m]; None: given bends."""
    pairs = [
        dist(a.crossing_m, b.crossing_m)
        for a in working
        for b in safety
        if a.crossing_m is not None and b.crossing_m is not None
    ]
    return min(pairs, default=None)


def _one_piece(option: Option, person: str, edge: str, apart_m: float | None) -> str | None:
    """Return the kind of protection at an edge if one piece of it lies under both lines.

    Where both lines are said to lie on the working line's protection it is; else protection fixed
    to a rope is a piece for each, and what is fixed to the structure is taken for one piece
    where the lines cross within the length that it covers.
    """
    lines = option.lines[person]
    first = lines.working.protect.get(edge)
    second = lines.safety.protect.get(edge) if lines.safety else None
    if first is None or second is None or first.is_ != second.is_:
        return None
    if lines.safety is not None and lines.safety.shares_protection:
        return first.is_
    if first.fixed_to == "rope" or (apart_m is not None and apart_m >= first.covers.value):
        return None
    return first.is_


def _kit(scenario: Scenario, person: str, working: Line, safety: Line) -> list[Shared]:
    """Name what the two lines need two of and the kit holds one of."""
    same = []
    if working.rope == safety.rope and scenario.kit.get(working.rope, 2) < 2:
        words = f"one piece of {working.rope} is both lines of {person}"
        same.append(Shared(person, "rope", working.rope, words, True))
    kinds = {p.is_ for p in working.protect.values()} & {p.is_ for p in safety.protect.values()}
    for kind in sorted(kinds):
        if scenario.kit.get(kind, 2) < 2:
            words = f"the kit holds one {kind} for both lines of {person}"
            same.append(Shared(person, "protection", kind, words, True))
    return same


def independence_words(same: Sequence[Shared], lines: int) -> str:
    """Say how the lines of a person stand to each other."""
    if lines < 2:
        return "one line"
    if not same:
        return "two independent lines"
    return "two lines that share: " + "; ".join([*_over(same), *_others(same)])


def _over(same: Sequence[Shared]) -> list[str]:
    """Say over which edges both lines of each person run, each person once."""
    found: dict[str, list[str]] = {}
    for one in same:
        if one.apart_m is not None:
            found.setdefault(one.person, []).append(
                f"{one.name} ({spelt.tenths(one.apart_m)} apart)"
            )
    return [f"both lines of {who} run over {', '.join(edges)}" for who, edges in found.items()]


def _others(same: Sequence[Shared]) -> list[str]:
    return [one.words for one in same if one.apart_m is None]
