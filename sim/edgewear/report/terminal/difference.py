"""What a revision of a procedure changes, on a terminal: what got worse first."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear.findings.difference import Difference, FailureChange, FaultChange
from edgewear.report.parts import words
from edgewear.report.procedure import fate_words
from edgewear.report.procedure import words as fault_words
from edgewear.report.terminal.console import Console

MOST_PAIRS = 8
"""Pairs of faults shown on a terminal; the document has them all."""

HEADINGS = {
    "worse": "Got worse",
    "better": "Got better",
    "mixed": "Better in one respect, worse in another",
}


def print_difference(console: Console, found: Difference) -> None:
    """Write what is worse, what is better, what only one revision has."""
    before, after = found.revisions
    console.heading(f"What changes from {before} to {after}")
    console.text("Both met the same trials.", "  ")
    for change, heading in HEADINGS.items():
        _changes(console, found, change, heading)
    _only(console, f"Only in {before}", found.only_before, found.components_only_before)
    _only(console, f"Only in {after}", found.only_after, found.components_only_after)
    console.text(
        f"Alike in both: {found.alike.faults} faults and pairs, "
        f"{found.alike.single_failures} single failures, {found.alike.rescues} rescues.",
        "  ",
    )


def _changes(console: Console, found: Difference, change: str, heading: str) -> None:
    """Statuses, single failures, faults and rescues that changed one way."""
    faults = [row for row in found.faults if row.change == change]
    alone = [row for row in faults if len(row.names) == 1]
    pairs = [row for row in faults if len(row.names) > 1]
    fates = [row for row in found.fates if row.change == change]
    failed = [row for row in found.single_failures if row.change == change]
    told = [
        *(f"status: {row.status!r} {row.words}" for row in found.status if row.change == change),
        *(
            f"level of control at {row.edge}: {row.words}"
            for row in found.edge_levels
            if row.change == change
        ),
        *(f"{_cause(row.names)}, {row.person}: {row.words}" for row in fates[:MOST_PAIRS]),
        *(f"if one of these failed ({who}): {said}" for who, said in _grouped(failed)),
        *(
            f"if {' and '.join(map(repr, row.names))} happened: {_fault(row)}"
            for row in [*alone, *pairs[:MOST_PAIRS]]
        ),
    ]
    rescued = [
        f"rescue of {row.person} from {row.step_words!r}: {'; '.join(row.words)}"
        for row in found.rescues
        if row.change == change
    ]
    if told or rescued:
        console.line(f"  {heading}", strong=True)
    for text in told:
        console.text(text, "- ", "  ")
    if len(pairs) > MOST_PAIRS:
        console.text(f"{len(pairs) - MOST_PAIRS} more pairs are in the document (--json).", "  ")
    for text in rescued:
        console.text(text, "- ", "  ")


def _grouped(rows: Sequence[FailureChange]) -> list[tuple[str, str]]:
    """Single failures that changed alike, in one sentence: who and what, what changed."""
    found: dict[tuple[str, str], list[str]] = {}
    for row in rows:
        found.setdefault((row.person, "; ".join(row.words)), []).append(row.called)
    return [(f"{who}: {', '.join(names)}", said) for (who, said), names in found.items()]


def _fault(row: FaultChange) -> str:
    """Say each figure of a fault that changed, before and now."""
    told = []
    for what, shown, (before, now) in (
        ("margin_lost", "of the sheath lost", map(fault_words.points, row.margin_lost)),
        ("p_core_visible", "of trials show the core", map(_percent, row.p_core_visible)),
        ("time_to_act_s", "to act", map(_time, row.time_to_act_s.p5)),
    ):
        if what in row.changed:
            told.append(f"{before} {shown} before, {now} now")
    if "seen_by" in row.changed:
        told.append("seen before, by nobody now" if row.seen_by[0] else "now somebody sees it")
    return "; ".join(told)


def _percent(share: float | None) -> str:
    return words.NOTHING if share is None else words.percent(share)


def _time(time_s: float | None) -> str:
    return words.NOTHING if time_s is None else words.clock(time_s)


def _only(
    console: Console, label: str, names: Sequence[Sequence[str]], components: Sequence[str]
) -> None:
    """Name the faults and components only one revision has, pairs of faults by number."""
    alone = [repr(one[0]) for one in names if len(one) == 1]
    pairs = sum(len(one) > 1 for one in names)
    listed = [*alone, *([f"{pairs} pairs of faults"] if pairs else []), *components]
    if listed:
        console.text(f"{label}: {', '.join(listed)}", "- ", "  ")


def _cause(names: Sequence[str]) -> str:
    """With which faults something becomes of somebody."""
    return f"if {' and '.join(map(repr, names))} happened" if names else fate_words.NO_FAULT.lower()
