"""How a section of a line lies for a given place of its load, led points and given bends included.

A led point (a deviation on its sling, a pulley of a high directional) bends the line whichever
way it turns. A deviation's ring hangs within its sling's length of its anchor: it settles
where the line is shortest, and bears nothing where the line passes within that length anyway.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, hypot, sin, sqrt

import numpy as np

from edgewear.geometry.flat_string import flat_length_m
from edgewear.geometry.least_reached import least_reached
from edgewear.geometry.points import Point
from edgewear.geometry.taut_string import BEND_FLOOR_RAD, Array, Path, taut, unit
from edgewear.rigging.model import EdgeOnLine, Section


@dataclass(frozen=True)
class Laid:
    """A section of a line under a load: what it touches, how far apart, by how much it bends."""

    edges: tuple[int, ...]  # what it touches, by place in the section's list
    free_m: tuple[float, ...]  # lengths from the fixed point to the load, one more than edges
    bends_rad: tuple[float, ...]
    along_m: tuple[float, ...]  # crossing along each edge, from its start; 0 for given bends
    points: tuple[Point, ...]  # fixed point, crossings, load; empty for given bends
    at_end: tuple[bool, ...] = ()  # the line is held by the end of that edge

    @property
    def length_m(self) -> float:
        """Rope from the fixed point to the load [m]."""
        return sum(self.free_m)

    def setback_m(self, touched: int) -> float:
        """Return the rope from the fixed point to a touched edge [m]."""
        return sum(self.free_m[: touched + 1])


def lay(section: Section, depth_m: float, aside_m: float = 0.0) -> Laid:
    """Return how a section lies when its load hangs at a depth.

    Parameters: `depth_m`: of the load, as its section counts it [m]; `aside_m`: of its track,
    along the face [m].
    """
    if section.direct:
        return Laid(
            edges=tuple(range(len(section.edges))),
            free_m=(*(e.after_m for e in section.edges), depth_m),
            bends_rad=tuple(e.bend_rad for e in section.edges),
            along_m=tuple(0.0 for _ in section.edges),
            points=(),
            at_end=tuple(False for _ in section.edges),
        )
    out, along = section.load_at(depth_m)
    return lay_to(section, (out, along + aside_m, -depth_m))


def lay_to(section: Section, load: Point) -> Laid:
    """Return how a section with coordinates lies when its load hangs at a point [m]."""
    path = taut_through(section.anchor_m, section.edges, load)
    return Laid(path.edges, path.free_m, path.bends_rad, path.along_m, path.points, path.at_end)


SLOPE_STEP_M = 1e-4
"""Half the difference of depths over which a slope of the length is taken [m]."""


def lifting_share(section: Section, depth_m: float) -> float:
    """Return what of a rope's pull lifts its load at a depth, without friction [1].

    Pull times rope taken in is weight times height gained (virtual work), so that it is the slope
    of the length over the depth: 1 below a last point that stays, less where the rope comes flat.
    """
    lengths = [lay(section, depth_m + way * SLOPE_STEP_M).length_m for way in (1.0, -1.0)]
    return (lengths[0] - lengths[1]) / (2.0 * SLOPE_STEP_M)


def drawn_m(hung_m: float, strain: float, give_m: float) -> float:
    """Return how much shorter than it hangs the slack rope below a line's last edge is [m].

    Weight stretches it by the strain T/K, and harness and body give: l = s*(1 + T/K) + g. So who
    took to the rope that far below climbs it that much sooner than they reach the edge.

    Parameters: `hung_m`: below the edge, where somebody took to the rope [m]; `strain`: of the
    loaded rope [1]; `give_m`: of harness and body [m].
    """
    return (hung_m * strain + give_m) / (1.0 + strain)


def depth_of(section: Section, rope_m: float, from_m: float) -> float:
    """Return the depth at which a section takes a length of rope [m].

    Parameters: `rope_m`: from its fixed point to the load; `from_m`: least depth it can be.
    """
    length_m = _lengths_of(section)
    return least_reached(lambda depth_m: length_m(depth_m) - rope_m, from_m, from_m + rope_m + 1.0)


def _lengths_of(section: Section) -> Callable[[float], float]:
    """Return what gives the rope from a section's fixed point to its load by depth [m].

    To the last bit the length of what `lay` gives; where nothing leads the line and its edges
    run along the face, without laying out all the rest of it.
    """

    def laid(depth_m: float) -> float:
        return lay(section, depth_m).length_m

    if section.direct or any(item.kind != "edge" for item in section.edges):
        return laid
    edges = [(item.start_m, item.end_m) for item in section.edges]

    def length(depth_m: float) -> float:
        out, along = section.load_at(depth_m)
        found = flat_length_m(section.anchor_m, edges, (out, along + 0.0, -depth_m))
        return laid(depth_m) if found is None else found

    return length


def plumb_along_m(section: Section, laid: Laid) -> float:
    """Return where along the face a line hangs plumb: below its last led point, or fixed point.

    Edges do not count: the line slides along them until it hangs so.
    """
    led = [k for k, j in enumerate(laid.edges) if section.edges[j].kind != "edge"]
    return laid.points[led[-1] + 1][1] if led else section.anchor_m[1]


LED_OVER_M = 2.0
"""Above a deviation a person moves over to it within this height [m]; assumed."""

_FAR_M = 1e4


def led_track(
    anchor: Point,
    items: Sequence[EdgeOnLine],
    load_m: tuple[float, float],
    face_m: tuple[Point, ...] = (),
) -> tuple[Point, ...]:
    """Return (depth, out, along) of the way of a load; empty if it is plumb all along.

    Parameters: `load_m`: out and along of the plumb line that the load would hang on without
    deviations; `face_m`: its way along a stepped face above, without them. The way ends with two
    or three points for each deviation.

    Below a deviation the load hangs plumb under its ring, but never further in than it would
    hang otherwise; above, it moves over within 2 m. It passes the deviation within the sling's
    length of its anchor, further in if it must, and moves out again within 2 m. So the line gets
    no longer in a jump when the load passes the deviation.
    """
    led = [k for k, item in enumerate(items) if item.kind == "deviation"]
    if not led:
        return face_m
    over_m = -items[led[0]].start_m[2] - LED_OVER_M
    track: list[Point] = [p for p in face_m if p[0] < over_m]
    begun = len(track)
    here = _between(face_m, over_m) if face_m else load_m
    for k, further in zip(led, [*led[1:], None], strict=True):
        item, depth = items[k], -items[k].start_m[2]
        ring = _plumb_ring(anchor, items[: k + 1], here)
        there = (max(ring[0], load_m[0]), ring[1])
        passing = _within_reach(item, there)
        begins = max([depth - LED_OVER_M, *(p[0] for p in track[begun:][-1:])])
        track += [(begins, *here), (depth, *passing)]
        if passing != there:
            room_m = 2 * LED_OVER_M if further is None else -items[further].start_m[2] - depth
            track.append((depth + min(LED_OVER_M, max(room_m, 0.0) / 2), *there))
        here = there
    return tuple(track)


def _within_reach(item: EdgeOnLine, load_m: tuple[float, float]) -> tuple[float, float]:
    """Return out and along of a load that passes a deviation, drawn in to its sling's length."""
    out, along = load_m[0] - item.start_m[0], load_m[1] - item.start_m[1]
    off_m = hypot(out, along)
    if off_m <= item.reach_m:
        return load_m
    share = item.reach_m / off_m
    return item.start_m[0] + share * out, item.start_m[1] + share * along


