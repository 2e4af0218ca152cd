"""Who notices somebody that hangs still, and how help is called: every state of those around."""

from __future__ import annotations

from functools import cache
from itertools import product
from math import inf

import pytest

from edgewear.job.log import Entry, Kind
from edgewear.job.reactions import CALL
from edgewear.layout import TICK_S
from edgewear.procedure.rescue_ways.call import Call, call_for
from edgewear.procedure.rescue_ways.moment import Moment, Someone
from edgewear.scenario import load_text
from support.planted.sound import text_of

OPTION, FAULT, STILL = "as written", 4000, 10_000
"""Ticks at which the fault comes and the casualty begins to hang still."""
LATER = STILL + 90_000

WATCHED = {
    "an attendant": {},
    "nobody": {"lines/technician/attendant": None, "when": {}},
    "the rescuer": {"lines/technician/attendant": "rescuer", "when": {}},
    "the casualty": {"lines/technician/attendant": "technician", "when": {}},
}  # fmt: skip
"""Who looks at the edges."""


@cache
def scenario(watched: str):
    return load_text(text_of("pick-off", WATCHED[watched]), "made.yaml")


def told(call: Call) -> list[tuple[str, str, float, bool]]:
    """Stage, words, time by the middle [s] and whether it is a wait of up to that, of each leg."""
    return [(leg.stage, leg.what, leg.quantity.value, leg.up_to) for leg in call.legs]


def expected(watched, able, silent_to, away_to, other, carried, comes):
    """Who calls, how, and what passes: the rules in words, one after the other."""
    times, again = scenario(watched).times, scenario(watched).detection.again.value
    began = ("noticed", "hanging still", (STILL - FAULT) * TICK_S, False)
    calls = [("called", "reacting", times.react.value, False),
             ("called", "calling", times.call.value, False)]  # fmt: skip
    look = ("noticed", "the next look", again, True)
    silent = silent_to > STILL
    if able and not silent:
        return "technician", "calls for help", [began, *calls]
    if carried and other.able and not silent:
        return "rescuer", "carries them", [began, *calls]
    if watched == "an attendant" and away_to < inf:
        away = [("noticed", "until back", (away_to - STILL) * TICK_S, False)]
        return "edge attendant", "looks at the edges", [
            began, *(away if away_to > STILL else []), look, *calls]  # fmt: skip
    if watched == "the rescuer" and other.able and (not silent or not other.hangs):
        return "rescuer", "looks at the edges", [began, look, *calls]
    if other.able and (other.hangs or comes) and not silent:
        until = ("noticed", "until rescuer hangs in sight", (LATER - STILL) * TICK_S, False)
        return "rescuer", "hangs in sight", [
            began, *([] if other.hangs else [until]), look, *calls]  # fmt: skip
    if able and silent_to < inf:
        unheard = ("called", "until heard again", (silent_to - STILL) * TICK_S, False)
        return "technician", "calls until heard", [began, unheard, *calls]
    lacks = "sees or hears technician" if able else "sees that technician cannot call"
    return "", f"nobody {lacks}", [began]


@pytest.mark.parametrize("watched", WATCHED)
def test_whoever_can_notice_first_calls(watched: str) -> None:
    came = set()
    for able, silent_to, away_to, other_able, hangs, carried, comes in product(
        (True, False), (0, STILL, LATER, inf), (0, STILL, LATER, inf), (True, False),
        (True, False), (True, False), (True, False),
    ):  # fmt: skip
        other = Someone("rescuer", hangs=hangs, able=other_able)
        hurt = Someone(
            "technician", hangs=not carried, able=able, still_tick=STILL,
            carried_by="rescuer" if carried else "",
        )  # fmt: skip
        moment = Moment(
            LATER, {"technician": hurt, "rescuer": other}, away_until=away_to,
            heard_from=silent_to, hang_from={"rescuer": LATER} if comes else {},
        )  # fmt: skip
        call = call_for(scenario(watched), OPTION, [], moment, "technician", FAULT)
        by, how, legs = expected(watched, able, silent_to, away_to, other, carried, comes)
        assert (call.by, call.how, told(call)) == (by, how, legs)
        came.add((by, how))
    assert len(came) > 4, "too few ways to notice came about"


def test_a_fault_after_they_began_to_hang_still_is_noticed_from_the_fault_on() -> None:
    hurt = Someone("technician", hangs=True, still_tick=FAULT)
    moment = Moment(LATER, {"technician": hurt})
    call = call_for(scenario("nobody"), OPTION, [], moment, "technician", FAULT + 1)
    assert told(call)[0] == ("noticed", "hanging still", 0.0, False)


def entry(tick: int, kind: Kind, who: str = "edge attendant", detail: str = "") -> Entry:
    return Entry(tick, who, kind, 3, detail)


@pytest.mark.parametrize("seen", [(), (-1,), (0,), (7,), (0, 7), (7, 400), (7, 500), (7, 501)])
@pytest.mark.parametrize("by_another", [(), (450,)])
def test_a_call_that_the_run_has_is_told_as_it_came(seen, by_another) -> None:
    """What somebody saw last before they called, between the fault and the call."""
    called = 500
    log = [
        entry(FAULT - 100, Kind.CALLS, "rescuer", CALL),  # of something before
        *(entry(FAULT + tick, Kind.SEES) for tick in seen),
        *(entry(FAULT + tick, Kind.SEES, "rescuer") for tick in by_another),
        entry(FAULT + 20, Kind.CALLS, "rescuer", "stop"),
        entry(FAULT + called, Kind.CALLS, detail=CALL),
        entry(FAULT + called + 9, Kind.CALLS, "rescuer", CALL),
    ]
    log.sort(key=lambda one: one.tick)
    moment = Moment(LATER, {"technician": Someone("technician", hangs=True, still_tick=STILL)})
    call = call_for(scenario("nobody"), OPTION, log, moment, "technician", FAULT)
    assert (call.by, call.how) == ("edge attendant", "sees what has happened")
    within = [tick for tick in seen if 0 <= tick <= called]
    last = max(within, default=called)
    assert told(call) == [
        ("noticed", "seen", last * TICK_S, False),
        ("called", "called", (called - last) * TICK_S, False),
    ]
