"""Steps that a person cannot make from where they hang, found before anything is run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import floor, inf, isfinite
from typing import NamedTuple

from edgewear.rigging.findings.figures import drawn_below_m
from edgewear.rigging.laying import lay
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Shifting, Walk, aside_of, crossed_m
from edgewear.rigging.survey import placed_edges
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.step import EdgeStep
from edgewear.scenario.models.steps import (
    Ascend,
    CrossEdge,
    Event,
    Haul,
    Inspect,
    Lower,
    ShiftRope,
    Step,
    SwapRope,
    TakeOver,
    WaitFor,
)
from edgewear.scenario.models.walking import rounds
from edgewear.scenario.text.quantities import Measured
from edgewear.scenario.text.tree import Path_, address
from edgewear.terms import SAFETY

WITHIN_REACH_M = 3.0
"""Two people, or a person and the place below an edge, are within reach up to this depth apart [m];
assumed."""

SEES_BELOW_M = 0.5
"""A person sees an edge from at most this far below it [m]; assumed."""

BY_HAND_M = 1.0
"""So far aside hands and feet bring whoever hangs close below an edge [m]; assumed."""

MOST_STEPS = 5000
"""A list that is longer with its repeats written out is not walked."""

Told = tuple[str, str]


def sees(depth_m: float, edge_depth_m: float) -> bool:
    """Tell whether a climber can see an edge: not from more than 0.5 m below it; assumed."""
    return depth_m <= edge_depth_m + SEES_BELOW_M


class Made(NamedTuple):
    """One step of a list with its repeats written out, and where its person is then."""

    path: Path_
    step: Step
    before_m: float
    after_m: float
    hung: bool  # before it


@dataclass
class _Person:
    """Somebody and how far they can get without those who wait for them."""

    made: list[Made]
    at: int = 0


def out_of_reach(
    scenario: Scenario, option: Option, starts_m: Mapping[str, float]
) -> Iterator[Told]:
    """Give (address, message) of each step that cannot be made from where its person hangs.

    Parameters: `starts_m`: person -> depth at which they first hang.

    What depends on how long climbs and descents take is left to the run: only what no order of
    events makes possible is named.
    """
    edges = placed_edges(scenario)
    people = {
        name: _Person(
            _made(
                scenario, name, Walk(name, edges, Shifting(scenario, option, name)), starts_m[name]
            )
        )
        for name in scenario.job
        if name in starts_m
    }
    moved = _moved_by_others(scenario)
    for name, person in people.items():
        lone = option.lines[name].safety is None
        for n, made in enumerate(person.made):
            if name not in moved:
                yield from _crossing(name, made, edges)
                yield from _fitting(name, made, edges)
                yield from _looking(name, made, edges)
            yield from _swapping(name, made, lone)
            if isinstance(made.step, TakeOver) and made.step.person in people:
                if not {name, made.step.person} & moved:
                    yield from _taking(people, name, n)
                yield from _after(people, name, n)


def too_far_aside(
    scenario: Scenario, option: Option, person: str, start_m: float, sections: Sequence[Section]
) -> Iterator[Told]:
    """Give (address, message) of each step that goes further aside than its rope lets anybody.

    A load on b of rope below the last point that it touches gets to b aside, and there only where
    the rope lies level.

    Parameters: `start_m`: depth at which the person first hangs; `sections`: of their lines.
    """
    if person in _moved_by_others(scenario):
        return
    told: set[Path_] = set()
    walk = Walk(person, placed_edges(scenario), Shifting(scenario, option, person))
    for made in _made(scenario, person, walk, start_m):
        aside = aside_of(scenario, made.step, address(made.path))
        if aside is None or aside.by_m <= BY_HAND_M or made.path in told:
            continue
        below_m = _below_last_m(sections, made.after_m)
        if aside.by_m > max(below_m, BY_HAND_M) + 1e-9:  # rounding of sums of depths
            told.add(made.path)
            yield (
                aside.address,
                f"{person!r} hangs on {below_m:.1f} m of rope below the last point it touches "
                f"and gets no further aside than that, not {aside.by_m:g} m",
            )


def climbed_out(
    scenario: Scenario, option: Option, person: str, start_m: float, sections: Sequence[Section]
) -> Iterator[Told]:
    """Give (address, message) of each climb for which there is not rope enough below a given bend.

    Depth there is counted from the last edge, and rope from where somebody took to it: what the
    weight stretched it by was let out over the edge before, and is not there to be climbed.

    Parameters: `start_m`: depth at which the person first hangs; `sections`: of their lines.
    """
    lines = [one for one in sections if one.direct and one.role != SAFETY and one.edges]
    if not lines or person in _moved_by_others(scenario) or person not in option.people:
        return
    drawn = drawn_below_m(scenario, option, lines[0], start_m)
    last, told = lines[0].edges[-1].name, set[Path_]()
    walk = Walk(person, placed_edges(scenario), Shifting(scenario, option, person))
    for made in _made(scenario, person, walk, start_m):
        if isinstance(made.step, Ascend) and made.after_m <= drawn and made.path not in told:
            told.add(made.path)
            most_m = floor(10.0 * (made.before_m - drawn)) / 10.0
            yield (
                address(made.path),
                f"ends {made.after_m:.2f} m below {last!r}, and no rope is left there: under the "
                f"weight of {person!r} rope and harness give by {drawn:.2f} m from "
                f"{start_m:g} m below it; climb at most {max(most_m, 0.0):g} m",
            )


def held_fast(
    scenario: Scenario, option: Option, person: str, start_m: float, sections: Sequence[Section]
) -> Iterator[Told]:
    """Give (address, message) of each step that lets rope through at a re-anchor where it cannot.

    Whoever hangs below a re-anchor gets fresh rope over edges only through that one: it is held
    fast there, or what comes through has lain over edges above, whose wear is not carried along.

    Parameters: `start_m`: depth at which the person first hangs; `sections`: of their lines.
    """
    refused = dict(_not_let_through(scenario, start_m, sections))
    if not refused or person in _moved_by_others(scenario):
        return
    shifting, told = Shifting(scenario, option, person), set[Path_]()
    walk = Walk(person, placed_edges(scenario), shifting)
    for made in _made(scenario, person, walk, start_m):
        for section, why in refused.items():
            if made.path not in told and _lets_through(shifting, made, section):
                told.add(made.path)
                hangs = f"lets rope through while {person!r} hangs on {section.anchor!r}"
                yield address(made.path), f"{hangs}, a re-anchor {why}"


def _not_let_through(
    scenario: Scenario, start_m: float, sections: Sequence[Section]
) -> Iterator[tuple[Section, str]]:
    """Give each section below a re-anchor that no rope may be let through at, and why."""
    above: list[str] = []
    for section in (one for one in sections if one.role != SAFETY):
        if isfinite(section.top_m) and above:
            yield (
                section,
                f"below {' and '.join(map(repr, dict.fromkeys(above)))}: the rope that comes "
                "through has lain over what is above, and takes wear from there along, which is "
                "not computed; leave the shift out, or shift above the re-anchor alone",
            )
        elif isfinite(section.top_m) and not scenario.anchors[section.anchor].releasable:
            yield (
                section,
                "that is not releasable: nothing would move at the edges below it; give it "
                "`releasable: yes` if it is, or leave the shift out",
            )
        for depth_m in (max(start_m, section.top_m), section.bottom_m):
            if isfinite(depth_m):
                laid = [section.edges[k] for k in lay(section, depth_m).edges]
                above += [edge.name for edge in laid if edge.kind == "edge"]


def _lets_through(shifting: Shifting, made: Made, section: Section) -> bool:
    """Whether a step lets rope through at the fixed point of a section."""
    if isinstance(made.step, ShiftRope):
        return section.top_m <= made.before_m < section.bottom_m
    if not isinstance(made.step, Ascend):
        return False
    climbed_m = min(made.before_m, section.bottom_m) - max(made.after_m, section.top_m)
    part = made.step.model_copy(update={"height": Measured.exact(climbed_m, "m")})
    return climbed_m > 0.0 and shifting.through_m(part) > 0.0


def _below_last_m(sections: Sequence[Section], depth_m: float) -> float:
    """Return the most rope that hangs free above somebody at a depth [m], on the working line."""
    working = [one for one in sections if one.role != SAFETY]
    loaded = [one for one in working if one.top_m <= depth_m <= one.bottom_m] or working
    return max((lay(one, depth_m).free_m[-1] for one in loaded), default=inf)


def _made(scenario: Scenario, name: str, walk: Walk, start_m: float) -> list[Made]:
    """Write a person's list out, with depths; empty where it is too long."""
    found: list[Made] = []
    here, hung = start_m, False
    for path, step in rounds(scenario.job[name], ("job", name)):
        after = walk.after(step, here)
        found.append(Made(path, step, here, after, hung))
        here, hung = after, hung or step.hangs_after(name)
        if len(found) > MOST_STEPS:
            return []
    return found