def _between(way: Sequence[Point], depth_m: float) -> tuple[float, float]:
    """Return out and along of a way at a depth, straight between its points."""
    depths = [p[0] for p in way]
    return (
        float(np.interp(depth_m, depths, [p[1] for p in way])),
        float(np.interp(depth_m, depths, [p[2] for p in way])),
    )


def _plumb_ring(anchor: Point, items: Sequence[EdgeOnLine], load_m: tuple[float, float]) -> Point:
    """Return where the ring of the last item settles with the load plumb below it."""
    last = items[-1]
    ring = last.start_m
    for _ in range(50):
        load = (ring[0], ring[1], last.start_m[2] - _FAR_M)
        path = taut_through(anchor, items, load)
        if len(items) - 1 not in path.edges:
            return load_m[0], load_m[1], ring[2]
        moved = path.points[path.edges.index(len(items) - 1) + 1]
        if _near(moved, ring):
            break
        ring = moved
    return ring


def taut_through(anchor: Point, items: Sequence[EdgeOnLine], load: Point) -> Path:
    """Return the taut line over edges and through led points, in the order given.

    Each led point cuts the line into pieces that are laid on their own; rings on slings are
    moved to where the line pulls them until none moves, and let go where nothing pulls.
    A led point above which the load hangs is not on the line yet.
    """
    led = [
        k
        for k, item in enumerate(items)
        if item.kind == "high directional"
        or (item.kind == "deviation" and load[2] < item.start_m[2])
    ]
    rings, kept = {k: items[k].start_m for k in led}, set[int]()
    for _ in range(500):
        path = _join(anchor, items, load, rings)
        rest = _moved(items, path, tuple(rings))
        for k, (_, pulled) in tuple(rest.items()):
            others = {n: rings[n] for n in rest if n != k}
            if pulled or k in kept:
                continue
            if _passes(items[k], _join(anchor, items, load, others), k):
                del rest[k]
        moved = {k: ring for k, (ring, _) in rest.items()}
        still = moved.keys() == rings.keys() and all(_near(moved[k], rings[k]) for k in moved)
        lost = [k for k in led if k not in rings and not _passes(items[k], path, k)]
        if still and not lost:
            return path
        rings = moved
        if still:  # let go while others hung elsewhere: taken up, and not let go again
            kept.update(lost)
            rings = moved | {k: items[k].start_m for k in lost}
    return path


