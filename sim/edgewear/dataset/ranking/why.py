"""Why an option stands where it stands, in words made from what its trials computed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from edgewear import spelt
from edgewear.dataset.ranking.model import EdgeSummary, Fact, OptionResult
from edgewear.terms import WORKING


def why_of(option: OptionResult) -> str:
    """Give the reason for an option's place in a few sentences."""
    if option.group == 3:
        return (
            "A cutting edge under load can part a rope in one pass, so no wear number is given. "
            "Remove the edge or keep the line off it: protection can move, and ropes leave it."
        )
    if option.failed == option.trials:
        return "No trial could be computed, so nothing is known of what it wears."
    edges = loaded(option)
    if not edges:
        return " ".join(
            filter(None, (unfinished(option), "The loaded working line bends over no edge."))
        )
    worst = worst_edge(edges)
    whose = _people(option) > 1
    said = [unfinished(option), _bare(option), _at(worst, whose)]
    others = [edge for edge in edges if edge is not worst and edge.decides[1] > 0]
    if others:
        second = max(others, key=lambda edge: edge.decides[1])
        where = f"{second.edge}{_on(second, whose)}"
        said.append(f"Next comes {where}, which {_takes(second.decides[1])}.")
    said.append(_middle(edges, whose))
    return " ".join(part for part in said if part)


def unfinished(option: OptionResult) -> str:
    """Say in how many trials the plan is not finished, and what their wear is worth; "" in none."""
    if not option.unfinished:
        return ""
    worth = (
        "What is told of wear is of the part up to there."
        if option.unfinished + option.failed == option.trials
        else "Such trials count at the careful end, below all others; wear is told of the others."
    )
    return (
        f"The plan is not finished in {option.unfinished} of {option.trials} trials, in step "
        f"{option.unfinished_step} at the earliest{_such_as(option.unfinished_reasons)}. {worth}"
    )


def _such_as(reasons: Sequence[str]) -> str:
    """Give one reason of several, in brackets."""
    return f" ({'such as: ' if len(reasons) > 1 else ''}{reasons[0]})" if reasons else ""


def facts_of(option: OptionResult) -> tuple[Fact, ...]:
    """Give the same reasons one by one, for a table."""
    facts = []
    for edge in loaded(option):
        facts.append(Fact(f"travel a stroke at {edge.edge}", _travel(edge)))
        if edge.stuck_share is not None:
            facts.append(
                Fact(
                    f"strokes in which the rope lay still at {edge.edge}",
                    spelt.percent(edge.stuck_share),
                )
            )
        facts.append(
            Fact(
                f"worst place of the rope at {edge.edge}",
                f"in {spelt.percent(edge.worst_share)} of the trials",
            )
        )
    if option.stroke_hz is not None:
        facts.append(Fact("strokes a second", spelt.significant(option.stroke_hz)))
        facts += _bounces(option, option.stroke_hz)
    return tuple(facts)


def loaded(option: OptionResult) -> list[EdgeSummary]:
    """Give the edges over which the loaded working line bends."""
    return [
        edge
        for edge in option.edges
        if edge.role == WORKING and edge.wrap_deg > 0 and edge.peak_tension_n > 0
    ]


def worst_edge(edges: Sequence[EdgeSummary]) -> EdgeSummary:
    """Give the edge that wears most at the careful end.

    Where that is level, the one that is the worst in most trials around the 5th percentile.
    """
    return max(edges, key=lambda edge: edge.decides[::-1])


def middle_edge(edges: Sequence[EdgeSummary]) -> EdgeSummary:
    """Give the edge that wears most in the middle, the worst in most trials where that is level."""
    return max(edges, key=lambda edge: (edge.demand_max, edge.worst_share))


def _middle(edges: Sequence[EdgeSummary], whose: bool) -> str:
    """Say so where the middle of the trials has another cause than the careful end."""
    middle = middle_edge(edges)
    if middle is worst_edge(edges) or middle.demand_max <= 0:
        return ""
    return (
        f"In the middle of the trials it is {middle.edge}{_on(middle, whose)} that wears most: it "
        f"{_takes(middle.demand_max)} there."
    )


