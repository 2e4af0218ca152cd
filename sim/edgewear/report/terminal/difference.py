"""What a revision of a procedure changes, on a terminal: what got worse first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from edgewear.report.parts import words
from edgewear.report.terminal.console import Console

MOST_PAIRS = 8
"""Pairs of faults shown on a terminal; the document has them all."""

HEADINGS = {
    "worse": "Got worse",
    "better": "Got better",
    "mixed": "Better in one respect, worse in another",
}


def print_difference(console: Console, found: Mapping[str, Any]) -> None:
    """Write what is worse, what is better, what only one revision has.

    Parameters:
        console: where to.
        found: `difference` of a `faults` document with two files.
    """
    before, after = found["revisions"]
    console.heading(f"What changes from {before} to {after}")
    console.text("Both met the same trials.", "  ")
    for change, heading in HEADINGS.items():
        _changes(console, found, change, heading)
    for label, key in ((f"Only in {before}", "only_before"), (f"Only in {after}", "only_after")):
        _only(console, label, found[key], found[f"components_{key}"])
    console.text(
        f"Alike in both: {found['alike']['faults']} faults and pairs, "
        f"{found['alike']['single_failures']} single failures, {found['alike']['rescues']} "
        "rescues.",
        "  ",
    )


def _changes(console: Console, found: Mapping[str, Any], change: str, heading: str) -> None:
    """Statuses, single failures, faults and rescues that changed one way."""
    mine = {
        key: [row for row in found[key] if row["change"] == change]
        for key in ("status", "edge_levels", "single_failures", "faults", "rescues")
    }
    if not any(mine.values()):
        return
    console.line(f"  {heading}", strong=True)
    for row in mine["status"]:
        console.text(f"status: {row['status']!r} {row['words']}", "- ", "  ")
    for row in mine["edge_levels"]:
        console.text(f"level of control at {row['edge']}: {row['words']}", "- ", "  ")
    for who, said in _grouped(mine["single_failures"]):
        console.text(f"if one of these failed ({who}): {said}", "- ", "  ")
    alone = [row for row in mine["faults"] if len(row["names"]) == 1]
    pairs = [row for row in mine["faults"] if len(row["names"]) > 1]
    for row in [*alone, *pairs[:MOST_PAIRS]]:
        console.text(f"if {_names(row['names'])} happened: {_fault(row)}", "- ", "  ")
    if len(pairs) > MOST_PAIRS:
        console.text(f"{len(pairs) - MOST_PAIRS} more pairs are in the document (--json).", "  ")
    for row in mine["rescues"]:
        where = f"{row['method']} of {row['person']} from {row['step_words']!r}"
        console.text(f"{where}: {'; '.join(row['words'])}", "- ", "  ")


def _grouped(rows: Sequence[Mapping[str, Any]]) -> list[tuple[str, str]]:
    """Single failures that changed alike, in one sentence: who and what, what changed."""
    found: dict[tuple[str, str], list[str]] = {}
    for row in rows:
        key = str(row["person"]), "; ".join(row["words"])
        found.setdefault(key, []).append(component(row))
    return [(f"{who}: {', '.join(names)}", said) for (who, said), names in found.items()]


def component(row: Mapping[str, Any]) -> str:
    """Name of a component where its person is named beside it.

    Parameters:
        row: of single failures.
    """
    return str(row["component"]).replace(f"on the {row['person']} ", "on the ")


def _names(names: Sequence[str]) -> str:
    return " and ".join(map(repr, names))


def _fault(row: Mapping[str, Any]) -> str:
    """Say each figure of a fault that changed, before and now."""
    shown = {
        "margin_lost": ("of the sheath lost", _points),
        "p_core_visible": ("of trials show the core", words.percent),
        "time_to_act_s": ("to act", _time),
    }
    told = []
    for key in row["changed"]:
        if key == "seen_by":
            told.append("seen before, by nobody now" if row[key][0] else "now somebody sees it")
            continue
        what, words_of = shown[key]
        before, now = row[key]["p5"] if isinstance(row[key], Mapping) else row[key]
        told.append(f"{words_of(before)} {what} before, {words_of(now)} now")
    return "; ".join(told)


def _points(share: float | None) -> str:
    return words.NOTHING if share is None else f"{100 * max(share, 0.0):.0f} %"


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
