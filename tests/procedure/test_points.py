"""What is held against a procedure, against a slow count of random findings."""

from __future__ import annotations

import random
from itertools import count

import pytest

from edgewear.findings.failure import Failure
from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.limits import AboveLimit, Figure, OffProtection, Travel
from edgewear.findings.rescue import STAGES, SUSPENSION, PlaceRescue, Reached, Rescue
from edgewear.findings.verdict import GRAVEST_FIRST, Held
from edgewear.procedure.judged.verdict import _reasons, points
from edgewear.report.procedure.fate_words import not_shown

PEOPLE = ("ann", "bob")
SEEDS = pytest.mark.parametrize("seed", range(40))


def reached(late: bool | None) -> Reached:
    """A stage that keeps to its limit, does not, or has none."""
    return Reached(1.0, 9.0, 8.0, 10.0, None if late is None else 8.0 if late else 9.0)


MOST_S = 600.0
"""How long somebody may hang still."""


def hung(late: bool) -> Reached:
    """Hanging still, for longer than may be or exactly as long."""
    return Reached(60.0, MOST_S + late, 60.0, 900.0, MOST_S)


def a_rescue(dice: random.Random, number: int) -> Rescue:
    if dice.random() < 0.4:
        way, who = dice.choice(WAYS)
        return Rescue("ann", way, 5.0, who, missing=(f"no kit {number}", "nobody"))
    late = dice.choices((True, False, None), (1, 6, 3), k=len(STAGES))
    times = dict(zip(STAGES, map(reached, late), strict=True))
    if dice.random() < 0.5:
        times[SUSPENSION] = hung(dice.random() < 0.5)
    return Rescue("ann", "haul", 5.0, times=times)


WAYS = (("haul", None), ("lower", "cy"), ("pick-off", "bob"), ("pick-off", "cy"), ("any", None))
"""Methods, and who would come: told where several people might each do it."""


def named(way: Rescue) -> str:
    """A way and what it lacks; where nobody notices that one is needed there is none to name."""
    why = "; ".join(way.missing)
    told = {"haul": "no haul: ", "lower": "no lower: ", "any": ""}
    return told.get(way.method, f"no pick-off by {way.rescuer}: ") + why


def late_stages(way: Rescue) -> list[str]:
    return [s for s in STAGES if (one := way.times[s]).limit_s and one.p95_s > one.limit_s]


TOO_LONG = "hangs still longer than the suspension limit of 10 min"


def too_late(way: Rescue) -> str:
    """What of a rescue comes too late, in words; hanging still is no stage of it."""
    found = [f"rescued too late: {', '.join(late_stages(way))}"] if late_stages(way) else []
    still = way.times.get(SUSPENSION)
    return "; ".join([*found, TOO_LONG] if still and still.p95_s > MOST_S else found)


def a_fate(dice: random.Random, person: str, number: int) -> Fate:
    rescue = a_rescue(dice, number)
    hangs, comes = dice.random() < 0.5, not rescue.missing
    showing = dice.choice([(), (), ("working line",), ("working line", "safety line")])
    failed = dice.choice([(), (), ("a line that parted",), ("a line that parted", "one more")])
    return Fate(
        person, dice.choice([End.PLAN, End.FALLS, End.BACK]) if not hangs else End.HANGS, "line",
        catch_holds=dice.choice([True, True, False, None]), catch_why=f"edge {number % 3}",
        rescue=rescue if hangs and comes else None, missing=() if comes else rescue.missing,
        still=dice.choice((None, hung(False), hung(True), Reached(9e9, 9e9, 9e9, 9e9))),
        as_without=dice.random() < 0.3,
        lost=dice.choice([(*failed, *showing), (*showing, *failed)]), showing=showing,
    )  # fmt: skip


