"""One run of a procedure to be read: who was there, how they were rigged, how they ended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from math import isfinite
from typing import TYPE_CHECKING, NamedTuple

from edgewear.findings.fates import End
from edgewear.job.log import Entry, Kind
from edgewear.procedure.rescue_ways.moment import JAMS, PLACES, Jam, Moment, Someone, moment_at
from edgewear.scenario.models import faults as typed

if TYPE_CHECKING:
    from edgewear.job.faults import Injected
    from edgewear.rigging.model import Section
    from edgewear.scenario.models.scenario import Scenario

HANGS = 2
GRAVITY = {End.PLAN: 0, End.STANDS: 0, End.BACK: 1, End.HANGS: HANGS, End.FALLS: 3}
"""How badly an end is, before anybody comes."""

MUCH_SOONER = 0.1
"""Of the time until somebody hangs: what leaves them so earlier by more is the cause; assumed."""

LAST = 2**62
"""A tick after everything."""


class Struck(NamedTuple):
    """A rescue under way that the last fault ended, and whom it found on the way."""

    rescuer: str  # "": they haul or lower from the top
    casualty: str
    named: str  # that rescue
    zero: int  # tick from which the casualty's times count
    lost: tuple[str, ...] = ()  # lines of the rescuer's that do not serve any more
    lacks: tuple[str, ...] = ()  # what keeps a rescuer there who could go on themself


@dataclass(frozen=True)
class Run:
    """One run to be read: who was there, how they were rigged, what happened."""

    scenario: Scenario
    option: str
    sections: tuple[Section, ...]
    log: tuple[Entry, ...]
    faults: tuple[Injected, ...] = ()
    struck: tuple[Struck, ...] = ()  # the log has them where they were

    def at(self, tick: int) -> Moment:
        """Everybody at a tick."""
        return moment_at(self.log, tick, self.scenario, self.sections, self.faults)

    def hang_from(self, tick: int) -> dict[str, int]:
        """When each person is known to hang next, after a tick."""
        later = [e for e in self.log if e.tick > tick and e.kind in PLACES and isfinite(e.value)]
        return {e.who: e.tick for e in reversed(later)}

    @cached_property
    def final(self) -> Moment:
        """Everybody at the end of the run."""
        return self.at(LAST)

    def gravity(self, without: Run | None = None) -> tuple[int, ...]:
        """How badly people end, the worst first, before anybody comes.

        Whoever goes on with a line that is lost ends as badly as who retreats.

        Parameters:
            without: the same world with no fault; who ends there as they do here counts nothing.
        """
        return tuple(sorted(map(partial(self._end, without), self.final.people), reverse=True))

    def _end(self, without: Run | None, name: str) -> int:
        if self.ends_as(without, name):
            return 0
        return max(GRAVITY[end_of(self.final, name)], self._has_lost(self.final.people[name]))

    def ends_as(self, other: Run | None, name: str) -> bool:
        """Whether somebody ends in another run at the same step, by the same, on the same.

        Whoever begins to hang much sooner does so by what is different here.
        """
        if other is None or self._how(name) != other._how(name):
            return False
        here, there = (held_of(run.final, name).hangs_from_tick for run in (self, other))
        return end_of(self.final, name) is not End.HANGS or here >= (1.0 - MUCH_SOONER) * there

    def _how(self, name: str) -> tuple[object, ...]:
        who = self.final.people[name]
        lost = lost_lines(self, who, self.final, self.fault_tick)
        return (
            end_of(self.final, name), holds_on(self, self.final, who), who.waits_for, who.step,
            who.able, who.stuck, who.carried_by, frozenset(who.lost), len(who.falls), tuple(lost),
        )  # fmt: skip

    def _has_lost(self, who: Someone) -> int:
        """1 where somebody has one line less, 0 where not."""
        if not (self.final.gone or self.final.spent):
            return 0
        return int(bool(lost_lines(self, who, self.final, self.fault_tick)))

    @property
    def happened(self) -> bool:
        """Whether all of its faults came about."""
        came = {e.who for e in self.log if e.kind is Kind.FAULT}
        return all(one.name in came for one in self.faults)

    @property
    def fault_tick(self) -> int:
        """When the last of the faults happened; 0 without any."""
        return max(self._fault_ticks, default=0)

    @property
    def first_tick(self) -> int:
        """When the first of the faults happened; 0 without any."""
        return min(self._fault_ticks, default=0)

    @property
    def _fault_ticks(self) -> list[int]:
        ticks = {e.who: e.tick for e in self.log if e.kind is Kind.FAULT}
        return [ticks.get(one.name, 0) for one in self.faults]

    def counts_from(self, who: Someone) -> int:
        """The tick from which the times of somebody who hangs still count.

        That of the last fault before they did; whoever waits in vain was still before, so theirs
        count from the last of all. Without any fault, from where they begin to hang.
        """
        if not self.faults:
            return who.hangs_from_tick
        before = [tick for tick in self._fault_ticks if tick <= who.hangs_from_tick]
        return self.fault_tick if who.waits_for or not before else max(before)

    def hangs_from(self, name: str) -> int:
        """The tick from which somebody hangs still; to be taken over ends it for whoever moves on.

        Whoever was being rescued when that ended has hung since before it began.
        """
        if self.ended_for(name) is not None:
            return self.final.people[name].hangs_from_tick
        return held_of(self.final, name).hangs_from_tick

    def ended_for(self, casualty: str) -> Struck | None:
        """The rescue of somebody that was ended under way."""
        return next((one for one in self.struck if one.casualty == casualty), None)

    def was_coming(self, rescuer: str) -> Struck | None:
        """To whom somebody was on the way whose rescue was ended."""
        return next((one for one in self.struck if one.rescuer == rescuer), None)

    @cached_property
    def jams(self) -> tuple[Jam, ...]:
        """Every device that serves no more for a while."""
        faults = {one.name: one.fault for one in self.faults}
        return tuple(
            Jam(fault.person, e.tick, fault.fault, fault.for_)
            for e in self.log
            if e.kind is Kind.FAULT and isinstance(fault := faults.get(e.who), JAMS)
            and fault.for_ is not None
        )  # fmt: skip

    def extra_kg(self, tick: int = LAST) -> dict[str, float]:
        """What faults have added to people's weight by a tick."""
        found: dict[str, float] = {}
        came = {e.who for e in self.log if e.kind is Kind.FAULT and e.tick <= tick}
        for fault in (one.fault for one in self.faults if one.name in came):
            if isinstance(fault, typed.HeavierPerson):
                found[fault.person] = found.get(fault.person, 0.0) + fault.by.value
            elif isinstance(fault, typed.SecondPerson):
                found[fault.person] = found.get(fault.person, 0.0) + fault.mass.value
        return found


