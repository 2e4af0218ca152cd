"""What becomes of every person in one run: read out of its log, with the rescue that follows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING, NamedTuple

from edgewear.findings.fates import End, Fate, Fates, GoesOn
from edgewear.findings.rescue import ANY, SUSPENSION, PlaceRescue, Reached, Rescue
from edgewear.job.log import Entry, Kind
from edgewear.job.reactions import CARRY_ON
from edgewear.layout import TICK_S
from edgewear.procedure.caught import caught
from edgewear.procedure.rescue_ways.bears import PICK_OFF
from edgewear.procedure.rescue_ways.call import Call, call_for, called_in
from edgewear.procedure.rescue_ways.legs import Leg, fixed, middle_s, reached
from edgewear.procedure.rescue_ways.moment import (
    JAMS,
    Moment,
    Someone,
)
from edgewear.procedure.rescue_ways.rescues import best_of, limits_of, ways_of
from edgewear.procedure.rescue_ways.run import HANGS, Run, end_of, held_of, holds_on, lost_lines
from edgewear.procedure.rescue_ways.scene import Engaged, Scene
from edgewear.procedure.rescue_ways.struck import ended_in, is_under_way, not_computed
from edgewear.procedure.rescue_ways.waiting import halted_with, steps_ended
from edgewear.procedure.seeing import seen_in
from edgewear.scenario.models import steps as planned

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Limits
    from edgewear.scenario.text.quantities import Measured

AT_WORK = (planned.Work, planned.Swing, planned.Rest)
"""Steps at whose places a rescue is asked for."""


def fates_of(
    run: Run, person: str = "", step: int = 0, inside: str = "", without: Run | None = None
) -> Fates:
    """What becomes of everybody in a run, the worst off first.

    Parameters:
        person, step: whose step the fault comes with, where it comes with one.
        inside: the step inside a repeat, in words.
        without: the same world with no fault.
    """
    seen = next(iter(seen_in(run, without)), None) if run.faults else None
    return Fates(
        names=tuple(one.name for one in run.faults),
        person=person,
        step=step,
        inside=inside,
        came=run.happened,
        seen_by=None if seen is None else seen.by,
        people=tuple(sorted(_marked(run, without), key=lambda fate: -fate.gravity)),
    )


def _marked(run: Run, without: Run | None) -> list[Fate]:
    """Everybody's fate; who ends so with no fault too, and is rescued no worse, is marked."""
    found = _one_after_another(run)
    alike = [fate.person for fate in found if fate.gravity and run.ends_as(without, fate.person)]
    if without is None or not alike:
        return found
    before = {fate.person: fate.harm for fate in _one_after_another(without)}
    return [
        replace(fate, as_without=fate.person in alike and fate.gravity <= before[fate.person])
        for fate in found
    ]


class _Known(NamedTuple):
    """A fate, the tick from which its times count, and the run to read where a rescue ended."""

    fate: Fate
    zero: int
    then: Run | None = None


def _one_after_another(run: Run) -> list[Fate]:
    """Everybody's fate; whoever rescues one is not free for the next, who began to hang later.

    Whoever still has both hands and lines may be the one who comes: the others are seen to first.
    Whom the last fault keeps on the way to one of them hangs there, and is one of them.
    """
    final = run.final
    found: dict[str, _Known] = {}
    for name in sorted(final.people, key=lambda name: _turn(final, name)):
        known = found[name] = _fate(run, name, list(found.values()))
        if known.then is not None:
            return _one_after_another(known.then)
    every = list(found.values())
    return [_along(found[name], every).fate for name in final.people]


def _turn(final: Moment, name: str) -> tuple[bool, int]:
    """When it is somebody's turn to be rescued: those who cannot help first, as they came to it."""
    held = held_of(final, name)
    helps = held.name == name and held.able and not (held.stuck or held.lost or held.carries)
    return helps, held.still_tick