def _moved_by_others(scenario: Scenario) -> set[str]:
    """Gather whose depth depends on hauls and lowers that others make."""
    return {
        step.person
        for steps in scenario.job.values()
        for _, step in rounds(steps)
        if isinstance(step, Haul | Lower) and step.person is not None
    }


def _crossing(
    name: str, made: Made, edges: Mapping[str, tuple[float, float, float]]
) -> Iterator[Told]:
    step = made.step
    if not isinstance(step, CrossEdge) or not made.hung or step.edge not in edges:
        return
    apart_m = made.before_m - crossed_m(edges[step.edge])
    if abs(apart_m) > WITHIN_REACH_M:
        side = "below" if apart_m > 0 else "above"
        yield (
            address(made.path),
            f"{name!r} hangs {abs(apart_m):.1f} m {side} where {step.edge!r} is crossed; at most "
            f"{WITHIN_REACH_M:g} m is within reach: climb or descend to it first",
        )


def _fitting(
    name: str, made: Made, edges: Mapping[str, tuple[float, float, float]]
) -> Iterator[Told]:
    step = made.step
    if not isinstance(step, EdgeStep) or not made.hung or step.edge not in edges:
        return
    apart_m = made.before_m + edges[step.edge][2]
    if abs(apart_m) > WITHIN_REACH_M:
        side = "below" if apart_m > 0 else "above"
        yield (
            address(made.path),
            f"{name!r} hangs {abs(apart_m):.1f} m {side} {step.edge!r} and cannot {step.step}; at "
            f"most {WITHIN_REACH_M:g} m is within reach: do it at the edge, or let somebody there "
            "do it in a list of their own",
        )


