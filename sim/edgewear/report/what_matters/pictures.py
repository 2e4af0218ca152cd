"""Pictures of what matters: ranked bars, and the outcome over an input."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear.findings.inquiries.what_matters import Influence, OptionInfluences
from edgewear.report.drawings import svg
from edgewear.report.drawings.charts import LEFT, RIGHT, WIDTH, Scale, bottom_axis, left_axis
from edgewear.report.what_matters import words as said

ROW = 34.0
TOP = 12.0
BOTTOM = 150.0


def bars(option: OptionInfluences, identity: str) -> str:
    """Draw the shares of the most important inputs, alone (full) and in all (outline).

    Parameters:
        option: its inputs; identity: unique on the page.
    """
    named = said.named(option)
    across = Scale(0.0, 100.0, 12.0, RIGHT)
    bottom = TOP + ROW * max(len(named), 1)
    parts = [part for at, one in enumerate(named) for part in _bar(one, TOP + ROW * at, across)]
    parts += bottom_axis(across, bottom, "share of the spread, %: full alone, outline in all")
    described = "; ".join(f"{one.address}: {said.influence(one)}" for one in named)
    title = f"{option.option}: which inputs decide"
    return svg.picture((WIDTH, bottom + 36), title, described, *parts, identity=identity)


def _bar(one: Influence, y: float, across: Scale) -> list[str]:
    start, alone = across(0.0), across(100 * one.alone.value)
    total = across(100 * max(one.total.value, one.alone.value))
    low, high = across(100 * max(one.alone.low, 0.0)), across(100 * min(one.alone.high, 1.0))
    box = {"x": start, "y": y + 16, "height": 10.0}
    return [
        svg.text([one.address], (start, y + 11), "start", "note"),
        svg.element("rect", width=max(total - start, 0.5), class_="waiting", **box),
        svg.element("rect", width=max(alone - start, 0.5), class_="edge", **box),
        svg.line((low, y + 30), (high, y + 30), "interval"),
    ]


def over(
    option: str, address: str, values: Sequence[float], outcome: Sequence[float], identity: str
) -> str:
    """Draw the outcome of each row over an input.

    Parameters:
        option: its name; address: of the input; values: in SI.
        outcome: share [1] or the column's unit; identity: unique on the page.
    """
    across = Scale(min(values), max(values), LEFT, RIGHT)
    high = max(outcome)
    scale = 100.0 if high <= 1.0 else 1.0
    low = min(0.0, min(outcome)) * scale
    up = Scale(low, max(high * scale, low + 1e-9), BOTTOM, 28.0)
    dots = [
        svg.element("circle", cx=across(x), cy=up(y * scale), r=1.4, class_="inside")
        for x, y in zip(values, outcome, strict=True)
    ]
    words = "sheath left, %" if scale == 100.0 else "outcome"
    parts = [*left_axis(up, LEFT, RIGHT, words), *dots, *bottom_axis(across, BOTTOM, address)]
    said_of = f"{len(values)} rows of {option}: the outcome over {address}, in SI"
    title = f"{option}: over {address}"
    return svg.picture((WIDTH, BOTTOM + 36), title, said_of, *parts, identity=identity)
