"""What becomes of every person in one run: read out of its log, with the rescue that follows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import isfinite
from typing import TYPE_CHECKING

from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.rescue import ANY, SUSPENSION, PlaceRescue, Reached, Rescue
from edgewear.job.log import Entry, Kind
from edgewear.layout import TICK_S
from edgewear.procedure.caught import caught
from edgewear.procedure.rescue_ways.call import Call, call_for
from edgewear.procedure.rescue_ways.legs import Leg, fixed, middle_s, reached
from edgewear.procedure.rescue_ways.moment import JAMS, PLACES, Moment, Someone, moment_at
from edgewear.procedure.rescue_ways.rescues import best_of, limits_of, ways_of
from edgewear.procedure.rescue_ways.scene import Engaged, Scene
from edgewear.procedure.rescue_ways.waiting import halted_with, steps_ended
from edgewear.scenario.models import faults as typed
from edgewear.scenario.models import steps as planned

if TYPE_CHECKING:
    from edgewear.job.faults import Injected
    from edgewear.rigging.model import Section
    from edgewear.scenario.models.scenario import Limits, Scenario
    from edgewear.scenario.text.quantities import Measured

PICK_OFF = "pick-off"
"""The way in which a rescuer comes to the casualty and stays with them."""

HANGS = 2
GRAVITY = {End.PLAN: 0, End.STANDS: 0, End.BACK: 1, End.HANGS: HANGS, End.FALLS: 3}
"""How badly an end is, before anybody comes."""

LAST = 2**62
"""A tick after everything."""

AT_WORK = (planned.Work, planned.Swing, planned.Rest)
"""Steps at whose places a rescue is asked for."""


@dataclass(frozen=True)
class Run:
    """One run to be read: who was there, how they were rigged, what happened."""

    scenario: Scenario
    option: str
    sections: tuple[Section, ...]
    log: tuple[Entry, ...]
    faults: tuple[Injected, ...] = ()

    def at(self, tick: int) -> Moment:
        """Everybody at a tick."""
        return moment_at(self.log, tick, self.scenario, self.sections, self.faults)

    @cached_property
    def final(self) -> Moment:
        """Everybody at the end of the run."""
        return self.at(LAST)

    @cached_property
    def gravity(self) -> tuple[int, ...]:
        """How badly people end, the worst first, before anybody comes.

        Whoever goes on with a line that is lost ends as badly as who retreats.
        """
        ends = (GRAVITY[end_of(self.final, name)] for name in self.final.people)
        less = (self._has_lost(who) for who in self.final.people.values())
        return tuple(sorted(map(max, ends, less), reverse=True))

    def _has_lost(self, who: Someone) -> int:
        """1 where somebody has one line less, 0 where not."""
        if not (self.final.gone or self.final.spent):
            return 0
        return int(bool(_lost(self, who, self.final, self.fault_tick)))

    @property
    def happened(self) -> bool:
        """Whether all of its faults came about."""
        came = {e.who for e in self.log if e.kind is Kind.FAULT}
        return all(one.name in came for one in self.faults)

    @property
    def fault_tick(self) -> int:
        """When the last of the faults happened; 0 without any."""
        ticks = {e.who: e.tick for e in self.log if e.kind is Kind.FAULT}
        return max((ticks.get(one.name, 0) for one in self.faults), default=0)

    @property
    def extra_kg(self) -> dict[str, float]:
        """What faults have added to people's weight."""
        found: dict[str, float] = {}
        for one in self.faults:
            fault = one.fault
            if isinstance(fault, typed.HeavierPerson):
                found[fault.person] = found.get(fault.person, 0.0) + fault.by.value
            elif isinstance(fault, typed.SecondPerson):
                found[fault.person] = found.get(fault.person, 0.0) + fault.mass.value
        return found


def fates_of(run: Run, person: str = "", step: int = 0, inside: str = "") -> Fates:
    """What becomes of everybody in a run, the worst off first.

    Parameters:
        person, step: whose step the fault comes with, where it comes with one.
        inside: the step inside a repeat, in words.
    """
    since, final = run.fault_tick, run.final
    people = _one_after_another(run, final, since)
    seen = next((e.who for e in run.log if e.kind is Kind.SEES and e.tick >= since), None)
    return Fates(
        names=tuple(one.name for one in run.faults),
        person=person,
        step=step,
        inside=inside,
        came=run.happened,
        seen_by=seen if run.faults else None,
        people=tuple(sorted(people, key=lambda fate: -fate.gravity)),
    )


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


