"""Two series side by side, on a terminal."""

from __future__ import annotations

from typing import TextIO

from edgewear.cautions import CAUTIONS, LAW_FIRST, PROJECTION
from edgewear.findings.learning.series import Sides
from edgewear.report.terminal.console import Console


def print_sides(found: Sides, stream: TextIO, width: int = 80) -> None:
    """Say whether the series tell a difference, how large it may be, and how many would tell.

    Parameters:
        found: what was found; stream: text; width: columns.
    """
    console = Console(stream, width)
    one, other = found.names
    console.text(f"{one} ({found.counts[0]}) beside {other} ({found.counts[1]})", strong=True)
    console.text(f"{PROJECTION} {LAW_FIRST}")
    said = {
        "first lasts longer": f"{one} lasted longer.",
        "second lasts longer": f"{other} lasted longer.",
        "not told": "These series do not tell whether one lasts longer.",
    }
    console.text(said[found.verdict], strong=True)
    console.text(
        f"Were the ropes alike, {_hundred(found.chance)} of 100 ways to deal these outcomes would "
        "part them so far or further.",
        "  ",
    )
    if found.least_chance > 0.05:
        console.text(
            f"So few samples can never tell: the clearest outcome there is comes up in "
            f"{_hundred(found.least_chance)} of 100 deals.",
            "  ",
            strong=True,
        )
    if found.ratio is None or found.first_longer is None:
        console.text("How much is not known: a series is open to one side.", "  ")
    else:
        middle, low, high = found.ratio
        console.text(
            f"{one} lasts {middle:.2g} times as long ({low:.2g} to {high:.2g}, 90 %); longer at "
            f"all: {_hundred(found.first_longer)} of 100",
            "  ",
        )
    needed = "more than 200" if found.needed is None else f"about {found.needed}"
    if found.ratio is not None:
        console.text(
            f"To tell such a difference in 8 of 10 series: {needed} samples of each.", "  "
        )
    console.line()
    console.text(
        "Holds for this edge, this load and this way of moving, and for samples of more than one "
        "batch only if they are. The spread of like ropes is assumed where few samples tell it."
    )
    console.heading("Cautions")
    for caution in CAUTIONS:
        console.text(caution, "- ", "  ")


def _hundred(share: float) -> str:
    return f"{100 * share:.2g}" if share < 0.995 else f"{100 * share:.0f}"
