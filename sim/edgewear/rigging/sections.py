"""Cutting a person's lines into sections: from a fixed point over its edges to the person."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from edgewear.geometry.points import Point
from edgewear.rigging.face import FacePoint, face
from edgewear.rigging.laying import led_track
from edgewear.rigging.model import EdgeOnLine, Section
from edgewear.rigging.profile import Profile, profile
from edgewear.rigging.survey import (
    beyond,
    beyond_first,
    fixed_points,
    forward,
    led_through,
    met_edges,
    on_line,
    place,
    placed_edges,
    track,
)
from edgewear.scenario.models.scenario import Line, Option, Scenario
from edgewear.scenario.models.steps import PlaceProtection
from edgewear.scenario.models.walking import leaves

PASSED_BELOW_M = 0.5
"""A person hangs on a re-anchor from this depth below it on; assumed."""


def cut(scenario: Scenario, option: Option, person: str) -> tuple[tuple[Section, ...], Profile]:
    """Return the sections of a person's lines, working line first, and the depths of the job.

    Sections that the job's depths never reach are left out: someone who starts below a re-anchor
    never loads the rope above it.
    """
    lines = option.lines[person]
    several = len(option.lines) > 1
    edges, last = placed_edges(scenario), last_m(scenario, option, person)
    depths = profile(scenario, option, person, edges, last)
    found: list[Section] = []
    for line in (lines.working, lines.safety):
        if line is not None:
            name = f"{person} {line.role}" if several else line.role
            sections = whole(scenario, option, person, line, name, depths.highest_m)
            found += _reached(sections, depths)
    return tuple(_led_alike(found)), depths


def _led_alike(found: list[Section]) -> list[Section]:
    """Lead a person's load on one way, whichever section they hang on: the working line's."""
    leads = [s for s in found if s.role == "working line" and s.track_m]
    leads.sort(key=lambda s: all(e.kind != "deviation" for e in s.edges))
    track_m = leads[0].track_m if leads else ()
    return [replace(s, track_m=track_m) for s in found]


def _reached(sections: list[Section], depths: Profile) -> list[Section]:
    used = [s for s in sections if s.bottom_m > depths.highest_m and s.top_m <= depths.deepest_m]
    return used or sections[-1:]


def last_m(scenario: Scenario, option: Option, person: str) -> float:
    """Return the depth of the working line's last edge [m]; of its fixed points without edges.

    0 where bends are given directly: depth is then counted from the last edge.
    """
    line = option.lines[person].working
    points = [place(scenario.anchors[name]) for name in fixed_points(line)]
    if line.over or not points or points[0] is None:
        return 0.0
    known = placed_edges(scenario)
    edges = [known[name] for name in beyond_first(points[0], known)]
    return max((-p[2] for p in edges or points if p is not None), default=0.0)


def whole(
    scenario: Scenario,
    option: Option,
    person: str,
    line: Line,
    name: str,
    highest_m: float = -inf,
) -> list[Section]:
    """Return every section of a line, whether the job reaches it or not.

    Parameters: `highest_m`: least depth of the job; a face that ends above it leads nobody.
    """
    if line.over or line.anchor is None:
        return [_direct(scenario, person, line, name)]
    names = fixed_points(line)
    points = [place(scenario.anchors[n]) for n in names]
    at = track(scenario, option, person)
    way = _way(scenario, option, person, at[0], highest_m)
    face_m = tuple((p.depth_m, p.out_m, at[1]) for p in way)
    found = []
    for k, (fixed, point) in enumerate(zip(names, points, strict=True)):
        if point is None:
            continue
        top = -inf if k == 0 else PASSED_BELOW_M - point[2]
        after = points[k + 1] if k + 1 < len(points) else None
        bottom = inf if after is None else PASSED_BELOW_M - after[2]
        if bottom <= top:
            continue
        edges = _along(scenario, line, point, k == 0, bottom)
        found.append(
            Section(
                line=name if k == 0 else f"{name} below {fixed}",
                role=line.role,
                person=person,
                rope=line.rope,
                anchor=fixed,
                anchor_m=point,
                edges=edges,
                direct=False,
                load_m=at,
                top_m=top,
                bottom_m=bottom,
                track_m=led_track(point, edges, at, face_m),
                face_m=face_m,
                knots_m=_knots_m(line),
            )
        )
    return found


def _way(
    scenario: Scenario, option: Option, person: str, plumb_m: float, highest_m: float
) -> tuple[FacePoint, ...]:
    """Return the way along the face, where a job gets so high that it counts."""
    way = face(met_edges(scenario, option, person), plumb_m)
    return way if way and highest_m < way[-1].depth_m else ()


def _direct(scenario: Scenario, person: str, line: Line, name: str) -> Section:
    edges = tuple(
        EdgeOnLine(
            name=passed.edge,
            start_m=(0.0, 0.0, 0.0),
            end_m=(0.0, 0.0, 0.0),
            protection=at_first(scenario, line, passed.edge),
            after_m=passed.after.value,
            bend_rad=passed.bend.value,
        )
        for passed in line.over
    )
    return Section(
        line=name,
        role=line.role,
        person=person,
        rope=line.rope,
        anchor=line.anchor or "anchor",
        anchor_m=(0.0, 0.0, 0.0),
        edges=edges,
        direct=True,
        load_m=(0.0, 0.0),
        top_m=-inf,
        bottom_m=inf,
        knots_m=_knots_m(line),
    )


def _knots_m(line: Line) -> tuple[float, ...]:
    return tuple(sorted(knot.value for knot in line.knots))


def _along(
    scenario: Scenario, line: Line, point: Point, first: bool, bottom_m: float
) -> tuple[EdgeOnLine, ...]:
    """Return what a section may touch, in order; edges below its use are left to the next one."""
    known = placed_edges(scenario)
    names = beyond_first(point, known) if first else beyond(point, known)
    edges = [
        on_line(scenario, line, name, at_first(scenario, line, name))
        for name in names
        if -known[name][2] < bottom_m
    ]
    led = [
        item
        for item in led_through(scenario, line)
        if (first or forward(item.start_m) > forward(point)) and -item.start_m[2] < bottom_m
    ]
    return tuple(sorted([*edges, *led], key=_order))


def _order(item: EdgeOnLine) -> float:
    """Return how far along a line something lies [m]; a frame stands before all edges near it."""
    middle = tuple(0.5 * (a + b) for a, b in zip(item.start_m, item.end_m, strict=True))
    return middle[0] - middle[2]


def at_first(scenario: Scenario, line: Line, edge: str) -> str | None:
    """Return the kind of protection on an edge when the job starts.

    An edge that a step of the job places protection on is bare until then.
    """
    if edge not in line.protect or edge in placed_later(scenario):
        return None
    return line.protect[edge].is_


def placed_later(scenario: Scenario) -> set[str]:
    """Return the edges that some step of the job places protection on."""
    return {
        step.edge
        for steps in scenario.job.values()
        for step in leaves(steps)
        if isinstance(step, PlaceProtection)
    }
