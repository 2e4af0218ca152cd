"""What was measured on site beside its forecast, on a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TextIO

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.report.parts import words
from edgewear.report.terminal.console import Console

HELD = "Sheath left: careful, middle, good end"
GIVEN_UP = "Forecast that does not hold here: careful, middle, good end"
NOT_CORRECTED = "Forecast, not corrected: careful, middle, good end"
"""Headings of the figures; without a correction status and figures are the forecast's."""


def print_observed(document: Mapping[str, Any], stream: TextIO, width: int = 80) -> None:
    """Write a correction: headline, each observation, sheath left before and after, cautions.

    Parameters:
        document: what `observe --json` prints.
        stream: text.
        width: columns.
    """
    console = Console(stream, width)
    console.text(document["headline"], strong=True)
    console.text(f"{PROJECTION} {LAW_FIRST}")
    console.heading("Measured")
    for one in document["observed"]:
        console.text(f"{one['what']}: {_beside(one)}", "  ", "    ")
    agreement = document["agreement"]
    console.text(f"{agreement[0].upper()}{agreement[1:]}.", "  ", "    ")
    if not document.get("says_nothing"):
        _rests_on(document, console)
    spared = document.get("too_few") or document.get("says_nothing")
    given_up = NOT_CORRECTED if spared else GIVEN_UP
    console.heading(HELD if document["holds"] else given_up)
    for option in document["options"]:
        console.text(option["name"], "  ", strong=True)
        console.text(words.STATUS_JOIN.join(option["status"]), "    ")
        console.text(f"before  {_margin(option['before'])}", "    ")
        if document["holds"]:
            console.text(f"after   {_margin(option['after'])}", "    ")
    console.heading("Cautions")
    for caution in document["cautions"]:
        if caution not in (PROJECTION, LAW_FIRST):  # said above
            console.text(caution, "- ", "  ")
    console.line()
    if document.get("report"):
        console.line(f"page     {document['report']}")
    console.line(f"dataset  {document['dataset']}")


def _rests_on(document: Mapping[str, Any], console: Console) -> None:
    console.line()
    lead = "The corrected figures rest on" if document["holds"] else "What was measured fits"
    console.text(
        f"{lead} {document['effective']:.0f} of {document['replicates']} trials "
        "(effective sample size)."
    )


def _beside(one: Mapping[str, Any]) -> str:
    """Give what was read beside what was forecast."""
    if one["forecast"] is None:
        return str(one["words"])
    shown = words.millimetres if one["unit"] == "m" else words.hertz
    read = ", ".join(map(shown, one["read"]))
    low, high = shown(one["forecast"]["p5"]), shown(one["forecast"]["p95"])
    return f"{read}; forecast {low} to {high}: {one['words']}"


def _margin(margin: Mapping[str, float | None] | None) -> str:
    if margin is None:
        return "no wear number given"
    return ", ".join(words.left(margin[key]) for key in ("p5", "p50", "p95"))
