"""Who sees what has happened in one run, and when."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from edgewear.findings.fates import End
from edgewear.job.log import Kind
from edgewear.layout import TICK_S
from edgewear.procedure.rescue_ways.call import called_in
from edgewear.procedure.rescue_ways.legs import reached
from edgewear.procedure.rescue_ways.moment import JAM_WORDS
from edgewear.procedure.rescue_ways.run import Run, end_of, held_of


class Seen(NamedTuple):
    """Who saw first what had happened, and when."""

    tick: int
    by: str


def seen_in(run: Run, without: Run | None = None) -> list[Seen]:
    """Everybody who sees a fault or what it does, from the first fault on, the first of them first.

    Whoever drops or hangs still knows of it themself; whoever is left hanging counts as seen when
    their rescue has them noticed. Those who end so with no fault too tell nothing of it, and what
    is seen as soon with no fault is no sight of one.
    """
    since = run.first_tick
    usual = {} if without is None else _sights(without)
    found = [
        Seen(e.tick, e.who)
        for e in run.log
        if e.kind is Kind.SEES and e.tick >= since and e.tick < usual.get((e.who, e.detail), inf)
    ]
    for name in run.final.people:
        found += _themselves(run, name, since)
        if end_of(run.final, name) is End.HANGS and not run.ends_as(without, name):
            found += _noticed(run, name)
    return sorted(found, key=lambda one: one.tick)


def _sights(run: Run) -> dict[tuple[str, str], int]:
    """When each thing was first seen, by who saw it."""
    return {(e.who, e.detail): e.tick for e in reversed(run.log) if e.kind is Kind.SEES}


def _themselves(run: Run, name: str, since: int) -> list[Seen]:
    """The moments at which somebody able drops or is kept still for a while."""
    return [
        Seen(e.tick, name)
        for e in run.log
        if e.who == name and e.tick >= since
        and (e.kind is Kind.CAUGHT or (e.kind is Kind.PAUSES and e.detail in JAM_WORDS))
        and run.at(e.tick).people[name].able
    ]  # fmt: skip


def _noticed(run: Run, name: str) -> list[Seen]:
    """When somebody who is left hanging is noticed, at its careful end as rescues have it."""
    zero = run.counts_from(held_of(run.final, name))
    call = called_in(run, name, zero)
    if not call.by:
        return []
    late_s = dict(reached(call.legs, ()))["noticed"].p95_s
    return [Seen(max(zero + round(late_s / TICK_S), run.fault_tick), call.by)]
