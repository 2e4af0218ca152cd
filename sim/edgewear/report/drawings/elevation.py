"""Drawings to scale: plain linework with words, working line solid, safety line dashed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from edgewear.report.drawings import labels, linework, svg
from edgewear.report.drawings.scene import Mark, Scene, Stop, Swing
from edgewear.report.drawings.view import LARGE, SMALL, Frame, Plane, View, cut, scale_bar, view_of
from edgewear.report.parts.words import degrees
from edgewear.report.parts.words import metres as words_of
from edgewear.terms import SAFETY, WORKING

UNEVEN = 4
"""So many labels more may stand on one side before some move to the other."""


def whole(scene: Scene, identity: str, title: str, frame: Frame = SMALL) -> str:
    """Draw the whole elevation of an option.

    Parameters:
        scene: at least one line or mark.
        identity: unique on the page.
        title: names the option.
        frame: size of the picture.
    """
    return picture(scene, view_of(scene.points, frame), identity, f"{title}: elevation")


def has_detail(scene: Scene) -> bool:
    """Tell whether the edges lie too close together to be read in the whole elevation."""
    edges = [mark.at for mark in scene.marks if mark.kind == "edge"]
    if len(edges) < 2:
        return False
    return _spread(edges) * view_of(scene.points, LARGE).units_per_m < 100


def detail(scene: Scene, identity: str, title: str) -> str:
    """Draw the surroundings of the edges at a larger scale.

    Parameters:
        scene: at least one edge.
        identity: unique on the page.
        title: names the option.
    """
    edges = [mark.at for mark in scene.marks if mark.kind == "edge"]
    room = max(0.35 * _spread(edges), 0.3)
    xs, zs = [x for x, _ in edges], [z for _, z in edges]
    corners = [(min(xs) - room, min(zs) - room), (max(xs) + room, max(zs) + room)]
    view = view_of(corners)
    near = replace(scene, marks=tuple(mark for mark in scene.marks if view.inside(mark.at)))
    return picture(near, view, identity, f"{title}: detail at the edges")


def plan(scene: Scene, identity: str, title: str) -> str:
    """Draw a scene as it is seen from above: edges as lines, swings as arrows.

    Parameters:
        scene: of `from_above`.
        identity: unique on the page.
        title: names the option.
    """
    view = view_of(_near_people(scene))
    shown = tuple(replace(mark, note="") for mark in scene.marks if view.inside(mark.at))
    return picture(replace(scene, marks=shown), view, identity, f"{title}: plan")


def _near_people(scene: Scene) -> list[Plane]:
    """Give corners around the edges and the people, as wide as things lie apart along them."""
    edges = [mark.at for mark in scene.marks if mark.kind == "edge"]
    people = [course.stops[-1].at for course in scene.courses if course.stops]
    outs = [out for out, _ in edges + people]
    alongs = [along for _, along in scene.points + [swing.end for swing in scene.swings]]
    apart = max(alongs) - min(alongs)
    low, high = min(alongs) - 0.15 * apart, max(alongs) + 0.15 * apart
    return [(min(outs) - apart, low), (max(outs) + 0.3 * apart, high)]


def _spread(points: Sequence[Plane]) -> float:
    return max(
        max(x for x, _ in points) - min(x for x, _ in points),
        max(z for _, z in points) - min(z for _, z in points),
    )


def picture(scene: Scene, view: View, identity: str, title: str) -> str:
    """Draw a scene at a scale that is given.

    Parameters:
        scene: at least one line or mark.
        view: the scale; identity: unique on the page; title: names what is shown.
    """
    body = _body(scene, view)
    words, lowest = labels.draw(_labels(scene, view), view.frame.width, view.frame.column)
    base = max(lowest, view.bottom) + 22
    bar = scale_bar(view, base)
    key, begins = _key(scene, view.frame.width)
    row = base if begins > view.frame.column + 140 else base + 18  # 140: the bar and its words
    return svg.picture(
        (view.frame.width, row + 12),
        title,
        describe(scene),
        *words,
        *body,
        *bar,
        *(part for style, said, x in key for part in _entry(style, said, (x, row))),
        identity=identity,
        data_units_per_m=f"{view.units_per_m:.6g}",
    )


def _body(scene: Scene, view: View) -> list[str]:
    courses = linework.safety_last(scene.courses)
    edges = [mark for mark in scene.marks if mark.kind == "edge"]
    body = [part for mark in edges for part in _edge(mark, scene, view)]
    body += [part for course in courses for part in linework.on_edges(course, scene, view)]
    body += [part for course in courses for part in linework.lines(course, scene, view)]
    for mark in scene.marks:
        x, y = _drawn(mark, scene, view)
        if mark.kind == "edge":
            body.append(svg.element("circle", cx=x, cy=y, r=1.8, class_="edge"))
        else:
            body.append(svg.element("rect", x=x - 3, y=y - 3, width=6, height=6, class_="anchor"))
    for (x, y), _, _ in _people(scene, view):
        body.append(svg.element("circle", cx=x, cy=y, r=3.2, class_="person"))
    for swing in scene.swings:
        body += _swing(swing, view)
    return body


def _drawn(mark: Mark, scene: Scene, view: View) -> svg.Xy:
    """Give where a mark is drawn: an anchor with the line that starts there."""
    x, y = view.at(mark.at)
    if mark.kind != "edge":
        for course in linework.safety_last(scene.courses):
            if any(stop.name == mark.name for stop in course.stops):
                right, down = linework.aside(course, scene)
                return x + right, y + down
    return x, y


def _edge(mark: Mark, scene: Scene, view: View) -> list[str]:
    """Draw an edge: its structure from the side, its length from above."""
    if mark.ends is None:
        return linework.structure(mark, scene, view)
    shown = cut(*mark.ends, view)
    return [] if shown is None else [svg.line(view.at(shown[0]), view.at(shown[1]), "face")]


def _swing(swing: Swing, view: View) -> list[str]:
    """Draw an arrow from where somebody hangs to where they come to rest."""
    (x1, y1), (x2, y2) = view.at(swing.start), view.at(swing.end)
    way = math.copysign(1.0, y2 - y1)
    return [
        svg.line((x1 + 8, y1), (x2 + 8, y2), "rule"),
        svg.path([(x2 + 5, y2 - 5 * way), (x2 + 8, y2), (x2 + 11, y2 - 5 * way)], "rule"),
    ]


def _labels(scene: Scene, view: View) -> list[labels.Label]:
    middle = view.at(((view.left + view.right) / 2, 0.0))[0]
    found = [(_drawn(mark, scene, view), mark.name, mark.note) for mark in scene.marks]
    found += _people(scene, view)
    for swing in scene.swings:
        x, y = view.at(swing.end)
        words = f"swings {words_of(math.dist(swing.start, swing.end))}"
        found.append(((x + 8, y), swing.person, words))
    placed = [labels.Label(at, name, note, at[0] < middle) for at, name, note in found]
    return _balanced(placed)


def _people(scene: Scene, view: View) -> list[tuple[svg.Xy, str, str]]:
    """Give where each person is drawn, their name, and that it is their lowest place.

    On their working line, or where that is not in the picture on their safety line.
    """
    last: dict[str, tuple[Plane, svg.Xy]] = {}
    works = {course.person for course in scene.courses if course.working}
    for course in scene.courses:
        told = course.working or course.person not in works
        if course.stops and told and view.inside(course.stops[-1].at):
            last[course.person] = course.stops[-1].at, linework.aside(course, scene)
    return [
        ((view.at(at)[0] + right, view.at(at)[1] + down), person or "person", "lowest place")
        for person, (at, (right, down)) in last.items()
    ]


def _balanced(placed: list[labels.Label]) -> list[labels.Label]:
    """Move labels to the emptier side when one side holds many more than the other."""
    placed = sorted(placed, key=lambda label: label.at[0])
    left = sum(label.left for label in placed)
    while left > len(placed) - left + UNEVEN:
        left -= 1
        placed[left] = replace(placed[left], left=False)
    while len(placed) - left > left + UNEVEN:
        placed[left] = replace(placed[left], left=True)
        left += 1
    return placed


def _key(scene: Scene, width: float) -> tuple[list[tuple[str, str, float]], float]:
    """Give the entries of the key with their places from the right, and where the first begins."""
    stops = [stop for course in scene.courses for stop in course.stops]
    kinds = [("working", WORKING)] * any(c.working for c in scene.courses)
    kinds += [("safety", SAFETY)] * any(not c.working for c in scene.courses)
    kinds += [("cover", "protection")] * any(stop.protection for stop in stops)
    kinds += [("worn key", "worn")] * any((s.worn or 0) >= linework.LEAST_WORN for s in stops)
    found: list[tuple[str, str, float]] = []
    x = width
    for style, words in reversed(kinds):
        x -= svg.width_of(words) + 26
        found.append((style, words, x))
        x -= 8
    return found, x


def _entry(style: str, words: str, at: svg.Xy) -> list[str]:
    x, y = at
    return [
        svg.line((x, y), (x + 18, y), style),
        svg.text([words], (x + 22, y + 3), class_="note"),
    ]


def _stop(stop: Stop, unrolled: bool) -> str:
    """Say where a stop is; where places are not known, how far along the rope and how it turns."""
    if not unrolled:
        return f"{stop.name} ({stop.at[0]:.2f} m out, {stop.at[1]:.2f} m up)"
    after = f"{words_of(stop.after_m)} of rope on" if stop.after_m else ""
    turns = f"turns {degrees(stop.bend_deg)}" if stop.bend_deg else ""
    told = ", ".join(part for part in (after, turns) if part)
    return f"{stop.name} ({told})" if told else stop.name


def describe(scene: Scene) -> str:
    """Say in words what an elevation shows, for a reader who cannot see it."""
    sentences = []
    for course in linework.safety_last(scene.courses):
        stops = ", ".join(_stop(stop, scene.unrolled) for stop in course.stops)
        sentences.append(f"{course.name}: {stops}.")
    if scene.unrolled:
        sentences.append("Drawn from lengths and bends; no coordinates were surveyed.")
    return " ".join(sentences) or "Nothing was surveyed."
