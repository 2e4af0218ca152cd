"""How far inputs may go, on a terminal."""

from __future__ import annotations

from typing import TextIO

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.findings.inquiries.how_far import HowFar
from edgewear.report.how_far import words as said
from edgewear.report.terminal.console import Console


def print_how_far(found: HowFar, stream: TextIO, width: int = 80) -> None:
    """Write each option with its limits, then the cautions.

    Parameters:
        found: what was found; stream: text; width: columns.
    """
    console = Console(stream, width)
    console.text(found.title, strong=True)
    console.text(f"{said.headline(found)}.")
    for change in found.changes:
        console.text(f"set beside the file: {change}", "  ", "    ")
    console.text(f"{PROJECTION} {LAW_FIRST}")
    for option, limits in said.by_option(found):
        console.heading(option)
        for one in limits:
            console.text(f"{said.asked_of(one)}: {said.limit(one)}", "  ", "    ", strong=True)
            console.text(said.present(one), "    ")
            for doubt in said.doubts(one):
                console.text(doubt, "    ")
    console.line()
    console.text(said.explained(found.replicates))
    console.heading("Cautions")
    for caution in found.cautions:
        console.text(caution, "- ", "  ")
