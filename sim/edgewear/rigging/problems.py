"""Errors that only geometry can find, each with the address that the file gives it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from edgewear.layout import MAX_EDGES
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.lengths import rope_need
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.rigging.reach import out_of_reach
from edgewear.rigging.sections import cut
from edgewear.rigging.survey import fixed_points, place, placed_edges
from edgewear.scenario.models.scenario import Line, Option, Scenario
from edgewear.terms import SAFETY

MAX_DEVIATIONS = 4
"""Each leads the load through two points, below those of a stepped face."""


def problems(scenario: Scenario) -> list[tuple[str, str]]:
    """Return (address, message) for everything in a scenario that geometry rules out."""
    found: list[tuple[str, str]] = []
    for name, option in scenario.options.items():
        missing = [
            problem
            for pair in option.lines.values()
            for line in (pair.working, pair.safety)
            if line is not None
            for problem in _points(scenario, name, line)
        ]
        found += missing or list(_rigged(scenario, name, option))
    return list(dict.fromkeys(found))


def _rigged(scenario: Scenario, name: str, option: Option) -> Iterator[tuple[str, str]]:
    """Name what the lines of an option, once cut, do not allow."""
    cuts = {person: cut(scenario, option, person) for person in option.lines}
    for person, (sections, depths) in cuts.items():
        yield from _heights(scenario, name, option, person, sections, depths)
    starts_m = {person: depths.start_m for person, (_, depths) in cuts.items()}
    yield from out_of_reach(scenario, option, starts_m)
    laid = [s for sections, _ in cuts.values() for s in sections]
    yield from kit_problems(scenario, option, laid)
    yield from _reactions(scenario, name, option)


def _reactions(scenario: Scenario, name: str, option: Option) -> Iterator[tuple[str, str]]:
    """Name reactions that need a safety line where somebody has none."""
    lone = [who for who, pair in option.lines.items() if pair.safety is None]
    for trigger, reaction in scenario.when.items():
        if lone and reaction.do in ("retreat on safety line", "swap rope"):
            yield (
                f"when/{trigger}/do",
                f"{reaction.do!r} needs a safety line to hang on: option {name!r} gives "
                f"{', '.join(map(repr, lone))} one line",
            )


def use_of(option: Option, section: Section, edge: str) -> str:
    """Return what a piece of protection at an edge is in use for.

    One piece on the structure serves both lines of a person; what is fixed to a rope is a piece
    for each, unless the safety line is said to lie on the working line's.
    """
    line = line_of(option, section)
    piece = line.protect.get(edge)
    own = piece is not None and piece.fixed_to == "rope" and not line.shares_protection
    apart = f", {section.role}" if own and section.role == SAFETY else ""
    return f"{edge} for {section.person}{apart}"


def kit_problems(
    scenario: Scenario, option: Option, sections: Iterable[Section]
) -> list[tuple[str, str]]:
    """Return what a job begins with more of in place than the kit holds.

    Parameters: `sections`: of all lines of an option.
    """
    laid: dict[str, list[str]] = {}
    for section in sections:
        for edge in section.edges:
            use = use_of(option, section, edge.name)
            if edge.protection and use not in laid.setdefault(edge.protection, []):
                laid[edge.protection].append(use)
    return [
        (
            f"kit/{word}",
            f"there are {scenario.kit[word]}, but {len(uses)} are in place at the start: "
            + ", ".join(uses),
        )
        for word, uses in laid.items()
        if len(uses) > scenario.kit.get(word, len(uses))
    ]


def _points(scenario: Scenario, name: str, line: Line) -> Iterator[tuple[str, str]]:
    """Name fixed points without a place on a line whose bends are not given."""
    if line.over:
        return
    led = [d.anchor for d in line.deviations]
    frame = [line.high_directional] if line.high_directional else []
    for anchor in [*fixed_points(line), *led, *frame]:
        if anchor in scenario.anchors and place(scenario.anchors[anchor]) is None:
            yield (
                f"anchors/{anchor}",
                f"has no place, and the {line.role} of option {name!r} needs one: give `out` and "
                "`up`, or give the line's bends with `over`",
            )


def _heights(
    scenario: Scenario,
    name: str,
    option: Option,
    person: str,
    sections: Sequence[Section],
    depths: Profile,
) -> Iterator[tuple[str, str]]:
    pair = option.lines[person]
    yield from _too_many(name, sections)
    yield from _too_high(scenario, person, pair.working, depths)
    for line in (pair.working, pair.safety):
        if line is None:
            continue
        need = rope_need(scenario, option, person, line, depths)
        if need.tail_m < 0.0:
            yield (
                f"ropes/{line.rope}/length",
                f"{need.available_m:g} m does not reach: the {line.role} of {person} in option "
                f"{name!r} needs {need.needed_m:.1f} m at the deepest point of the job",
            )


def _too_many(name: str, sections: Sequence[Section]) -> Iterator[tuple[str, str]]:
    """Name lines with more edges or deviations than one line can be computed with."""
    for section in sections:
        led = sum(item.kind == "deviation" for item in section.edges)
        if len(section.edges) > MAX_EDGES:
            yield (
                f"options/{name}",
                f"the {section.line} may meet {len(section.edges)} edges: at most {MAX_EDGES} are "
                "computed; leave out those it never touches",
            )
        if led > MAX_DEVIATIONS:
            yield (
                f"options/{name}",
                f"the {section.line} has {led} deviations: at most {MAX_DEVIATIONS} are computed",
            )


def _too_high(
    scenario: Scenario, person: str, working: Line, depths: Profile
) -> Iterator[tuple[str, str]]:
    """Name a job that climbs past the top of its line."""
    tops = [-p[2] for p in placed_edges(scenario).values()]
    fixed = [place(scenario.anchors[n]) for n in fixed_points(working) if n in scenario.anchors]
    tops += [-p[2] for p in fixed if p is not None]
    top = 0.0 if working.over or not tops else min(tops)
    if depths.highest_m < top - 1e-9:
        yield (
            f"job/{person}",
            f"climbs {top - depths.highest_m:.1f} m past the top of its line: it begins at a depth "
            f"of {depths.start_m:.1f} m (`people/{person}/start` sets it below the last edge)",
        )
