"""Everybody at one moment of a log: on the way evenly, busy until a step that must be finished."""

from __future__ import annotations

from functools import cache
from math import inf, isnan, nan
from types import SimpleNamespace

import pytest

from edgewear.job.faults import Injected
from edgewear.job.log import Entry, Kind
from edgewear.layout import TICK_S
from edgewear.procedure.rescue_ways.moment import Moment, moment_at
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed
from edgewear.scenario.text.quantities import Measured
from support.planted.sound import text_of

WHO, OTHER = "technician", "rescuer"
CROSSING, DESCENT, WORK = 1, 2, 3
"""Steps of the technician."""


@cache
def scenario():
    return load_text(text_of("pick-off", {}), "made.yaml")


def log_of(*entries: Entry) -> list[Entry]:
    return sorted(entries, key=lambda one: one.tick)


def at(tick: int, log, faults=()) -> Moment:
    return moment_at(log, tick, scenario(), (), faults)


WAY = log_of(
    Entry(0, WHO, Kind.BEGINS, CROSSING),
    Entry(1000, WHO, Kind.ENDS, CROSSING, value=1.0),
    Entry(1000, WHO, Kind.BEGINS, DESCENT),
    Entry(5000, WHO, Kind.ENDS, DESCENT, value=9.0),
    Entry(5000, WHO, Kind.BEGINS, WORK),
    Entry(9000, WHO, Kind.STOPS, WORK, value=9.0),
    # another one, elsewhere at times between
    Entry(0, OTHER, Kind.BEGINS, CROSSING),
    Entry(400, OTHER, Kind.ENDS, CROSSING, value=30.0),
    Entry(2000, OTHER, Kind.HANGS_ON, DESCENT, value=40.0),
    Entry(4000, OTHER, Kind.STOPS, DESCENT, value=50.0),
)


@pytest.mark.parametrize("tick", [1000, 1001, 1500, 2000, 3000, 3999, 4999, 5000, 7000, 9000])
def test_who_is_on_the_way_is_taken_along_it_evenly(tick) -> None:
    person = at(tick, WAY).people[WHO]
    share = min(tick - 1000, 4000) / 4000
    assert person.depth_m == 1.0 + share * 8.0  # sums of powers of two
    assert person.hangs
    assert person.stopped == (tick >= 9000)


@pytest.mark.parametrize("tick", [0, 1, 500, 999, 1000, 2000, 9000])
def test_a_step_that_must_be_finished_keeps_somebody_until_it_ends(tick) -> None:
    """The way over the edge; going down may be left at once."""
    moment = at(tick, WAY)
    left_s = (1000 - tick) * TICK_S
    assert moment.busy_s.get(WHO, 0.0) == max(left_s, 0.0)
    assert (WHO in moment.busy_s) == (tick < 1000)
    assert isnan(moment.people[WHO].depth_m) == (tick < 1000)  # not on the rope yet


def test_before_anything_is_known_of_somebody_they_stand_before_their_first_step() -> None:
    someone = at(10, []).people[WHO]
    assert (someone.step, someone.made, someone.begun_tick, someone.still_tick) == (0, 0, None, 0)
    assert (someone.known_tick, someone.drop_m, someone.falls) == (0, None, [])
    assert isnan(someone.depth_m)
    states = (someone.hangs, someone.fell, someone.stopped, someone.went_back, someone.able)
    assert states == (False, False, False, False, True)


def test_who_stops_without_a_catch_hangs_still_from_then_on() -> None:
    stopped = at(900, [Entry(500, WHO, Kind.STOPS, CROSSING, value=1.0)]).people[WHO]
    assert (stopped.still_tick, stopped.stopped, stopped.hangs) == (500, True, True)


