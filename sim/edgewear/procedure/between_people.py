"""What lines of different people share: anchors, a place on an edge, or that they cross."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise
from math import dist, isfinite

from edgewear.findings.between import Between, Sharing
from edgewear.rigging.findings.independence import NEAR_M
from edgewear.rigging.model import Section
from edgewear.rigging.rig import Layout
from edgewear.scenario.models.scenario import Scenario

Crossed = dict[str, tuple[float, float, float]]
"""Where a line lies over edges at the deepest point of the job [m]: out, along, up."""

ASIDE_M = 0.02
"""Lines nearer than this above each other have no side yet [m]."""


def between_people(scenario: Scenario, option: str) -> tuple[Between, ...]:
    """Everything that lines of two people share, in the order of the people."""
    chosen = scenario.options[option]
    laid = Layout(scenario, chosen, list(chosen.lines))
    met: dict[int, Crossed] = {}
    for one in laid.contacts:
        if one.kind == "edge" and one.crossing_m is not None:
            met.setdefault(one.section, {})[one.edge] = one.crossing_m
    found = [
        shared
        for (a, first), (b, second) in combinations(enumerate(laid.sections), 2)
        if first.person != second.person
        for shared in _of(first, second, met.get(a, {}), met.get(b, {}))
    ]
    return tuple(dict.fromkeys(found))


def _of(first: Section, second: Section, over: Crossed, other: Crossed) -> Iterator[Between]:
    lines, people = (first.line, second.line), (first.person, second.person)
    if first.anchor == second.anchor:
        yield Between(Sharing.ANCHOR, lines, people, first.anchor)
    for edge in over:
        if edge in other:
            apart_m = dist(over[edge], other[edge])
            if apart_m < NEAR_M:
                piece = _piece(first, edge) or _piece(second, edge)
                yield Between(Sharing.PLACE, lines, people, edge, piece, apart_m)
    if not (first.direct or second.direct or isfinite(first.top_m) or isfinite(second.top_m)):
        yield from (
            Between(Sharing.CROSSING, lines, people, where)
            for where in _crossings(first, second, over, other)
        )


def _piece(section: Section, edge: str) -> str | None:
    return next((item.protection for item in section.edges if item.name == edge), None)


def _crossings(first: Section, second: Section, over: Crossed, other: Crossed) -> Iterator[str]:
    """Between which places one line changes from one side of the other to its other side."""
    at = [("the anchors", first.anchor_m[1] - second.anchor_m[1])]
    at += [(edge, one[1] - other[edge][1]) for edge, one in over.items() if edge in other]
    at.append(("the people", first.load_m[1] - second.load_m[1]))
    sided = [(name, aside) for name, aside in at if abs(aside) > ASIDE_M]
    for (above, before), (below, after) in pairwise(sided):
        if before * after < 0.0:
            yield f"between {above} and {below}"
