"""Who still waits, once somebody can give no event any more."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from edgewear.job.log import Entry, Kind
from edgewear.scenario.models import steps as planned
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.walking import round_of

Wait = tuple[str, str, int, int]
"""Who waits, for which event, and the entries at which that begins and ends."""


def steps_ended(log: Sequence[Entry], scenario: Scenario) -> Iterator[tuple[int, planned.Step]]:
    """The entry that ends every step, with the step; those inside a repeat come round by round."""
    made: Counter[tuple[str, int]] = Counter()
    for k, e in enumerate(log):
        if e.kind not in (Kind.ENDS, Kind.MADE) or e.who not in scenario.job:
            continue
        step = scenario.job[e.who][e.step - 1]
        if e.kind is Kind.MADE and isinstance(step, planned.Repeat):
            one = round_of(step)
            step = one[made[e.who, e.step] % len(one)]
            made[e.who, e.step] += 1
        yield k, step


def halted_with(
    log: Sequence[Entry], scenario: Scenario, casualty: str, at: int
) -> tuple[Entry, ...]:
    """The log as it goes on when somebody does nothing more after one of its entries.

    Whoever waits for an event of theirs waits on, and so does whoever waits for those: also where
    a third gives it later. Events that nobody gives, such as a fault's, come as they came.
    """
    waits = list(_waits(log, scenario))
    events = [(k, e) for k, e in enumerate(log) if e.kind is Kind.EVENT]
    ours = {e.detail for _, e in events}
    last = {casualty: at}
    while True:
        left = [(k, e) for k, e in events if k <= last.get(e.who, len(log))]
        given = {e.detail: k for k, e in reversed(left)}
        more = {
            who: begins for who, name, begins, ends in reversed(waits)
            if name in ours and given.get(name, len(log)) > ends > at
            and begins < last.get(who, len(log))
        }  # fmt: skip
        if not more:
            return tuple(e for k, e in enumerate(log) if k <= last.get(e.who, len(log)))
        last |= more


def _waits(log: Sequence[Entry], scenario: Scenario) -> Iterator[Wait]:
    ended = dict(steps_ended(log, scenario))
    begun: dict[str, int] = {}
    for k, e in enumerate(log):
        step = ended.get(k)
        if isinstance(step, planned.WaitFor):
            yield e.who, step.name, begun[e.who], k
        if e.kind in (Kind.BEGINS, Kind.MADE, Kind.ENDS):
            begun[e.who] = k
