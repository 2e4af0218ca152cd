"""Side elevations to scale: plain linework with words, working line solid, safety line dashed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from edgewear.report.drawings import labels, svg
from edgewear.report.drawings.scene import Course, Mark, Plane, Scene
from edgewear.report.parts.words import metres as words_of
from edgewear.terms import SAFETY, WORKING

WIDTH = 420.0
COLUMN = 96.0
TOP = 12.0
ROOM = (WIDTH - 2 * COLUMN - 30, 210.0)
"""Room for the linework itself, width and height [drawing unit]."""

UNEVEN = 4
"""So many labels more may stand on one side before some move to the other."""

BESIDE = 2.6
"""How far a safety line is drawn beside a working line whose path it shares [drawing unit]."""


@dataclass(frozen=True)
class View:
    """From metres to drawing units, the same in both directions."""

    units_per_m: float
    origin: svg.Xy  # where (left, high) falls
    left: float
    high: float
    right: float
    low: float

    def at(self, point: Plane) -> svg.Xy:
        """Give the place of a point.

        Parameters:
            point: out, up [m].
        """
        return (
            self.origin[0] + (point[0] - self.left) * self.units_per_m,
            self.origin[1] + (self.high - point[1]) * self.units_per_m,
        )


def view_of(points: Sequence[Plane]) -> View:
    """Choose the largest scale at which all points fit.

    Parameters:
        points: out, up [m]; at least one.
    """
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(z for _, z in points), max(z for _, z in points)
    wide, tall = max(right - left, 1e-3), max(high - low, 1e-3)
    scale = min(ROOM[0] / wide, ROOM[1] / tall)
    start = COLUMN + 15 + (ROOM[0] - scale * wide) / 2
    return View(scale, (start, TOP + 10), left, high, right, low)


def whole(scene: Scene, identity: str, title: str) -> str:
    """Draw the whole elevation of an option.

    Parameters:
        scene: at least one line or mark.
        identity: unique on the page.
        title: names the option.
    """
    return _picture(scene, view_of(scene.points), identity, f"{title}: elevation")


def has_detail(scene: Scene) -> bool:
    """Tell whether the edges lie too close together to be read in the whole elevation."""
    edges = [mark.at for mark in scene.marks if mark.kind == "edge"]
    if len(edges) < 2:
        return False
    scale = view_of(scene.points).units_per_m
    return _spread(edges) * scale < 60


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
    cut = replace(scene, marks=tuple(mark for mark in scene.marks if _inside(mark.at, view)))
    return _picture(cut, view, identity, f"{title}: detail at the edges")


def _spread(points: Sequence[Plane]) -> float:
    return max(
        max(x for x, _ in points) - min(x for x, _ in points),
        max(z for _, z in points) - min(z for _, z in points),
    )


def _inside(point: Plane, view: View) -> bool:
    return view.left <= point[0] <= view.right and view.low <= point[1] <= view.high


def _picture(scene: Scene, view: View, identity: str, title: str) -> str:
    body = [part for course in _safety_last(scene.courses) for part in _course(course, scene, view)]
    body += [part for mark in scene.marks for part in _mark(mark, scene, view)]
    for at, _, _ in _people(scene, view):
        x, y = view.at(at)
        body.append(svg.element("circle", cx=x, cy=y, r=3.2, class_="person"))
    words, lowest = labels.draw(_labels(scene, view), WIDTH, COLUMN)
    drawn = view.origin[1] + (view.high - view.low) * view.units_per_m
    base = max(lowest, drawn) + 20
    bar = _scale_bar(view, base)
    key = _key(scene, base)
    return svg.picture(
        (WIDTH, base + 12),
        title,
        describe(scene),
        *words,
        *body,
        *bar,
        *key,
        identity=identity,
        data_units_per_m=f"{view.units_per_m:.6g}",
    )


def _safety_last(courses: Iterable[Course]) -> list[Course]:
    return sorted(courses, key=lambda course: not course.working)


def _course(course: Course, scene: Scene, view: View) -> list[str]:
    aside = 0.0 if course.working or not _shared(course, scene) else BESIDE
    style = "working" if course.working else "safety"
    parts = []
    for start, end in zip(course.stops, course.stops[1:], strict=False):
        cut = _cut(start.at, end.at, view)
        if cut is None:
            continue
        (x1, y1), (x2, y2) = view.at(cut[0]), view.at(cut[1])
        parts.append(
            svg.line(
                (x1 + aside, y1 - aside),
                (x2 + aside, y2 - aside),
                style,
                data_from=start.name,
                data_to=end.name,
                data_m=f"{math.dist(*cut):.6g}",
            )
        )
        if course.working and cut == (start.at, end.at) and math.dist((x1, y1), (x2, y2)) > 55:
            parts.append(_measure((x1, y1), (x2, y2), end.after_m or math.dist(*cut)))
    return parts


def _measure(start: svg.Xy, end: svg.Xy, length_m: float) -> str:
    """Write a length beside the middle of a leg: above a flat one, left of a steep one."""
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    words = [words_of(length_m)]
    if abs(end[0] - start[0]) > abs(end[1] - start[1]):
        return svg.text(words, (x, y - 5), "middle", "note")
    return svg.text(words, (x - 6, y + 4), "end", "note")


def _shared(course: Course, scene: Scene) -> bool:
    legs = {(a.at, b.at) for a, b in zip(course.stops, course.stops[1:], strict=False)}
    return any(
        other.working and legs & set(zip(*_ends(other), strict=False)) for other in scene.courses
    )


def _ends(course: Course) -> tuple[list[Plane], list[Plane]]:
    places = [stop.at for stop in course.stops]
    return places, places[1:]


def _cut(start: Plane, end: Plane, view: View) -> tuple[Plane, Plane] | None:
    """Keep the part of a straight line inside the view (Liang and Barsky's parametric clipping)."""
    (x0, z0), (x1, z1) = start, end
    first, last = 0.0, 1.0
    for step, room in (
        (x0 - x1, x0 - view.left),
        (x1 - x0, view.right - x0),
        (z0 - z1, z0 - view.low),
        (z1 - z0, view.high - z0),
    ):
        slack = room + 1e-9
        if step == 0:
            if slack < 0:
                return None
        elif step < 0:
            first = max(first, slack / step)
        else:
            last = min(last, slack / step)
    if first >= last:
        return None
    return (
        (x0 + first * (x1 - x0), z0 + first * (z1 - z0)),
        (x0 + last * (x1 - x0), z0 + last * (z1 - z0)),
    )


def _mark(mark: Mark, scene: Scene, view: View) -> list[str]:
    x, y = view.at(mark.at)
    if mark.kind != "edge":
        return [svg.element("rect", x=x - 3, y=y - 3, width=6, height=6, class_="anchor")]
    ways = _ways(mark, scene)
    parts = [svg.element("circle", cx=x, cy=y, r=1.8, class_="edge")]
    return parts if ways is None else _structure((x, y), ways) + parts


def _ways(mark: Mark, scene: Scene) -> tuple[svg.Xy, svg.Xy] | None:
    """Directions, in drawing units, from an edge to the points before and after it on a line."""
    for course in _safety_last(scene.courses):
        for before, here, after in zip(
            course.stops, course.stops[1:], course.stops[2:], strict=False
        ):
            if here.kind == "edge" and here.name == mark.name:
                return _towards(here.at, before.at), _towards(here.at, after.at)
    return None


def _towards(start: Plane, end: Plane) -> svg.Xy:
    length = math.dist(start, end) or 1.0
    return (end[0] - start[0]) / length, (start[1] - end[1]) / length


def _structure(at: svg.Xy, ways: tuple[svg.Xy, svg.Xy]) -> list[str]:
    """Draw the solid behind an edge: two short faces inside the bend, hatched."""
    (ax, ay), (bx, by) = ways
    inward = (ax + bx, ay + by)
    size = math.hypot(*inward)
    if size < 0.02:
        return []
    ux, uy = inward[0] / size, inward[1] / size
    corner = (at[0] + 2.4 * ux, at[1] + 2.4 * uy)
    arm = 15.0
    faces = [(corner[0] + arm * x, corner[1] + arm * y) for x, y in ((ax, ay), (bx, by))]
    parts = [svg.path([faces[0], corner, faces[1]], "face")]
    for share in (0.3, 0.6, 0.9):
        for x, y in ((ax, ay), (bx, by)):
            start = (corner[0] + arm * share * x, corner[1] + arm * share * y)
            parts.append(svg.line(start, (start[0] + 4 * ux, start[1] + 4 * uy), "hatch"))
    return parts


def _labels(scene: Scene, view: View) -> list[labels.Label]:
    found = [(mark.at, mark.name, mark.note) for mark in scene.marks]
    found += _people(scene, view)
    middle = (view.left + view.right) / 2
    placed = [labels.Label(view.at(at), name, note, at[0] < middle) for at, name, note in found]
    return _balanced(placed)


def _people(scene: Scene, view: View) -> list[tuple[Plane, str, str]]:
    lowest: dict[str, Plane] = {}
    for course in scene.courses:
        if not course.stops or not course.working:
            continue
        at = course.stops[-1].at
        if _inside(at, view) and at[1] < lowest.get(course.person, (0.0, math.inf))[1]:
            lowest[course.person] = at
    return [(at, person or "person", "lowest place") for person, at in lowest.items()]


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


def nice(length: float) -> float:
    """Give the largest 1, 2 or 5 times a power of ten not above a length.

    Parameters:
        length: above 0, any unit.
    """
    power = 10.0 ** math.floor(math.log10(length))
    return max(step * power for step in (1, 2, 5) if step * power <= length * (1 + 1e-9))


def _scale_bar(view: View, base: float) -> list[str]:
    metres = nice(90 / view.units_per_m)
    end = COLUMN + metres * view.units_per_m
    ticks = [svg.line((x, base - 4), (x, base + 1), "rule") for x in (COLUMN, end)]
    return [
        svg.line((COLUMN, base), (end, base), "rule", data_from="scale", data_m=f"{metres:.6g}"),
        *ticks,
        svg.text([f"{metres:g} m"], (end + 6, base + 3), class_="note"),
    ]


def _key(scene: Scene, base: float) -> list[str]:
    kinds = [("working", WORKING)] * any(c.working for c in scene.courses)
    kinds += [("safety", SAFETY)] * any(not c.working for c in scene.courses)
    parts: list[str] = []
    x = WIDTH
    for style, words in reversed(kinds):
        x -= svg.width_of(words) + 4
        parts.append(svg.text([words], (x, base + 3), class_="note"))
        x -= 24
        parts.append(svg.line((x, base), (x + 20, base), style))
        x -= 10
    return parts


def describe(scene: Scene) -> str:
    """Say in words what an elevation shows, for a reader who cannot see it."""
    sentences = []
    for course in _safety_last(scene.courses):
        stops = ", ".join(
            f"{stop.name} ({stop.at[0]:.2f} m out, {stop.at[1]:.2f} m up)" for stop in course.stops
        )
        sentences.append(f"{course.name}, {course.role}: {stops}.")
    if scene.unrolled:
        sentences.append("Drawn from lengths and bends; no coordinates were surveyed.")
    return " ".join(sentences) or "Nothing was surveyed."
