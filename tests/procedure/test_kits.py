"""The kit of a rescue: which piece is found, where, and why none is; who can come at all."""

from __future__ import annotations

import random
from functools import cache

import pytest

from edgewear.procedure.rescue_ways.kit import HAUL_KIT, RESCUE_KIT, SLING, for_haul, for_pick_off
from edgewear.procedure.rescue_ways.moment import Moment, Someone
from edgewear.procedure.rescue_ways.scene import (
    Engaged,
    Scene,
    cannot_reach,
    is_free,
    stands_on_top,
    where,
)
from edgewear.rigging.sections import PASSED_BELOW_M
from edgewear.scenario import load_text
from support.planted.sound import text_of

OPTION, SLOW_S, QUICK_S = "as written", 600.0, 240.0
PLACES = {
    "top": {"at": "top"},
    "behind": {"at": "mid east"},  # an anchor behind the edge, where people stand
    "face": {"at": "bolt"},  # a re-anchor on the face
    "ground": {"at": "ground"},
    "van": {"at": "van", "fetch": "10 min"},
    "car": {"at": "car", "fetch": "4 min"},
    "mine": {"carried by": "rescuer"},
    "theirs": {"carried by": "technician"},
}  # fmt: skip
"""Where one piece may lie, or with whom."""
TOLD = {"top": "on top", "behind": "at mid east", "face": "at bolt", "ground": "on the ground",
        "van": "at van, fetched in 10 min", "car": "at car, fetched in 4 min"}  # fmt: skip
CARRIED = {"mine": "rescuer", "theirs": "technician"}


@cache
def scenario(word: str, places: tuple[str, ...], plans: bool = False):
    lying = {f"kit/{SLING}": None, "anchors/bolt": {"out": "0.1 m", "up": "-5 m", "kind": "pair"},
             "lines/rescuer/re-anchor": ["bolt"]}  # fmt: skip
    if plans:
        lying["job/rescuer"] = [{"repeat": {"times": 1, "steps": [{"take over": "technician"}]}}]
    if places:
        lying[f"kit/{word}"] = [PLACES[one] for one in places]
    return load_text(text_of("pick-off", lying), "made.yaml")


def scene(word, places, on_top: bool, casualty_m=8.0, at_m=1.0, plans=False, **engaged):
    """The technician hangs; the rescuer stands on top or hangs too."""
    people = {
        "technician": Someone("technician", hangs=True, depth_m=casualty_m, able=False),
        "rescuer": Someone("rescuer", hangs=not on_top, depth_m=at_m),
    }
    return Scene(scenario(word, places, plans), OPTION, (), Moment(0, people), "technician", {},
                 Engaged(**engaged))  # fmt: skip


def first(places, *wanted: str) -> str | None:
    return next((one for want in wanted for one in places if one == want), None)


def found_on_top(places, rescuer_there: bool) -> str | None:
    """With somebody there, then lying there, then what is fetched soonest."""
    if rescuer_there and "mine" in places:
        return "mine"
    lying = next((one for one in places if one in ("top", "behind")), None)
    return lying or first(places, "car", "van")


DRAWN = [
    tuple(dice.sample(list(PLACES), dice.randint(0, 3)))
    for dice in map(random.Random, range(48))
]  # fmt: skip


def checked(found, one: str | None, word: str) -> None:
    """Hold what was found against the place of the piece that should have been."""
    if one is None:
        assert found.lack
        assert (found.fetching, found.words) == (None, "")
        return
    at = f"carried by {CARRIED[one]}" if one in CARRIED else TOLD[one]
    assert (found.lack, found.words) == ("", f"{word}, {at}")
    fetched = {"van": SLOW_S, "car": QUICK_S}.get(one)
    if fetched is None:
        assert found.fetching is None
    else:
        leg = found.fetching
        assert (leg.stage, leg.what, leg.middle_s) == ("reach", f"fetching the {word}", fetched)