def _takes(demand: float) -> str:
    if demand > 2.0:
        return f"wears the sheath through about {spelt.times_through(demand)} times"
    return f"takes {spelt.percent(demand)} of the sheath"


def _both(edge: EdgeSummary) -> str:
    """Say what an edge takes at the careful end, and in the middle of the trials."""
    if edge.demand_careful is None:
        return _takes(edge.demand_max)
    aside = travel_aside(edge)
    careful = f"{_takes(edge.demand_careful)} at the careful end{f' ({aside})' if aside else ''}"
    return f"{careful}, {spelt.percent(edge.demand_max)} in the middle"


SIDEWAYS_SHARE = 0.1
"""Travel along an edge that takes less than this of the wear there is not named: wear is known no
better than to some tenths, and who stopped that travel would gain less than that."""

SIDEWAYS_ALONE = 0.99
"""Travel that takes more than this of the wear there may be all of it."""


def travel_aside(edge: EdgeSummary) -> str:
    """Say it of the careful end; "" where it is not known, or takes hardly any of the wear."""
    return sideways(edge.decides[1], edge.sideways_careful or 0.0)


def sideways(demand: float, of_it: float) -> str:
    """Say that travel along an edge takes a noticeable share of the wear there; "" if not.

    Parameters:
        demand: sheath demand of the edge.
        of_it: what travel along the edge took of it at most.
    """
    if of_it < SIDEWAYS_SHARE * demand or of_it <= 0.0:
        return ""
    share = of_it / demand
    most = "all" if share > SIDEWAYS_ALONE else spelt.percent(share)
    return f"up to {most} of it by travel sideways along the edge"


def _bare(option: OptionResult) -> str:
    return " ".join(f"B{text[1:]}." for text in bare_said(option.facts))


def bare_said(facts: Mapping[str, Any]) -> list[str]:
    """Give what is said of bare edges in a setting that has no status for them."""
    return [str(bare["words"]) for bare in facts.get("bare_edges", ()) if bare["works"]]


def _people(option: OptionResult) -> int:
    """Count the people whose lines belong to an option."""
    lines = option.facts.get("drawing", {}).get("lines", ())
    return len({line.get("person") for line in lines})


def _on(edge: EdgeSummary, whose: bool) -> str:
    """Say whose line an edge wears, where there are several people."""
    return f" on {edge.line}" if whose else ""


def lies(edge: EdgeSummary) -> str:
    """Say what a line lies on at an edge, and how far it bends there at any time of the job."""
    return f"{edge.protection or 'bare'}, {spelt.bend(edge.wrap_deg)}"


def _at(edge: EdgeSummary, whose: bool) -> str:
    over = f"{edge.edge}{_on(edge, whose)} ({lies(edge)})"
    tension = f"up to {spelt.kilonewtons(edge.peak_tension_n)}"
    if edge.travel_per_stroke_m is None:
        return (
            f"{over} wears most: {spelt.metres(edge.slip_m)} of rope slides there under "
            f"{tension}, which {_both(edge)}."
        )
    if edge.travel_per_stroke_m == 0:
        return (
            f"{over} wears most: the rope lies still there in most strokes; the whole job slides "
            f"{spelt.metres(edge.slip_m)} under {tension} and {_both(edge)}."
        )
    return (
        f"{over} wears most: each stroke drags {_travel(edge)} of rope over it under "
        f"{tension}; the whole job slides {spelt.metres(edge.slip_m)} there and {_both(edge)}."
    )


def _bounces(option: OptionResult, stroke_hz: float) -> list[Fact]:
    """Give how often person and rope bounce, and the stroke rate over it."""
    named = (
        ("sliding", option.frequency_sliding_hz),
        ("stuck", option.frequency_stuck_hz),
    )
    facts = [Fact(f"bounces a second, {how}", spelt.significant(hz)) for how, hz in named if hz]
    over = "stroke rate over the bounce"
    return facts + [
        Fact(f"{over}, {how}", spelt.significant(stroke_hz / hz)) for how, hz in named if hz
    ]


def _travel(edge: EdgeSummary) -> str:
    if edge.travel_per_stroke_m is None:
        return f"none (no strokes; {spelt.metres(edge.slip_m)} in all)"
    return spelt.metres(edge.travel_per_stroke_m)
