"""The options' sheath margins side by side, with the careful end drawn heaviest."""

from __future__ import annotations

import math
from collections.abc import Sequence

from edgewear.dataset.ranking.model import OptionResult, Ranking
from edgewear.report.drawings import svg
from edgewear.report.drawings.charts import WIDTH, Scale, bottom_axis
from edgewear.report.parts import words

LEFT = 118.0
RIGHT = WIDTH - 14
FLOOR = -1.0
"""Margins below this are drawn at the left end with an arrow; the table has their figures."""


def draw(ranking: Ranking, identity: str) -> str:
    """Draw the interval of every option."""
    scale = Scale(_low(ranking.options), 1.0, LEFT, RIGHT)
    body: list[str] = []
    y = 26.0
    for option in ranking.options:
        lines = svg.wrap(option.name, LEFT - 14)
        height = max(len(lines) * svg.LINE_HEIGHT, 22.0) + 10
        body += _row(option, lines, y + height / 2, scale)
        y += height
    body += _target(ranking.target, scale, y)
    body += bottom_axis(
        Scale(scale.low * 100, 100, LEFT, RIGHT), y, "sheath left at the end of the plan, %"
    )
    return svg.picture(
        (WIDTH, y + 36),
        "Sheath left, option by option",
        describe(ranking),
        *body,
        identity=identity,
    )


def _low(options: Sequence[OptionResult]) -> float:
    found = [
        option.margin.p5
        for option in options
        if option.margin is not None and option.margin.p5 is not None
    ]
    return max(min([0.0, *found]) - 0.02, FLOOR)


def _row(option: OptionResult, lines: Sequence[str], y: float, scale: Scale) -> list[str]:
    first = y - (len(lines) - 1) * svg.LINE_HEIGHT / 2 + 4
    parts = [svg.text(lines, (LEFT - 10, first), "end", "name" if option.rank else "")]
    if option.margin is None:
        return [
            *parts,
            svg.text(["no figure: " + option.status[0]], (LEFT, y + 4), "start", "note"),
        ]
    careful, middle, best = words.as_tuple(option.margin)
    if best is None:
        return [*parts, svg.text(["no figure"], (LEFT, y + 4), "start", "note")]
    careful = -math.inf if careful is None else careful
    low, high = scale(careful), scale(best)
    parts.append(svg.line((low, y), (high, y), "interval"))
    parts.append(svg.line((low, y - 7), (low, y + 7), "careful"))
    parts.append(svg.line((high, y - 4), (high, y + 4), "rule"))
    if middle is not None and middle >= scale.low:
        parts.append(svg.element("circle", cx=scale(middle), cy=y, r=3, class_="middle"))
    if careful < scale.low:
        parts.append(svg.path([(low + 7, y - 4), (low - 1, y), (low + 7, y + 4)], "rule"))
    return parts + _off_scale(middle, best, (low, y), scale)


def _off_scale(middle: float | None, best: float, at: svg.Xy, scale: Scale) -> list[str]:
    """Mark a middle, and a good end, that lie below the axis: a hollow dot and words."""
    if middle is not None and middle >= scale.low:
        return []
    said = ["middle"] if best >= scale.low else ["middle", "good end"]
    x, y = at
    return [
        svg.element("circle", cx=x + 12, cy=y, r=3, class_="off"),
        svg.text([f"{' and '.join(said)} below this scale"], (x + 20, y - 5), class_="note"),
    ]


def _target(target: float, scale: Scale, bottom: float) -> list[str]:
    x = scale(target)
    anchor = "end" if target > 0.6 else "start"
    label = f"target {words.percent(target)}"
    return [
        svg.line((x, 17), (x, bottom), "target"),
        svg.text([label], (x + (3 if anchor == "end" else -3), 12), anchor, "note"),
    ]


def describe(ranking: Ranking) -> str:
    """Say in words what the picture shows."""
    parts = []
    for option in ranking.options:
        careful, middle, best = words.margins(option)
        parts.append(f"{option.name}: {careful}, middle {middle}, good end {best}.")
    return f"Target {words.percent(ranking.target)}. " + " ".join(parts)
