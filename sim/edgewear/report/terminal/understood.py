"""What was understood of scenarios, on a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TextIO

from edgewear.report.terminal.console import Console


def print_understood(scenarios: Sequence[Sequence[str]], stream: TextIO, width: int = 80) -> None:
    """Write the lines of each scenario, an empty line between two scenarios.

    Parameters:
        scenarios: lines, each with its indent; broken where they are too long.
        stream: text.
        width: columns.
    """
    console = Console(stream, width)
    for place, lines in enumerate(scenarios):
        if place:
            console.line()
        for line in lines:
            text = line.lstrip(" ")
            indent = " " * (len(line) - len(text))
            console.text(text, indent, f"{indent}    ", strong=not indent)


def print_look_at(
    found: Sequence[tuple[str, Sequence[str]]], stream: TextIO, width: int = 80
) -> None:
    """Write what is no error and should be looked at.

    Parameters:
        found: file, and its sentences.
        stream: text.
        width: columns.
    """
    console = Console(stream, width)
    for file, said in found:
        if said:
            console.text(f"{file}: look at", "", "    ")
        for text in said:
            console.text(text, "- ", "  ")