@pytest.mark.parametrize("word", [SLING, RESCUE_KIT])
@pytest.mark.parametrize("on_top", [True, False])
def test_whoever_comes_along_their_lines_takes_what_is_nearest(word, on_top) -> None:
    for places in DRAWN:
        there = scene(word, places, on_top)
        # from above or on the way down past the bolt, 5 m deep, to the casualty at 8 m
        passed = first(places, "face")
        one = first(places, "mine") or (found_on_top(places, False) if on_top else None) or passed
        checked(for_pick_off(there, "rescuer", 1.0), one, word)


@pytest.mark.parametrize(
    ("from_m", "casualty_m", "passes"),
    [(-3.0, 3.0, True), (3.0, -3.0, True), (0.0, 3.0, True), (-3.0, 0.0, True),
     (0.1, 3.0, False), (-3.0, -0.1, False), (-0.1, -3.0, False)],
)  # fmt: skip
def test_a_piece_at_a_fixed_point_serves_whoever_passes_it(from_m, casualty_m, passes) -> None:
    """Depths from where a person has passed the bolt, 5 m deep."""
    passed_m = 5.0 + PASSED_BELOW_M
    there = scene(SLING, ("face",), False, passed_m + casualty_m, passed_m + from_m)
    checked(for_pick_off(there, "rescuer", passed_m + from_m), "face" if passes else None, SLING)


@pytest.mark.parametrize("word", [HAUL_KIT, RESCUE_KIT])
@pytest.mark.parametrize("on_top", [True, False])
def test_a_haul_takes_what_is_on_top(word, on_top) -> None:
    for places in DRAWN:
        checked(for_haul(scene(word, places, on_top)), found_on_top(places, on_top), word)


LACKS = {
    (): "no {} in the kit",
    ("ground",): "the {} lies on the ground, and nobody is said to fetch it",
    ("face",): "the {} lies at bolt, and nobody is said to fetch it",
    ("van",): "the {} lies at van, and nobody who is free stands on top to fetch it",
    ("top",): "the {} lies on top",
    ("theirs",): "the {} is with technician, 8.0 m deep",
}


@pytest.mark.parametrize("places", LACKS)
def test_what_is_lacking_is_said_with_where_it_is(places) -> None:
    there = scene(SLING, places, on_top=False, at_m=6.0)
    assert for_pick_off(there, "rescuer", 6.0).lack == LACKS[places].format(SLING)


def test_pieces_in_use_by_another_rescue_are_gone() -> None:
    """Whoever rescues another has taken their own piece, else one on top, else any other."""
    for places in DRAWN:
        busy = scene(SLING, places, True, by={"technician": "somebody"})
        own = first(places, "theirs")
        top = next((one for one in places if one in ("top", "behind")), None)
        rest = next((one for one in places if one != "theirs"), None)
        left = [one for one in places if one != (own or top or rest)]
        one = first(left, "mine") or found_on_top(left, False) or first(left, "face")
        found = for_pick_off(busy, "rescuer", 1.0)
        checked(found, one, SLING)
        if places and not left:
            assert found.lack == f"no {SLING} left"


@pytest.mark.parametrize("plans", [True, False])
@pytest.mark.parametrize("places", [(), ("top",), ("behind",), ("top", "mine"), ("van", "top")])
def test_whoever_plans_to_take_somebody_over_has_a_piece_with_them(places, plans) -> None:
    """One that lay on top, unless they carry one already; so it is at hand on their lines."""
    there = scene(SLING, places, on_top=False, plans=plans)
    one = "mine" if "mine" in places or ("top" in places and plans) else None
    checked(for_pick_off(there, "rescuer", 1.0), one, SLING)


