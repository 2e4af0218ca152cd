"""Rows of the table of faults against counts made one run after the other."""

from __future__ import annotations

import random
from fractions import Fraction
from math import inf

import pytest

from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.faults import Baseline, Soonest, Spread
from edgewear.job.faults import Injected
from edgewear.procedure.fates import HANGS
from edgewear.procedure.fault_plan import Wanted
from edgewear.procedure.fault_rows import Rows
from edgewear.procedure.fault_runs import Trial
from edgewear.scenario.models.faults import AttendantAway

LEAST = (Fraction(1, 20), Fraction(1, 2), Fraction(19, 20))
SEEDS = pytest.mark.parametrize("seed", range(30))


def a_trial(dice: random.Random) -> Trial:
    """A run of few different values, so that many are alike."""
    fault_s = dice.choice([0.0, 0.0, 30.0, 60.0, inf])
    return Trial(
        margin=dice.choice([-0.25, 0.0, 0.25, 0.5, 0.75]),  # their differences are exact
        fault_s=fault_s,
        core_s=dice.choice([inf, 15.0, 30.0, 90.0, 120.0]),
        parted_s=dice.choice([inf, 0.0, 500.0]),
        seen_s=dice.choice([inf, 30.0, 60.0, 100.0]),
        seen_by=dice.choice(["", "ann", "bob"]),
        fell=dice.random() < 0.2,
        worst=dice.choice(["here", "there"]),
        gravity=dice.choice([(), (0,), (HANGS,), (5, HANGS, 0)]),
        failed=dice.choice(["", "", "", "too stiff"]),
    )


def injected(name: str) -> Injected:
    return Injected(name, AttendantAway())


def ended(ends: list[End]) -> Fates:
    """What became of some people, whoever they are."""
    people = tuple(Fate(f"p{k}", end, "the line") for k, end in enumerate(ends))
    return Fates((), "", 0, True, None, people)


def a_study(seed: int) -> tuple[Rows, list[Wanted], list[list[Trial]]]:
    dice = random.Random(seed)
    alone = [Wanted((injected(name),)) for name in ("a", "b")]
    table = [
        Wanted((injected(name),), person, step)
        for name in ("a", "b", "c") for person in ("ann", "bob") for step in (1, 2)
    ]  # fmt: skip
    plan = [Wanted(()), *alone, Wanted((injected("a"), injected("b"))), *table]
    runs = dice.choice([0, 1, 2, 7])
    # fewer where a fault is played at every step
    counts = [dice.randint(0, runs) if one.step else runs for one in plan]
    trials = [[a_trial(dice) for _ in range(count)] for count in counts]
    return Rows(plan, trials, {("ann", 1): "descend"}), plan, trials


def kept(values, share):
    """The least value that at least a share of all do not pass."""
    return min(v for v in values if sum(w <= v for w in values) >= share * len(values))


def part(some, true) -> float | None:
    return sum(map(bool, map(true, some))) / len(some) if some else None


def commonest(words) -> str | None:
    """Of those that are as common, the first that came."""
    return max(dict.fromkeys(words), key=words.count) if words else None


def soonest(times) -> Soonest:
    p5 = kept(times, LEAST[0]) if times else inf
    return Soonest(None if p5 == inf else p5)