@pytest.mark.parametrize("tick", [500, 700, 899])
def test_somebody_is_busy_until_their_own_step_ends_whatever_else_is_told_of_them(tick) -> None:
    """Another step ended when this one began, and they hung on the rope in between."""
    log = [Entry(500, WHO, Kind.ENDS, DESCENT, value=1.0), Entry(500, WHO, Kind.BEGINS, CROSSING),
           Entry(800, WHO, Kind.HANGS_ON, CROSSING, value=2.0),
           Entry(850, OTHER, Kind.ENDS, CROSSING), Entry(900, WHO, Kind.ENDS, CROSSING, value=2.0),
           Entry(950, WHO, Kind.BEGINS, DESCENT)]  # fmt: skip
    assert at(tick, log).busy_s == {WHO: (900 - tick) * TICK_S}


def test_a_step_of_which_no_end_is_known_keeps_nobody() -> None:
    moment = at(10, log_of(Entry(0, WHO, Kind.BEGINS, CROSSING),
                           Entry(90, OTHER, Kind.ENDS, CROSSING)))  # fmt: skip
    assert moment.busy_s == {WHO: 0.0}


@pytest.mark.parametrize("from_m", [nan, 4.0])
def test_a_catch_is_a_drop_from_where_the_line_was_lost(from_m) -> None:
    log = [
        *WAY[:-1], Entry(6000, WHO, Kind.LINE_LOST, WORK, value=from_m),
        Entry(6010, WHO, Kind.CAUGHT, WORK, f"{WHO} safety line", 11.5),
        Entry(6500, WHO, Kind.STOPS, WORK, value=11.5),
    ]  # fmt: skip
    person = at(8000, log_of(*log)).people[WHO]
    assert person.drop_m == 11.5 - (9.0 if isnan(from_m) else from_m)
    assert person.lost == {"working line"}
    assert (person.held_by, person.still_tick) == (f"{WHO} safety line", 6010)
    fall = person.falls[0]
    assert (fall.from_m, fall.step) == (9.0 if isnan(from_m) else from_m, WORK)


@pytest.mark.parametrize("rounds", range(5))
def test_a_fall_inside_a_repeat_is_told_at_its_place_in_it(rounds) -> None:
    inside = [Entry(5100 + 100 * k, WHO, Kind.MADE, WORK, value=9.0) for k in range(rounds)]
    log = [
        *WAY[:-1], *inside, Entry(6000, WHO, Kind.LINE_LOST, WORK, value=9.0),
        Entry(6010, WHO, Kind.CAUGHT, WORK, f"{WHO} safety line", 11.5),
        Entry(6500, WHO, Kind.STOPS, WORK, value=11.5),
    ]  # fmt: skip
    assert at(8000, log_of(*log)).people[WHO].falls[0].made == rounds + 1


def test_a_line_that_was_swapped_for_fresh_rope_is_lost_no_more() -> None:
    log = [*WAY[:-1], Entry(6000, WHO, Kind.LINE_LOST, WORK, value=9.0),
           Entry(6010, WHO, Kind.CAUGHT, WORK, f"{WHO} safety line", 11.5)]  # fmt: skip
    assert at(6400, log_of(*log)).people[WHO].lost == {"working line"}
    log.append(Entry(6500, WHO, Kind.ROPE_SWAPPED, WORK))
    person = at(7000, log_of(*log)).people[WHO]
    assert (person.lost, person.role, person.held_by) == (set(), "working line", "")


@pytest.mark.parametrize("kind", [Kind.CORE_VISIBLE, Kind.PARTED])
@pytest.mark.parametrize("who", [WHO, OTHER])
def test_fresh_rope_takes_the_place_of_the_working_line_of_whoever_swaps_it(kind, who) -> None:
    roles = ("working line", "safety line")
    lines = [SimpleNamespace(line=f"{name} {role}", role=role, person=name)
             for name in (WHO, OTHER) for role in roles]  # fmt: skip
    log = [*WAY[:-1], *(Entry(6000, one.line, kind) for one in lines)]
    spent = {one.line for one in lines}
    for tick, left in ((6000, spent), (7000, spent - {f"{who} working line"})):
        moment = moment_at(log_of(*log), tick, scenario(), lines, ())
        assert moment.spent == left
        assert moment.parted == (left if kind is Kind.PARTED else set())
        log.append(Entry(6500, who, Kind.ROPE_SWAPPED, WORK))


