"""What stands in an elevation: points of a rigged option in the plane it is drawn in."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from edgewear.report.drawings.view import Plane
from edgewear.report.parts.words import percent
from edgewear.terms import WORKING

ELEVATION, PLAN = (0, 2), (0, 1)
"""Which coordinates of (out, along, up) a drawing shows: from the side, from above."""

SIDEWAYS_M = 0.3
"""Where all points lie closer together along the structure, a plan shows nothing new [m]."""


@dataclass(frozen=True)
class Stop:
    """A point a line passes: anchor, edge, re-anchor, deviation or person."""

    kind: str
    name: str
    at: Plane
    bend_deg: float
    after_m: float  # rope from the stop before, as surveyed in three dimensions
    protection: str | None = None  # of an edge, under this line
    worn: float | None = None  # of an edge: share of the sheath it takes; None: not told


@dataclass(frozen=True)
class Course:
    """One section of a line, from its fixed point to the person."""

    name: str
    role: str
    person: str
    rope: str
    stops: tuple[Stop, ...]

    @property
    def working(self) -> bool:
        """Whether the person works on it."""
        return self.role == WORKING


@dataclass(frozen=True)
class Mark:
    """A fixed thing with words: an anchor or an edge."""

    kind: str
    name: str
    note: str
    at: Plane
    protected: bool
    ends: tuple[Plane, Plane] | None = None  # of an edge, seen from above


@dataclass(frozen=True)
class Swing:
    """How far somebody swings along the structure when their working line is lost."""

    person: str
    start: Plane
    end: Plane


@dataclass(frozen=True)
class Scene:
    """Everything a drawing shows."""

    courses: tuple[Course, ...]
    marks: tuple[Mark, ...]
    unrolled: bool  # some places are not known: drawn from lengths and bends
    swings: tuple[Swing, ...] = ()
    above: bool = False  # seen from above: people are apart where they hang

    @property
    def points(self) -> list[Plane]:
        """Every point that must be inside the picture [m]."""
        return [stop.at for course in self.courses for stop in course.stops] + [
            mark.at for mark in self.marks
        ]


Worn = Mapping[tuple[str, str], float]
"""Line and edge -> share of the sheath that the edge takes of it."""


def read(drawing: Mapping[str, Any], worn: Worn | None = None) -> Scene:
    """Make a scene, seen from the side, of the lines whose places are known; else of all.

    Parameters:
        drawing: `facts["drawing"]` of an option.
        worn: what each edge takes of a line; None: no wear is shown.
    """
    parts = _placed(drawing)
    if not parts and drawing.get("lines"):
        return _by_lengths(drawing, worn)
    courses = tuple(_course(part, _places(part, ELEVATION), worn) for part in parts)
    return Scene(courses, _marks(drawing, courses, ELEVATION), False)


def apart(drawing: Mapping[str, Any], worn: Worn | None = None) -> Scene | None:
    """Make a scene of the lines without places beside those that have them; None: there are none.

    Parameters: as for `read`.
    """
    placed = len(_placed(drawing))
    return _by_lengths(drawing, worn) if 0 < placed < len(drawing.get("lines", ())) else None


def _by_lengths(drawing: Mapping[str, Any], worn: Worn | None) -> Scene:
    parts = [part for part in drawing.get("lines", ()) if _unplaced(drawing, part)]
    courses = tuple(_course(part, _unroll(part), worn) for part in parts)
    return Scene(courses, _unrolled_marks(courses, drawing), True)


def _placed(drawing: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Give the lines whose places are known."""
    return [part for part in drawing.get("lines", ()) if not _unplaced(drawing, part)]


def _unplaced(drawing: Mapping[str, Any], part: Mapping[str, Any]) -> bool:
    """Tell whether a line is given by lengths and bends alone.

    A dataset of before this was told of each line has all its points in one place.
    """
    if "direct" in part:
        return bool(part["direct"])
    path: Sequence[Mapping[str, Any]] = part.get("path", ())
    return bool(drawing.get("direct")) or (bool(path) and not any(any(s["at"]) for s in path))


def from_above(
    facts: Mapping[str, Any], worn: Worn | None = None, aside_m: float = SIDEWAYS_M
) -> Scene | None:
    """Make a scene seen from above; None where nothing was surveyed or nothing lies aside.

    Parameters:
        facts: of an option, with `drawing` and `transfers`.
        worn: as for `read`.
        aside_m: points closer together along the structure than this show nothing new [m].
    """
    drawing = facts.get("drawing", {})
    parts = _placed(drawing)
    along = [float(stop["at"][1]) for part in parts for stop in part.get("path", ())]
    if not along or max(along) - min(along) < aside_m:
        return None
    courses = tuple(_course(part, _places(part, PLAN), worn) for part in parts)
    swings = tuple(_swings(facts.get("transfers", ()), courses))
    return Scene(courses, _marks(drawing, courses, PLAN), False, swings, above=True)


def _swings(caught: Sequence[Mapping[str, Any]], courses: Sequence[Course]) -> Iterator[Swing]:
    """Give each person's longest swing, towards where their safety line starts."""
    longest: dict[str, Mapping[str, Any]] = {}
    for one in caught:
        known = longest.get(str(one["person"]))
        if known is None or one["swing_m"] > known["swing_m"]:
            longest[str(one["person"])] = one
    for person, one in longest.items():
        line = next((c for c in courses if c.name == one["line"] and c.stops), None)
        if line is None or one["swing_m"] < SIDEWAYS_M:
            continue
        out, along = line.stops[-1].at
        way = math.copysign(float(one["swing_m"]), line.stops[0].at[1] - along)
        yield Swing(person, (out, along), (out, along + way))


