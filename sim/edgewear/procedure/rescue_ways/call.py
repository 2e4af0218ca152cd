"""Who notices a casualty, and how the rescue is called."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from edgewear.job.log import Entry, Kind
from edgewear.job.reactions import CALL
from edgewear.layout import TICK_S
from edgewear.procedure.rescue_ways.legs import Leg, fixed
from edgewear.procedure.rescue_ways.moment import Moment, watchers
from edgewear.scenario.models.scenario import Scenario


@dataclass(frozen=True)
class Call:
    """Who noticed a casualty and how; what passes until those who come are called."""

    by: str  # "": nobody
    how: str
    legs: tuple[Leg, ...]


def call_for(
    scenario: Scenario,
    option: str,
    log: Sequence[Entry],
    moment: Moment,
    casualty: str,
    fault_tick: int,
) -> Call:
    """Say how a rescue is called for somebody who hangs still from some tick on.

    Parameters:
        moment: when they begin to hang still, or at the run's end.
        fault_tick: from which all times count.
    """
    who = moment.people[casualty]
    still_s = max(who.still_tick - fault_tick, 0) * TICK_S
    begun = fixed("noticed", "hanging still", still_s)
    told = next((e for e in log if e.kind is Kind.CALLS and e.detail == CALL
                 and e.tick >= fault_tick), None)  # fmt: skip
    if told is not None:
        return _as_called(log, told, fault_tick)
    times = scenario.times
    calls = Leg("called", "reacting", times.react), Leg("called", "calling", times.call)
    if who.able:
        return Call(casualty, "calls for help", (begun, *calls))
    by, how, looks = _watcher(scenario, option, moment, casualty)
    return Call(by, how, (begun, *looks, *calls))


def _as_called(log: Sequence[Entry], told: Entry, fault_tick: int) -> Call:
    """The call that the run has, seen when whoever calls saw it."""
    sees = [e.tick for e in log if e.kind is Kind.SEES and e.who == told.who
            and fault_tick <= e.tick <= told.tick]  # fmt: skip
    seen_tick = sees[-1] if sees else told.tick
    return Call(
        told.who,
        "sees what has happened",
        (
            fixed("noticed", "seen", (seen_tick - fault_tick) * TICK_S),
            fixed("called", "called", (told.tick - seen_tick) * TICK_S),
        ),
    )


def _watcher(
    scenario: Scenario, option: str, moment: Moment, casualty: str
) -> tuple[str, str, tuple[Leg, ...]]:
    """Who sees somebody that cannot call: whoever carries them, an attendant, who hangs beside."""
    carrier = moment.people[casualty].carried_by
    if carrier and moment.people[carrier].able:
        return carrier, "carries them", ()
    looks = (Leg("noticed", "the next look", scenario.detection.again, up_to=True),)
    for name in watchers(scenario, option):
        someone = moment.people.get(name)
        away_s = _away_s(moment, casualty) if someone is None else 0.0
        if name != casualty and (isfinite(away_s) if someone is None else someone.able):
            back = (fixed("noticed", "until back", away_s),) if away_s else ()
            return name, "looks at the edges", (*back, *looks)
    for name, someone in moment.people.items():
        if name != casualty and someone.able and someone.hangs:
            return name, "hangs in sight", looks
    return "", "", ()


def _away_s(moment: Moment, casualty: str) -> float:
    """How long the attendant stays away once a casualty hangs still [s]; inf: for good."""
    return max(moment.away_until - moment.people[casualty].still_tick, 0.0) * TICK_S
