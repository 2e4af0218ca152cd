"""Frozen forecasts and their scores, on a terminal."""

from __future__ import annotations

from math import inf
from pathlib import Path
from typing import TextIO

from edgewear.cautions import CAUTIONS, LAW_FIRST, PROJECTION
from edgewear.findings.learning.scores import Discrepancy, Part, Scored, Scores
from edgewear.report.how_far.words import value
from edgewear.report.terminal.console import Console

SAID = {
    "not earned": "Too few tests were forecast blind: the library's discrepancy stands.",
    "narrower": "The forecasts did better than the library's discrepancy says; it may be narrowed:",
    "wider": "The forecasts did worse than the library's discrepancy says. Widen it:",
    "agrees": "The forecasts agree with the library's discrepancy, which stands.",
}
"""Verdict of the findings -> what is said of it."""

EXPLAINED = (
    "Smaller scores are better. Of an interval seen, only what every figure in it has in common is "
    "counted. Log scores compare libraries on the same tests, never one test with another. In "
    "brackets: central 90 %."
)


ALIKE = "; several figures of one test weigh as one"

NOT_BY_THEN = "not by the job's end"
"""What is said of something looked for that did not come in a draw."""


def figure(si: float, dimension: str) -> str:
    """Give a figure with a unit people use; one without end had not come when the job was over.

    No longer job was tried, so nothing says that it would never come.
    """
    return NOT_BY_THEN if si == inf else value(si, dimension)


def seen_words(low: float, high: float, dimension: str) -> str:
    """Say what was seen: a figure, an interval, or an end of one."""
    if low == high:
        return figure(low, dimension)
    if high == inf:
        return f"at least {figure(low, dimension)}"
    if low == 0.0:
        return f"at most {figure(high, dimension)}"
    return f"{figure(low, dimension)} to {figure(high, dimension)}"


def print_frozen(
    path: Path, looked_for: str, quantiles: dict[str, float], dimension: str, seal: str,
    stream: TextIO, width: int = 80,
) -> None:  # fmt: skip
    """Say what was frozen.

    Parameters:
        path: its file; looked_for: the word; quantiles: name -> SI; dimension: of them.
        seal: of the file; stream: text; width: columns.
    """
    console = Console(stream, width)
    console.text(f"Frozen: {path}", strong=True)
    console.text(f"{PROJECTION} {LAW_FIRST}")
    spelt = ", ".join(f"{name} {figure(one, dimension)}" for name, one in quantiles.items())
    console.text(f"{looked_for}: {spelt}", "  ", "    ")
    console.text(f"seal {seal}", "  ", "    ")
    console.text(
        "Send the seal to somebody before the test: it shows later that nothing was changed.", "  "
    )


def print_scores(found: Scores, stream: TextIO, width: int = 80) -> None:
    """Write every forecast beside what came out, then all of them together.

    Parameters:
        found: what was found; stream: text; width: columns.
    """
    console = Console(stream, width)
    blind = sum(one.blind for one in found.scored)
    told = f"{_counted(len(found.scored), 'forecast')} of {_counted(found.tests, 'test')} scored"
    console.text(f"{told}, {blind} of them blind", strong=True)
    console.text(f"{PROJECTION} {LAW_FIRST}")
    for file, why in found.refused:
        console.text(f"NOT COUNTED: {file}: {why}", "", "  ", strong=True)
    for one in found.scored:
        _one(console, one)
    if found.waiting:
        console.heading("Waiting for their tests")
        for name in found.waiting:
            console.text(name, "- ", "  ")
    _together(console, found)
    console.heading("Cautions")
    for caution in CAUTIONS:
        console.text(caution, "- ", "  ")


def _one(console: Console, one: Scored) -> None:
    console.heading(one.name)
    blind = "" if one.blind else "; NOT BLIND: frozen after the test, not counted"
    p5, p50, p95 = (figure(x, one.dimension) for x in (one.p5, one.p50, one.p95))
    console.text(f"{one.looked_for}: forecast {p50} ({p5} to {p95})", "  ", "    ")
    seen = seen_words(one.low, one.high, one.dimension)
    console.text(f"seen on {one.on}: {seen}{blind}", "  ", "    ")
    low, high = (f"{100 * x:.0f}" for x in one.place)
    spelt = f"from {low} to {high} of 100" if low != high else f"at {low} of 100"
    console.text(
        f"it lies {spelt} draws; log score {one.log_score:.2f}, CRPS {one.crps:.3g}, "
        f"interval score {one.interval_score:.3g} (SI)",
        "  ",
        "    ",
    )


def _together(console: Console, found: Scores) -> None:
    console.heading("Together, blind forecasts alone")
    if found.coverage is None:
        console.text("No blind forecast has been scored.")
        return
    blind = sum(one.blind for one in found.scored)
    if blind > found.blind_tests:
        told = f"{_counted(blind, 'forecast')} of {_counted(found.blind_tests, 'test')}"
        console.text(f"{told}: each test counts once, whatever its figures", "  ", "    ")
    console.text(f"inside the central 90 %: {_share(found.coverage)}", "  ", "    ")
    console.text(f"mean log score: {found.mean_log_score:.2f}", "  ")
    console.text("at or below a level of the forecast, of 100:", "  ")
    for level, part in found.reliability:
        console.text(f"{100 * level:3.0f} expected, {_share(part)} seen", "    ", "      ")
    if found.discrepancy is not None:
        _discrepancy(console, found.discrepancy)
    console.line()
    console.text(EXPLAINED)


def _discrepancy(console: Console, found: Discrepancy) -> None:
    console.heading("What they say of the law's discrepancy")
    console.text(SAID[found.verdict], strong=True)
    told = f"{_counted(found.forecasts, 'forecast')} of {_counted(found.count, 'test')}"
    console.text(f"rests on {told}{ALIKE if found.forecasts > found.count else ''}", "  ", "    ")
    console.text(f"exposure against forecast, all tests: {_factor(found.bias)}", "  ", "    ")
    console.text(f"the next test's own factor: {_factor(found.factor)}", "  ", "    ")
    console.text(f"the library now: {_factor(found.now)}", "  ", "    ")
    console.line(found.entry) if len(found.entry) < console.width else console.text(found.entry)


def _counted(count: int, what: str) -> str:
    """Give "1 test", "5 tests"."""
    return f"{count} {what}{'s' * (count != 1)}"


def _share(part: Part) -> str:
    return f"{100 * part.value:.0f} ({100 * part.low:.0f} to {100 * part.high:.0f})"


def _factor(part: Part) -> str:
    return f"{part.value:.2g} times ({part.low:.2g} to {part.high:.2g})"
