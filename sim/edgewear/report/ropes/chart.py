"""Wear along one rope, from end to end, with the level at which the core shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from edgewear.report.drawings import svg
from edgewear.report.drawings.charts import LEFT, RIGHT, WIDTH, Scale, bottom_axis, left_axis, thin
from edgewear.report.parts import words

POINTS = 400
BOTTOM = 150.0


def draw(document: Mapping[str, Any], identity: str) -> str:
    """Draw wear along the rope: the middle thin, the careful end heavy.

    Parameters:
        document: `edgewear.rope/1`.
        identity: unique on the page.
    """
    along = document["along"]
    most = max(along["high"], default=0.0)
    across = Scale(0.0, document["length_m"], LEFT, RIGHT)
    up = Scale(0.0, max(min(most, 3.0) * 110, 115.0), BOTTOM, 28.0)
    parts = [
        *left_axis(up, LEFT, RIGHT, "sheath worn, %"),
        svg.line((LEFT, up(100)), (RIGHT, up(100)), "target"),
        svg.text(["core shows"], (RIGHT, up(100) - 4), "end", "note"),
    ]
    for name, style in (("middle", "rule"), ("high", "working")):
        parts += _curve(along["at_m"], along[name], across, up, style)
    for name, at_m in sorted(document["register"].get("marks", {}).items()):
        x = across(at_m)
        parts.append(svg.line((x, BOTTOM), (x, BOTTOM - 8), "leader"))
        parts.append(svg.text([name], (x, BOTTOM - 10), "middle", "note"))
    parts += bottom_axis(across, BOTTOM, "rope from end A, m")
    title = f"{document['rope']}: wear along the rope"
    size = (WIDTH, BOTTOM + 36)
    return svg.picture(size, title, describe(document), *parts, identity=identity)


def _curve(
    at_m: Sequence[float], demand: Sequence[float], across: Scale, up: Scale, style: str
) -> list[str]:
    """One curve, interrupted where the rope is not worn."""
    runs: list[tuple[list[float], list[float]]] = []
    last = -1.0
    for at, value in zip(at_m, demand, strict=True):
        if not runs or at - last > 0.015:
            runs.append(([], []))
        runs[-1][0].append(at)
        runs[-1][1].append(value)
        last = at
    return [
        svg.path([(across(x), up(y * 100)) for x, y in thin(xs, ys, POINTS)], style)
        for xs, ys in runs
        if len(xs) > 1
    ]


def describe(document: Mapping[str, Any]) -> str:
    """Say in words what the picture shows.

    Parameters:
        document: `edgewear.rope/1`.
    """
    along = document["along"]
    if not along["at_m"]:
        return "No wear has been computed or seen."
    at = max(range(len(along["high"])), key=along["high"].__getitem__)
    worn, middle = (words.percent(min(along[name][at], 9.99)) for name in ("high", "middle"))
    return f"Most worn {along['at_m'][at]:.2f} m from end A: {middle}, at the careful end {worn}."
