"""A procedure taken apart, on a terminal of 80 columns, plain when piped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TextIO

from edgewear.cautions import LAW_FIRST, PROJECTION

from . import words
from .console import Console, shorten
from .difference_terminal import component, print_difference

MOST_STEPS = 8
"""Steps and pairs shown on a terminal; the document has them all."""


def print_faults(document: Mapping[str, Any], stream: TextIO, width: int = 80) -> None:
    """Write what single failures and faults do to a procedure, the weakest steps first.

    Parameters:
        document: `edgewear.faults/1`.
        stream: text; emphasis is used only where it is a terminal.
        width: columns.
    """
    console = Console(stream, width)
    console.text(document["title"], strong=True)
    console.text(
        f"rigged as: {document['option']}; {document['replicates']} trials of each fault and each "
        f"pair, seed {document['seed']}"
    )
    console.text(f"{PROJECTION} {LAW_FIRST}")
    console.text(document["conditional"])
    _shared(console, document["shared"])
    _failures(console, document)
    _weakest(console, document["weakest_steps"])
    _faults(console, document["faults"])
    _rates(console, document["rates"])
    _rescues(console, document["rescues"])
    if document.get("difference"):
        print_difference(console, document["difference"])
    console.heading("Cautions")
    for caution in document["cautions"]:
        console.text(caution, "- ", "  ")


def _shared(console: Console, shared: Sequence[str]) -> None:
    if shared:
        console.heading("What both lines depend on")
    for sentence in shared:
        console.text(sentence, "- ", "  ")


def _failures(console: Console, document: Mapping[str, Any]) -> None:
    """The worst place of each component: what does not hold first, then the hardest catch."""
    rows = document["worst_failures"]
    if not rows:
        return
    console.heading("If one thing failed: the worst step for each")
    for person in dict.fromkeys(row["person"] for row in rows):
        mine = [row for row in rows if row["person"] == person]
        console.line(f"  {person}", strong=True)
        console.table(
            ["if this failed", "step", "holds", "over", "drop", "swing", "peak"],
            [_failure(row) for row in mine],
            texts=1,
        )
    console.text(
        "A drop or peak with '!' is above its limit; what it is, and what else to mind:", "  "
    )
    for who, said in minded(rows):
        console.text(f"{who}: {said}", "- ", "  ")
    for sentence in document.get("carried", ()):
        console.text(sentence, "- ", "  ")


def minded(rows: Sequence[Mapping[str, Any]]) -> list[tuple[str, str]]:
    """What to mind of single failures, in words, with the components it holds for.

    Parameters:
        rows: those shown.
    """
    said: dict[tuple[str, str], list[str]] = {}
    for row in rows:
        texts = list(row.get("beyond", ()))
        if row["holds"] is not True or not row["independent"]:
            texts.insert(0, row["why"])
        if texts:
            where = f"{row['person']}, step {row['step']}"
            said.setdefault((where, "; ".join(texts)), []).append(component(row))
    return [(f"{where} ({', '.join(names)})", text) for (where, text), names in said.items()]


def _failure(row: Mapping[str, Any]) -> list[str]:
    holds = {True: "yes", False: "NO", None: "not known"}[row["holds"]]
    beyond = " ".join(row.get("beyond", ()))
    return [
        component(row),
        str(row["step"]),
        holds if row["independent"] else f"{holds}, shared",
        shorten(str(row["over_edge"] or "no edge"), 12),
        words.metres(row["drop_m"]) + "!" * ("drop of" in beyond),
        words.metres(row["swing_m"]),
        words.kilonewtons(row["peak_n"]) + "!" * ("peak of" in beyond),
    ]


def _weakest(console: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    console.heading("Weakest steps: the fault that would cost most there")
    if not rows:
        console.text("No fault would cost any sheath in these trials.", "  ")
        return
    alike: dict[tuple[str, str, str], list[str]] = {}
    for row in rows:
        key = row["person"], row["fault"], _cost(row)
        alike.setdefault(key, []).append(f"step {row['step']} ({row['words']})")
    for (person, fault, cost), steps in list(alike.items())[:MOST_STEPS]:
        console.text(f"{person}, {', '.join(steps)}: if {fault!r} happened, {cost}", "- ", "  ")
    if left := sum(map(len, list(alike.values())[MOST_STEPS:])):
        console.text(f"{left} more steps are in the document (--json).", "  ")


def _cost(row: Mapping[str, Any]) -> str:
    lost = f"{_points(row['margin_lost'])} of the sheath would go"
    core = f"the core would show in {_trials(row)}"
    return f"{lost}; {core}; {_seen(row)}"


def _trials(row: Mapping[str, Any]) -> str:
    """In how many trials the core would show; none of N tells no more than "below 3/N"."""
    share, trials = row["p_core_visible"], row["trials"]
    if share is None:
        return "no trial"
    count = round(share * trials)
    if count == 0:
        return f"none of {trials} trials (below 3/{trials})"
    if count == trials:
        return f"all {trials} trials" if trials > 1 else "the one trial"
    return f"{count} of {trials} trials"


def _seen(row: Mapping[str, Any]) -> str:
    if row["seen_by"] is None:
        return "nobody would see it"
    return f"seen by {row['seen_by']}, in {words.percent(row['seen_share'])} of trials"


def _faults(console: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    console.heading("If one fault happened")
    alone = [row for row in rows if len(row["names"]) == 1]
    console.table(
        ["fault", "sheath lost", "core shows", "to core", "to act", "seen"],
        [_fault(row) for row in alone],
    )
    never = [" and ".join(r["names"]) for r in rows if r["did_not_come"] and not r["trials"]]
    if never:
        console.text(f"Did not come about in this procedure: {'; '.join(never)}.", "  ")
    failed = sum(row["failed"] for row in rows)
    if failed:
        console.text(f"{failed} trials could not be computed and are left out.", "  ", strong=True)
    console.text(
        "To core: from the fault to the core showing. To act: from somebody seeing it to the core "
        "showing. Minutes and seconds; one trial in twenty is quicker. A dash: that one is among "
        "trials that never showed the core.",
        "  ",
    )
    _pairs(console, [row for row in rows if len(row["names"]) > 1 and row["trials"]])


def _pairs(console: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    """The pairs that cost most; the document has them all."""
    if not rows:
        return
    console.heading(f"If two faults happened: the worst of {len(rows)} pairs")
    ordered = sorted(
        rows, key=lambda r: (r["p_core_visible"] or 0.0, r["margin_lost"] or 0.0), reverse=True
    )
    for row in ordered[:MOST_STEPS]:
        soon = row["fault_to_core_visible_s"]["p5"]
        after = f" after {words.clock(soon)} at the careful end" if soon is not None else ""
        console.text(
            f"{' and '.join(map(repr, row['names']))}: {_points(row['margin_lost'])} of the sheath "
            f"would go; the core would show in {_trials(row)}{after}; {_seen(row)}",
            "- ",
            "  ",
        )


def _fault(row: Mapping[str, Any]) -> list[str]:
    nothing = row["trials"] == 0
    seen = "nobody" if row["seen_by"] is None else words.percent(row["seen_share"])
    return [
        " + ".join(row["names"]),
        words.NOTHING if nothing else _points(row["margin_lost"]),
        words.NOTHING if nothing else words.chance(row["p_core_visible"], row["trials"]),
        words.NOTHING if nothing else _time(row["fault_to_core_visible_s"]["p5"]),
        words.NOTHING if nothing else _time(row["time_to_act_s"]["p5"]),
        words.NOTHING if nothing else seen,
    ]


def _points(share: float | None) -> str:
    return words.NOTHING if share is None else f"{100 * max(share, 0.0):.0f} %"


def _time(time_s: float | None) -> str:
    return words.NOTHING if time_s is None else words.clock(time_s)


def _rates(console: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    if not rows:
        return
    console.heading("With the rates given, in one job")
    for row in rows:
        through = "; ".join(f"{n} ({w['source']})" for n, w in row["through"].items())
        console.text(
            f"{row['what']}: {_probability(row)} "
            f"({words.percent(row['confidence'])} confidence, {row['trials']} trials); "
            f"rates: {through}",
            "- ",
            "  ",
        )


def _probability(row: Mapping[str, Any]) -> str:
    """A probability with its interval; what no trial showed has an upper end alone."""
    if row["p"] == 0.0:
        return f"below {row['high']:.2g}"
    return f"{row['p']:.2g}, between {row['low']:.2g} and {row['high']:.2g}"


def _rescues(console: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    if not rows:
        return
    console.heading("Rescue from each place of work")
    console.table(
        ["from", "how", "load", "hands", "reach", "release", "ground"],
        [_rescue(row) for row in rows if row["possible"]],
        texts=2,
    )
    for row in rows:
        if not row["possible"]:
            place = f"{row['person']}, step {row['step']}"
            console.text(f"{place}: no {row['method']}: {row['why']}", "- ", "  ")
        for edge in row["wear"]:
            if edge["demand"] >= 1.0:
                console.text(
                    f"{row['method']} of {row['person']}, step {row['step']}: the core of "
                    f"{edge['line']} would show at {edge['edge']}",
                    "- ", "  ", strong=True,
                )  # fmt: skip
    console.text(
        "Times since the call: 19 of 20 such rescues are quicker; the middle is in the document "
        "(--json). A time with '!' is above the limit that the scenario sets. Hands: the pull "
        "before losses of the haul system.",
        "  ",
    )


def _rescue(row: Mapping[str, Any]) -> list[str]:
    times = [_limited(row, word) for word in ("reach", "release", "ground")]
    return [
        f"{row['person']}, step {row['step']}",
        row["method"],
        words.kilograms(row["load_kg"]),
        words.kilonewtons(row["hands_n"]) if row["hands_n"] else words.NOTHING,
        *times,
    ]


def _limited(row: Mapping[str, Any], word: str) -> str:
    time_s = row.get(f"{word}_p95_s")
    if time_s is None:
        return words.NOTHING
    return words.clock(time_s) + ("!" if row["within"][word] is False else "")