def _one_after_another(run: Run, final: Moment, since: int) -> list[Fate]:
    """Everybody's fate; whoever rescues one is not free for the next, who began to hang later."""
    order = sorted(final.people, key=lambda name: _held(final, name).still_tick)
    found: dict[str, Fate] = {}
    for name in order:
        found[name] = _fate(run, final, name, since, list(found.values()))
    return [found[name] for name in final.people]


def _held(final: Moment, name: str) -> Someone:
    """On whose lines somebody hangs: their own, or those of whoever took them over."""
    who = final.people[name]
    return final.people[who.carried_by] if who.carried_by else who


def _comes_along(final: Moment, other: Fate, held: Someone) -> bool:
    """Whether another one's rescue takes somebody along: a line is hauled or lowered as it is."""
    from_top = other.rescue is not None and other.rescue.method != PICK_OFF
    return from_top and _held(final, other.person) is held


def _engaged(before: Sequence[Fate], called_s: float) -> Engaged:
    """Who rescues somebody else already when a rescue is called [s from the fault]."""
    rescues = [fate.rescue for fate in before if fate.rescue is not None]
    from_top = [one for one in rescues if one.method != PICK_OFF]
    hands = {name for one in from_top for name in (one.rescuer, *one.hands) if name}
    until_s = max((one.times["ground"].middle_s for one in from_top), default=0.0)
    by = {str(one.rescuer): one.person for one in rescues if one.method == PICK_OFF}
    return Engaged(by, frozenset(hands), max(until_s - called_s, 0.0))


def _fate(run: Run, final: Moment, name: str, since: int, before: Sequence[Fate]) -> Fate:
    end, who = end_of(final, name), final.people[name]
    dropped = caught(run.scenario, run.option, who, final, run.extra_kg)
    lost = _lost(run, who, final, since)
    fate = Fate(
        name, end, _holds(run, final, who), dropped.drop_m, dropped.swing_m,
        catch_holds=dropped.holds, catch_why=dropped.why, still=_still(run, name),
        waits_for=who.waits_for, lost=tuple(lost),
        showing=tuple(line for line, shows in lost.items() if shows),
    )  # fmt: skip
    if end is not End.HANGS:
        return fate
    held = _held(final, name)
    from_s = max(held.hangs_from_tick - since, 0) * TICK_S
    begun = run.at(max(held.still_tick, since))
    seen = replace(final, away_until=begun.away_until, heard_from=begun.heard_from)
    call = call_for(run.scenario, run.option, run.log, seen, name, since)
    called_s = middle_s(call.legs)
    moment = run.at(max(since + round(called_s / TICK_S), held.still_tick))
    engaged = _engaged([one for one in before if not _comes_along(final, one, held)], called_s)
    scene = replace(_scene(run, _helpers_left(run, moment, name), name), engaged=engaged)
    rescue, missing = best_of(scene, call)
    down_s = None if rescue is None else rescue.times["ground"].middle_s
    return replace(fate, hangs_from_s=from_s, hangs_to_s=down_s, rescue=rescue, missing=missing)


def _helpers_left(run: Run, moment: Moment, casualty: str) -> Moment:
    """The moment with everybody else unable to act whose own catch does not hold."""
    for who in moment.people.values():
        if who.name != casualty and who.falls:
            found = caught(run.scenario, run.option, who, moment, run.extra_kg)
            who.able = who.able and found.holds is not False
    return moment


def _still(run: Run, name: str) -> Reached | None:
    """The longest that somebody hung still until they could go on; None: they did not.

    It is as uncertain as what is typed of it; what else held them meanwhile comes to that.
    """
    mine = [one.fault for one in run.faults if isinstance(one.fault, JAMS)]
    typed_for = [(one.fault, one.for_) for one in mine if one.person == name and one.for_]
    found = [
        _stayed(e, lasting, run.scenario.limits)
        for e in run.log
        if e.kind is Kind.HUNG_STILL and e.who == name
        for what, lasting in typed_for
        if what == e.detail and lasting.value < e.value + TICK_S
    ]
    return max(found, key=lambda one: one.p95_s, default=None)


