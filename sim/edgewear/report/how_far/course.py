"""Sheath left over one input: the places judged, what few trials leave open, the target."""

from __future__ import annotations

import math

from edgewear.findings.inquiries.how_far import Limit, Place
from edgewear.report.drawings import svg
from edgewear.report.drawings.charts import LEFT, RIGHT, WIDTH, Scale, left_axis
from edgewear.report.how_far import words as said
from edgewear.report.parts import words

BOTTOM = 150.0
FLOOR = -0.25
"""Sheath left below this is drawn at the bottom: how far below zero decides nothing."""

MARKS = 5


def draw(found: Limit, target: float, identity: str) -> str:
    """Draw the sheath left at the careful end over the values tried.

    Parameters:
        found: the limit; target: sheath left asked for [1]; identity: unique on the page.
    """
    across, ratio = _across(found)
    counted = [place for place in found.places if place.left is not None]
    up = Scale(FLOOR * 100, 100.0, BOTTOM, 28)
    points = [(across(_scaled(p.value, ratio)), up(100 * (p.left or 0.0))) for p in counted]
    parts = [
        *left_axis(up, LEFT, RIGHT, "sheath left, %"),
        svg.line((LEFT, up(100 * target)), (RIGHT, up(100 * target)), "target"),
        svg.text(["target"], (RIGHT, up(100 * target) - 4), "end", "note"),
        *(bar for p in counted for bar in _bar(p, across(_scaled(p.value, ratio)), up)),
        svg.path(points, "working thin"),
        *_axis(found, across, ratio),
    ]
    title = f"{found.option}: {found.address}"
    size = (WIDTH, BOTTOM + 40)
    return svg.picture(size, title, said.limit(found), *parts, identity=identity)


def _across(found: Limit) -> tuple[Scale, bool]:
    """Give the horizontal scale, and whether equal steps of it are equal ratios."""
    low, high = found.tried
    ratio = low > 0.0 and bool(found.dimension) and high > 3.0 * low
    return Scale(_scaled(low, ratio), _scaled(high, ratio), LEFT, RIGHT), ratio


def _scaled(value: float, ratio: bool) -> float:
    return math.log(value) if ratio else value


def _bar(place: Place, x: float, up: Scale) -> list[str]:
    low = FLOOR if place.low is None else place.low
    high = 1.0 if place.high is None else place.high
    bar = svg.line((x, up(100 * low)), (x, up(100 * high)), "interval")
    dot = svg.element("circle", cx=x, cy=up(100 * (place.left or 0.0)), r=2.2, class_="edge")
    return [bar, dot]


def _axis(found: Limit, across: Scale, ratio: bool) -> list[str]:
    low, high = found.tried
    parts = [svg.line((LEFT, BOTTOM), (RIGHT, BOTTOM), "rule")]
    for step in range(MARKS):
        share = step / (MARKS - 1)
        value = low * (high / low) ** share if ratio else low + share * (high - low)
        x = across(_scaled(value, ratio))
        anchor = "start" if step == 0 else "end" if step == MARKS - 1 else "middle"
        parts.append(svg.line((x, BOTTOM), (x, BOTTOM + 4), "rule"))
        parts.append(
            svg.text([said.value(value, found.dimension)], (x, BOTTOM + 15), anchor, "note")
        )
    if found.present is not None and low <= found.present <= high:
        x = across(_scaled(found.present, ratio))
        parts.append(svg.line((x, 28), (x, BOTTOM), "leader"))
        aside = (x + 3, "start") if x < 0.8 * RIGHT else (x - 3, "end")
        parts.append(svg.text(["now"], (aside[0], 36), aside[1], "note"))
    below = f"below {words.percent(FLOOR)} is drawn there"
    parts.append(svg.text([below], (LEFT, BOTTOM + 30), "start", "note"))
    return parts
