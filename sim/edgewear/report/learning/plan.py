"""The next tests, on a terminal."""

from __future__ import annotations

from typing import TextIO

from edgewear.cautions import CAUTIONS, LAW_FIRST, PROJECTION
from edgewear.findings.learning.plan import NextTest, NextTests
from edgewear.report.terminal.console import Console

EXPLAINED = (
    "A factor of 2: with 90 % the number lies between half and twice its middle. In brackets: for "
    "what may come out. Each set-up is planned once, and the law's discrepancy counts as new in "
    "each. What has the same name in both files is taken for the same thing. After a test, learn "
    "from what came out and plan again."
)


def print_next_tests(found: NextTests, stream: TextIO, width: int = 80) -> None:
    """Write the plan, what else could be made, and the cautions.

    Parameters:
        found: what was found; stream: text; width: columns.
    """
    console = Console(stream, width)
    console.text(f"The next tests, to know: {found.wanted}", strong=True)
    console.text(f"{PROJECTION} {LAW_FIRST}")
    console.text(f"Known now to within a factor of {found.factor:.3g}.", "  ")
    if found.floor > 1.0:
        console.text(
            f"No test here takes away a factor of {found.floor:.3g}: this rope's own, and the "
            "law's discrepancy, which only scored forecasts narrow.",
            "  ",
        )
    if not found.tests:
        console.text("None of these tests would tell anything of it.", strong=True)
    for number, one in enumerate(found.tests, start=1):
        console.heading(f"{number}. {one.name}")
        _one(console, one)
    if found.others:
        console.heading("Not in the plan; alone each would tell")
        for one in found.others:
            console.text(f"{one.name}: {100 * one.alone:.0f} of 100", "- ", "  ")
    console.line()
    console.text(EXPLAINED)
    console.heading("Cautions")
    for caution in CAUTIONS:
        console.text(caution, "- ", "  ")


def _one(console: Console, one: NextTest) -> None:
    console.text(
        f"with it and all before: {100 * one.told:.0f} of 100 of what can be known; a factor of "
        f"{one.factor:.3g} ({one.factor_low:.3g} to {one.factor_high:.3g})",
        "  ",
        "    ",
    )
    console.text(f"alone {100 * one.alone:.0f} of 100; costs {one.cost:g}", "  ", "    ")
