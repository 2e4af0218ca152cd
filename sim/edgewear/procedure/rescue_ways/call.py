"""Who notices a casualty, and how the rescue is called."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite

from edgewear.job.log import Entry, Kind
from edgewear.job.reactions import CALL
from edgewear.layout import TICK_S
from edgewear.procedure.rescue_ways.legs import Leg, fixed
from edgewear.procedure.rescue_ways.moment import Moment, Someone, watchers
from edgewear.procedure.rescue_ways.run import Run, held_of
from edgewear.scenario.models.scenario import Scenario


@dataclass(frozen=True)
class Call:
    """Who noticed a casualty and how; what passes until those who come are called."""

    by: str  # "": nobody
    how: str  # how they noticed; or that nobody does
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
    silent_s = _left_s(moment.heard_from, who)
    if who.able and not silent_s:
        return Call(casualty, "calls for help", (begun, *calls))
    by, how, looks = _watcher(scenario, option, moment, casualty)
    if by:
        return Call(by, how, (begun, *looks, *calls))
    if who.able and isfinite(silent_s):
        unheard = fixed("called", "until heard again", silent_s)
        return Call(casualty, "calls until heard", (begun, unheard, *calls))
    lacks = f"sees or hears {casualty}" if who.able else f"sees that {casualty} cannot call"
    return Call("", f"nobody {lacks}", (begun,))


def called_in(run: Run, name: str, since: int) -> Call:
    """Say how the rescue of somebody who is left hanging is called from a tick on."""
    tick = max(held_of(run.final, name).still_tick, since)
    begun = run.at(tick)
    people = {
        who: one if who == name else replace(one, hangs=begun.people[who].hangs)
        for who, one in run.final.people.items()
    }
    seen = replace(
        run.final, people=people, away_until=begun.away_until, heard_from=begun.heard_from,
        hang_from=run.hang_from(tick),
    )  # fmt: skip
    return call_for(run.scenario, run.option, run.log, seen, name, since)


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
    """Who sees somebody that is not heard: whoever carries them, an attendant, who hangs beside.

    Of those who hang, or will, whoever does first. While those on the ropes and those at the edge
    do not hear each other, only who stands there.
    """
    who = moment.people[casualty]
    silent = _left_s(moment.heard_from, who) > 0.0
    carrier = who.carried_by
    if carrier and moment.people[carrier].able and not silent:
        return carrier, "carries them", ()
    looks = (Leg("noticed", "the next look", scenario.detection.again, up_to=True),)
    for name in watchers(scenario, option):
        someone = moment.people.get(name)
        if someone is None:
            away_s = _left_s(moment.away_until, who)
            if isfinite(away_s):
                back = (fixed("noticed", "until back", away_s),) if away_s else ()
                return name, "looks at the edges", (*back, *looks)
        elif name != casualty and someone.able and not (silent and someone.hangs):
            return name, "looks at the edges", looks
    sees = {} if silent else _in_sight(moment, casualty)
    for name in sorted(sees, key=lambda name: sees[name])[:1]:
        comes_s = max(sees[name] - who.still_tick, 0) * TICK_S
        hangs = (fixed("noticed", f"until {name} hangs in sight", comes_s),) if comes_s else ()
        return name, "hangs in sight", (*hangs, *looks)
    return "", "", ()


def _in_sight(moment: Moment, casualty: str) -> dict[str, int]:
    """From which tick on each of those who can act hangs beside a casualty; 0: already."""
    others = {who: one for who, one in moment.people.items() if who != casualty and one.able}
    known = {who: 0 if one.hangs else moment.hang_from.get(who) for who, one in others.items()}
    return {who: tick for who, tick in known.items() if tick is not None}


def _left_s(until_tick: float, casualty: Someone) -> float:
    """How long something still lasts when a casualty begins to hang still [s]; inf: for good."""
    return max(until_tick - casualty.still_tick, 0.0) * TICK_S
