"""The ways of getting a casualty down or up: what each needs, and what of that is missing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil, isfinite, radians, tan

from edgewear import spelt
from edgewear.findings.rescue import Rescue
from edgewear.job.travel import REST_AT_STOP_S
from edgewear.procedure.rescue_ways.bears import (
    PICK_OFF,
    Draft,
    bears,
    own_lines_bear,
    rope_lasts,
)
from edgewear.procedure.rescue_ways.held_up import before_they_come
from edgewear.procedure.rescue_ways.kit import Found, for_haul, for_pick_off
from edgewear.procedure.rescue_ways.legs import Leg, fixed
from edgewear.procedure.rescue_ways.moment import people_of
from edgewear.procedure.rescue_ways.scene import (
    ON_TOP,
    Scene,
    cannot_reach,
    is_free,
    stands_on_top,
    where,
)
from edgewear.rigging.findings import figures
from edgewear.rigging.findings.further.hauls import HANDS_N
from edgewear.rigging.knots import knots_of, stopped_by
from edgewear.rigging.model import Section
from edgewear.rigging.sections import whole
from edgewear.scenario.models import steps as planned
from edgewear.scenario.models.people import Person
from edgewear.scenario.models.walking import leaves
from edgewear.scenario.text.quantities import Measured
from edgewear.terms import GRAVITY_M_S2, HAUL_SPEED_M_S, WORKING

RIGGING = Measured(
    value=180.0, low=60.0, high=600.0, unit="s", typed="180 s", basis="assumed",
    distribution="lognormal", pedigree="assumed",
)  # fmt: skip
"""Time to rig a haul or a lower at the anchor."""

KIT_ADVANTAGE = 3.0
"""Mechanical advantage of a haul kit of which nothing is said; assumed, 3-9."""

ASIDE_RAD = radians(25.0)
"""Two people who hang apart are drawn together until each hangs so far out of plumb; assumed,
15-30 degrees."""

BESIDE_M = 2.0
"""So far aside somebody is reached without being drawn together [m]; assumed."""

BELOW_EDGE_M = 1.0
"""A haul ends so far below the last edge [m], from where people on top take over; assumed."""


def every_way(scene: Scene) -> Iterator[Draft]:
    """Every way, by everybody who might come; what each lacks stands in its row."""
    own = people_of(scene.scenario, scene.option)
    others = {n: has for n, has in own.items() if n not in (scene.casualty, scene.held_by.name)}
    for name, has_lines in others.items():
        if has_lines:
            yield _pick_off(scene, name)
    yield _from_top(scene, "haul", list(others))
    yield _from_top(scene, "lower", list(others))


def _pick_off(scene: Scene, name: str) -> Draft:
    """Somebody comes along their own lines, takes the casualty over and goes down with them."""
    draft = Draft(_row(scene, PICK_OFF, name))
    who = scene.chosen.people[name]
    if lack := is_free(scene, name) or cannot_reach(scene, name):
        draft.lacks.append(lack)
        return draft.done()
    ground, top = scene.ground(), stands_on_top(scene, name)
    from_m = starts_from_m(scene, name)
    if scene.held_by.name != scene.casualty:
        draft.lacks.append(f"{scene.casualty} hangs on the lines of {scene.held_by.name}")
    elif carried := scene.held_by.carries:
        draft.lacks.append(f"{scene.casualty} carries {' and '.join(carried)}")
    _take(draft, for_pick_off(scene, name, from_m))
    if ground is None:
        draft.lacks.append("nothing is named below (`below`) where they could stand")
    down_m = scene.depth_m if ground is None else ground[1]
    own_lines_bear(scene, draft, name, down_m)
    _aside(scene, draft, name)
    if waits_s := scene.engaged.wait_s([name]):
        draft.legs.append(fixed("reach", "until free", waits_s))
    if lasting := scene.moment.busy_s.get(name):
        draft.legs.append(fixed("reach", "finishing a step", lasting))
    draft.legs += before_they_come(scene, name)
    if top:
        draft.legs += _over_the_edge(scene, name)
    draft.legs += _along_rope(scene, name, who, "reach", from_m, scene.depth_m)
    draft.legs.append(Leg("release", "taking over", scene.scenario.times.take_over))
    draft.legs += _along_rope(scene, name, who, "ground", scene.depth_m, down_m)
    both_kg = scene.mass_kg(name, scene.casualty)
    ends = "" if ground is None else f"{ground[0]}, {ground[1]:.1f} m deep"
    draft.row = replace(draft.row, load_kg=both_kg, ends_at=ends)
    return draft.done()


def lacks_under_way(scene: Scene, way: Rescue) -> tuple[str, ...]:
    """What a rescue that is under way lacks from now on; its kit is with those who carry it out.

    Parameters:
        scene: everybody where they are by now; they are called already, and heard no more.
        way: the rescue as it began.
    """
    hands = way.hands or (str(way.rescuer),)
    if way.method != PICK_OFF:
        gone = [why for name in hands if (why := is_free(scene, name))]
        return (*gone, *_from_top(scene, way.method, hands).row.missing)
    draft, ground = Draft(_row(scene, PICK_OFF, hands[0]), under_way=True), scene.ground()
    own_lines_bear(scene, draft, hands[0], scene.depth_m if ground is None else ground[1])
    if scene.held_by.name == scene.casualty:
        _aside(scene, draft, hands[0])
    return draft.done().row.missing


def _row(scene: Scene, method: str, rescuer: str | None) -> Rescue:
    at = "" if rescuer is None else where(scene, rescuer)
    return Rescue(scene.casualty, method, scene.depth_m, rescuer, at)


def starts_from_m(scene: Scene, name: str) -> float:
    """Where somebody hangs who comes, or first hangs when they come over the edges [m]."""
    if not stands_on_top(scene, name):
        return scene.moment.people[name].depth_m
    return max(scene.rim_m(name) + BELOW_EDGE_M, 0.0) if scene.scenario.edges else 0.0


def _take(draft: Draft, found: Found) -> None:
    """Let a way have its kit: what it takes to come by it, or what is missing."""
    draft.row = replace(draft.row, kit=found.words)
    if found.lack:
        draft.lacks.append(found.lack)
    if found.fetching is not None:
        draft.legs.append(found.fetching)


def _aside(scene: Scene, draft: Draft, name: str) -> None:
    """Hold how far aside the two hang against how far they can be drawn together."""
    section = scene.section(name, WORKING, scene.depth_m)
    theirs = scene.section(scene.held_by.name, scene.held_by.role, scene.depth_m)
    if section is None or theirs is None or section.direct or theirs.direct:
        return
    there_m = section.load_at(scene.depth_m)[1]
    aside_m = abs(there_m - scene.along_m(scene.held_by))
    free_m = sum(
        figures.hang(scene.scenario, scene.chosen, one, scene.depth_m).laid.free_m[-1]
        for one in (section, theirs)
    )
    most_m = max(BESIDE_M, free_m * tan(ASIDE_RAD))
    draft.row = replace(draft.row, sideways_m=aside_m)
    if aside_m > most_m:
        draft.lacks.append(
            f"{name} hangs {spelt.tenths(aside_m)} aside; at most {most_m:.1f} m is within "
            "reach here"
        )


def _over_the_edge(scene: Scene, name: str) -> Iterator[Leg]:
    steps = leaves(scene.scenario.job.get(name, ()))
    crossing = next((s for s in steps if isinstance(s, planned.CrossEdge)), None)
    usual = scene.scenario.times.cross_edge
    lasting = crossing.for_ if crossing is not None and crossing.for_ is not None else usual
    yield Leg("reach", "crossing the edge", lasting)


def _along_rope(
    scene: Scene, name: str, who: Person, stage: str, from_m: float, to_m: float
) -> Iterator[Leg]:
    """Down at the speed and with the stops of the person, up by their strokes; what is passed."""
    way_m = to_m - from_m
    if way_m > 0.0:
        stops = ceil(way_m / who.technique.stop_every.value)
        yield Leg(stage, f"{name} descends", who.technique.descent_speed, way_m)
        yield fixed(stage, "stops", stops * REST_AT_STOP_S)
    elif way_m < 0.0:
        one = who.technique
        cycle_s = one.rise_time.value + one.drop_time.value + one.pause_time.value
        yield Leg(stage, f"{name} climbs", one.rise, -way_m * cycle_s)
    for passed in _passed(scene, name, from_m, to_m):
        yield passed._replace(stage=stage)


def _passed(scene: Scene, name: str, from_m: float, to_m: float) -> Iterator[Leg]:
    """Fixed points and deviations between two depths of a person's working line."""
    line = scene.line_of(name, WORKING)
    if line is None:
        return
    low, high = min(from_m, to_m), max(from_m, to_m)
    times = scene.scenario.times
    sections = whole(scene.scenario, scene.chosen, name, line, name)
    for section in sections[1:]:
        if isfinite(section.top_m) and low < section.top_m <= high:
            yield Leg("", f"passing {section.anchor}", times.pass_re_anchor)
    for knot in knots_of(sections[0]) if sections else ():
        if low < knot.depth_m <= high:
            yield Leg("", f"passing {knot.name}", times.pass_knot)
    for led in line.deviations:
        up = scene.scenario.anchors[led.anchor].up
        if up is not None and low < -up.value <= high:
            yield Leg("", f"passing {led.anchor}", times.pass_deviation)


