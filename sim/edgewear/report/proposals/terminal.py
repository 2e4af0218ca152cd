"""Ways of rigging that were tried, on a terminal, with the best to paste."""

from __future__ import annotations

from typing import TextIO

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.findings.inquiries.proposals import Proposal, Proposals
from edgewear.findings.standing import lacks_of, met_words
from edgewear.report.parts import not_counted, words
from edgewear.report.terminal.console import Console

SHOWN = 8
"""Ways listed."""


def print_proposals(found: Proposals, count: int, stream: TextIO, width: int = 80) -> None:
    """Write the best ways of rigging, what was refused and why, and the best as YAML.

    Parameters:
        found: everything tried; count: how many to paste.
        stream: text; width: columns.
    """
    console = Console(stream, width)
    console.text(found.title, strong=True)
    console.text(headline(found))
    console.text(f"{PROJECTION} {LAW_FIRST}")
    console.heading("In the order of a comparison")
    for place, one in enumerate(found.tried[:SHOWN], 1):
        _line(console, place, one)
    reasons = dict.fromkeys(reason for _, reason in found.refused)
    if reasons:
        console.heading("Not rigged")
        for reason in reasons:
            many = sum(other == reason for _, other in found.refused)
            console.text(f"{many}: {reason}", "- ", "  ")
    if best := found.best(count):
        console.heading("To paste below `options:`, to be checked and compared there")
        stream.write(pasted(best))
    console.heading("Cautions")
    for caution in found.cautions:
        console.text(caution, "- ", "  ")


def headline(found: Proposals) -> str:
    """Say how many ways were tried, and how many meet the target."""
    meeting = [one.status for one in found.tried if one.meets]
    tried = f"{len(found.tried) + len(found.refused)} ways of rigging tried"
    asked, refused = words.percent(found.target), f"{len(found.refused)} cannot be rigged."
    if any(map(lacks_of, meeting)):
        return f"{tried} for a target of {asked}, {refused} {met_words(meeting)}"
    return f"{tried}, {len(meeting)} meet the target of {asked}, {refused}"


def pasted(best: tuple[Proposal, ...]) -> str:
    """Give proposals as they stand below `options:` in a scenario.

    Parameters:
        best: the proposals.
    """
    lines = [line for one in best for line in one.text.splitlines()]
    return "".join(f"  {line}\n" for line in lines)


def _line(console: Console, place: int, one: Proposal) -> None:
    console.text(one.name, f"{place:2} ", "   ", strong=True)
    status = words.STATUS_JOIN.join(one.status)
    left = f"{words.left(one.left)} at the careful end"
    left = "no wear number given" if one.left is None else left
    console.text(f"{left}; {one.control}; {status}", "   ")
    for text in not_counted.hot_at({one.name: one.melts}):
        console.text(text, "   ")