def _stayed(entry: Entry, lasting: Measured, limits: Limits) -> Reached:
    more = fixed("ground", "held meanwhile", max(entry.value - lasting.value, 0.0))
    legs = Leg("ground", entry.detail, lasting), more
    times = dict(reached(legs, limits_of(limits)))
    return times.get(SUSPENSION, replace(times["ground"], limit_s=None))


def _scene(run: Run, moment: Moment, name: str) -> Scene:
    return Scene(run.scenario, run.option, run.sections, moment, name, run.extra_kg)


def _holds(run: Run, final: Moment, who: Someone) -> str:
    """What somebody hangs on in the end."""
    if who.fell:
        return "nothing"
    if who.carried_by:
        return f"the lines of {who.carried_by}"
    if not who.hangs:
        return ""
    if who.held_by:
        return who.held_by
    mine = [s for s in run.sections if s.person == who.name and s.role == who.role]
    serving = [s for s in mine if s.top_m <= who.depth_m < s.bottom_m] or mine
    return serving[-1].line if serving else who.role


def _lost(run: Run, who: Someone, final: Moment, since: int) -> dict[str, bool]:
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


def place_rescues(
    run: Run, words: dict[tuple[str, int], str], worn: bool = True
) -> tuple[PlaceRescue, ...]:
    """How somebody is rescued who cannot help themself any more at a place of work.

    Parameters:
        run: with nothing wrong.
        words: of the steps.
        worn: whether what each rescue does to the sheath is wanted; it takes long.
    """
    return tuple(
        PlaceRescue(
            e.who, e.step, e.detail if e.kind is Kind.MADE else words.get((e.who, e.step), ""),
            tuple(_ways(run, k, worn)),
        )
        for k in _places(run)
        for e in (run.log[k],)
    )  # fmt: skip


def _places(run: Run) -> Iterator[int]:
    """The end of each step at work, inside a repeat too, each place once."""
    seen = set()
    for k, step in steps_ended(run.log, run.scenario):
        e = run.log[k]
        place = e.who, round(e.value, 1)
        if isfinite(e.value) and isinstance(step, AT_WORK) and place not in seen:
            seen.add(place)
            yield k


def _ways(nominal: Run, at: int, worn: bool) -> list[Rescue]:
    """Every way, from the moment at which the rescue is called.

    Parameters: `at`: the entry after which somebody does nothing more.
    """
    from edgewear.procedure.rescue_ways.worn import worn_by

    tick, name = nominal.log[at].tick, nominal.log[at].who
    run = replace(nominal, log=halted_with(nominal.log, nominal.scenario, name, at))
    moment = run.at(tick)
    casualty = replace(moment.people[name], able=False, still_tick=tick)
    moment.people[name] = casualty
    before = tuple(e for e in run.log if e.tick <= tick)
    call = call_for(run.scenario, run.option, before, moment, name, tick)
    then = _with(run.at(tick + round(middle_s(call.legs) / TICK_S)), casualty)
    scene = _scene(run, then, name)
    ways = ways_of(scene, call) if call.by else _unseen(scene, call)
    return [replace(way, wear=worn_by(scene, way)) if worn and way.shown else way for way in ways]


def _unseen(scene: Scene, call: Call) -> list[Rescue]:
    _, missing = best_of(scene, call)
    return [Rescue(scene.casualty, ANY, scene.depth_m, missing=missing)]


def _with(moment: Moment, casualty: Someone) -> Moment:
    """A moment in which somebody still hangs where they were hurt."""
    for other in moment.people.values():
        other.carries = [name for name in other.carries if name != casualty.name]
    moment.people[casualty.name] = casualty
    return moment


def ordered(found: Iterable[Fates]) -> tuple[Fates, ...]:
    """Fates with the worst first; of like ones in the order given."""
    return tuple(sorted(found, key=lambda one: one.gravity, reverse=True))


__all__: Sequence[str] = ("Run", "end_of", "fates_of", "ordered", "place_rescues")
