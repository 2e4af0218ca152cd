"""Wear along the rope, and the nominal job over time: tension at the person and sliding."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from edgewear.dataset.ranking import Ranking

from . import svg, words
from .charts import WIDTH, Scale, bottom_axis, left_axis, thin
from .sources import Curve, Happening

LEFT = 40.0
RIGHT = WIDTH - 12
POINTS = 260


def style(ranking: Ranking, option: str, line: str) -> str:
    """Give the style a line is drawn in: solid for working lines, dashed for safety lines.

    Parameters:
        ranking: knows the roles.
        option, line: names.
    """
    roles = {edge.line: edge.role for edge in ranking.option(option).edges}
    drawn = ranking.option(option).facts.get("drawing", {}).get("lines", ())
    roles |= {str(part["name"]): str(part["role"]) for part in drawn}
    return "safety thin" if roles.get(line) == "safety line" else "working thin"


def wear(ranking: Ranking, option: str, curves: Sequence[Curve], identity: str) -> str:
    """Draw the sheath worn along the rope, with the level at which the core shows.

    Parameters:
        ranking: knows the lines' roles.
        option: name.
        curves: `along_m`, `demand` of each line.
        identity: unique on the page.
    """
    ends = _worn(curves)
    high = max([1.15, *(max(c.columns["demand"], default=0.0) * 1.1 for c in curves)])
    across = Scale(ends[0], ends[1], LEFT, RIGHT)
    up = Scale(0, high * 100, 160, 28)
    parts = left_axis(up, LEFT, RIGHT, "sheath worn, %")
    parts += [svg.line((LEFT, up(100)), (RIGHT, up(100)), "target")]
    parts += [svg.text(["core shows"], (RIGHT, up(100) - 4), "end", "note")]
    for curve in curves:
        points = thin(curve.columns["along_m"], curve.columns["demand"], POINTS)
        inside = [(x, y) for x, y in points if ends[0] <= x <= ends[1]]
        drawn = [(across(x), up(y * 100)) for x, y in inside]
        parts.append(svg.path(drawn, style(ranking, option, curve.line)))
    parts += _peaks(curves, across, up)
    parts += bottom_axis(across, 160, "rope from the fixed point, m")
    return svg.picture(
        (WIDTH, 196),
        f"{option}: wear along the rope",
        _wear_words(curves),
        *parts,
        identity=identity,
    )


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
    parts = []
    for curve in curves:
        if not curve.columns["demand"]:
            continue
        along, demand = _peak(curve)
        if demand <= 1e-6:
            continue
        x = across(along)
        anchor = "start" if x < (across.start + across.end) / 2 else "end"
        aside = 5 if anchor == "start" else -5
        label = f"{curve.line}: {along:.1f} m"
        parts.append(svg.text([label], (x + aside, up(demand * 100) - 5), anchor, "note"))
    return parts


def _wear_words(curves: Sequence[Curve]) -> str:
    sentences = []
    for curve in curves:
        if curve.columns["demand"]:
            along, demand = _peak(curve)
            worn = words.percent(min(demand, 9.99)) if demand > 0 else "nothing"
            sentences.append(f"{curve.line}: most worn {along:.1f} m from its fixed point, {worn}.")
    return " ".join(sentences) or "No line carried load over an edge."


def timeline(
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
    across = Scale(0, end / per_unit, LEFT, RIGHT)
    tension = Scale(0, max(_largest(curves, "tension_n") / 1000, 0.1) * 1.1, 130, 44)
    sliding = Scale(0, max(_largest(curves, "slip_m"), 0.01) * 1.1, 240, 164)
    parts = left_axis(tension, LEFT, RIGHT, "tension at the person, kN")
    parts += left_axis(sliding, LEFT, RIGHT, "sliding over the edges so far, m")
    parts += _steps(events, across, per_unit)
    for curve in curves:
        drawn = style(ranking, option, curve.line)
        parts.append(
            _drawn(curve, "tension_n", lambda v: tension(v / 1000), across, per_unit, drawn)
        )
        parts.append(_drawn(curve, "slip_m", sliding, across, per_unit, drawn))
    parts += bottom_axis(across, 240, f"time since the start of the job, {unit}")
    return svg.picture(
        (WIDTH, 276),
        f"{option}: the job over time",
        _time_words(curves, end),
        *parts,
        identity=identity,
    )


def _drawn(
    curve: Curve,
    column: str,
    up: Callable[[float], float],
    across: Scale,
    per_unit: float,
    drawn: str,
) -> str:
    points = thin(curve.columns["time_s"], curve.columns[column], POINTS)
    return svg.path([(across(x / per_unit), up(y)) for x, y in points], drawn)


def _largest(curves: Sequence[Curve], column: str) -> float:
    return max((max(curve.columns[column], default=0.0) for curve in curves), default=0.0)


def _steps(events: Sequence[Happening], across: Scale, per_unit: float) -> list[str]:
    begun = [event for event in events if event.what == "begins" and event.step > 0]
    parts, reached = [], -100.0
    for event in begun:
        x = across(event.time_s / per_unit)
        parts.append(svg.line((x, 18), (x, 240), "level"))
        label = event.detail or f"step {event.step}"
        if x > reached + 4 and x + svg.width_of(label) < RIGHT + 10:
            parts.append(svg.text([label], (x + 2, 14), "start", "note"))
            reached = x + svg.width_of(label)
    return parts


def _time_words(curves: Sequence[Curve], end: float) -> str:
    return (
        f"The job lasts {words.duration(end)}; the largest tension at the person is "
        f"{words.kilonewtons(_largest(curves, 'tension_n'))}; the rope slides "
        f"{words.metres(_largest(curves, 'slip_m'))} over the edges."
    )
