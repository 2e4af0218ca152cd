"""Reading a site: which edges a line runs over, and where its person hangs.

Assumed here, and written down in `docs/explanation/rigging.md`: the order of edges, which of
them lie beyond a fixed point, the stand-off of the body, the length of an edge without ends.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import reduce
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from edgewear.geometry.points import Point
from edgewear.rigging.model import EdgeOnLine
from edgewear.scenario.models.gear import Edge
from edgewear.scenario.models.scenario import Anchor, Deviation, Line, Option, Scenario
from edgewear.scenario.text.quantities import Measured

STAND_OFF = Measured(
    value=0.3,
    low=0.2,
    high=0.5,
    unit="m",
    typed="0.3 m",
    basis="assumed",
    distribution="triangular",
    pedigree="assumed: a person's harness hangs this far out from the outermost edge",
)
"""How far the load hangs out from the outermost edge."""

DEVIATION_FRICTION = 0.24
"""Rope over a 10-12 mm steel connector; Delaney, Physics for Roping Technicians (2022), p. 88."""

DEVIATION_RADIUS_M = 0.006
"""Radius of a connector's bar [m]; assumed."""

PULLEY_FRICTION = 0.05
"""Equivalent friction of a pulley on a high directional; assumed, 0.03-0.1."""

PULLEY_RADIUS_M = 0.02
"""Radius of a pulley's sheave [m]; assumed."""


def place(anchor: Anchor) -> Point | None:
    """Return an anchor's point, along the face 0 if left out; None without coordinates."""
    if anchor.out is None or anchor.up is None:
        return None
    return anchor.out.value, anchor.along.value if anchor.along else 0.0, anchor.up.value


def middle(edge: Edge) -> Point | None:
    """Return the middle of an edge; None without coordinates."""
    start, end = edge.start_m, edge.end_m
    if start is None or end is None:
        return None
    return tuple(0.5 * (a + b) for a, b in zip(start, end, strict=True))  # type: ignore[return-value]


def forward(point: Point) -> float:
    """Return how far a line has got at a point: out and down count alike [m]."""
    return point[0] - point[2]


def placed_edges(scenario: Scenario) -> dict[str, Point]:
    """Return the edges that have coordinates, by their middle, in the order a line meets them."""
    global _last_placed
    edges, found = _last_placed
    if edges is not scenario.edges:  # cutting one line into sections asks ten times
        found = _placed(scenario.edges)
        _last_placed = scenario.edges, found
    return dict(found)


def _placed(edges: Mapping[str, Edge]) -> dict[str, Point]:
    found = {name: middle(edge) for name, edge in edges.items()}
    known = {name: point for name, point in found.items() if point is not None}
    return dict(sorted(known.items(), key=lambda item: forward(item[1])))


_last_placed: tuple[Mapping[str, Edge], dict[str, Point]] = ({}, {})


def beyond_first(anchor: Point, edges: dict[str, Point]) -> list[str]:
    """Return the edges that a line from its first anchor may run over.

    All of them from an anchor further in than every edge, wherever its height; from one that
    lies out on the structure those that are further out and down than it.
    """
    if not edges or anchor[0] < min(point[0] for point in edges.values()):
        return list(edges)
    return beyond(anchor, edges)


def beyond(point: Point, edges: dict[str, Point]) -> list[str]:
    """Return the edges further out and down than a point; a re-anchor frees the others."""
    return [name for name, edge in edges.items() if forward(edge) > forward(point)]


def on_line(scenario: Scenario, line: Line, name: str, protection: str | None) -> EdgeOnLine:
    """Return an edge with coordinates as a line meets it."""
    edge = scenario.edges[name]
    start, end = edge.start_m, edge.end_m
    if start is None or end is None:
        raise ValueError(f"edge {name} has no coordinates")
    return EdgeOnLine(name, start, end, protection, 0.0, 0.0)