def held_of(fate: Fate) -> list[tuple[Held, str, bool]]:
    """What one end comes to: which, why, and whether a rescue would help."""
    if fate.as_without:
        return []
    too_long = fate.still and fate.still.limit_s and fate.still.p95_s > MOST_S
    found = [(Held.ABOVE, TOO_LONG, False)] if too_long else []
    if fate.end is End.PLAN and fate.catch_holds is not False:
        gone = "a line that parted" + " and one more" * ("one more" in fate.lost)
        said = [f"{gone} would not hold"] * ("a line that parted" in fate.lost)
        lines = "working line" + " and safety line" * (len(fate.showing) == 2)
        said += [f"the core of {lines} shows"] * bool(fate.showing)
        found += [(Held.LOST, "; ".join(said), False)] * bool(said)
    if fate.end is End.FALLS:
        return [*found, (Held.FALLS, "nothing holds", False)]
    if fate.catch_holds is not True:
        held = {False: Held.NO, None: Held.NOT_KNOWN}[fate.catch_holds]
        found.append((held, f"caught: {fate.catch_why}", False))
    if fate.end is End.HANGS and not fate.rescue:
        found.append((Held.HANGS, "; ".join(fate.missing), True))
    if fate.rescue and too_late(fate.rescue):
        found.append((Held.ABOVE, too_late(fate.rescue), True))
    return found


def some_fates(dice: random.Random, names: tuple[str, ...], step: int) -> Fates:
    people = tuple(a_fate(dice, who, dice.randrange(9)) for who in PEOPLE)
    return Fates(
        names, dice.choice(PEOPLE) if step else "", step, dice.random() < 0.8, None, people
    )


def told(found) -> list[tuple]:
    return [(p.held, p.where, p.words, p.usual, p.times, p.rescue) for p in found]


def cause(one: Fates) -> str:
    return f"'{one.names[0]}'" if one.names else "no fault at all"


@SEEDS
def test_one_fault_alone_is_held_against_everybody_whom_it_leaves_so(seed: int) -> None:
    dice = random.Random(seed)
    every = [some_fates(dice, (name,), 0) for name in "abc"]
    every.append(some_fates(dice, (), 0))  # nothing wrong: it is held against the plan
    expected = [
        (held, f"{fate.person}, with {cause(one)}", words, False, 1, rescue)
        for one in every if one.came
        for fate in one.people for held, words, rescue in held_of(fate)
    ]  # fmt: skip
    found = points([], every, [])
    order = [GRAVEST_FIRST.index(point.held) for point in found]
    assert order == sorted(order)
    assert sorted(map(str, told(found))) == sorted(map(str, dict.fromkeys(expected)))


@SEEDS
def test_pairs_and_steps_are_counted_and_the_commonest_reasons_told(seed: int) -> None:
    dice = random.Random(seed)
    pairs = [some_fates(dice, ("a", f"b{k}"), 0) for k in range(6)]
    steps = [some_fates(dice, ("c",), 1 + k) for k in range(6)]
    found = points([], [*pairs, *steps], [])
    left = {(p.held, p.where, p.rescue): p for p in found}
    for some, what in ((pairs, "two faults at once"), (steps, "one fault at another step")):
        came = [one for one in some if one.came]
        for who in PEOPLE:
            ends = [(one, *end) for one in came for fate in one.people if fate.person == who
                    for end in held_of(fate)]  # fmt: skip
            for held, rescue in {(end[1], end[3]) for end in ends}:
                alike = [(one, why) for one, h, why, r in ends if (h, r) == (held, rescue)]
                point = left.pop((held, f"{who}, with {what}", rescue))
                assert (point.times, point.usual) == (len(alike), False)
                assert point.words == f"in {len(alike)} of {len(came)} that came about: " + said(
                    [(case_of(one), why) for one, why in alike]
                )
    assert not left


def case_of(one: Fates) -> str:
    names = " and ".join(f"'{name}'" for name in one.names)
    return f"{names}, {one.person} step {one.step}" if one.step else names


