"""One run on a terminal of 80 columns, plain when piped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TextIO

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.dataset.ranking.why import sideways
from edgewear.report.parts import not_counted, words
from edgewear.report.terminal.console import Console, pad
from edgewear.terms import CUTTING


def print_run(document: Mapping[str, Any], stream: TextIO, width: int = 80) -> None:
    """Write one run: status, what each line and edge did, loads, the timeline, cautions.

    Parameters:
        document: what `run --json` prints.
        stream: text.
        width: columns.
    """
    console = Console(stream, width)
    console.text(f"Option: {document['option']}", strong=True)
    statuses = words.STATUS_JOIN.join(document["status"]) or "none"
    console.text(f"Status: {statuses}", strong=True)
    for text in document.get("mind", ()):
        console.text(text, "- ", "  ")
    for text in not_counted.faults(document.get("faults_not_played", ())):
        console.text(text, "- ", "  ")
    for change in document.get("changes", ()):
        console.text(f"Set beside the file: {change}.")
    console.text(f"One run with nominal values. {PROJECTION} {LAW_FIRST}")
    for line in document["lines"]:
        _line(console, line, document)
    _slings(console, document.get("slings", ()))
    _bare(console, document.get("bare_edge", ()))
    _timeline(console, document.get("events", ()))
    if document.get("extrapolated"):
        console.heading("Outside what the wear parameters were observed for")
        console.text(", ".join(map(str, document["extrapolated"])), "  ")
    console.heading("Cautions")
    for caution in document["cautions"]:
        if caution not in (PROJECTION, LAW_FIRST):  # said above
            console.text(caution, "- ", "  ")


def _line(console: Console, line: Mapping[str, Any], document: Mapping[str, Any]) -> None:
    console.heading(str(line["name"]))
    loaded, ropes = _loaded(line["edges"]), line["ropes"]
    cutting = CUTTING in document["status"]
    pairs = [
        ("sheath left", words.left(line.get("sheath_margin"), loaded)),
        ("core visible", _when(line.get("core_visible"), "the line is lost")),
        ("peak tension", words.kilonewtons(line.get("peak_tension_n"))),
        ("at the anchor", words.kilonewtons(line.get("anchor_peak_n"))),
        ("stretch at the person", words.metres(line.get("stretch_m"))),
        ("natural frequencies", _frequencies(line.get("natural_frequency_hz"))),
    ]
    if line.get("parted"):
        pairs.insert(0, ("PARTED", _when(line["parted"], "nothing holds on this line")))
    for label, value in pairs:
        console.text(value, f"  {pad(label, 22)}", " " * 24)
    if cutting:
        console.text(
            "A cutting edge can part a rope in one pass; the wear computed here is for research, "
            "not for a decision.",
            "  ",
        )
    if len(ropes) < 2:
        _edges(console, line["edges"])
        return
    console.text(f"{len(ropes)} ropes, one after the other; above: of the most worn.", "  ")
    for rope in ropes:
        over = [edge for edge in line["edges"] if edge["rope"] == rope["rope"]]
        left = words.left(rope["sheath_margin"], _loaded(over))
        console.text(f"Rope {rope['rope']}: sheath left {left}", "  ")
        _edges(console, over)


def _loaded(edges: Sequence[Mapping[str, Any]]) -> bool:
    return any((edge.get("wrap_deg") or 0) > 0 for edge in edges)


def _when(moment: Mapping[str, Any] | None, consequence: str) -> str:
    if not moment:
        return "never in this run"
    return (
        f"after {words.duration(moment['time_s'])}, step {moment['step']}, "
        f"{words.metres(moment['ascended_m'])} climbed: {consequence}"
    )


def _frequencies(pair: Mapping[str, float | None] | None) -> str:
    if not pair:
        return words.NOTHING
    return (
        f"{words.hertz(pair.get('sliding'))} with the rope sliding, "
        f"{words.hertz(pair.get('stuck'))} with it stuck at the last edge"
    )


def _edges(console: Console, edges: Sequence[Mapping[str, Any]]) -> None:
    if not edges:
        console.line("  No edge on this line.")
        return
    headings = ["edge", "cover", "largest bend", "slips", "slides", "mark p50", "p95", "tension"]
    rows = [
        [
            str(edge["name"]),
            str(edge.get("protection") or "bare"),
            words.degrees(edge["wrap_deg"], "deg"),
            str(edge["slips"]),
            words.metres(edge["slip_m"]),
            words.millimetres(edge["mark_travel_m"]["p50"]),
            words.millimetres(edge["mark_travel_m"]["p95"]),
            words.kilonewtons(edge["peak_tension_n"]),
        ]
        for edge in edges
    ]
    console.table(headings, rows, texts=2)
    for edge in edges:
        if edge.get("heat"):
            console.text(f"{edge['name']}: {edge['heat']}", "  ", "    ")
        if aside := sideways(edge["demand_max"], edge["sideways_demand"]):
            worn = words.percent(edge["demand_max"])
            console.text(f"{edge['name']}: {worn} of the sheath, {aside}", "  ", "    ")


def _slings(console: Console, slings: Sequence[Mapping[str, Any]]) -> None:
    if slings:
        console.heading("Slings")
    for sling in slings:
        console.text(f"{sling['name']}: {_of_a_sling(sling)}", "  ")


def _of_a_sling(sling: Mapping[str, Any]) -> str:
    """Say what becomes of a sling: one that is through holds nothing until the job is over."""
    share = words.percent(sling["wear"])
    if sling["wear"] > 1.0:
        return f"worn through before the job is over, {share} of what it lasts"
    return f"worn {share}; {'retire it' if sling['retire'] else 'inspect before the next use'}"


def _bare(console: Console, moments: Sequence[Mapping[str, Any]]) -> None:
    if not moments:
        return
    console.heading("Bare edges under load: protect them")
    for moment in moments:
        console.text(
            f"{moment['edge']}, on {moment['line']}, from {words.clock(moment['from_s'])}, "
            f"for {words.duration(moment['for_s'])}",
            "  ",
        )


def _timeline(console: Console, events: Sequence[Mapping[str, Any]]) -> None:
    if not events:
        return
    console.heading("Timeline (minutes:seconds)")
    ends = {
        (event["who"], event.get("step"), event.get("detail")): event["time_s"]
        for event in events
        if event["what"] == "ends"
    }
    for event in events:
        if event["what"] in ("ends", "made"):  # a repeat is told as one step, whatever its rounds
            continue
        detail = str(event.get("detail") or "")
        time = words.clock(event["time_s"])
        if event["what"] == "begins":
            end = ends.get((event["who"], event.get("step"), event.get("detail")))
            time += f" to {words.clock(end)}" if end is not None else ""
            told = f"{event['who']}: {detail}"
        else:
            told = f"{event['who']} {event['what']} {detail}"
        console.text(told, f"  {time:<15}  ", " " * 19)
