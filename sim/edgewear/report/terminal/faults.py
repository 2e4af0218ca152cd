"""A procedure taken apart, on a terminal of 80 columns, plain when piped."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TextIO

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.findings.fates import Fates
from edgewear.findings.faults import FaultRow, Rate, StepRow
from edgewear.findings.procedure import Findings
from edgewear.findings.rescue import PlaceRescue
from edgewear.findings.verdict import Verdict
from edgewear.report.parts import words
from edgewear.report.procedure import fate_words, verdict_words
from edgewear.report.procedure import words as fault_words
from edgewear.report.terminal.console import Console
from edgewear.report.terminal.difference import print_difference

MOST_STEPS = 8
"""Steps and pairs shown on a terminal; the document has them all."""


MORE = (
    "--details says more: what each failure does at its worst step, the weakest steps, the pairs "
    "of faults."
)


def print_faults(found: Findings, stream: TextIO, width: int = 80, details: bool = False) -> None:
    """Write what is held against a procedure, what becomes of people, and the rescues.

    Emphasis is used only where the stream is a terminal.

    Parameters:
        found: of a procedure.
        stream: text.
        width: columns.
        details: every failure, step and pair too.
    """
    console = Console(stream, width)
    console.text(found.title, strong=True)
    console.text(
        f"rigged as: {found.option}; {found.replicates} trials of each fault and each pair, "
        f"seed {found.seed}"
    )
    if found.status:
        status = words.STATUS_JOIN.join(found.status)
        console.text(f"Status of the rigging: {status}", strong=True)
    for text in found.mind:
        console.text(text, "- ", "  ")
    console.text(f"{PROJECTION} {LAW_FIRST}")
    console.text(found.conditional)
    _verdict(console, found.verdict)
    _fates(console, found)
    _shared(console, "What both lines depend on", found.shared)
    _shared(console, "What lines of two people share", [one.words for one in found.between])
    if details:
        _failures(console, found)
        _weakest(console, found.weakest_steps)
    _faults(console, found, details)
    _rates(console, found.rates)
    _rescues(console, found.rescues)
    if found.difference is not None:
        print_difference(console, found.difference)
    if not details:
        console.line("")
        console.text(MORE)
    console.heading("Cautions")
    for caution in found.cautions:
        console.text(caution, "- ", "  ")


def _verdict(console: Console, verdict: Verdict) -> None:
    console.heading(verdict_words.HEADING)
    for text in verdict_words.listed(verdict):
        console.text(text, "- ", "  ", strong=bool(verdict.points))
    if said := verdict_words.remedy(verdict):
        console.text(said, "  ")


def _shared(console: Console, heading: str, shared: Sequence[str]) -> None:
    if shared:
        console.heading(heading)
    for sentence in shared:
        console.text(sentence, "- ", "  ")


def _failures(console: Console, found: Findings) -> None:
    """The worst place of each component: what does not hold first, then the hardest catch."""
    rows = found.worst_failures
    if not rows:
        return
    console.heading("If one thing failed: the worst step for each")
    for person in dict.fromkeys(row.person for row in rows):
        mine = [_texts(fault_words.failure(row)) for row in rows if row.person == person]
        console.line(f"  {person}", strong=True)
        console.table(fault_words.FAILURE, mine, texts=4)
    console.text(fault_words.ABOVE, "  ")
    for who, said in fault_words.minded(rows):
        console.text(f"{who}: {said}", "- ", "  ")
    for sentence in found.carried:
        console.text(sentence, "- ", "  ")


def _weakest(console: Console, rows: Sequence[StepRow]) -> None:
    console.heading("Weakest steps: the fault that would cost most there")
    if not rows:
        console.text(fault_words.NO_COST, "  ")
        return
    alike: dict[tuple[str, str, str], list[str]] = {}
    for row in rows:
        key = row.person, row.fault, fault_words.cost(row)
        alike.setdefault(key, []).append(f"step {row.step} ({row.words})")
    for (person, fault, cost), steps in list(alike.items())[:MOST_STEPS]:
        console.text(f"{person}, {', '.join(steps)}: if {fault!r} happened, {cost}", "- ", "  ")
    if left := sum(map(len, list(alike.values())[MOST_STEPS:])):
        console.text(f"{left} more steps are in the document (--json).", "  ")


def _faults(console: Console, found: Findings, details: bool) -> None:
    rows = found.faults
    console.heading("If one fault happened")
    alone = [row for row in rows if len(row.names) == 1]
    console.table(fault_words.FAULT, [_texts(fault_words.fault(row)) for row in alone])
    for row in alone:
        if said := fault_words.fallen(row):
            console.text(f"{row.names[0]}: {'; '.join(said)}", "- ", "  ", strong=True)
    for text in [*fault_words.without_any(found.without_faults), *fault_words.left_out(rows)]:
        console.text(text, "  ")
    console.text(fault_words.TIMES, "  ")
    if details:
        _pairs(console, [row for row in rows if len(row.names) > 1 and row.trials])


def _pairs(console: Console, rows: Sequence[FaultRow]) -> None:
    """The pairs that cost most; the document has them all."""
    if not rows:
        return
    console.heading(f"If two faults happened: the worst of {len(rows)} pairs")
    for row in worst_pairs(rows)[:MOST_STEPS]:
        soon = row.fault_to_core_visible_s.p5
        after = f", after {words.clock(soon)} at the careful end" if soon is not None else ""
        names = " and ".join(map(repr, row.names))
        console.text(f"{names}{after}: {fault_words.cost(row)}", "- ", "  ")


def worst_pairs(rows: Sequence[FaultRow]) -> list[FaultRow]:
    """Give pairs of faults, the worst first: nothing holds, a line parts, the core, the sheath."""
    return sorted(
        rows,
        key=lambda row: [
            row.p_nothing_holds or 0.0,
            row.p_left_hanging or 0.0,
            row.p_parted or 0.0,
            row.p_core_visible or 0.0,
            row.margin_lost or 0.0,
        ],
        reverse=True,
    )


def _rates(console: Console, rows: Sequence[Rate]) -> None:
    if not rows:
        return
    console.heading("With the rates given, in one job")
    for row in rows:
        console.text(fault_words.rate(row), "- ", "  ")


def _rescues(console: Console, rows: Sequence[PlaceRescue]) -> None:
    if not rows:
        return
    console.heading("Rescue from each place of work, if somebody cannot help themself there")
    for text in fate_words.not_shown(rows):
        console.text(text, "- ", "  ")
    for one in rows:
        for way in one.ways:
            if way.shown:
                console.text(f"{fate_words.at(one)}: {fate_words.rescue(way)}", "- ", "  ")
    for text in fate_words.cores(rows):
        console.text(text, "- ", "  ")
    console.text(fate_words.TIMES, "  ")


def _fates(console: Console, found: Findings) -> None:
    """What becomes of people, lives before rope; faults without consequence for them at the end."""
    every = found.fates
    if not every:
        return
    console.heading("What becomes of people if one fault happened, the worst first")
    if said := fate_words.of_the_plan(found.fates_without_faults):
        console.text(said, "- ", "  ")
    alone = [one for one in every if len(one.names) == 1 and not one.step and one.came]
    grave = [one for one in alone if fate_words.is_grave(one)]
    for one in grave:
        console.text(f"{one.names[0]!r}: {fate_words.consequence(one)}", "- ", "  ")
    for words_of, names in fate_words.without_harm(alone):
        console.text(f"{words_of.capitalize()}: {', '.join(map(repr, names))}.", "- ", "  ")
    _worse_pairs(console, [one for one in every if len(one.names) > 1 and one.came], grave)
    console.text(fate_words.TIMES, "  ")


def _worse_pairs(console: Console, pairs: Sequence[Fates], alone: Sequence[Fates]) -> None:
    """Pairs of faults in which somebody is worse off than with either alone."""
    known = {one.names[0]: one.gravity for one in alone}
    worse = [
        pair
        for pair in pairs
        if fate_words.is_grave(pair)
        and all(pair.gravity > known.get(name, ()) for name in pair.names)
    ]
    for pair in worse[:MOST_STEPS]:
        named = fault_words.together(pair.names)
        console.text(f"{named}: {fate_words.consequence(pair)}", "- ", "  ")
    if len(worse) > MOST_STEPS:
        console.text(f"{len(worse) - MOST_STEPS} more pairs are in the document (--json).", "  ")


def _texts(cells: Sequence[fault_words.Cell]) -> list[str]:
    return [cell.text for cell in cells]
