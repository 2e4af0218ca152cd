"""The course of one run for a picture: who did what when, what happened, how the sheath wore."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite
from typing import TYPE_CHECKING

from edgewear import spelt
from edgewear.findings.timeline import Course, Demand, Mark, Span, Timeline
from edgewear.job.log import Kind
from edgewear.layout import TICK_S

if TYPE_CHECKING:
    from edgewear.case import Records
    from edgewear.job.log import Entry
    from edgewear.procedure.fault_runs import FaultRuns
    from edgewear.scenario.models.scenario import Scenario

MARKED = frozenset((
    Kind.FAULT, Kind.SEES, Kind.UNSEEN, Kind.CALLS, Kind.UNHEARD, Kind.CORE_VISIBLE, Kind.PARTED,
    Kind.LINE_LOST, Kind.CAUGHT, Kind.FALLS, Kind.PROTECTION_USED_UP, Kind.PROTECTION_DISPLACED,
    Kind.STOPS, Kind.RETREATED, Kind.WAITS_IN_VAIN,
))  # fmt: skip
"""What a picture marks."""

CLOSES = (Kind.ENDS, Kind.STOPS, Kind.WAITS_IN_VAIN)
"""What ends a step."""

MOST_POINTS = 200
"""Points of a curve."""

DRAWN_AS = {"wait for": "waiting", "rest": "rest"}
"""Step -> how its time is drawn; any other is activity."""


def timeline(runs: FaultRuns, index: int) -> Timeline:
    """The nominal course of one combination of faults."""
    from edgewear.engine.results.nominal_tables import FULL, timeline_of

    faults = runs.combinations[index]
    done = runs.nominal(faults, FULL)
    names = " and ".join(one.name for one in faults) or "no fault"
    return Timeline(
        title=f"If this had happened: {names}",
        people=tuple(
            Course(name, tuple(_spans(runs.scenario, done.log, name, done.ticks)))
            for name in done.times
        ),
        marks=tuple(
            Mark(e.tick * TICK_S, e.who, f"{e.what} {e.detail}".strip())
            for e in done.log
            if e.kind in MARKED
        ),
        demand=tuple(_curves(timeline_of(done, runs.option))),
    )


def _spans(scenario: Scenario, log: Sequence[Entry], name: str, ended: int) -> Iterator[Span]:
    """Stretches of a person's time, from the begin of each step to its end."""
    begun: Entry | None = None
    for entry in log:
        if entry.who != name:
            continue
        if entry.kind is Kind.BEGINS:
            begun = entry
        elif entry.kind in CLOSES and begun is not None:
            yield from _span(scenario, begun, entry.tick)
            begun = None
    if begun is not None:
        yield from _span(scenario, begun, ended)


def _span(scenario: Scenario, begun: Entry, tick: int) -> Iterator[Span]:
    if tick > begun.tick:
        step = scenario.job[begun.who][begun.step - 1]
        kind = DRAWN_AS.get(step.step, "activity")
        yield Span(begun.tick * TICK_S, tick * TICK_S, begun.detail, kind)


def _curves(samples: Records) -> Iterator[Demand]:
    """Largest demand over time, rope by rope, thinned evenly."""
    ropes = list(dict.fromkeys(samples[["line", "rope"]].tolist()))
    lines = [line for line, _ in ropes]
    for line, rope in ropes:
        mine = samples[(samples["line"] == line) & (samples["rope"] == rope)]
        mine = mine[:: max(len(mine) // MOST_POINTS, 1)]
        demand = tuple(float(v) if isfinite(v) else 0.0 for v in mine["demand"])
        name = spelt.one_rope(line, rope) if lines.count(line) > 1 else line
        yield Demand(name, tuple(mine["time_s"].tolist()), demand)
