"""The worst run of a fault study over time: who does what, what happens, how the sheath goes."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear.findings.timeline import Course, Demand, Mark, Span, Timeline
from edgewear.report.drawings import svg
from edgewear.report.drawings.charts import RIGHT, WIDTH, Scale, bottom_axis, left_axis, thin
from edgewear.report.parts import words

LEFT = 96.0
ROW = 26.0
BAR = 12.0
POINTS = 260
KINDS = {"activity": "busy", "waiting": "waiting", "rest": "resting"}
"""How a span of time is drawn: filled, outlined, a line."""


def faults_picture(timeline: Timeline, identity: str = "faults") -> str:
    """Draw people's time, the numbered happenings and the sheath demand of each line.

    Parameters:
        identity: unique on a page.
    """
    end = _end(timeline)
    unit, per_unit = ("min", 60.0) if end > 180 else ("s", 1.0)
    across = Scale(0, end, LEFT, RIGHT)
    marks = sorted(timeline.marks, key=lambda mark: mark.time_s)
    rows, low = _people(timeline.people, across, 28.0)
    curves, bottom = _demand(timeline.demand, across, low + 26.0)
    parts = _marks(marks, across, bottom) + rows + curves
    parts += bottom_axis(
        Scale(0, end / per_unit, LEFT, RIGHT), bottom, f"time since the start of the job, {unit}"
    )
    told, height = _list(marks, bottom + 48.0)
    key, height = _key(height)
    return svg.picture(
        (WIDTH, height),
        timeline.title,
        _describe(timeline, marks),
        *parts,
        *told,
        *key,
        identity=identity,
    )


def _end(timeline: Timeline) -> float:
    times = [span.to_s for person in timeline.people for span in person.spans]
    times += [mark.time_s for mark in timeline.marks]
    times += [max(curve.time_s, default=0.0) for curve in timeline.demand]
    return max([1.0, *times])


def _people(people: Sequence[Course], across: Scale, top: float) -> tuple[list[str], float]:
    parts: list[str] = []
    y = top
    for person in people:
        lines = svg.wrap(person.name, LEFT - 12)
        height = max(ROW, len(lines) * svg.LINE_HEIGHT + 6)
        middle = y + height / 2
        first = middle - (len(lines) - 1) * svg.LINE_HEIGHT / 2 + 4
        parts.append(svg.text(lines, (LEFT - 8, first), "end", "name"))
        for span in person.spans:
            parts += _span(span, across, middle)
        y += height
    return parts, y


def _span(span: Span, across: Scale, middle: float) -> list[str]:
    start, end = across(span.from_s), across(span.to_s)
    kind = KINDS.get(span.kind, "waiting")
    if kind == "resting":
        return [svg.line((start, middle), (end, middle), "rule")]
    bar = svg.element(
        "rect", x=start, y=middle - BAR / 2, width=max(end - start, 0.8), height=BAR, class_=kind
    )
    if svg.width_of(span.what) > end - start - 4:
        return [bar]
    return [bar, svg.text([span.what], ((start + end) / 2, middle + 3.8), "middle", "inside")]


def _marks(marks: Sequence[Mark], across: Scale, bottom: float) -> list[str]:
    parts, reached = [], LEFT - 20.0
    for number, mark in enumerate(marks, 1):
        x = across(mark.time_s)
        parts.append(svg.line((x, 20), (x, bottom), "level"))
        at = max(x, reached + svg.width_of(str(number)) + 3)
        parts.append(svg.text([str(number)], (at, 14), "middle", "name"))
        reached = at
    return parts


def _demand(curves: Sequence[Demand], across: Scale, top: float) -> tuple[list[str], float]:
    if not curves:
        return [], top
    bottom = top + 90.0
    most = max((max(curve.demand, default=0.0) for curve in curves), default=0.0)
    up = Scale(0, max(most * 110, 115.0), bottom, top)
    parts = left_axis(up, LEFT, RIGHT, "sheath worn, %")
    parts.append(svg.line((LEFT, up(100)), (RIGHT, up(100)), "target"))
    parts.append(svg.text(["core shows"], (LEFT + 4, up(100) - 4), "start", "note"))
    for curve in curves:
        points = [(across(x), up(y * 100)) for x, y in thin(curve.time_s, curve.demand, POINTS)]
        parts.append(svg.path(points, "working thin"))
        if points:
            x, y = points[-1]
            parts.append(svg.text([curve.line], (x - 4, y - 4), "end", "note"))
    return parts, bottom


def _list(marks: Sequence[Mark], top: float) -> tuple[list[str], float]:
    parts: list[str] = []
    y = top
    for number, mark in enumerate(marks, 1):
        told = f"{words.clock(mark.time_s)} {mark.who}: {mark.what}"
        lines = svg.wrap(told, WIDTH - 40)
        parts.append(svg.text([str(number)], (22, y), "end", "name"))
        parts.append(svg.text(lines, (28, y), "start", "note"))
        y += len(lines) * svg.LINE_HEIGHT + 2
    return parts, y


def _key(top: float) -> tuple[list[str], float]:
    y = top + 8
    parts = [
        svg.element("rect", x=8, y=y - 8, width=20, height=9, class_="busy"),
        svg.text(["busy"], (32, y), "start", "note"),
        svg.element("rect", x=78, y=y - 8, width=20, height=9, class_="waiting"),
        svg.text(["waiting"], (102, y), "start", "note"),
        svg.line((160, y - 3.5), (180, y - 3.5), "rule"),
        svg.text(["resting"], (184, y), "start", "note"),
    ]
    return parts, y + 8


def _describe(timeline: Timeline, marks: Sequence[Mark]) -> str:
    told = [f"{words.clock(m.time_s)} {m.who}: {m.what}." for m in marks]
    for curve in timeline.demand:
        worn = words.percent(max(curve.demand, default=0.0))
        told.append(f"{curve.line}: sheath worn {worn} at the end.")
    return " ".join(told) or "Nothing happened."