def _moved(
    items: Sequence[EdgeOnLine], path: Path, led: Sequence[int]
) -> dict[int, tuple[Point, bool]]:
    """Move the rings of a line, one after the other; give where to, and whether they are pulled.

    One at a time, because two side by side that are moved at once may pass each other for ever.
    """
    points = list(path.points)
    rest = {}
    for k in led:
        at = path.edges.index(k) + 1
        rest[k] = _ring(items[k], np.array(points[at - 1]), np.array(points[at + 1]))
        points[at] = rest[k][0]
    return rest


def _passes(item: EdgeOnLine, path: Path, k: int) -> bool:
    """Say whether a line laid without a ring passes within the reach of its sling.

    A ring may itself have drawn the crossings beside it so far aside that nothing pulls it.
    Without it they slide, perhaps so far that the line leaves its reach: then it is not let go.
    """
    passed = sum(n < k for n in path.edges)
    before, after = (np.array(path.points[passed + d]) for d in (0, 1))
    return _distance(np.array(item.start_m), before, after) <= item.reach_m


def _near(a: Point, b: Point) -> bool:
    return max(abs(x - y) for x, y in zip(a, b, strict=True)) < 1e-11


def _join(anchor: Point, items: Sequence[EdgeOnLine], load: Point, rings: dict[int, Point]) -> Path:
    """Lay the pieces between fixed point, rings and load, and join them."""
    cuts = sorted(rings)
    stops = [anchor, *(rings[k] for k in cuts), load]
    points: list[Point] = [anchor]
    edges: list[int] = []
    along: list[float] = []
    ends: list[bool] = []
    for n, (first, last) in enumerate(zip([-1, *cuts], [*cuts, len(items)], strict=True)):
        between = [k for k in range(first + 1, last) if items[k].kind == "edge"]
        piece = taut(stops[n], [(items[k].start_m, items[k].end_m) for k in between], stops[n + 1])
        edges += [between[j] for j in piece.edges]
        points += piece.points[1:]
        along += piece.along_m
        ends += piece.at_end
        if last < len(items):
            edges.append(last)
            along.append(0.0)
            ends.append(False)
    return Path(tuple(points), tuple(edges), _turns(points), tuple(along), tuple(ends))


