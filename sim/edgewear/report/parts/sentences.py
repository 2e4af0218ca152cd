"""Sentences about an option that page, card and terminal share."""

from __future__ import annotations

from edgewear.dataset.ranking.looks import Looks
from edgewear.dataset.ranking.model import EdgeSummary, OptionResult, Quantiles
from edgewear.report.parts import words

WORN = ("a third of the sheath is worn after", "two thirds after", "the core shows after")
"""What `WornAt` says of each third."""

MOST_REASONS = 2
"""Reasons told of trials that could not be computed: two show what differs from trial to trial."""


def failures(option: OptionResult) -> str:
    """Say how many trials could not be computed, and why.

    Each trial gives its own figures, so that one cause reads as many reasons.
    """
    reasons = "; ".join(option.failed_reasons[:MOST_REASONS]) or "unknown"
    if (more := len(option.failed_reasons) - MOST_REASONS) > 0:
        reasons += f"; {more} more in the document (--json)"
    return f"{option.failed} of {option.trials} trials could not be computed: {reasons}"


def spread(quantiles: Quantiles, unit: str) -> str:
    """Give the middle and the high end of a load or length.

    Parameters:
        quantiles: [N] or [m].
        unit: "N" or "m".
    """
    shown = words.kilonewtons if unit == "N" else words.tenths
    if quantiles.p50 is None:
        return words.NOTHING
    return f"{shown(quantiles.p50)}, high end {shown(quantiles.p95)}"


def looks(when: Looks) -> str:
    """Say when to look at the rope: metres, minutes, strokes, whichever comes first."""
    first = moments(when.first_ascended_m, when.first_time_s, when.first_strokes)
    every = moments(when.every_ascended_m, when.every_time_s, when.every_strokes)
    due = first and when.first_is_due
    parts = [f"first after {first}" if due else "", f"then every {every}" if every else ""]
    parts += [when.stop.words] if when.stop is not None else []
    return "; ".join(part for part in [*parts, when.words, _worn_at(when)] if part)


def _worn_at(when: Looks) -> str:
    """Say when the careful trial has worn how much, as far as it gets."""
    found = [
        f"{name} {moments(worn.ascended_m, worn.time_s, None)}"
        for name, worn in zip(WORN, when.worn_at, strict=False)
        if worn.time_s is not None
    ]
    return f"at the careful end {', '.join(found)}" if found else ""


def moments(ascended_m: float | None, time_s: float | None, strokes: int | None) -> str:
    """Give the ways to notice that a look is due, joined by "or".

    Parameters:
        ascended_m: rope climbed [m].
        time_s: [s].
        strokes: number.
    """
    found = [
        f"{words.metres(ascended_m)} climbed" if ascended_m else "",
        words.duration(time_s) if time_s else "",
        f"{strokes} strokes" if strokes else "",
    ]
    return " or ".join(part for part in found if part)


def distance(option: OptionResult) -> tuple[str, str]:
    """Say how far an option's inputs lie outside the observations, and which one is furthest."""
    if not option.outside:
        return "outside", ", ".join(option.extrapolated) or "some inputs"
    furthest = option.outside[0]
    return "far outside" if furthest.far else "not far outside", furthest.words


def outside_by_edge(option: OptionResult) -> list[str]:
    """Say of every edge, and of what concerns all, which inputs lie outside, the furthest first."""
    found: dict[str, list[str]] = {}
    for one in option.outside:
        found.setdefault(one.edge or "", []).append(one.words)
    return ["; ".join(some) for some in found.values()]


def parts(option: OptionResult) -> list[str]:
    """Say of each part that is named beside the status what it is asked for."""
    return [part.words for part in option.named_parts]


def mark(edge: EdgeSummary) -> str:
    """Say how far a tape mark at an edge travels a stroke, and when to stop."""
    travel = edge.mark_travel_m
    if travel.p5 is None or travel.p95 is None or travel.p95 == 0:
        return words.NOTHING
    expected = f"{words.millimetres(travel.p5)} to {words.millimetres(travel.p95)}"
    if edge.mark_stop_m is None:
        return f"{expected}: no useful mark"
    return f"{expected}; stop above {words.millimetres(edge.mark_stop_m)}"