def _along(known: _Known, every: Sequence[_Known]) -> _Known:
    """Whoever picks somebody off is not left there: they come down with them."""
    fate, zero = known.fate, known.zero
    if fate.end is not End.HANGS or fate.rescue is not None:
        return known
    for other in every:
        way = other.fate.rescue
        if way is not None and way.method == PICK_OFF and way.rescuer == fate.person:
            way = _counted_from(way, (other.zero - zero) * TICK_S)
            down_s = way.times["ground"].middle_s
            along = replace(fate, end=End.ALONG, rescue=way, missing=(), hangs_to_s=down_s)
            return known._replace(fate=along)
    return known


def _counted_from(way: Rescue, later_s: float) -> Rescue:
    """When a rescue is over for whoever carries it out; their times may count from elsewhere."""
    over = {stage: way.times[stage] for stage in ("ground", SUSPENSION) if stage in way.times}
    return replace(way, times={stage: one.later(later_s) for stage, one in over.items()})


def _comes_along(final: Moment, other: Fate, held: Someone) -> bool:
    """Whether another one's rescue takes somebody along: a line is hauled or lowered as it is."""
    from_top = other.rescue is not None and other.rescue.method != PICK_OFF
    return from_top and held_of(final, other.person) is held


def _engaged(before: Sequence[_Known], called_tick: int) -> Engaged:
    """Who rescues somebody else already when a rescue is called."""
    rescues = [(one.fate.rescue, one) for one in before if one.fate.rescue is not None]
    from_top = [(way, one.zero) for way, one in rescues if way.method != PICK_OFF]
    hands = {name for way, _ in from_top for name in (way.rescuer, *way.hands) if name}
    left = (zero * TICK_S + way.times["ground"].middle_s for way, zero in from_top)
    until_s = max(left, default=0.0) - called_tick * TICK_S
    by = {str(way.rescuer): one.fate.person for way, one in rescues if way.method == PICK_OFF}
    rescued = frozenset(one.fate.person for _, one in rescues)
    return Engaged(by, rescued, frozenset(hands), max(until_s, 0.0))


def _fate(run: Run, name: str, before: Sequence[_Known]) -> _Known:
    final = run.final
    end, who = end_of(final, name), final.people[name]
    dropped = caught(run.scenario, run.option, who, final, run.extra_kg())
    lost = lost_lines(run, who, final, run.fault_tick)
    fate = Fate(
        name, end, holds_on(run, final, who), dropped.drop_m, dropped.swing_m,
        catch_holds=dropped.holds, catch_why=dropped.why, still=_still(run, name),
        waits_for=who.waits_for, lost=tuple(lost),
        showing=tuple(line for line, shows in lost.items() if shows),
    )  # fmt: skip
    fate = replace(fate, goes_on=_goes_on(run, fate) if end is End.PLAN else None)
    if (coming := run.was_coming(name)) is not None:
        fate = replace(
            fate, coming_to=coming.casualty, coming_at_m=who.depth_m, coming_lacks=coming.lacks
        )
    if end is not End.HANGS:
        return _Known(fate, 0)
    ended, since = run.ended_for(name), run.hangs_from(name)
    zero = run.counts_from(held_of(final, name)) if ended is None else ended.zero
    rescue, missing, taken = _rescued(run, name, zero, before)
    down_s = None if rescue is None else rescue.times["ground"].middle_s
    from_s = max(since - zero, 0) * TICK_S if run.faults else None
    hung = replace(fate, hangs_from_s=from_s, hangs_to_s=down_s, rescue=rescue, missing=missing,
                   hangs_at_s=since * TICK_S)  # fmt: skip
    return _Known(hung, zero, taken)


