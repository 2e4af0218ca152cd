"""Where two inputs together meet the target: ranges found, and every place judged."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear.findings.inquiries.how_far import Limit
from edgewear.report.drawings import svg
from edgewear.report.drawings.charts import RIGHT, WIDTH, Scale
from edgewear.report.how_far import words as said

CAPTION = (
    "Bars: where the target is met. Dots: values judged, full where it is met, open where not."
)
LEFT = 74.0
TOP, BOTTOM = 28.0, 190.0
MARKS = 5


def draw(limits: Sequence[Limit], identity: str) -> str:
    """Draw the region in which the target is met.

    Parameters:
        limits: of one input at values of a second one; identity: unique on the page.
    """
    first = limits[0]
    low = min(one.tried[0] for one in limits)
    high = max(one.tried[1] for one in limits)
    up = Scale(low, high, BOTTOM, TOP)
    across = Scale(0.0, float(max(len(limits) - 1, 1)), LEFT + 24.0, RIGHT - 24.0)
    parts = [*_left(up, first), *_below(limits, across)]
    for at, one in enumerate(limits):
        parts += _column(one, across(float(at)), up)
    title = f"{first.option}: {first.address}"
    described = "; ".join(f"{said.asked_of(one)}: {said.limit(one)}" for one in limits)
    return svg.picture((WIDTH, BOTTOM + 40), title, described, *parts, identity=identity)


def _column(one: Limit, x: float, up: Scale) -> list[str]:
    bars = [
        svg.line((x, up(s.least.inside)), (x, up(s.most.inside)), "careful") for s in one.stretches
    ]
    dots = [
        svg.element("circle", cx=x, cy=up(p.value), r=2.6, class_="edge" if p.meets else "anchor")
        for p in one.places
    ]
    return [*bars, *dots]


def _left(up: Scale, one: Limit) -> list[str]:
    parts = [svg.text([one.address], (4.0, TOP - 14), "start", "note")]
    for step in range(MARKS):
        value = up.low + (up.high - up.low) * step / (MARKS - 1)
        y = up(value)
        parts.append(svg.line((LEFT, y), (RIGHT, y), "level"))
        figure = said.value(value, one.dimension)
        parts.append(svg.text([figure], (LEFT - 4, y + 3.5), "end", "note"))
    return parts


def _below(limits: Sequence[Limit], across: Scale) -> list[str]:
    parts = [svg.line((LEFT, BOTTOM), (RIGHT, BOTTOM), "rule")]
    for at, one in enumerate(limits):
        place = (across(float(at)), BOTTOM + 15)
        parts.append(svg.text([said.given(one)], place, "middle", "note"))
    given = limits[0].given
    name = given.address if given else ""
    parts.append(svg.text([name], ((LEFT + RIGHT) / 2, BOTTOM + 31), "middle", "note"))
    return parts