def counted(mine, without) -> dict:
    """What a row should say, each run looked at by itself."""
    came = [
        (one, bare) for one, bare in zip(mine, without[: len(mine)], strict=True)
        if one.fault_s != inf and one.failed == bare.failed == ""
    ]  # fmt: skip
    runs = [one for one, _ in came]
    margins = [one.margin for one in runs]
    lost = [bare.margin - one.margin for one, bare in came]
    saw = [one.seen_by for one in runs if one.seen_by != ""]
    ordered = sorted(lost)
    middle = [ordered[(len(lost) - 1) // 2], ordered[len(lost) // 2]] if lost else []
    return {
        "trials": len(runs),
        "failed": sum(one.failed != "" for one in mine),
        "did_not_come": sum(one.failed == "" and one.fault_s == inf for one in mine),
        "margin_lost": sum(middle) / 2 if lost else None,
        "margin": Spread(*(kept(margins, share) for share in LEAST)) if runs else None,
        "p_core_visible": part(runs, lambda one: one.core_s != inf),
        "p_parted": part(runs, lambda one: one.parted_s != inf),
        "p_nothing_holds": part(runs, lambda one: one.fell),
        "p_left_hanging": part(runs, lambda one: HANGS in one.gravity),
        "fault_to_core_visible_s": soonest(
            [one.core_s if one.core_s == inf else max(0.0, one.core_s - one.fault_s)
             for one in runs]
        ),
        "seen_by": commonest(saw),
        "seen_share": part(runs, lambda one: one.seen_by != ""),
        "seen_after_share": part(runs, lambda one: one.seen_s != inf),
        "time_to_act_s": soonest(
            [inf if one.core_s == inf else 0.0 if one.seen_s == inf
             else max(0.0, one.core_s - one.seen_s) for one in runs]
        ),
        "worst_place": commonest([one.worst for one in runs]),
    }  # fmt: skip


@SEEDS
def test_a_row_counts_the_runs_in_which_its_fault_came(seed: int) -> None:
    rows, plan, trials = a_study(seed)
    told = {(row.names, "", 0): row for row in rows.faults()}
    table = rows.table()
    told |= {(row.names, row.person, row.step): row for row in table}
    assert list(told) == [(one.names, one.person, one.step) for one in plan if one.faults]
    for one, mine in zip(plan, trials, strict=True):
        if one.faults:
            row = told[one.names, one.person, one.step]
            expected = counted(mine, trials[0])
            assert {name: getattr(row, name) for name in expected} == expected
    assert all(row.fault == row.names[0] for row in table)
    assert {row.words for row in table} == {"", "descend"}
    assert all((row.words == "descend") == ((row.person, row.step) == ("ann", 1)) for row in table)


@SEEDS
def test_with_nothing_wrong_only_runs_that_failed_are_left_out(seed: int) -> None:
    rows, _, trials = a_study(seed)
    good = [one for one in trials[0] if one.failed == ""]
    margin = Spread(*(kept([one.margin for one in good], p) for p in LEAST)) if good else None
    shown = part(good, lambda one: one.core_s != inf)
    assert rows.baseline() == Baseline(margin, shown, len(good))


def harm(row) -> tuple[float, ...]:
    """Falls, then left hanging, parted, the core, the sheath, then how soon."""
    soon = row.fault_to_core_visible_s.p5
    return (
        *(0.0 if part is None else part for part in (
            row.p_nothing_holds, row.p_left_hanging, row.p_parted, row.p_core_visible)),
        -inf if row.margin_lost is None else row.margin_lost,
        -inf if soon is None else -soon,
    )  # fmt: skip


@SEEDS
def test_the_weakest_steps_are_each_step_once_with_what_costs_most_there(seed: int) -> None:
    rows, _, _ = a_study(seed)
    by_step: dict[tuple[str, int], list] = {}
    for row in rows.table():
        if row.trials:
            by_step.setdefault((row.person, row.step), []).append(row)
    costly = {
        place: some for place, some in by_step.items()
        if any(max(harm(row)[k] for k in (0, 1, 3, 4)) > 0.0
               for row in [max(some, key=harm)])
    }  # fmt: skip
    weakest = rows.weakest()
    assert {(row.person, row.step) for row in weakest} == set(costly)
    assert len(weakest) == len(costly)
    for row in weakest:
        assert harm(row) == max(map(harm, costly[row.person, row.step]))
    assert [harm(row) for row in weakest] == sorted(map(harm, weakest), reverse=True)


@SEEDS
def test_the_worst_of_all_is_the_worst_for_people_then_for_the_rope(seed: int) -> None:
    rows, plan, _ = a_study(seed)
    dice = random.Random(seed)
    ends = [ended(dice.choices([End.PLAN, End.HANGS, End.FALLS], k=2)) for _ in plan]
    told = dict(zip((row.names for row in rows.faults()), rows.faults(), strict=True))
    judged = [
        (ends[k].gravity, harm(told[one.names]), k) for k, one in enumerate(plan)
        if one.faults and not one.step
    ]  # fmt: skip
    worst = max((ends, hurt) for ends, hurt, _ in judged)
    assert rows.worst(ends) == next(k for *both, k in judged if tuple(both) == worst)


def test_where_there_is_no_fault_the_worst_is_nothing_wrong() -> None:
    assert Rows([Wanted(())], [[]], {}).worst([ended([End.PLAN])]) == 0


@pytest.mark.parametrize("first", [True, False])
def test_a_fault_that_never_came_is_not_the_worst_of_those_that_cost_little(first: bool) -> None:
    sound = Trial(0.5, 0.0, inf, inf, inf, "", False, "here")
    came, never = sound._replace(margin=0.5), sound._replace(fault_s=inf)
    order = [never, came] if first else [came, never]
    plan = [Wanted(()), Wanted((injected("a"),)), Wanted((injected("b"),))]
    rows = Rows(plan, [[sound], [order[0]], [order[1]]], {})
    assert rows.worst([ended([End.PLAN])] * 3) == (2 if first else 1)
