"""What stands in an elevation: points of a rigged option in the plane it is drawn in."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from edgewear.terms import WORKING

Plane = tuple[float, float]
"""x out from the structure, z up [m]."""


@dataclass(frozen=True)
class Stop:
    """A point a line passes: anchor, edge, re-anchor, deviation or person."""

    kind: str
    name: str
    at: Plane
    bend_deg: float
    after_m: float  # rope from the stop before, as surveyed in three dimensions


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


@dataclass(frozen=True)
class Scene:
    """Everything an elevation shows."""

    courses: tuple[Course, ...]
    marks: tuple[Mark, ...]
    unrolled: bool  # no coordinates were surveyed: drawn from lengths and bends

    @property
    def points(self) -> list[Plane]:
        """Every point that must be inside the picture [m]."""
        return [stop.at for course in self.courses for stop in course.stops] + [
            mark.at for mark in self.marks
        ]


def read(drawing: Mapping[str, Any]) -> Scene:
    """Make a scene of what the rigging says.

    Parameters:
        drawing: `facts["drawing"]` of an option.
    """
    unrolled = bool(drawing.get("direct"))
    courses = tuple(_course(part, unrolled) for part in drawing.get("lines", ()))
    marks = _unrolled_marks(courses, drawing) if unrolled else _marks(drawing, courses)
    return Scene(courses, marks, unrolled)


def _course(part: Mapping[str, Any], unrolled: bool) -> Course:
    path: Sequence[Mapping[str, Any]] = part.get("path", ())
    places = _unroll(path) if unrolled else [_plane(stop["at"]) for stop in path]
    stops = (
        Stop(
            str(stop["kind"]),
            str(stop["name"]),
            at,
            float(stop.get("bend_deg") or 0.0),
            float(stop.get("after_m") or 0.0),
        )
        for stop, at in zip(path, places, strict=True)
    )
    return Course(
        str(part["name"]),
        str(part["role"]),
        str(part.get("person", "")),
        str(part.get("rope", "")),
        tuple(stops),
    )


def _plane(at: Sequence[float]) -> Plane:
    return float(at[0]), float(at[2])


def _unroll(path: Sequence[Mapping[str, Any]]) -> list[Plane]:
    """Lay lengths and bends into a plane so that the last length hangs straight down."""
    bends = [math.radians(float(stop.get("bend_deg") or 0.0)) for stop in path]
    heading = sum(bends[1:-1]) - math.pi / 2
    places: list[Plane] = [(0.0, 0.0)]
    for stop, bend in zip(path[1:], bends[1:], strict=True):
        length = float(stop.get("after_m") or 0.0)
        x, z = places[-1]
        places.append((x + length * math.cos(heading), z + length * math.sin(heading)))
        heading -= bend
    return places[: len(path)]


def _marks(drawing: Mapping[str, Any], courses: Sequence[Course]) -> tuple[Mark, ...]:
    met = {stop.name: stop.at for course in courses for stop in course.stops}
    anchors = (
        Mark("anchor", str(a["name"]), anchor_note(a), _plane(a["at"]), False)
        for a in drawing.get("anchors", ())
    )
    edges = (
        Mark(
            "edge",
            str(e["name"]),
            edge_note(e),
            met.get(str(e["name"]), _middle(e)),
            bool(e.get("protection")),
        )
        for e in drawing.get("edges", ())
    )
    return (*anchors, *edges)


def _middle(edge: Mapping[str, Any]) -> Plane:
    start, end = _plane(edge["start"]), _plane(edge.get("end") or edge["start"])
    return (start[0] + end[0]) / 2, (start[1] + end[1]) / 2


def _unrolled_marks(courses: Sequence[Course], drawing: Mapping[str, Any]) -> tuple[Mark, ...]:
    anchors = {str(a["name"]): a for a in drawing.get("anchors", ())}
    edges = {str(e["name"]): e for e in drawing.get("edges", ())}
    marks: dict[tuple[str, Plane], Mark] = {}
    for course in courses:
        for stop in course.stops:
            if stop.kind == "edge":
                edge = edges.get(stop.name, {})
                note, protected = edge_note(edge), bool(edge.get("protection"))
            elif stop.kind != "person":
                note, protected = anchor_note(anchors.get(stop.name, {})), False
            else:
                continue
            kind = "edge" if stop.kind == "edge" else "anchor"
            marks.setdefault((stop.name, stop.at), Mark(kind, stop.name, note, stop.at, protected))
    return tuple(marks.values())


def anchor_note(anchor: Mapping[str, Any]) -> str:
    """Say what an anchor is: its use, kind and rated strength."""
    use = str(anchor.get("use") or "anchor")
    kind = str(anchor.get("kind") or "")
    strength = anchor.get("strength_n")
    rated = f"{float(strength) / 1000:.0f} kN rated" if strength else ""
    return ", ".join(part for part in (use, kind, rated) if part)


def edge_note(edge: Mapping[str, Any]) -> str:
    """Say what an edge is: its class or radius and surface, and what covers it."""
    radius = edge.get("radius_m")
    shape = str(edge.get("is") or "")
    if not shape and radius:
        shape = f"radius {float(radius) * 1000:.3g} mm {edge.get('surface') or ''}".strip()
    cover = str(edge.get("protection") or "bare")
    return ", ".join(part for part in (shape, cover) if part)