def _from_top(scene: Scene, method: str, others: Sequence[str]) -> Draft:
    """People on top haul the casualty up to the edge, or lower them to what is below."""
    free = [
        n for n in others
        if stands_on_top(scene, n) and not is_free(scene, n) and n not in scene.engaged.by
    ]  # fmt: skip
    draft = Draft(_row(scene, method, free[0] if free else None))
    if not free:
        draft.lacks.append("nobody who is free stands on top")
    held = scene.held_by
    section = scene.section(held.name, held.role, scene.depth_m)
    if section is None:
        return draft.done()
    if not scene.stands_at(section.anchor):
        where = "out over the drop" if scene.over_the_top(section.anchor) else "on the face"
        draft.lacks.append(f"{section.anchor} is {where}, where nobody can stand")
    if lost := scene.lost(section):
        draft.lacks.append(lost)
    load_kg = scene.mass_kg(held.name)
    draft.row = replace(draft.row, load_kg=load_kg)
    ground = scene.ground() if method == "lower" else None
    down_m = scene.depth_m if ground is None else ground[1]
    bears(scene, draft, held.name, held.role, load_kg * GRAVITY_M_S2, {held.name}, down_m)
    if waits_s := scene.engaged.wait_s(free):
        draft.legs.append(fixed("reach", "until free", waits_s))
    draft.legs.append(Leg("reach", f"rigging a {method}", RIGGING))
    (_haul if method == "haul" else _lower)(scene, draft, section, free)
    return draft.done()


