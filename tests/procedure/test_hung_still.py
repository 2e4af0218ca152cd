"""A jam that somebody gets free of: told for as long as it lasts, and held to the limit on it."""

from __future__ import annotations

import json
from functools import cache
from statistics import NormalDist

import pytest

from edgewear.findings.fates import End
from edgewear.findings.verdict import Held
from edgewear.job.faults import Injected
from edgewear.layout import TICK_S
from edgewear.procedure.fates import fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.procedure.judged.verdict import points
from edgewear.report.procedure import fate_words
from edgewear.scenario import load_text
from support.planted.sound import text_of

WHO = "technician"
STANDS, WORKS, CLIMBS = 1, 3, 4
"""Steps of the technician: before the edge, at work, on the way back."""

DRAWN = 0.03
"""How far the 19-of-20 value of 16 000 draws may lie from the true one, as a share of the spread:
three times its standard deviation, sqrt(0.05 * 0.95 / 16 000) / 0.103 / 1.645 = 0.010 of it."""


@cache
def fates(faults: str, most: str | None = "10 min", more: str = "{}"):
    """What becomes of everybody with some faults together, and the list of what is held."""
    change = {"faults": json.loads(faults), "limits": {"suspension": most} if most else {}}
    scenario = load_text(text_of("pick-off", {**change, **json.loads(more)}), "made.yaml")
    every = tuple(Injected(name, fault) for name, fault in scenario.faults.items())
    runs = FaultRuns(scenario.source, "made.yaml", None, "as written", 0, (every,), (1,))
    found = fates_of(runs.run_of(runs.nominal(every), every))
    return {one.person: one for one in found.people}, points([], [found], [])


def jam(lasting: str | None, step: int = WORKS, word: str = "device jammed") -> str:
    fault = {word: WHO, "step": step, **({"for": lasting} if lasting else {})}
    return json.dumps({"jams": fault})


def held(found) -> set[Held]:
    return {one.held for one in found}


@pytest.mark.parametrize("word", ["device jammed", "device dropped"])
@pytest.mark.parametrize("step", [WORKS, CLIMBS])
@pytest.mark.parametrize("minutes", [1, 9, 10, 11, 90])
def test_somebody_hangs_still_for_as_long_as_they_are_jammed_and_is_held_to_it(
    minutes, step, word
) -> None:
    people, found = fates(jam(f"{minutes} min", step, word))
    one = people[WHO]
    assert one.end is End.PLAN
    assert one.still.middle_s == pytest.approx(60 * minutes, abs=TICK_S)  # whole ticks
    assert one.still.p95_s == pytest.approx(60 * minutes, abs=TICK_S)
    assert one.still.keeps is (minutes <= 10)
    assert (Held.ABOVE in held(found)) == (minutes > 10)
    assert one.gravity == (3 if minutes > 10 else 1)
    said = fate_words.fate(one)
    assert f"hangs still for {minutes}:00" in said
    assert ("longer than the suspension limit of 10 min" in said) == (minutes > 10)
    for text in (said, *(point.words for point in found)):
        assert "ground" not in text


@pytest.mark.parametrize("minutes", [1, 90])
def test_without_a_limit_a_jam_is_told_and_nothing_is_held_against_it(minutes) -> None:
    people, found = fates(jam(f"{minutes} min"), None)
    assert people[WHO].still.limit_s is None
    assert f"hangs still for {minutes}:00," in fate_words.fate(people[WHO])
    assert people[WHO].gravity == 1
    assert found == ()


@pytest.mark.parametrize("minutes", [1, 90])
def test_who_stands_where_their_device_jams_does_not_hang(minutes) -> None:
    people, found = fates(jam(f"{minutes} min", STANDS))
    assert people[WHO].still is None
    assert (people[WHO].gravity, found) == (0, ())


def test_a_jam_for_good_is_no_jam_that_somebody_gets_free_of() -> None:
    people, _ = fates(jam(None))
    assert (people[WHO].still, people[WHO].end) == (None, End.HANGS)


