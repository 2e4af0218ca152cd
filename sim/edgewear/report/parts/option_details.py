"""What lies behind an option, as pairs of a word and a sentence, for those who ask for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from edgewear.dataset.ranking.model import EdgeSummary, OptionResult
from edgewear.dataset.ranking.why import lies, travel_aside
from edgewear.report.parts import rigged_words, words
from edgewear.report.parts.sentences import looks, mark, spread
from edgewear.terms import LEVELS


def details(option: OptionResult) -> Iterator[tuple[str, str]]:
    """Give the reasons, looks, figures, edges and loads of an option, and why no higher level."""
    if option.why:
        yield "why", option.why
    for level in LEVELS[: option.level]:
        if level in option.why_not_higher:
            yield f"why not {level}", option.why_not_higher[level]
    if option.looks is not None and option.group < 3:
        yield "when to look", looks(option.looks)
    for part in option.parts:
        yield part.kind, part.words
    yield "load at the anchor", spread(option.anchor_peak_n, "N")
    yield "stretch at the person", spread(option.stretch_m, "m")
    for edge in option.edges:
        if edge.wrap_deg > 0:
            yield f"{edge.edge}, {edge.line}", _edge(edge, wear=option.group < 3)
    for row in rigged_words.by_anchor(option.facts.get("loads", ())):
        yield f"{row['name']} ({row['use']}) of {row['line']}", _load(row)
    for row in option.facts.get("transfers", ()):
        yield "if the working line is lost", rigged_words.transfer(row)
    for row in option.facts.get("ropes", ()):
        yield "rope", rigged_words.rope(row)
    if option.facts.get("independence"):
        yield "between the lines", str(option.facts["independence"])
    for text in rigged_words.mind(option.facts):
        yield "mind", text
    for text in option.facts.get("warnings", ()):
        yield "look at", str(text)


def _edge(edge: EdgeSummary, wear: bool) -> str:
    aside = travel_aside(edge) if wear else ""
    took = f"; {words.percent(edge.decides[1])} of the sheath, {aside}" if aside else ""
    slides = f"slides {words.metres(edge.slip_m)} in all"
    under = f"under up to {words.kilonewtons(edge.peak_tension_n)}"
    travels = mark(edge)
    told = f"; tape mark travels {travels}" if travels != words.NOTHING else ""
    return f"{', '.join([lies(edge), *_strokes(edge), slides, under])}{told}{took}"


def _strokes(edge: EdgeSummary) -> Iterator[str]:
    """Say what strokes do at an edge, as far as that is known."""
    if edge.travel_per_stroke_m is not None:
        yield f"{words.metres(edge.travel_per_stroke_m)} a stroke"
    if edge.stuck_share is not None:
        yield f"lies still in {words.percent(edge.stuck_share)} of the strokes"


def _load(row: Mapping[str, Any]) -> str:
    cases = row["cases"]
    found = [
        f"{words.kilonewtons(cases.get(case))} {case}"
        for case in rigged_words.CASES
        if cases.get(case) is not None
    ]
    rated = words.kilonewtons(row.get("strength_n"))
    return f"{', '.join(found)}; rated {rated}"
