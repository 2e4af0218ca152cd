"""All that rigging has to say of an option, kept with a study for its report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import degrees, isfinite

from edgewear.findings.rigging import (
    Assumed,
    Caught,
    Facts,
    PointLoad,
    Pull,
    RopeFacts,
    SectionFacts,
    TouchedEdge,
    WorkMove,
)
from edgewear.geometry.loads import Load, fixing_loads_n
from edgewear.rigging.contacts import places_used
from edgewear.rigging.findings import figures
from edgewear.rigging.findings.bearing import bears, slung
from edgewear.rigging.findings.control import cover_words, line_of
from edgewear.rigging.findings.every_step import places
from edgewear.rigging.findings.further.hauled import hauled, hauls, may_be_hauled
from edgewear.rigging.findings.independence import independence_words
from edgewear.rigging.findings.remarks import (
    stand_offs,
    sunk_onto,
    under_re_anchors,
    unknown_pasts,
)
from edgewear.rigging.findings.survey_meanings import words
from edgewear.rigging.findings.transfers import (
    Depths,
    long_catches,
    transfers,
    work_depth,
)
from edgewear.rigging.lengths import BODY_M, KNOT_M, LOOP_M, SLACK_M, STANDS_M, TIED_M, rope_need
from edgewear.rigging.model import Rigged, Section
from edgewear.rigging.profile import BELOW_CROSSED_EDGE_M, HIGHEST_BELOW_EDGE_M
from edgewear.rigging.rig import Layout, option_of, rigged
from edgewear.rigging.sections import PASSED_BELOW_M
from edgewear.rigging.survey import STAND_OFF
from edgewear.scenario.models.scenario import Anchor, Option, Scenario
from edgewear.scenario.working import work_rows
from edgewear.terms import GRAVITY_M_S2, LOADED_BEND_RAD, WORKING

ASSUMED = (
    Assumed("stand-off of the body beyond the outermost edge", STAND_OFF.value, 0.2, 0.5),
    Assumed("depth at which a re-anchor is passed, below it", PASSED_BELOW_M, 0.3, 1.0),
    Assumed("start below an edge just crossed", BELOW_CROSSED_EDGE_M, 1.0, 2.0),
    Assumed("highest point below the last edge", HIGHEST_BELOW_EDGE_M, 2.0, 4.0),
    Assumed("slack in an unloaded safety line", SLACK_M, 0.0, 0.5),
    Assumed("rope in knots and below the lowest device", TIED_M, 1.0, 2.0),
    Assumed("rope in a knot that devices are passed over", KNOT_M, 0.5, 1.2),
    Assumed("slack loop at a re-anchor", LOOP_M, 0.5, 1.5),
    Assumed("harness to feet", BODY_M, 1.0, 1.4),
    Assumed("stands on what lies below, feet so near it", STANDS_M, 0.2, 0.5),
)
"""What rigging takes for granted, with its range [m]."""


def facts(scenario: Scenario, option_name: str, depths: Depths | None = None) -> Facts:
    """Return everything that a report says of an option's rigging.

    Parameters: `depths`: where a run has people hang, for what a catch does, as in `transfers`.

    Raises: UsageError for a name the scenario does not have.
    """
    option = option_of(scenario, option_name)
    hung_m = {
        who: [place.depth_m for place in places(scenario, who, by_step)]
        for who, by_step in (depths or {}).items()
    }
    laid = Layout(scenario, option, list(option.lines), hung_m)
    whole = rigged(laid, option_name)
    shared = [s for who in option.lines for s in laid.shared(who)]
    caught = transfers(scenario, option, laid, depths)
    loads = tuple(_loads(scenario, option, laid, caught))
    count = max(1 + (pair.safety is not None) for pair in option.lines.values())
    return Facts(
        option=option_name,
        control=whole.control,
        why_not_higher=whole.why_not_higher,
        status=whole.status,
        edge_levels=whole.edge_levels,
        start_depth_m=whole.start_depth_m,
        starts_m=whole.starts_m,
        shared=whole.shared,
        independence=independence_words(shared, count),
        warnings=whole.warnings,
        mind=(
            *laid.bare_edges,
            *laid.not_led_over,
            *laid.off_in_work,
            *laid.off_in_catch,
            *long_catches(caught),
            *stand_offs(scenario, option),
            *under_re_anchors(scenario, option),
            *sunk_onto(laid.sections, laid.loadable),
            *unknown_pasts(scenario, laid.sections),
            *laid.hard_hauls,
        ),
        catches=tuple(one.parts for one in long_catches(caught)),
        bare_edges=tuple(bare.parts for bare in laid.bare_edges),
        drawing=whole.drawing,
        sections=tuple(_sections(scenario, option, laid, whole)),
        loads=loads,
        transfers=caught,
        ropes=tuple(_ropes(scenario, option, laid)),
        words=words(scenario),
        assumed=ASSUMED,
        work=tuple(WorkMove(**row) for row in work_rows(scenario)),
        bears=bears(scenario, option, laid.covered, loads, caught),
        slings=slung(scenario, option, laid.covered),
    )


def _sections(
    scenario: Scenario, option: Option, laid: Layout, whole: Rigged
) -> Iterator[SectionFacts]:
    for number, section in enumerate(laid.covered):
        depth = work_depth(laid, section)
        hung = figures.hang(scenario, option, section, depth)
        sliding, stuck = figures.bounce_hz(scenario, option, hung)
        edges = [e.name for e in section.edges if e.kind == "edge"]
        yield SectionFacts(
            line=section.line,
            role=section.role,
            person=section.person,
            rope=section.rope,
            anchor=section.anchor,
            from_m=section.top_m,
            to_m=section.bottom_m,
            work_depth_m=depth,
            load_n=hung.load_n,
            free_m=hung.laid.free_m,
            stretch_m=figures.hang_stretch_m(scenario, hung),
            frequency_sliding_hz=sliding,
            frequency_stuck_hz=stuck,
            haul_at_top_n=figures.haul_at_top_n(hung),
            edges=tuple(_edge(laid, whole, number, hung, k) for k in range(len(hung.ratios))),
            covers={edge: cover_words(scenario, option, section, edge) for edge in edges},
        )


def _edge(
    laid: Layout, whole: Rigged, number: int, hung: figures.Hung, touched: int
) -> TouchedEdge:
    section = laid.covered[number]
    item = section.edges[hung.laid.edges[touched]]
    bend = hung.laid.bends_rad[touched]
    contact = next(c for c in laid.contacts if c.section == number and c.edge == item.name)
    return TouchedEdge(
        name=item.name,
        kind=item.kind,
        protection=item.protection,
        level=whole.edge_levels.get(item.name) if section.role == "working line" else None,
        setback_m=hung.laid.setback_m(touched),
        below_m=sum(hung.laid.free_m[touched + 1 :]),
        bend_deg=degrees(bend),
        loaded=bend > LOADED_BEND_RAD,
        tension_ratio=hung.ratios[touched],
        tension_n=hung.tensions_n[touched + 1],
        load=_pull(hung.at(touched)),
        sideways_m=contact.aside_m,
    )


def _pull(load: Load | None) -> Pull | None:
    return None if load is None else Pull(load.size_n, tuple(load.direction))


def _loads(
    scenario: Scenario, option: Option, laid: Layout, caught: Sequence[Caught]
) -> Iterator[PointLoad]:
    """Give the load on each fixed and led point in work, in a haul, in a rescue and in a catch.

    In work: the largest push of the legs. Rescue: a second person's weight hangs on the line, or
    the weight of those that the plan lets the person take over if that is more. Friction at the
    edges is left out, the careful end; a run gives the peaks with it. Haul, where the plan has
    one: with friction at its careful end, which adds to it. Deviations: the largest over all
    places of the job, for the bend there changes with depth and with the way aside.
    """
    hauled_at = hauls(scenario)
    for section in laid.covered:
        depth = work_depth(laid, section)
        weight = figures.weight_n(scenario, option, section.person)
        who = option.people.get(section.person)
        second = figures.RESCUE_KG * GRAVITY_M_S2 if who is not None else 0.0
        mine = [one for one in caught if one.line == section.line]
        places = (
            places_used(scenario, option, section, laid.profiles[section.person])
            if any(item.kind == "deviation" for item in section.edges)
            else []
        )
        cases = {"rescue": max([weight + second, *(one.mass_kg * GRAVITY_M_S2 for one in mine)])}
        if section.role == "working line" or option.both_lines_loaded:
            cases["in work"] = weight * (who.force_ratio.value if who is not None else 1.0)
        if mine:
            cases["catch"] = max(one.peak_careful_n for one in mine)
        for case, load_n in cases.items():
            hung = figures.hang(scenario, option, section, depth, load_n, slippery=True)
            led = [
                figures.hang(scenario, option, section, depth_m, load_n, True, aside_m)
                for depth_m, aside_m in places
            ]
            yield from _points(scenario, option, hung, led, case)
        if section.role == WORKING and section.person in hauled_at and who is not None:
            speed = hauled_at[section.person]
            yield from _in_a_haul(scenario, option, laid, section, places, speed)


def _in_a_haul(
    scenario: Scenario,
    option: Option,
    laid: Layout,
    section: Section,
    places: Sequence[tuple[float, float]],
    speed_m_s: float,
) -> Iterator[PointLoad]:
    """Give the load on each point of a section that the plan hauls, from the deepest place."""
    depths = laid.profiles[section.person]
    if may_be_hauled(scenario, section, depths):
        deepest_m = min(section.bottom_m, max(section.top_m, depths.deepest_m))
        hung, *led = [
            hauled(scenario, option, section, depth_m, speed_m_s, aside_m)
            for depth_m, aside_m in ((deepest_m, 0.0), *places)
        ]
        yield from _points(scenario, option, hung, led, "haul")


def _points(
    scenario: Scenario,
    option: Option,
    hung: figures.Hung,
    led: Sequence[figures.Hung],
    case: str,
) -> Iterator[PointLoad]:
    section, pull = hung.section, _pull(hung.anchor())
    size_n, direction = hung.tensions_n[0], None if pull is None else pull.direction
    anchor = scenario.anchors.get(section.anchor)
    use = "re-anchor" if isfinite(section.top_m) else "anchor"
    rated_n = None if anchor is None else anchor.strength.value
    yield _point(section.anchor, use, section.line, case, size_n, direction, anchor, rated_n)
    strengths = {d.anchor: d.strength.value for d in line_of(option, section).deviations}
    largest: dict[int, Load] = {}
    for one in (hung, *led):
        for touched, k in enumerate(one.laid.edges):
            load = one.at(touched)
            if section.edges[k].kind != "edge" and load.size_n > 0.0:
                largest[k] = max(largest.get(k, load), load, key=lambda each: each.size_n)
    for k, item in enumerate(section.edges):
        if k in largest:
            load, fixed = largest[k], scenario.anchors[item.name]
            rated_n = min(fixed.strength.value, strengths.get(item.name, fixed.strength.value))
            yield _point(
                item.name, item.kind, section.line, case, load.size_n, tuple(load.direction),
                fixed, rated_n,
            )  # fmt: skip


def _point(
    name: str,
    use: str,
    line: str,
    case: str,
    size_n: float,
    direction: tuple[float, ...] | None,
    fixed: Anchor | None,
    rated_n: float | None,
) -> PointLoad:
    kind = fixed.kind if fixed is not None else "single"
    each_n = tuple(fixing_loads_n(kind, size_n))
    return PointLoad(name, use, line, case, size_n, direction, kind, each_n, rated_n)


def _ropes(scenario: Scenario, option: Option, laid: Layout) -> Iterator[RopeFacts]:
    for who, pair in option.lines.items():
        for line in (pair.working, pair.safety):
            if line is not None:
                need = rope_need(scenario, option, who, line, laid.profiles[who])
                yield RopeFacts(
                    need.line, need.rope, need.available_m, need.needed_m, need.tail_m,
                    need.stopper, need.through_m,
                )  # fmt: skip
