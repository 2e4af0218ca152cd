"""Sheath worn along the rope in the nominal run, with the level at which the core shows."""

from __future__ import annotations

from collections.abc import Sequence

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
from edgewear.report.parts.sources import Curve

POINTS = 260
BOTTOM = 150.0
NEAR = 60.0
"""Labels nearer than this across may cover each other [drawing unit]."""
SMALL = 0.4
"""Below this largest demand the scale ends early, and words tell where the core would show."""


def draw(ranking: Ranking, option: str, curves: Sequence[Curve], identity: str) -> str:
    """Draw the sheath worn along the rope.

    Parameters:
        ranking: knows the lines' roles.
        option: name.
        curves: `along_m`, `demand` of each line.
        identity: unique on the page.
    """
    left, right = _worn(curves)
    most = max((max(c.columns["demand"], default=0.0) for c in curves), default=0.0)
    across = Scale(left, right, LEFT, RIGHT)
    up = Scale(0, max(most * 130, 2.0) if most < SMALL else max(most * 110, 115.0), BOTTOM, 28)
    parts = [*left_axis(up, LEFT, RIGHT, "sheath worn, %"), *_core(up, most)]
    for curve in curves:
        points = thin(curve.columns["along_m"], curve.columns["demand"], POINTS)
        inside = [(across(x), up(y * 100)) for x, y in points if left <= x <= right]
        parts.append(svg.path(inside, style(ranking, option, curve.line)))
    parts += _peaks(curves, across, up)
    parts += bottom_axis(across, BOTTOM, "rope from the fixed point, m")
    return svg.picture(
        (WIDTH, BOTTOM + 36),
        f"{option}: wear along the rope",
        describe(curves),
        *parts,
        identity=identity,
    )


def _core(up: Scale, most: float) -> list[str]:
    if most < SMALL:
        return [svg.text(["core shows at 100 %, above this scale"], (RIGHT, 14), "end", "note")]
    return [
        svg.line((LEFT, up(100)), (RIGHT, up(100)), "target"),
        svg.text(["core shows"], (RIGHT, up(100) - 4), "end", "note"),
    ]


def _worn(curves: Sequence[Curve]) -> tuple[float, float]:
    """Give the stretch of rope that is worn at all, with some room, at least 2 m."""
    worn = [
        along
        for curve in curves
        for along, demand in zip(curve.columns["along_m"], curve.columns["demand"], strict=True)
        if demand > 1e-6
    ]
    if not worn:
        every = [along for curve in curves for along in curve.columns["along_m"]] or [0.0]
        return min(every), max(max(every), min(every) + 2.0)
    room = max((max(worn) - min(worn)) * 0.08, 0.5)
    middle, half = (max(worn) + min(worn)) / 2, max((max(worn) - min(worn)) / 2 + room, 1.0)
    return max(middle - half, 0.0), middle + half


def _peak(curve: Curve) -> tuple[float, float]:
    demand = curve.columns["demand"]
    place = max(range(len(demand)), key=demand.__getitem__)
    return curve.columns["along_m"][place], demand[place]


def _peaks(curves: Sequence[Curve], across: Scale, up: Scale) -> list[str]:
    parts: list[str] = []
    taken: list[tuple[float, float]] = []  # ropes of one line are worn most at the same place
    for curve in curves:
        if not curve.columns["demand"]:
            continue
        along, demand = _peak(curve)
        if demand <= 1e-6:
            continue
        x = across(along)
        anchor = "start" if x < (across.start + across.end) / 2 else "end"
        aside = 5 if anchor == "start" else -5
        label = f"{curve.name}: {along:.1f} m"
        y = up(demand * 100) - 5
        while any(abs(x - u) < NEAR and abs(y - v) < svg.LINE_HEIGHT for u, v in taken):
            y += svg.LINE_HEIGHT
        taken.append((x, y))
        parts.append(svg.text([label], (x + aside, y), anchor, "note"))
    return parts


def describe(curves: Sequence[Curve]) -> str:
    """Say in words what the picture shows.

    Parameters:
        curves: `along_m`, `demand` of each line.
    """
    sentences = []
    for curve in curves:
        if curve.columns["demand"]:
            along, demand = _peak(curve)
            worn = words.percent(min(demand, 9.99)) if demand > 0 else "nothing"
            sentences.append(f"{curve.name}: most worn {along:.1f} m from its fixed point, {worn}.")
    return " ".join(sentences) or "No line carried load over an edge."
