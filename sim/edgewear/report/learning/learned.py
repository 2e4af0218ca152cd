"""What tests taught, on a terminal."""

from __future__ import annotations

from typing import TextIO

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.findings.learning.learned import (
    HeldOut,
    Learned,
    Number,
    Standing,
    Tested,
    tests_and_ropes,
)
from edgewear.report.terminal.console import Console

SAID = {
    Standing.LEARNED: "The tests determine what is asked, and agree with each other under the law.",
    Standing.UNDETERMINED: "NOT DETERMINED: these tests leave a number as wide as it was before. "
    "No library was written: ask for less, or make a test that tells it.",
    Standing.CONTRADICTED: "TESTS CONTRADICT: what was seen in a test is hardly possible under the "
    "law with what the others say. No library was written: look at that test and its set-up.",
    Standing.UNSETTLED: "NOT SETTLED: parts of the sample do not agree with each other, or leave "
    "the ends of an interval unknown. No library was written: use more --particles.",
    Standing.PROVISIONAL: "PROVISIONAL: one pass of sampling, for a first look. A library was "
    "written that says so: rely on nothing in it before learning without --provisional.",
}
"""What is said of each standing."""

EXPLAINED = (
    "Median and central 90 %, before the tests and after them; after, each end lies outward by "
    "the error of the sample. Left: spread after over spread before. Odd: the chance that a "
    "further rope gives what was seen, or something further off, on one side."
)


def print_learned(found: Learned, folder: str, stream: TextIO, width: int = 80) -> None:
    """Write what tests taught.

    Parameters:
        found: what was learned; folder: where it was written; stream: text; width: columns.
    """
    console = Console(stream, width)
    console.text(f"{found.title}: learned from {found.learned_from}", strong=True)
    console.text(f"{PROJECTION} {LAW_FIRST}")
    console.text(SAID[found.standing], strong=found.standing is not Standing.LEARNED)
    for number in found.numbers:
        _number(console, number)
    odd = [one for one in found.tested if not one.agrees]
    for one in odd:
        console.text(_odd(one), "  ", "    ")
    if not odd:
        nearest = min(min(one.early, one.late) for one in found.tested)
        console.text(f"No test is odd; the oddest outcome has a chance of {nearest:.2g}.")
    for rival in found.rivals:
        console.text(_rival(rival), "  ", "    ")
    console.text(EXPLAINED)
    console.text(_sample(found))
    console.text(f"{found.pedigree}; written to {folder}")


def _number(console: Console, number: Number) -> None:
    unit = "" if number.unit == "1" else f" {number.unit}"
    before, after = number.before, number.after
    console.text(f"{number.address}{'' if number.determined else ': NOT DETERMINED'}", "  ")
    console.text(f"before {before.value:.3g} ({before.low:.3g} to {before.high:.3g}){unit}", "    ")
    console.text(
        f"after  {after.value:.3g} ({after.low:.3g} to {after.high:.3g}){unit}, "
        f"left {number.left:.0%}",
        "    ",
    )


def _odd(one: Tested) -> str:
    side = "so early or small" if one.early < one.late else "so late or large"
    chance = min(one.early, one.late)
    shown = "below 0.001" if chance < 0.001 else f"{chance:.2g}"
    where = f" (line {one.line})" if one.line else ""
    return f"ODD: {one.test}{where}: {one.word} {side}: predicted chance {shown}"


def _rival(one: HeldOut) -> str:
    held = tests_and_ropes(one.tests, one.ropes)
    return (
        f"law {one.law}: log score {one.log_score:.2f} +- {one.error:.2f} of "
        f"{held} held out; larger is better"
    )


def _sample(found: Learned) -> str:
    worst = max(one.agreement for one in found.numbers)
    error = max(one.ends_error for one in found.numbers)
    passes = "1 pass" if found.passes == 1 else f"{found.passes} passes"
    powers = "1 power" if found.powers == 1 else f"at most {found.powers} powers"
    return (
        f"{passes} of {found.particles} particles in 4 populations over {powers}; effective at "
        f"least {found.effective:.0f}; {found.distinct:.0%} distinct at the end; populations agree "
        f"to {worst:.2f} (1: wholly); ends known to {error:.1%} of an interval's width"
    )
