"""Labels beside a drawing, pushed apart so that none covers another, each with a leader line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from edgewear.report.drawings import svg

GAP = 5.0
"""Room between two labels [drawing unit]."""


@dataclass(frozen=True)
class Label:
    """Words for one point of a drawing; the first line names it, the second says what it is."""

    at: svg.Xy
    name: str
    note: str
    left: bool


def rows(label: Label, width: float) -> list[str]:
    """Give the lines of text of a label.

    Parameters:
        label: as placed.
        width: of the column it stands in [drawing unit].
    """
    lines = svg.wrap(label.name, width)
    return lines + (svg.wrap(label.note, width) if label.note else [])


def _heights(labels: Sequence[Label], width: float) -> list[float]:
    return [len(rows(label, width)) * svg.LINE_HEIGHT + GAP for label in labels]


def tops(wanted: Sequence[float], heights: Sequence[float], top: float) -> list[float]:
    """Place blocks near the heights wanted, in order, none covering another, none above `top`.

    Blocks that would overlap are joined and centred on what their members want together.

    Parameters:
        wanted: middle of each block, ascending [drawing unit].
        heights: of each block [drawing unit].
        top: least upper end [drawing unit].
    """
    groups: list[list[float]] = []  # [sum of wanted tops of the first block, count, height]
    for middle, height in zip(wanted, heights, strict=True):
        groups.append([middle - height / 2, 1, height])
        while len(groups) > 1 and _start(groups[-1], top) < _end(groups[-2], top):
            below, above = groups.pop(), groups[-1]
            above[0] += below[0] - above[2] * below[1]
            above[1] += below[1]
            above[2] += below[2]
    placed: list[float] = []
    index = 0
    for group in groups:
        start = _start(group, top)
        for _ in range(int(group[1])):
            placed.append(start)
            start += heights[index]
            index += 1
    return placed


def _start(group: Sequence[float], top: float) -> float:
    return max(group[0] / group[1], top)


def _end(group: Sequence[float], top: float) -> float:
    return _start(group, top) + group[2]


def draw(labels: Sequence[Label], width: float, column: float) -> tuple[list[str], float]:
    """Draw labels in columns at both sides of a picture.

    Parameters:
        labels: in any order.
        width: of the whole picture [drawing unit].
        column: of each column of labels [drawing unit].

    Returns: the elements and the lowest point they reach [drawing unit].
    """
    parts: list[str] = []
    lowest = 0.0
    for left in (True, False):
        side = sorted((label for label in labels if label.left is left), key=lambda one: one.at[1])
        heights = _heights(side, column)
        for label, height, top in zip(
            side, heights, tops([one.at[1] for one in side], heights, 2.0), strict=True
        ):
            parts += _one(label, top, width, column)
            lowest = max(lowest, top + height)
    return parts, lowest


def _one(label: Label, top: float, width: float, column: float) -> list[str]:
    lines = rows(label, column)
    edge = column if label.left else width - column
    anchor = "end" if label.left else "start"
    names = len(svg.wrap(label.name, column))
    base = top + svg.LINE_HEIGHT - 2.5
    inward = 5.0 if label.left else -5.0
    half = base - 3.5
    leader = svg.path([(edge + inward / 2.5, half), (edge + inward * 2, half), label.at], "leader")
    parts = [leader, svg.text(lines[:names], (edge, base), anchor, "name")]
    if lines[names:]:
        parts.append(
            svg.text(lines[names:], (edge, base + names * svg.LINE_HEIGHT), anchor, "note")
        )
    return parts