def _goes_on(run: Run, fate: Fate) -> GoesOn | None:
    """Why somebody goes on whom something has happened to; None: it is typed so, or is nothing.

    A re-anchor that gives way, or a line nobody hangs on, is no line that parted: what is done
    then stands under the name of the fault.
    """
    if not (fate.drop_m or fate.lost or fate.catch_holds is not True):
        return None
    lost_one = any(e.kind is Kind.LINE_LOST and e.who == fate.person for e in run.log)
    parted = lost_one or not run.final.parted.isdisjoint(fate.lost)
    answers = [one.name for one in run.faults]
    answers += [Kind.PARTED.word] * parted + [Kind.CORE_VISIBLE.word] * bool(fate.showing)
    due = {run.scenario.when[what].do for what in answers if what in run.scenario.when}
    done = {e.detail for e in run.log if e.kind is Kind.CALLS} | {CARRY_ON}
    if not due:
        return GoesOn.UNSAID
    return GoesOn.UNDONE if due.isdisjoint(done) else None


class _Shown(NamedTuple):
    """The rescue shown, or what every way lacks, and the run to read where one was ended."""

    rescue: Rescue | None
    missing: tuple[str, ...]
    then: Run | None = None


def _rescued(run: Run, name: str, zero: int, before: Sequence[_Known]) -> _Shown:
    """The rescue shown, with times from a tick, or what every way lacks.

    It begins at once. A fault that comes later may take it away; if it does, and comes before
    they are down, the rescue is the one that begins after it, and they have hung since the first.
    """
    if name in _engaged(before, zero).by:  # they come down with whoever they come for
        return _Shown(None, ())
    if why := not_computed(run, name):
        return _Shown(None, (why,))
    last, ended = max(run.fault_tick, zero), run.ended_for(name)
    if ended is not None:
        return _instead(_best(run, name, zero, last, before), ended.named)
    at_once = _best(run, name, zero, zero, before)
    if last == zero:
        return at_once
    first = at_once.rescue
    if first is not None and first.times["ground"].p95_s <= (last - zero) * TICK_S:
        return at_once
    if first is not None and is_under_way(run, first, zero):
        then = ended_in(run, first, zero)
        return at_once if then is None else _Shown(None, (), then)
    after = _best(run, name, zero, last, before)
    if first is None or _alike(first, after.rescue):
        return at_once if first is not None else after
    return _instead(after, first.named)


def _instead(after: _Shown, ended: str) -> _Shown:
    """The rescue that takes the place of one that a fault ended."""
    if after.rescue is None:
        return after
    return after._replace(rescue=replace(after.rescue, instead_of=ended))


def _alike(one: Rescue, other: Rescue | None) -> bool:
    """Whether two rescues are the same people doing the same."""
    return other is not None and (one.method, one.rescuer, one.hands) == (
        other.method, other.rescuer, other.hands,
    )  # fmt: skip


def _best(run: Run, name: str, zero: int, begins: int, before: Sequence[_Known]) -> _Shown:
    """The quickest rescue that begins at a tick, with times from one that may lie before it."""
    final = run.final
    held = held_of(final, name)
    call = called_in(run, name, begins)
    waited = fixed("noticed", "from the first fault on", (begins - zero) * TICK_S)
    call = replace(call, legs=(waited, *call.legs)) if begins > zero else call
    called = zero + round(middle_s(call.legs) / TICK_S)
    moment = run.at(max(called, held.still_tick))
    others = [one for one in before if not _comes_along(final, one.fate, held)]
    scene = _scene(run, _helpers_left(run, moment, name), name)
    return _Shown(*best_of(replace(scene, engaged=_engaged(others, called)), call))


def _helpers_left(run: Run, moment: Moment, casualty: str) -> Moment:
    """The moment with everybody else unable to act whose own catch does not hold."""
    for who in moment.people.values():
        if who.name != casualty and who.falls:
            found = caught(run.scenario, run.option, who, moment, run.extra_kg(moment.tick))
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
    extra_kg = run.extra_kg(moment.tick)
    return Scene(
        run.scenario, run.option, run.sections, moment, name, extra_kg, jams=run.jams
    )  # fmt: skip


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
    seen = replace(moment, hang_from=run.hang_from(tick))
    call = call_for(run.scenario, run.option, before, seen, name, tick)
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


__all__: Sequence[str] = (
    "HANGS",
    "Run",
    "end_of",
    "fates_of",
    "ordered",
    "place_rescues",
)