def end_of(final: Moment, name: str) -> End:
    """How somebody's part ends: whoever hangs on another's lines ends as that one does."""
    who = final.people[name]
    if who.fell:
        return End.FALLS
    if who.carried_by:
        return end_of(final, who.carried_by)
    if not who.stopped:
        return End.PLAN
    if who.went_back:
        return End.BACK
    return End.HANGS if who.hangs else End.STANDS


def held_of(final: Moment, name: str) -> Someone:
    """On whose lines somebody hangs: their own, or those of whoever took them over."""
    who = final.people[name]
    return final.people[who.carried_by] if who.carried_by else who


def holds_on(run: Run, final: Moment, who: Someone) -> str:
    """What somebody hangs on in the end; "" where nothing is known of that."""
    if who.fell:
        return "nothing"
    if who.carried_by:
        return f"the lines of {who.carried_by}"
    coming = run.was_coming(who.name)
    if not who.hangs or (coming is not None and coming.lost):
        return ""
    if who.held_by:
        return who.held_by
    mine = [s for s in run.sections if s.person == who.name and s.role == who.role]
    serving = [s for s in mine if s.top_m <= who.depth_m < s.bottom_m] or mine
    return serving[-1].line if serving else who.role


def lost_lines(run: Run, who: Someone, final: Moment, since: int) -> dict[str, bool]:
    """Lines of somebody on the ropes that are lost, those apart that they fell from.

    Each with whether all that is wrong with it is that its core shows: it may still carry them.
    """
    if who.fell or not _on_ropes(run, who.name, since):
        return {}
    mine = [one for one in run.sections if one.person == who.name and one.role not in who.lost]
    failed = {one.line for one in mine if one.anchor in final.gone} | final.parted
    lost = [one.line for one in mine if one.line in failed | final.spent]
    return {line: line not in failed for line in lost}


def _on_ropes(run: Run, name: str, since: int) -> bool:
    """Whether somebody hangs when something goes wrong, or does later."""
    later = (e for e in run.log if e.who == name and e.tick >= since and e.kind in PLACES)
    return run.at(since).people[name].hangs or any(isfinite(e.value) for e in later)


__all__: Sequence[str] = ("GRAVITY", "HANGS", "Run", "end_of", "held_of", "holds_on", "lost_lines")