def _haul(scene: Scene, draft: Draft, section: Section, free: Sequence[str]) -> None:
    _take(draft, for_haul(scene))
    hung = figures.hang(
        scene.scenario, scene.chosen, section, scene.depth_m, scene.mass_kg(scene.held_by.name)
        * GRAVITY_M_S2,
    )  # fmt: skip
    advantage, speed_m_s = _as_planned(scene)
    hands = len(free)
    pull_n = figures.haul_at_top_n(hung) / (advantage * max(hands, 1))
    typed = scene.scenario.limits.hands
    most_n = HANDS_N if typed is None else typed.value
    up_m = max(scene.depth_m - scene.rim_m(scene.held_by.name) - BELOW_EDGE_M, 0.0)
    _past_knots(scene, draft, section, up_m)
    draft.legs.append(fixed("ground", "hauling", up_m / speed_m_s))
    draft.legs.append(Leg("ground", "over the edge", scene.scenario.times.cross_edge))
    draft.row = replace(
        draft.row, hands=tuple(free), pull_n=pull_n, pull_limit_n=most_n, advantage=advantage,
        ends_at=ON_TOP,
    )  # fmt: skip
    if pull_n > most_n and hands:
        each = f"each of {hands} on top" if hands > 1 else f"{free[0]}, alone on top,"
        draft.lacks.append(f"{each} would pull {pull_n:.0f} N, more than {most_n:g} N")


def _as_planned(scene: Scene) -> tuple[float, float]:
    """Advantage and speed of the haul that the plan has for the casualty, else of the kit [1, m/s].

    Whose haul nothing is said of is raised by a haul kit.
    """
    for who, steps in scene.scenario.job.items():
        for step in leaves(steps):
            if isinstance(step, planned.Haul) and (step.person or who) == scene.casualty:
                speed = HAUL_SPEED_M_S if step.speed is None else step.speed.value
                return step.advantage.value, speed
    return KIT_ADVANTAGE, HAUL_SPEED_M_S


def _lower(scene: Scene, draft: Draft, section: Section, free: Sequence[str]) -> None:
    fixed_point = scene.scenario.anchors.get(section.anchor)
    if fixed_point is None or not fixed_point.releasable:
        draft.lacks.append(f"{section.anchor} is not releasable")
    ground = scene.ground()
    if ground is None:
        draft.lacks.append("nothing is named below (`below`) where they could stand")
        return
    rope_lasts(scene, draft, scene.held_by.name, scene.held_by.role, ground[1])
    _past_knots(scene, draft, section, scene.depth_m - ground[1])
    draft.legs.append(fixed("ground", "lowering", (ground[1] - scene.depth_m) / HAUL_SPEED_M_S))
    draft.row = replace(draft.row, ends_at=f"{ground[0]}, {ground[1]:.1f} m deep")


def _past_knots(scene: Scene, draft: Draft, section: Section, up_m: float) -> None:
    """Hold a haul or a lower against the knots that it would pull past edges or the fixed point."""
    for knot in stopped_by(section, scene.depth_m, up_m):
        draft.lacks.append(f"{knot} would have to pass an edge or {section.anchor}")