def led_through(scenario: Scenario, line: Line) -> list[EdgeOnLine]:
    """Return the points that a line is led through whichever way it bends there."""
    found = []
    if line.high_directional:
        anchor = scenario.anchors[line.high_directional]
        found.append(_led("high directional", line.high_directional, anchor, 0.0, PULLEY_FRICTION))
    for deviation in line.deviations:
        found.append(_deviation(scenario, deviation))
    return [item for item in found if item is not None]


def _deviation(scenario: Scenario, deviation: Deviation) -> EdgeOnLine | None:
    anchor = scenario.anchors[deviation.anchor]
    reach_m = deviation.sling.value
    return _led("deviation", deviation.anchor, anchor, reach_m, DEVIATION_FRICTION)


def _led(
    kind: str, name: str, anchor: Anchor, reach_m: float, friction: float
) -> EdgeOnLine | None:
    point = place(anchor)
    if point is None:
        return None
    return EdgeOnLine(
        name=name,
        start_m=point,
        end_m=point,
        protection=None,
        after_m=0.0,
        bend_rad=0.0,
        kind=kind,
        reach_m=reach_m,
        friction=friction,
        radius_m=PULLEY_RADIUS_M if kind == "high directional" else DEVIATION_RADIUS_M,
    )


def fixed_points(line: Line) -> list[str]:
    """Return the names of a line's first anchor and re-anchors, from the top."""
    return [*([line.anchor] if line.anchor else []), *line.re_anchor]


Column = float | NDArray[np.float64]
"""One number, or one a run (n,)."""

Flags = bool | NDArray[np.bool_]
"""Whether something holds: once, or once a run (n,)."""

Number = Callable[[str, Measured], Column]
"""Gives the number at an address [SI]: one, or (n,) where runs differ."""


def as_surveyed(address: str, measured: Measured) -> float:
    """Give a number as it was typed."""
    return measured.value


def track(scenario: Scenario, option: Option, person: str) -> tuple[float, float]:
    """Return out and along of the plumb line on which a person hangs below all edges [m]."""
    out, along = tracks(scenario, option, person, as_surveyed)
    return float(out), float(along)


def tracks(
    scenario: Scenario, option: Option, person: str, number: Number
) -> tuple[Column, Column]:
    """Return out and along of the plumb lines on which a person hangs below all edges [m].

    Out: where the survey says, else the stand-off beyond the outermost edge of the person's
    lines, or below whatever they hang on if that is further out. Along: where the survey says,
    else below the last fixed point or high directional of the working line.

    Parameters: `number`: gives each coordinate.
    """
    lines = option.lines[person]
    known = placed_edges(scenario)
    used = met_edges(scenario, option, person)
    held = [name for name in _held_by(lines.working) if place(scenario.anchors[name]) is not None]
    outs = [_out(scenario.edges[name], name, known, number) + STAND_OFF.value for name in used]
    outs += [_of_anchor(scenario, held[-1], "out", number)] if held else []
    who = option.people.get(person)
    out = who.out.value if who is not None and who.out is not None else _largest(outs)
    if who is not None and who.along is not None:
        return out, who.along.value
    return out, _of_anchor(scenario, held[-1], "along", number) if held else 0.0


def assumed_outs(
    scenario: Scenario, option: Option, person: str
) -> tuple[str, tuple[float, float, float]] | None:
    """Return the edge that a person is assumed to hang beyond, and how far out that is [m].

    As assumed, at the nearest and at the furthest of the range. None: `out` is typed, bends are
    given, or what the person hangs on lies further out than all of that.
    """
    who = option.people.get(person)
    edges = met_edges(scenario, option, person)
    if who is None or who.out is not None or not edges:
        return None
    edge = max(edges, key=lambda name: edges[name][0])
    out_m, edge_m = track(scenario, option, person)[0], edges[edge][0]
    if out_m > edge_m + STAND_OFF.value:
        return None
    held = [place(scenario.anchors[name]) for name in _held_by(option.lines[person].working)][-1:]
    least_m = max((point[0] for point in held if point is not None), default=edge_m)
    near_m = max(edge_m + STAND_OFF.low, least_m)
    return edge, (out_m, near_m, edge_m + STAND_OFF.high)


