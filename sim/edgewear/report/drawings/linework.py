"""The lines of a drawing: rope by rope, what lies under it at an edge, where it is worn."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

from edgewear.report.drawings import svg
from edgewear.report.drawings.scene import Course, Mark, Scene, Stop
from edgewear.report.drawings.view import Plane, View, cut
from edgewear.report.parts.words import metres as words_of

BESIDE = 2.6
"""How far a safety line is drawn beside a working line whose path it shares [drawing unit]."""

APART = 9.0
"""How far the lines of one person are drawn beside those of another [drawing unit]."""

COVER = 11.0
"""How far protection is drawn to either side of its edge [drawing unit]."""

WORN = (2.6, 9.0)
"""Width of a mark where a line is hardly worn, and where its core shows [drawing unit]."""

LEAST_WORN = 0.01
"""Share of the sheath below which a line is not marked as worn."""


def safety_last(courses: Iterable[Course]) -> list[Course]:
    """Give working lines before safety lines."""
    return sorted(courses, key=lambda course: not course.working)


def aside(course: Course, scene: Scene) -> svg.Xy:
    """Give how far a line is drawn from where it lies, so that no two cover each other."""
    person = 0.0 if scene.above else _number(course, scene) * APART
    line = 0.0 if course.working or not _shared(course, scene) else BESIDE
    return person + line, -person - line


def _number(course: Course, scene: Scene) -> int:
    return list(dict.fromkeys(one.person for one in scene.courses)).index(course.person)


def lines(course: Course, scene: Scene, view: View) -> list[str]:
    """Draw a line from stop to stop, long legs of working lines with their length in words."""
    right, down = aside(course, scene)
    style = "working" if course.working else "safety"
    parts = []
    for start, end in pairwise(course.stops):
        shown = cut(start.at, end.at, view)
        if shown is None:
            continue
        (x1, y1), (x2, y2) = ((x + right, y + down) for x, y in map(view.at, shown))
        parts.append(
            svg.line(
                (x1, y1),
                (x2, y2),
                style,
                data_from=start.name,
                data_to=end.name,
                data_m=f"{math.dist(*shown):.6g}",
            )
        )
        whole = math.dist(*shown) > 0.999 * math.dist(start.at, end.at)
        if course.working and whole and math.dist((x1, y1), (x2, y2)) > 55:
            length_m = end.after_m or math.dist(*shown)
            parts.append(_measure((x1, y1), (x2, y2), length_m, _side(course, scene)))
    return parts


def _side(course: Course, scene: Scene) -> int:
    """Tell on which side of a line there is room: 0 both, -1 inside, 1 outside."""
    if scene.above or len({one.person for one in scene.courses}) < 2:
        return 0
    return 1 if _number(course, scene) else -1


def _measure(start: svg.Xy, end: svg.Xy, length_m: float, side: int) -> str:
    """Write a length beside the middle of a leg: above or below a flat one, beside a steep one."""
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    words = [words_of(length_m)]
    if abs(end[0] - start[0]) > abs(end[1] - start[1]):
        return svg.text(words, (x, y + 18 if side < 0 else y - 8), "middle", "note")
    if side > 0:
        return svg.text(words, (x + 9, y + 4), "start", "note")
    return svg.text(words, (x - 6, y + 4), "end", "note")


def _shared(course: Course, scene: Scene) -> bool:
    legs = {(a.at, b.at) for a, b in zip(course.stops, course.stops[1:], strict=False)}
    return any(other.working and legs & set(_legs(other)) for other in scene.courses)


def _legs(course: Course) -> list[tuple[Plane, Plane]]:
    places = [stop.at for stop in course.stops]
    return list(pairwise(places))


def on_edges(course: Course, scene: Scene, view: View) -> list[str]:
    """Draw what lies under a line at each edge, and how far the line is worn there."""
    right, down = aside(course, scene)
    parts = []
    for before, stop, after in zip(course.stops, course.stops[1:], course.stops[2:], strict=False):
        if stop.kind != "edge" or not view.inside(stop.at):
            continue
        x, y = view.at(stop.at)
        arms = [towards(stop.at, other.at) for other in (before, after)]
        parts += _cover(stop, (x + right, y + down), arms)
        parts += _worn(stop, (x + right, y + down), arms)
    return parts


def _cover(stop: Stop, at: svg.Xy, arms: list[svg.Xy]) -> list[str]:
    """Draw protection as a band on the side of the structure."""
    if not stop.protection:
        return []
    inward = _inward(arms)
    x, y = at[0] + 2.6 * inward[0], at[1] + 2.6 * inward[1]
    ends = [(x + COVER * ax, y + COVER * ay) for ax, ay in arms]
    return [svg.path([ends[0], (x, y), ends[1]], "cover", data_cover=stop.protection)]


def _worn(stop: Stop, at: svg.Xy, arms: list[svg.Xy]) -> list[str]:
    """Draw a band over a line, as wide as the share of its sheath that is worn."""
    if stop.worn is None or stop.worn < LEAST_WORN:
        return []
    least, most = WORN
    wide = least + (most - least) * min(stop.worn, 1.0)
    long = COVER * 0.7
    ends = [(at[0] + long * x, at[1] + long * y) for x, y in arms]
    return [
        svg.path([ends[0], at, ends[1]], "worn", stroke_width=wide, data_worn=f"{stop.worn:.4g}")
    ]


def towards(start: Plane, end: Plane) -> svg.Xy:
    """Give the direction from one place to another in drawing units, of length 1."""
    length = math.dist(start, end) or 1.0
    return (end[0] - start[0]) / length, (start[1] - end[1]) / length


def _inward(arms: list[svg.Xy]) -> svg.Xy:
    """Give the direction from a bend into the structure, of length 1; none of a straight line."""
    (ax, ay), (bx, by) = arms
    size = math.hypot(ax + bx, ay + by)
    return ((ax + bx) / size, (ay + by) / size) if size > 0.02 else (0.0, 0.0)


def structure(mark: Mark, scene: Scene, view: View) -> list[str]:
    """Draw the solid behind an edge: two short faces inside the bend, hatched."""
    arms = _arms(mark, scene)
    if arms is None:
        return []
    ux, uy = _inward(arms)
    if (ux, uy) == (0.0, 0.0):
        return []
    at = view.at(mark.at)
    corner = (at[0] + 5.2 * ux, at[1] + 5.2 * uy)
    arm = 17.0
    faces = [(corner[0] + arm * x, corner[1] + arm * y) for x, y in arms]
    parts = [svg.path([faces[0], corner, faces[1]], "face")]
    for share in (0.3, 0.6, 0.9):
        for x, y in arms:
            start = (corner[0] + arm * share * x, corner[1] + arm * share * y)
            parts.append(svg.line(start, (start[0] + 4 * ux, start[1] + 4 * uy), "hatch"))
    return parts


def _arms(mark: Mark, scene: Scene) -> list[svg.Xy] | None:
    """Give the directions from an edge to the points before and after it on a line."""
    for course in safety_last(scene.courses):
        for before, here, after in zip(
            course.stops, course.stops[1:], course.stops[2:], strict=False
        ):
            if here.kind == "edge" and here.name == mark.name:
                return [towards(here.at, before.at), towards(here.at, after.at)]
    return None
