"""A reliability diagram: shares of outcomes beside the levels forecast for them."""

from __future__ import annotations

from edgewear.findings.learning.scores import Part, Scores
from edgewear.report.drawings import svg
from edgewear.report.drawings.charts import LEFT, Scale, bottom_axis, left_axis

SIDE = 260.0
TOP, BOTTOM = 28.0, 28.0 + SIDE
RIGHT = LEFT + SIDE
RADIUS = 2.5


def reliability_picture(found: Scores, identity: str = "reliability") -> str:
    """Draw, at each level, the share of blind outcomes at or below it with its 90 %.

    Parameters:
        found: scores of a folder; identity: unique on a page.
    """
    across, up = Scale(0.0, 100.0, LEFT, RIGHT), Scale(0.0, 100.0, BOTTOM, TOP)
    blind = sum(one.blind for one in found.scored)
    parts = [
        *left_axis(up, LEFT, RIGHT, "outcomes at or below it, of 100"),
        svg.line((across(0.0), up(0.0)), (across(100.0), up(100.0)), "rule"),
        *(part for level, share in found.reliability for part in _point(level, share, across, up)),
        *bottom_axis(across, BOTTOM, "level of the forecast, of 100"),
    ]
    said = "; ".join(
        f"{100 * level:.0f}: {100 * one.value:.0f} ({100 * one.low:.0f} to {100 * one.high:.0f})"
        for level, one in found.reliability
    )
    tests = f"{found.blind_tests} test{'s' * (found.blind_tests != 1)}"
    title = f"Reliability of {blind} blind forecasts of {tests}"
    described = f"Level of the forecast: outcomes at or below it with 90 %, of 100. {said}"
    return svg.picture((RIGHT + 12, BOTTOM + 36), title, described, *parts, identity=identity)


def _point(level: float, share: Part, across: Scale, up: Scale) -> list[str]:
    x = across(100 * level)
    return [
        svg.line((x, up(100 * share.low)), (x, up(100 * share.high)), "interval"),
        svg.element("circle", cx=x, cy=up(100 * share.value), r=RADIUS, class_="edge"),
    ]