def held_outs(scenario: Scenario, option: Option, person: str) -> list[tuple[str, float]]:
    """Return how far out something holds a person below each re-anchor of their working line [m].

    The re-anchor itself, or what lies further on than it and the stand-off. Left out: where that is
    as far as they are taken to hang anyway, and whoever has a place.
    """
    who, line = option.people.get(person), option.lines[person].working
    if line.over or (who is not None and who.out is not None):
        return []
    known, usual_m = placed_edges(scenario), track(scenario, option, person)[0]
    found = []
    for name in line.re_anchor:
        point = place(scenario.anchors[name])
        if point is not None:
            outs = [known[edge][0] + STAND_OFF.value for edge in beyond(point, known)]
            found.append((name, max([point[0], *outs])))
    return [(name, out_m) for name, out_m in found if out_m < usual_m]


def order(scenario: Scenario, option: Option, number: Number) -> list[Flags]:
    """Return which edges lie further on than which others and than the points of the lines.

    Where places make another order of it, lines meet other edges and are cut into other sections.

    Parameters: `number`: gives each coordinate.
    """
    edges = {name: _forward(scenario.edges[name], f"edges/{name}", number)
             for name in placed_edges(scenario)}  # fmt: skip
    points = {name: _forward(scenario.anchors[name], f"anchors/{name}", number)
              for name in _on_lines(scenario, option)}  # fmt: skip
    outs = [_out(scenario.edges[name], name, placed_edges(scenario), number) for name in edges]
    found = [edge > point for edge in edges.values() for point in points.values()]
    found += [one > other for one, other in combinations(edges.values(), 2)]
    if outs:
        inmost = reduce(np.minimum, outs)
        found += [_of_anchor(scenario, name, "out", number) < inmost for name in points]
    return found


def _on_lines(scenario: Scenario, option: Option) -> list[str]:
    """Return the points of all lines of an option that have coordinates, each once."""
    pairs = [(both.working, both.safety) for both in option.lines.values()]
    lines = [line for pair in pairs for line in pair if line is not None]
    led = [[*_held_by(line), *(d.anchor for d in line.deviations)] for line in lines]
    names = dict.fromkeys(name for some in led for name in some)
    return [name for name in names if place(scenario.anchors[name]) is not None]


def _forward(spot: Edge | Anchor, base: str, number: Number) -> Column:
    """Return how far a line has got at a spot [m]."""
    if spot.out is None or spot.up is None:
        point = middle(spot) if isinstance(spot, Edge) else None
        return forward(point) if point is not None else 0.0
    return number(f"{base}/out", spot.out) - number(f"{base}/up", spot.up)


def met_edges(scenario: Scenario, option: Option, person: str) -> dict[str, Point]:
    """Return the middles of the edges that a person's lines may run over, by name."""
    lines = option.lines[person]
    known = placed_edges(scenario)
    pair = [line for line in (lines.working, lines.safety) if line is not None]
    used = {name for line in pair for name in _candidates(scenario, line, known)}
    return {name: point for name, point in known.items() if name in used}


def _out(edge: Edge, name: str, known: dict[str, Point], number: Number) -> Column:
    """Return how far out the middle of an edge lies [m]."""
    return known[name][0] if edge.out is None else number(f"edges/{name}/out", edge.out)


def _of_anchor(scenario: Scenario, name: str, word: str, number: Number) -> Column:
    value = getattr(scenario.anchors[name], word)
    return 0.0 if value is None else number(f"anchors/{name}/{word}", value)


def _largest(outs: Sequence[Column]) -> Column:
    return reduce(np.maximum, outs) if outs else 0.0


def _held_by(line: Line) -> list[str]:
    names = [*fixed_points(line), *([line.high_directional] if line.high_directional else [])]
    if line.high_directional and line.re_anchor:
        names = [*names[:1], line.high_directional, *line.re_anchor]
    return names


def _candidates(scenario: Scenario, line: Line, known: dict[str, Point]) -> list[str]:
    if line.over or line.anchor is None:
        return []
    first = place(scenario.anchors[line.anchor])
    return beyond_first(first, known) if first is not None else []