@pytest.mark.parametrize(("kind", "sign"), [(Kind.HAULED, -1.0), (Kind.LOWERED, 1.0)])
def test_whoever_is_hauled_or_lowered_is_so_much_higher_or_deeper(kind, sign) -> None:
    log = [*WAY, Entry(9500, OTHER, kind, 1, WHO, 2.5)]
    person = at(9600, log_of(*log)).people[WHO]
    assert (person.depth_m, person.hangs) == (9.0 + sign * 2.5, True)
    log.append(Entry(9100, OTHER, Kind.TAKES_OVER, 1, WHO))
    person = at(9600, log_of(*log)).people[WHO]
    assert (person.depth_m, person.hangs, person.carried_by) == (9.0, False, OTHER)


def test_whoever_carries_somebody_takes_them_along_in_a_fall() -> None:
    log = log_of(*WAY, Entry(9100, OTHER, Kind.TAKES_OVER, 1, WHO), Entry(9200, OTHER, Kind.FALLS))
    people = at(9300, log).people
    assert [(one.fell, one.able) for one in people.values()] == [(True, False)] * 2
    assert [(one.fell, one.able) for one in at(9150, log).people.values()] == [(False, True)] * 2


@pytest.mark.parametrize("lasts_s", [None, 60.0, 0.5])
def test_who_is_away_or_not_heard_is_so_for_as_long_as_the_fault_says(lasts_s) -> None:
    lasting = None if lasts_s is None else Measured.exact(lasts_s, "s")
    faults = [
        Injected("away", typed.AttendantAway(for_=lasting)),
        Injected("silent", typed.CommunicationLost(for_=lasting)),
        Injected("stuck", typed.DeviceJammed(person=OTHER, for_=lasting)),
        Injected("faint", typed.CasualtyUnresponsive(person=WHO)),
        Injected("gone", typed.AnchorFails(anchor="west")),
        Injected("bare", typed.ProtectionDisplaced(edge="lip")),
    ]
    log = [Entry(2000, one.name, Kind.FAULT) for one in faults]
    moment, before = at(2000, log, faults), at(1999, log, faults)
    until = inf if lasts_s is None else 2000 + lasts_s / TICK_S
    assert (before.away_until, before.heard_from) == (0.0, 0.0)
    assert (moment.away_until, moment.heard_from) == (until, until)
    assert moment.people[OTHER].stuck == ("device jammed" if lasts_s is None else "")
    assert [one.people[WHO].able for one in (before, moment)] == [True, False]
    assert [(one.gone, one.bare) for one in (before, moment)] == [
        (set(), set()), ({"west"}, {"lip"})]  # fmt: skip


def test_protection_is_bare_until_it_is_rigged_again_and_ropes_are_spent_for_good() -> None:
    log = log_of(
        Entry(10, "lip", Kind.PROTECTION_USED_UP), Entry(20, "kerb", Kind.PROTECTION_DISPLACED),
        Entry(30, WHO, Kind.RIGGED_AGAIN, 1, "lip"), Entry(40, "a line", Kind.CORE_VISIBLE),
        Entry(50, "another", Kind.PARTED),
    )  # fmt: skip
    seen = {tick: at(tick, log) for tick in (9, 10, 20, 30, 40, 50)}
    assert [one.bare for one in seen.values()] == [
        set(), {"lip"}, {"lip", "kerb"}, {"kerb"}, {"kerb"}, {"kerb"}]  # fmt: skip
    assert [len(one.spent) for one in seen.values()] == [0, 0, 0, 0, 1, 2]
