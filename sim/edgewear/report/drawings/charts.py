"""Axes and scales that the charts share."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from edgewear.dataset.ranking.model import Ranking
from edgewear.report.drawings import svg
from edgewear.terms import SAFETY

WIDTH = 420.0
LEFT = 40.0
RIGHT = WIDTH - 12
"""Ends of the level lines of a chart with a vertical axis."""


@dataclass(frozen=True)
class Scale:
    """A straight map from values to drawing units."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Give the place of a value, kept inside the scale."""
        inside = min(max(value, self.low), self.high)
        share = (inside - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Give round values between two ends, at most so many steps apart.

    Parameters:
        low, high: low below high.
        most: steps.
    """
    raw = (high - low) / most
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(s * power for s in (1, 2, 5, 10) if s * power >= raw * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(index * step, 12) for index in range(first, last + 1)]


def bottom_axis(scale: Scale, y: float, words: str, suffix: str = "") -> list[str]:
    """Draw a horizontal axis with ticks, figures and its name.

    Parameters:
        scale: horizontal.
        y: height of the axis [drawing unit].
        words: what it measures, with the unit.
        suffix: stands behind each figure.
    """
    parts = [svg.line((scale.start, y), (scale.end, y), "rule")]
    for value in ticks(scale.low, scale.high):
        x = scale(value)
        parts.append(svg.line((x, y), (x, y + 4), "rule"))
        figure = f"{value:g}{suffix}".replace("-", "−")
        parts.append(svg.text([figure], (x, y + 15), "middle", "note"))
    parts.append(svg.text([words], ((scale.start + scale.end) / 2, y + 29), "middle", "note"))
    return parts


def left_axis(scale: Scale, x: float, right: float, words: str, suffix: str = "") -> list[str]:
    """Draw faint level lines with figures, and the name of the axis above them.

    Parameters:
        scale: vertical.
        x, right: ends of the level lines [drawing unit].
        words: what it measures, with the unit.
        suffix: stands behind each figure.
    """
    parts = [svg.text([words], (x, scale.end - 8), "start", "note")]
    for value in ticks(scale.low, scale.high, 4):
        y = scale(value)
        parts.append(svg.line((x, y), (right, y), "level"))
        parts.append(svg.text([f"{value:g}{suffix}"], (x - 4, y + 3.5), "end", "note"))
    return parts


def thin(xs: Sequence[float], ys: Sequence[float], most: int) -> list[tuple[float, float]]:
    """Keep about so many points of a curve, least and largest of every stretch among them.

    Parameters:
        xs: ascending.
        ys: as many.
        most: points, at least 4.
    """
    count = len(xs)
    if count <= most:
        return list(zip(xs, ys, strict=True))
    kept: list[int] = [0]
    stretches = max(most // 2 - 1, 1)
    for part in range(stretches):
        first, last = part * count // stretches, (part + 1) * count // stretches
        if first == last:
            continue
        inside = range(first, last)
        kept += sorted({min(inside, key=ys.__getitem__), max(inside, key=ys.__getitem__)})
    kept.append(count - 1)
    return [(xs[index], ys[index]) for index in dict.fromkeys(kept)]


def style(ranking: Ranking, option: str, line: str) -> str:
    """Give the style a line is drawn in: solid for working lines, dashed for safety lines."""
    roles = {edge.line: edge.role for edge in ranking.option(option).edges}
    drawn = ranking.option(option).facts.get("drawing", {}).get("lines", ())
    roles |= {str(part["name"]): str(part["role"]) for part in drawn}
    return "safety thin" if roles.get(line) == SAFETY else "working thin"
