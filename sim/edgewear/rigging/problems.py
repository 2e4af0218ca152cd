"""Errors that only geometry can find, each with the address that the file gives it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import ceil, inf

from edgewear.layout import MAX_EDGES
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.findings.further.pulled import pulled_past
from edgewear.rigging.lengths import rope_need
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.rigging.reach import climbed_out, held_fast, out_of_reach, too_far_aside
from edgewear.rigging.sections import cut
from edgewear.rigging.survey import fixed_points, place, placed_edges
from edgewear.scenario.models.scenario import Line, Option, Scenario
from edgewear.scenario.models.steps import PlaceProtection, RemoveProtection
from edgewear.scenario.models.walking import leaves
from edgewear.terms import SAFETY

MAX_DEVIATIONS = 4
"""Each leads the load through two points, below those of a stepped face."""


def problems(scenario: Scenario, of: str | None = None) -> list[tuple[str, str]]:
    """Return (address, message) for everything in a scenario that geometry rules out.

    Parameters:
        of: an option; what rules only others out is left out. None: all of them count.
    """
    found: list[tuple[str, str]] = []
    highest: list[tuple[float, str]] = []
    for name, option in scenario.options.items():
        missing = [
            problem
            for pair in option.lines.values()
            for line in (pair.working, pair.safety)
            if line is not None
            for problem in _points(scenario, name, line)
        ]
        concerned = of in (None, name)
        if missing:
            found += missing if concerned else []
            continue
        cuts = {person: cut(scenario, option, person) for person in option.lines}
        found += _rigged(scenario, name, option, cuts) if concerned else []
        highest += [(depths.highest_m, person) for person, (_, depths) in cuts.items()]
    found += _below_nobody(scenario, highest)
    return list(dict.fromkeys(found))


def _below_nobody(
    scenario: Scenario, highest: Sequence[tuple[float, str]]
) -> Iterator[tuple[str, str]]:
    """Name what is said to lie below and lies above everybody all the time.

    Parameters: `highest`: how high each person of each option gets, as a depth [m], and who.

    What lies above a person's harness is beside them, and no fall onto it is judged: such a
    height would go unused without a word.
    """
    depth_m, who = min(highest, default=(-inf, ""))
    for name, up in scenario.below.items():
        if up.value >= -depth_m:
            yield (
                f"below/{name}",
                f"lies {up.value:+.1f} m up, above everybody for all of the job: {who!r} is "
                f"highest, at {0.0 - depth_m:+.1f} m; heights count up: give less than that, "
                "below zero as `-12 m` or `12 m down`",
            )


Cuts = Mapping[str, tuple[Sequence[Section], Profile]]
"""Person -> their lines as cut, and how deep they get."""


def _rigged(scenario: Scenario, name: str, option: Option, cuts: Cuts) -> Iterator[tuple[str, str]]:
    """Name what the lines of an option, once cut, do not allow."""
    for person, (sections, depths) in cuts.items():
        yield from _heights(scenario, name, option, person, sections, depths)
        yield from too_far_aside(scenario, option, person, depths.start_m, sections)
        yield from climbed_out(scenario, option, person, depths.start_m, sections)
        yield from held_fast(scenario, option, person, depths.start_m, sections)
    starts_m = {person: depths.start_m for person, (_, depths) in cuts.items()}
    yield from out_of_reach(scenario, option, starts_m)
    laid = [s for sections, _ in cuts.values() for s in sections]
    profiles = {person: depths for person, (_, depths) in cuts.items()}
    for one in pulled_past(scenario, option, laid, profiles):
        if one.certain:
            yield one.path, f"option {name!r}: {one.what}"
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

    Every line has pieces of its own, unless the safety line lies on the working line's.
    """
    own = section.role == SAFETY and not line_of(option, section).shares_protection
    apart = f" on the {section.role}" if own else ""
    return f"{edge} for {section.person}{apart}"


def kit_problems(
    scenario: Scenario, option: Option, sections: Iterable[Section]
) -> list[tuple[str, str]]:
    """Return what a job has more of in use than there is at hand: from its start, or at its end.

    Parameters: `sections`: of all lines of an option.
    """
    laid = list(sections)
    begun, stays = _begun(option, laid), _stays(scenario, option, laid)
    found = []
    for word in scenario.kit:
        most = scenario.at_hand(word) or 0
        for uses, when in (
            (begun.get(word, ()), "are in place at the start"),
            (stays.get(word, ()), "are placed by the end, and nobody takes one off"),
        ):
            if len(uses) > most:
                there = _there_are(scenario, word, most)
                message = f"{there}, but {len(uses)} {when}: {'; '.join(uses)}"
                found.append((f"kit/{word}", message))
                break
    return found


Uses = dict[str, list[str]]
"""Kind of protection -> what a piece of it each is in use for."""


def _begun(option: Option, sections: Sequence[Section]) -> Uses:
    """What lies on edges before anybody starts."""
    found: Uses = {}
    for section in sections:
        for edge in section.edges:
            if edge.protection:
                _add(found, edge.protection, use_of(option, section, edge.name))
    return found


def _stays(scenario: Scenario, option: Option, sections: Sequence[Section]) -> Uses:
    """What lies on edges in the end: all but what somebody takes off or places as another kind."""
    steps = [step for mine in scenario.job.values() for step in leaves(mine)]
    changed = {step.edge for step in steps if isinstance(step, RemoveProtection)}
    changed |= {s.edge for s in steps if isinstance(s, PlaceProtection) and s.with_ is not None}
    found: Uses = {}
    for section in sections:
        protect = line_of(option, section).protect
        for edge in section.edges:
            if edge.name in protect and edge.name not in changed:
                _add(found, protect[edge.name].is_, use_of(option, section, edge.name))
    return found


def _add(found: Uses, word: str, use: str) -> None:
    """Note a use once: several sections of a line may meet one edge."""
    uses = found.setdefault(word, [])
    if use not in uses:
        uses.append(use)


def _there_are(scenario: Scenario, word: str, most: int) -> str:
    """Say how many pieces there are at hand, and where the others lie."""
    away = [f"{one.count} {one.words}" for one in scenario.lying(word) if not one.at_hand]
    return f"there are {most} at hand ({', '.join(away)})" if away else f"there are {most}"


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
            needed_m = ceil(need.needed_m * 10.0) / 10.0
            through_m = ceil(need.through_m * 10.0 - 1e-9) / 10.0  # no tenth more for rounding
            through = f", {through_m:g} m of it to be let out at its anchor"
            yield (
                f"ropes/{line.rope}/length",
                f"{need.available_m:g} m does not reach: the {line.role} of {person} in option "
                f"{name!r} needs {needed_m:.1f} m at the deepest point of the job"
                f"{through if need.through_m else ''}",
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