def _turns(points: Sequence[Point]) -> tuple[float, ...]:
    """Return the angles between successive pieces [rad]."""
    steps = [tuple(y - x for x, y in zip(a, b, strict=True)) for a, b in pairwise(points)]
    return tuple(_angle(a, b) for a, b in pairwise(steps))


def _angle(a: Sequence[float], b: Sequence[float]) -> float:
    across = hypot(a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
    return atan2(across, a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


def _ring(item: EdgeOnLine, before: Array, after: Array) -> tuple[Point, bool]:
    """Return where a led point's ring settles between its neighbours, and whether they pull it.

    Where nothing pulls it, it lies on the straight way between them.
    """
    if item.reach_m == 0.0:
        return item.start_m, True
    centre = np.array(item.start_m)
    near = _nearest(centre, before, after)
    pulled = float(np.linalg.norm(near - centre)) > item.reach_m
    ring = _on_sling(centre, item.reach_m, before, after) if pulled else near
    return (float(ring[0]), float(ring[1]), float(ring[2])), pulled


def _on_sling(centre: Array, reach_m: float, before: Array, after: Array) -> Array:
    """Return the point within a sling's length of its anchor where the way there is shortest.

    In the plane of the three points, on the circle about the anchor, between the directions to
    both neighbours.
    """
    first = _unit(before - centre)
    here = after - centre
    along = float(here @ first)
    second = here - along * first
    across = _size(second)
    if across < BEND_FLOOR_RAD * _size(here):
        return np.asarray(centre + reach_m * first, dtype=np.float64)
    angle = _even_angle(_size(before - centre), along, across, reach_m)
    turned = cos(angle) * first + sin(angle) * second / across
    return np.asarray(centre + reach_m * turned, dtype=np.float64)


def _even_angle(before_m: float, along_m: float, across_m: float, reach_m: float) -> float:
    """Return where on a circle a line makes equal angles with the radius, by halving [rad].

    In plane coordinates about the centre: the line comes from (before, 0) and goes on to
    (along, across); the angle is counted from the first.
    """
    low, high = 0.0, atan2(across_m, along_m)
    for _ in range(60):
        middle = 0.5 * (low + high)
        c, s = cos(middle), sin(middle)
        x, y = before_m - reach_m * c, -reach_m * s
        u, v = along_m - reach_m * c, across_m - reach_m * s
        one, two = hypot(x, y), hypot(u, v)
        if one == 0.0 or two == 0.0:
            return middle
        if (x / one + u / two) * -s + (y / one + v / two) * c > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _size(vector: Array) -> float:
    return sqrt(float(vector @ vector))


def _unit(vector: Array) -> Array:
    return np.array(unit((float(vector[0]), float(vector[1]), float(vector[2]))))


def _distance(point: Array, a: Array, b: Array) -> float:
    """Return the distance of a point from the straight piece a..b [m]."""
    return float(np.linalg.norm(_nearest(point, a, b) - point))


def _nearest(point: Array, a: Array, b: Array) -> Array:
    """Return the place of the straight piece a..b that is nearest to a point."""
    span = b - a
    size = float(span @ span)
    share = min(max(float((point - a) @ span) / size, 0.0), 1.0) if size > 0 else 0.0
    return np.asarray(a + share * span, dtype=np.float64)