def said(cases: list[tuple[str, str]]) -> str:
    """The three commonest reasons, that which came first before others as common."""
    reasons = [why for _, why in cases]
    turn = count()
    firsts = {why: next(turn) for why in dict.fromkeys(reasons)}
    common = sorted(firsts, key=lambda why: (-reasons.count(why), firsts[why]))
    parts = []
    for why in common[:3]:
        of = [case for case, one in cases if one == why]
        parts.append(f"{of[0]}{f' and {len(of) - 1} more' if len(of) > 1 else ''} ({why})")
    left = sum(reasons.count(why) for why in common[3:])
    return "; ".join([*parts, *([f"{left} more"] if left else [])])


@SEEDS
def test_a_place_is_held_against_it_where_no_way_is_shown_or_all_come_late(seed: int) -> None:
    dice = random.Random(seed)
    rows = [
        PlaceRescue(who, step, f"work {step}", tuple(a_rescue(dice, k) for k in range(3)))
        for who in PEOPLE for step in range(4)
    ]  # fmt: skip
    expected = []
    for row in rows:
        where = f"{row.person}, unable to act at step {row.step} ({row.step_words})"
        shown = [way for way in row.ways if not way.missing]
        if not shown:
            words = "; ".join(map(named, row.ways))
            assert any(words in text for text in not_shown(rows))
            expected.append((Held.HANGS, where, words, False, 1, True))
        elif all(map(too_late, shown)):
            expected.append((Held.ABOVE, where, too_late(shown[0]), False, 1, True))
    assert sorted(map(str, told(points([], [], rows)))) == sorted(map(str, expected))


def a_failure(dice: random.Random) -> Failure:
    beyond = []
    if dice.random() < 0.4:
        beyond.append(AboveLimit(Figure.DROP, 3.0, 2.0, "EN", usual=dice.random() < 0.5))
    if dice.random() < 0.3:
        beyond.append(OffProtection((Travel(1.0, "lip", "pad"),)))
    name, holds = dice.choice("abcd"), dice.choice([True, False, None])
    return Failure(
        name, "anchor", "line", dice.randint(1, 2), dice.choice(PEOPLE), 5.0, holds, None, None,
        None, None, True, True, dice.choice(["weak", "cut"]), tuple(beyond), called=f"the {name}",
    )  # fmt: skip


@SEEDS
def test_single_failures_that_read_alike_are_told_once_with_all_their_components(seed) -> None:
    """Off its protection decides nothing by itself; nor does a limit nobody typed."""
    dice = random.Random(seed)
    rows = [a_failure(dice) for _ in range(12)]
    alike: dict[tuple, list[str]] = {}
    for row in rows:
        one = (row.person, row.step)
        if row.holds is False:
            alike.setdefault((Held.NO, *one, row.why, False), []).append(row.called)
            continue  # nothing holds: how far they drop does not count any more
        if row.holds is None:
            alike.setdefault((Held.NOT_KNOWN, *one, row.why, False), []).append(row.called)
        for above in row.beyond:
            if isinstance(above, AboveLimit):
                key = Held.ABOVE, *one, above.words, above.usual
            else:  # no limit is passed
                key = Held.SWINGS_OFF, *one, "1.0 m along lip (pad)", True
            alike.setdefault(key, []).append(row.called)
    expected = [
        (held, f"{who}, step {step}, if this failed: {', '.join(called)}", words, usual, 1, False)
        for (held, who, step, words, usual), called in alike.items()
    ]
    assert sorted(map(str, told(points(rows, [], [])))) == sorted(map(str, expected))


@pytest.mark.parametrize("count", range(1, 7))
def test_of_many_reasons_the_three_commonest_are_told_and_the_rest_counted(count: int) -> None:
    cases = [(f"case {k}.{j}", f"why {k}") for k in range(count) for j in range(k + 1)]
    parts = _reasons(cases).split("; ")
    kept = sorted(range(count), reverse=True)[:3]
    alike = [f"case {k}.0 and {k} more (why {k})" if k else "case 0.0 (why 0)" for k in kept]
    left = sum(k + 1 for k in range(count) if k not in kept)
    assert parts == [*alike, *([f"{left} more"] if left else [])]