@pytest.mark.parametrize(("middle", "spread"), [(6, 2), (8, 1), (8, 2), (9, 4)])
def test_the_careful_end_of_a_jam_is_held_to_the_limit(middle, spread) -> None:
    """A range is the middle 90 % of a normal: its upper end is the 19-of-20 value itself."""
    people, found = fates(jam(f"{middle} min +- {spread} min"))
    one = people[WHO].still
    assert NormalDist().cdf(1.645) == pytest.approx(0.95, abs=1e-4)
    assert one.middle_s == pytest.approx(60 * middle, abs=TICK_S)
    assert one.p95_s == pytest.approx(60 * (middle + spread), abs=60 * spread * DRAWN)
    if middle + spread != 10:  # on the limit the draws decide
        assert (Held.ABOVE in held(found)) == (middle + spread > 10)


@pytest.mark.parametrize(("first", "second"), [(3, 2), (8, 4), (4, 20)])
@pytest.mark.parametrize("word", ["device jammed", "device dropped"])
def test_what_holds_somebody_meanwhile_comes_to_a_jam(first, second, word) -> None:
    """The second begins a minute into the first, which goes on when it is over."""
    both = {
        "first": {"device jammed": WHO, "step": WORKS, "for": f"{first} min"},
        "second": {word: WHO, "step": WORKS, "delay": "1 min", "for": f"{second} min"},
    }
    people, found = fates(json.dumps(both))
    assert people[WHO].still.middle_s == pytest.approx(60 * (first + second), abs=2 * TICK_S)
    assert (Held.ABOVE in held(found)) == (first + second > 10)


@pytest.mark.parametrize("minutes", [5, 15, 25])
@pytest.mark.parametrize(("ground", "most"), [(None, 20), (10, 20), (20, 10), (10, 10), (40, 40)])
def test_a_rescue_that_comes_too_late_for_hanging_still_says_so_and_not_ground(
    minutes, ground, most
) -> None:
    """Whoever faints is down after the time that the document itself gives: each limit by it."""
    limits = {"suspension": f"{most} min"} | ({"ground": f"{ground} min"} if ground else {})
    again = dict.fromkeys(("value", "low", "high"), f"{minutes} min")
    more = {"limits": limits, "detection": {"again": again}}
    faints = json.dumps({"faints": {"casualty unresponsive": WHO, "step": WORKS}})
    people, found = fates(faints, None, json.dumps(more))
    down_s = people[WHO].rescue.careful_s("ground")
    late = [one.words for one in found if one.held is Held.ABOVE]
    limit = f"hangs still longer than the suspension limit of {most} min"
    told = ["rescued too late: ground"] if ground and down_s > 60 * ground else []
    told += [limit] if down_s > 60 * most else []
    assert late == (["; ".join(told)] if told else [])
    assert ("hangs still too long" in fate_words.fate(people[WHO])) == (down_s > 60 * most)


ASKED = [("stop", "5 s"), ("stop", "1 min"), ("call rescue", "15 s"), ("call rescue", "4 min")]


@pytest.mark.parametrize(("do", "delay"), ASKED)
@pytest.mark.parametrize("word", ["device jammed", "device dropped"])
@pytest.mark.parametrize("step", [WORKS, CLIMBS])
def test_who_is_told_to_stop_while_jammed_hangs_still_since_the_jam(do, delay, word, step) -> None:
    """Whatever is done about it, and however late: nothing has moved them since it jammed."""
    when = json.dumps({"when": {"jams": {"do": do, "delay": delay, "by": "edge attendant"}}})
    one = fates(jam("30 min", step, word), more=when)[0][WHO]
    assert one.end is End.HANGS
    assert one.hangs_from_s == 0.0
    assert " from 0:00 after the fault" in fate_words.fate(one)


@pytest.mark.parametrize("delay", ["5 min", "8 min"])
@pytest.mark.parametrize("do", ["stop", "call rescue"])
def test_who_is_told_to_stop_when_the_jam_is_over_hangs_still_since_then(do, delay) -> None:
    when = json.dumps({"when": {"jams": {"do": do, "delay": delay, "by": "edge attendant"}}})
    one = fates(jam("1 min"), more=when)[0][WHO]
    assert one.end is End.HANGS
    assert one.hangs_from_s >= 60 * int(delay.split()[0])