@pytest.mark.parametrize("on_top", [True, False])
def test_what_somebody_who_hangs_carries_is_in_no_other_rescue(on_top) -> None:
    """Of somebody on top the other rescue may have it: then it is gone."""
    there = scene(SLING, ("mine",), on_top, by={"technician": "somebody"})
    found = for_pick_off(there, "rescuer", 1.0)
    assert found.lack == (f"no {SLING} left" if on_top else "")
    assert found.words == ("" if on_top else f"{SLING}, carried by rescuer")


@pytest.mark.parametrize("plans", [True, False])
def test_whoever_carries_a_piece_takes_no_second_one_along(plans) -> None:
    """With their own in use, the one on top is there for others and not on their harness."""
    there = scene(SLING, ("top", "mine"), on_top=False, plans=plans, by={"rescuer": "ann"})
    assert for_pick_off(there, "rescuer", 1.0).lack == f"the {SLING} lies on top"
    above = scene(SLING, ("top", "mine"), on_top=True, plans=plans, by={"rescuer": "ann"})
    checked(for_pick_off(above, "rescuer", 1.0), "top", SLING)


STATES = {
    "": {},
    "rescuer has fallen": {"fell": True, "able": False},
    "rescuer cannot act": {"able": False},
    "rescuer hangs on the lines of technician": {"carried_by": "technician"},
    "rescuer carries ann and bob": {"carries": ["ann", "bob"]},
    "rescuer hangs on one line, the other is lost": {"lost": {"working"}},
}


@pytest.mark.parametrize("why", STATES)
def test_who_cannot_come_is_said_with_why(why: str) -> None:
    there = scene(SLING, (), on_top=False)
    there.moment.people["rescuer"] = Someone("rescuer", hangs=True, **STATES[why])
    assert is_free(there, "rescuer") == why


@pytest.mark.parametrize(("away", "why"), [(0, ""), (50, ""), (51, "edge attendant is away")])
def test_an_attendant_is_free_unless_away(away, why) -> None:
    there = scene(SLING, (), on_top=False)
    there.moment.tick, there.moment.away_until = 50, away
    assert is_free(there, "edge attendant") == why
    assert stands_on_top(there, "edge attendant")
    assert where(there, "edge attendant") == "on top"


@pytest.mark.parametrize("hangs", [True, False])
def test_who_is_free_may_still_not_reach(hangs: bool) -> None:
    there = scene(SLING, (), on_top=not hangs)
    assert cannot_reach(there, "rescuer") == ""
    there.moment.tick = there.moment.heard_from = 50
    assert cannot_reach(there, "rescuer") == ""
    there.moment.heard_from = 51
    lost = "rescuer cannot be called: communication is lost" if hangs else ""
    assert cannot_reach(there, "rescuer") == lost
    there.moment.people["rescuer"].stuck = "device jammed"
    assert cannot_reach(there, "rescuer") == "rescuer cannot go on: device jammed"
    with_another = scene(SLING, (), not hangs, by={"rescuer": "ann"})
    assert cannot_reach(with_another, "rescuer") == "rescuer is with ann"


@pytest.mark.parametrize(
    ("state", "at"),
    [({}, "on top"), ({"hangs": True, "depth_m": 3.24}, "3.2 m deep"),
     ({"hangs": True}, "on their lines"), ({"carried_by": "technician"}, "on their lines"),
     ({"fell": True, "depth_m": 7.0}, "7.0 m deep")],
)  # fmt: skip
def test_where_somebody_is_stands_in_words(state, at) -> None:
    there = scene(SLING, (), on_top=True)
    there.moment.people["rescuer"] = Someone("rescuer", **state)
    assert where(there, "rescuer") == at
    assert stands_on_top(there, "rescuer") == (at == "on top")


def test_only_those_who_haul_are_waited_for() -> None:
    busy = Engaged(hands=frozenset({"ann"}), until_s=90.0)
    assert [busy.wait_s(some) for some in (["ann"], ["bob", "ann"], ["bob"], [])] == [
        90.0, 90.0, 0.0, 0.0]  # fmt: skip
