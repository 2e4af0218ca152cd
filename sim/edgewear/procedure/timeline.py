"""The course of one run for a picture: who did what when, what happened, how the sheath wore."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import TYPE_CHECKING, Any

from edgewear.layout import TICK_S

if TYPE_CHECKING:
    from edgewear.job.log import Entry
    from edgewear.procedure.fault_runs import FaultRuns

MARKED = (
    "fault", "sees", "calls", "core visible", "parted", "line lost", "caught", "falls",
    "protection used up", "protection displaced", "stops", "retreated", "waits in vain",
)  # fmt: skip
"""What a picture marks."""

MOST_POINTS = 200
"""Points of a curve."""

KINDS = {"wait for": "waiting", "rest": "rest"}


def timeline(runs: FaultRuns, index: int) -> dict[str, Any]:
    """The nominal course of one combination of faults, JSON-able."""
    from edgewear.engine.results.nominal_tables import FULL, timeline_of

    faults = runs.combinations[index]
    done = runs.nominal(faults, FULL)
    names = " and ".join(one.name for one in faults) or "no fault"
    return {
        "title": f"If this had happened: {names}",
        "people": [
            {"name": name, "spans": _spans(done.log, name, done.ticks)} for name in done.times
        ],
        "marks": [
            {"time_s": e.tick * TICK_S, "who": e.who, "what": f"{e.what} {e.detail}".strip()}
            for e in done.log
            if e.what in MARKED
        ],
        "demand": _curves(timeline_of(done, runs.option)),
    }


def _spans(log: Sequence[Entry], name: str, ended: int) -> list[dict[str, Any]]:
    """Stretches of a person's time, from the begin of each step to its end."""
    spans, open_step = [], None
    for entry in log:
        if entry.who != name or entry.detail.startswith("pass to"):
            continue
        if entry.what == "begins":
            open_step = entry
        elif entry.what in ("ends", "stops", "waits in vain") and open_step is not None:
            spans.append(_span(open_step, entry.tick))
            open_step = None
    if open_step is not None:
        spans.append(_span(open_step, ended))
    return [span for span in spans if span["to_s"] > span["from_s"]]


def _span(begin: Entry, tick: int) -> dict[str, Any]:
    kind = next((k for w, k in KINDS.items() if begin.detail.startswith(w)), "activity")
    return {
        "from_s": begin.tick * TICK_S,
        "to_s": tick * TICK_S,
        "what": begin.detail,
        "kind": kind,
    }


def _curves(samples: Any) -> list[dict[str, Any]]:
    """Largest demand over time, line by line, thinned evenly."""
    curves = []
    for line in dict.fromkeys(samples["line"].tolist()):
        mine = samples[samples["line"] == line]
        mine = mine[:: max(len(mine) // MOST_POINTS, 1)]
        demand = [float(v) if isfinite(v) else 0.0 for v in mine["demand"]]
        curves.append({"line": line, "time_s": mine["time_s"].tolist(), "demand": demand})
    return curves