def _places(part: Mapping[str, Any], axes: tuple[int, int]) -> list[Plane]:
    return [_plane(stop["at"], axes) for stop in part.get("path", ())]


def _course(part: Mapping[str, Any], places: Sequence[Plane], worn: Worn | None) -> Course:
    path: Sequence[Mapping[str, Any]] = part.get("path", ())
    name = str(part["name"])
    stops = (
        Stop(
            str(stop["kind"]),
            str(stop["name"]),
            at,
            float(stop.get("bend_deg") or 0.0),
            float(stop.get("after_m") or 0.0),
            str(stop["protection"]) if stop.get("protection") else None,
            None if worn is None else worn.get((name, str(stop["name"]))),
        )
        for stop, at in zip(path, places, strict=True)
    )
    role, person = str(part["role"]), str(part.get("person", ""))
    return Course(name, role, person, str(part.get("rope", "")), tuple(stops))


def _plane(at: Sequence[float], axes: tuple[int, int] = ELEVATION) -> Plane:
    return float(at[axes[0]]), float(at[axes[1]])


def _unroll(part: Mapping[str, Any]) -> list[Plane]:
    """Lay lengths and bends into a plane so that the last length hangs straight down.

    It ends at the person's depth, so that lines of one person meet there and lines over one last
    edge meet at it.
    """
    path: Sequence[Mapping[str, Any]] = part.get("path", ())
    bends = [math.radians(float(stop.get("bend_deg") or 0.0)) for stop in path]
    heading = sum(bends[1:-1]) - math.pi / 2
    places: list[Plane] = [(0.0, 0.0)]
    for stop, bend in zip(path[1:], bends[1:], strict=True):
        length = float(stop.get("after_m") or 0.0)
        x, z = places[-1]
        places.append((x + length * math.cos(heading), z + length * math.sin(heading)))
        heading -= bend
    end_x, end_z = places[-1]
    rise = -float(part.get("to_m") or 0.0) - end_z
    # to a picometre: the same place of two lines, each by its own sum, is one place
    return [(round(x - end_x, 12), round(z + rise, 12)) for x, z in places[: len(path)]]


def _marks(
    drawing: Mapping[str, Any], courses: Sequence[Course], axes: tuple[int, int]
) -> tuple[Mark, ...]:
    met = {stop.name: stop for course in reversed(courses) for stop in course.stops}
    elsewhere = {
        str(stop["name"])
        for part in drawing.get("lines", ())
        if _unplaced(drawing, part)
        for stop in part.get("path", ())
    } - set(met)
    anchors = (
        Mark("anchor", str(a["name"]), anchor_note(a), _plane(a["at"], axes), False)
        for a in drawing.get("anchors", ())
        if a["name"] not in elsewhere
    )
    known = (e for e in drawing.get("edges", ()) if e["name"] not in elsewhere)
    return (*anchors, *(_edge_mark(e, met, axes) for e in known))


def _edge_mark(edge: Mapping[str, Any], met: Mapping[str, Stop], axes: tuple[int, int]) -> Mark:
    name, start = str(edge["name"]), _plane(edge["start"], axes)
    end = _plane(edge.get("end") or edge["start"], axes)
    middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    covered = bool(edge.get("protection"))
    ends = (start, end) if axes == PLAN else None
    stop = met.get(name)
    note = edge_note(edge) + _worn_note(stop)
    return Mark("edge", name, note, stop.at if stop else middle, covered, ends)


def _worn_note(stop: Stop | None) -> str:
    """Say how much of the sheath an edge takes; nothing where no wear is shown."""
    return "" if stop is None or not stop.worn else f", {glued(percent(stop.worn))} worn"


def _unrolled_marks(courses: Sequence[Course], drawing: Mapping[str, Any]) -> tuple[Mark, ...]:
    anchors = {str(a["name"]): a for a in drawing.get("anchors", ())}
    edges = {str(e["name"]): e for e in drawing.get("edges", ())}
    marks: dict[tuple[str, Plane], Mark] = {}
    for course in courses:
        for stop in course.stops:
            if stop.kind == "edge":
                edge = edges.get(stop.name, {})
                note, protected = edge_note(edge) + _worn_note(stop), bool(edge.get("protection"))
            elif stop.kind != "person":
                note, protected = anchor_note(anchors.get(stop.name, {})), False
            else:
                continue
            kind = "edge" if stop.kind == "edge" else "anchor"
            marks.setdefault((stop.name, stop.at), Mark(kind, stop.name, note, stop.at, protected))
    return tuple(marks.values())


def glued(figure: str) -> str:
    """Keep a figure and its unit on one line."""
    return figure.replace(" ", "\N{NO-BREAK SPACE}")


def anchor_note(anchor: Mapping[str, Any]) -> str:
    """Say what an anchor is: its use, kind and rated strength."""
    use = str(anchor.get("use") or "anchor")
    kind = str(anchor.get("kind") or "")
    strength = anchor.get("strength_n")
    rated = f"{glued(f'{float(strength) / 1000:.0f} kN')} rated" if strength else ""
    return ", ".join(part for part in (use, kind, rated) if part)


def edge_note(edge: Mapping[str, Any]) -> str:
    """Say what an edge is: its class or radius and surface, and what covers it."""
    radius = edge.get("radius_m")
    shape = str(edge.get("is") or "")
    if not shape and radius:
        shape = f"radius {float(radius) * 1000:.3g} mm {edge.get('surface') or ''}".strip()
    cover = str(edge.get("protection") or "bare")
    return ", ".join(part for part in (shape, cover) if part)
