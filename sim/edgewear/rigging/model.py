"""What rigging hands on: lines cut into sections, each from a fixed point to the person."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from edgewear.geometry.points import Point


@dataclass(frozen=True)
class EdgeOnLine:
    """An edge as one section of a line meets it, in order from the fixed point."""

    name: str
    start_m: Point
    end_m: Point
    protection: str | None
    after_m: float  # direct only: free length from the point before
    bend_rad: float  # direct only
    kind: str = "edge"  # or "deviation", "high directional": then `name` is that of its anchor
    reach_m: float = 0.0  # deviation: its sling lets the line lie this far from the anchor
    friction: float | None = None  # of a deviation or high directional; None: the edge's own
    radius_m: float | None = None


@dataclass(frozen=True)
class Section:
    """A line from a fixed point (anchor or re-anchor) to the person."""

    line: str  # name of the line as the report prints it, its own for every section
    role: str  # "working line" or "safety line"
    person: str
    rope: str  # name under `ropes`
    anchor: str  # name of the fixed point
    anchor_m: Point
    edges: tuple[EdgeOnLine, ...]
    direct: bool
    load_m: tuple[float, float]  # out, along of the load's track
    top_m: float  # the section is used from this depth (-inf: from the start) ...
    bottom_m: float  # ... to this one (inf: to the rope's end)
    track_m: tuple[Point, ...] = ()  # (depth, out, along) where face or deviations lead the load
    face_m: tuple[Point, ...] = ()  # the same along a stepped face, without deviations
    knots_m: tuple[float, ...] = ()  # rope from the fixed point to each knot that devices must pass

    def load_at(self, depth_m: float) -> tuple[float, float]:
        """Return out and along of the load at a depth: straight between the track's points."""
        if not self.track_m:
            return self.load_m
        before = self.track_m[0]
        for point in self.track_m:
            if depth_m <= point[0]:
                span = point[0] - before[0]
                share = (depth_m - before[0]) / span if span > 0.0 else 1.0
                share = min(max(share, 0.0), 1.0)
                return (
                    before[1] + share * (point[1] - before[1]),
                    before[2] + share * (point[2] - before[2]),
                )
            before = point
        return before[1], before[2]


@dataclass(frozen=True)
class Rigged:
    """An option rigged: what the case, the ranking and a drawing need."""

    option: str
    sections: tuple[Section, ...]
    start_depth_m: float  # where the first step begins, for the first person
    control: str  # level of the control hierarchy
    why_not_higher: dict[str, str]  # level -> reason recorded, or "not recorded"
    status: tuple[str, ...]  # statuses that geometry alone decides
    edge_levels: dict[str, str]  # loaded edge of the working line -> its level
    drawing: dict[str, Any]  # points to draw, JSON-able, metres
    warnings: tuple[str, ...]
    starts_m: dict[str, float] = field(default_factory=dict)  # person -> depth of the first step
    shared: tuple[str, ...] = ()  # what both lines of a person depend on, in sentences
    held_ready: int = 0  # sections at the end that only a fault brings into use

    @property
    def planned(self) -> tuple[Section, ...]:
        """The sections that the plan uses."""
        return self.sections[: len(self.sections) - self.held_ready]
