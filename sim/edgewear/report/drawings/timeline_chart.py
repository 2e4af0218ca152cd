"""The nominal job over time: tension at the person and sliding over the edges, step by step."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from edgewear.dataset.ranking.model import Ranking
from edgewear.report.drawings import svg
from edgewear.report.drawings.charts import (
    LEFT,
    RIGHT,
    WIDTH,
    Scale,
    bottom_axis,
    left_axis,
    style,
    thin,
)
from edgewear.report.parts import words
from edgewear.report.parts.sources import Curve, Happening

POINTS = 220
TOP = 20.0
BOTTOM = 174.0
GAP_S = 20.0
"""A stretch without samples this long is one in which the motion repeats, or the line rests."""

BEFORE_S = 10.0
"""What repeats is shown by the range of the samples so long before it."""


@dataclass(frozen=True)
class Piece:
    """Samples of a curve between two gaps."""

    times: Sequence[float]
    tension_n: Sequence[float]
    slip_m: Sequence[float]


def draw(
    ranking: Ranking,
    option: str,
    curves: Sequence[Curve],
    events: Sequence[Happening],
    identity: str,
) -> str:
    """Draw tension at the person and the sliding path over the nominal job.

    Parameters:
        ranking: knows the lines' roles.
        option: name.
        curves: `time_s`, `tension_n`, `slip_m` of each line.
        events: of the same run; the beginnings of steps are marked.
        identity: unique on the page.
    """
    end = max([1.0, *(max(curve.columns["time_s"], default=0.0) for curve in curves)])
    unit, per_unit = ("min", 60.0) if end > 180 else ("s", 1.0)
    across = Scale(0, end, LEFT, RIGHT)
    tension = Scale(0, max(_largest(curves, "tension_n") / 1000, 0.1) * 1.1, 88, 38)
    sliding = Scale(0, max(_largest(curves, "slip_m"), 0.01) * 1.1, BOTTOM, 118)
    parts = _steps(events, across)
    parts += left_axis(tension, LEFT, RIGHT, "tension at the person, kN")
    parts += left_axis(sliding, LEFT, RIGHT, "sliding over the edges so far, m")
    for curve in curves:
        drawn = style(ranking, option, curve.line)
        pieces = list(_pieces(curve))
        for piece in pieces:
            points = thin(piece.times, piece.tension_n, max(POINTS // len(pieces), 60))
            parts.append(svg.path([(across(x), tension(y / 1000)) for x, y in points], drawn))
        parts += _repeats(pieces, curve, curves, across, tension)
        points = thin(curve.columns["time_s"], curve.columns["slip_m"], POINTS)
        parts.append(svg.path([(across(x), sliding(y)) for x, y in points], drawn))
    below = Scale(0, end / per_unit, LEFT, RIGHT)
    parts += bottom_axis(below, BOTTOM, f"time since the start of the job, {unit}")
    return svg.picture(
        (WIDTH, BOTTOM + 36),
        f"{option}: the job over time",
        describe(curves, end),
        *parts,
        identity=identity,
    )


def _pieces(curve: Curve) -> Iterator[Piece]:
    """Cut a curve where nothing was sampled for long."""
    times = curve.columns["time_s"]
    cuts = [i for i in range(1, len(times)) if times[i] - times[i - 1] > GAP_S]
    for first, last in zip([0, *cuts], [*cuts, len(times)], strict=True):
        if last > first:
            columns = (
                curve.columns[name][first:last] for name in ("time_s", "tension_n", "slip_m")
            )
            yield Piece(*columns)


def _repeats(
    pieces: Sequence[Piece], curve: Curve, curves: Sequence[Curve], across: Scale, up: Scale
) -> list[str]:
    """Fill the gaps in which this line went on as before, as wide as its tension swung."""
    parts = []
    for before, after in pairwise(pieces):
        start, end = before.times[-1], after.times[0]
        if _others(curve, curves, start, end):
            continue
        last = [
            tension
            for time, tension in zip(before.times, before.tension_n, strict=True)
            if time >= start - BEFORE_S
        ]
        top, bottom = up(max(last) / 1000), up(min(last) / 1000)
        parts.append(
            svg.element(
                "rect",
                x=across(start),
                y=top,
                width=across(end) - across(start),
                height=max(bottom - top, 1.0),
                class_="repeat",
            )
        )
    return parts


def _others(curve: Curve, curves: Sequence[Curve], start: float, end: float) -> bool:
    """Tell whether another section of the person's line was used in between."""
    return any(
        start < time < end
        for other in curves
        if other is not curve
        for time in other.columns["time_s"]
    )


def _largest(curves: Sequence[Curve], column: str) -> float:
    return max((max(curve.columns[column], default=0.0) for curve in curves), default=0.0)


def begun(events: Sequence[Happening]) -> list[tuple[int, str, float]]:
    """Give number, name and first moment of each step of the job [s]."""
    found: dict[int, tuple[str, float]] = {}
    for event in events:
        if event.what == "begins" and event.step > 0:
            found.setdefault(event.step, (event.detail, event.time_s))
    return [(step, name, time) for step, (name, time) in found.items()]


def step_words(events: Sequence[Happening]) -> str:
    """Name the steps whose beginnings are marked with numbers."""
    return ", ".join(f"{step} {name}" for step, name, _ in begun(events))


def _steps(events: Sequence[Happening], across: Scale) -> list[str]:
    parts, reached = [], 0.0
    for step, _, time in begun(events):
        x = across(time)
        parts.append(svg.line((x, TOP), (x, BOTTOM), "level"))
        at = max(x, reached + 4)
        parts.append(svg.text([str(step)], (at, TOP - 4), "middle", "note"))
        reached = at + svg.width_of(str(step))
    return parts


def describe(curves: Sequence[Curve], end: float) -> str:
    """Say in words what the picture shows.

    Parameters:
        curves: of all lines.
        end: of the job [s].
    """
    return (
        f"The job lasts {words.duration(end)}; the largest tension at the person is "
        f"{words.kilonewtons(_largest(curves, 'tension_n'))}; the rope slides "
        f"{words.metres(_largest(curves, 'slip_m'))} over the edges."
    )