def _looking(
    name: str, made: Made, edges: Mapping[str, tuple[float, float, float]]
) -> Iterator[Told]:
    step = made.step
    if not isinstance(step, Inspect) or not made.hung or not step.from_ or step.from_ not in edges:
        return
    below_m = made.before_m + edges[step.from_][2]
    if (step.by or name) == name and not sees(made.before_m, -edges[step.from_][2]):
        yield (
            address(made.path),
            f"{name!r} hangs {below_m:.1f} m below {step.from_!r} and cannot see it; at most "
            f"{SEES_BELOW_M:g} m below it can be seen: let somebody above it look (`by:`)",
        )


def _swapping(name: str, made: Made, lone: bool) -> Iterator[Told]:
    if isinstance(made.step, SwapRope) and made.hung and lone:
        yield (
            address(made.path),
            f"{name!r} hangs on one line and has none to hang on while it is replaced; a safety "
            "line is due, or the swap before anybody hangs on the rope",
        )


def _taking(people: Mapping[str, _Person], name: str, n: int) -> Iterator[Told]:
    """Hold a take-over against every place where the other person may be by then."""
    made = people[name].made[n]
    other = str(getattr(made.step, "person", ""))
    places = _places(people, name, n, other)
    if not places:
        return
    low, high = min(places), max(places)
    apart_m = max(low - made.before_m, made.before_m - high)
    if apart_m > WITHIN_REACH_M:
        where = f"{low:.1f} m" if high - low < 0.05 else f"between {low:.1f} and {high:.1f} m"
        yield (
            address(made.path),
            f"{name!r} is {made.before_m:.1f} m deep here and {other!r} hangs {where} deep by "
            f"then, {apart_m:.1f} m away; at most {WITHIN_REACH_M:g} m is within reach",
        )


def _places(people: Mapping[str, _Person], name: str, n: int, other: str) -> list[float]:
    """Give the depths at which somebody may hang when another has come to a step.

    From the last step that must be done by then (its event was waited for) to as far as they get
    without that step; empty where they need not hang at all.
    """
    before, theirs = people[name].made[:n], people[other].made
    far = {who: _Person(person.made) for who, person in people.items()}
    far[name].made = before
    _go(far)
    waited = {m.step.name for m in before if isinstance(m.step, WaitFor)}
    done = [k for k, m in enumerate(theirs) if isinstance(m.step, Event) and m.step.name in waited]
    first, last = max(done, default=-1) + 1, far[other].at
    taken = any(isinstance(m.step, TakeOver) and m.step.person == other for m in before)
    if taken or first > last or not theirs:
        return []
    if first == len(theirs):
        return [theirs[-1].after_m]
    if not theirs[first].hung:
        return []
    return [theirs[first].before_m, *(m.after_m for m in theirs[first:last])]


def _go(people: Mapping[str, _Person]) -> None:
    """Let everybody get as far as events allow, whatever takes how long."""
    raised = {m.step.name for p in people.values() for m in p.made if isinstance(m.step, Event)}
    happened: set[str] = set()
    moving = True
    while moving:
        moving = False
        for person in people.values():
            while person.at < len(person.made):
                step = person.made[person.at].step
                if isinstance(step, WaitFor) and step.name in raised - happened:
                    break
                if isinstance(step, Event):
                    happened.add(step.name)
                person.at, moving = person.at + 1, True


def _after(people: Mapping[str, _Person], name: str, n: int) -> Iterator[Told]:
    """Name the first step on their own line of somebody who is surely carried by then."""
    other = str(getattr(people[name].made[n].step, "person", ""))
    earlier = {m.step.name for m in people[name].made[:n] if isinstance(m.step, Event)}
    said = {m.step.name for m in people[name].made[n:] if isinstance(m.step, Event)} - earlier
    carried = False
    for made in people[other].made:
        if carried and made.step.hangs_after(other):
            yield (
                address(made.path),
                f"{other!r} hangs on the line of {name!r} by then, who took them over: no step on "
                "a rope of their own is possible any more",
            )
            return
        carried = carried or (isinstance(made.step, WaitFor) and made.step.name in said)
