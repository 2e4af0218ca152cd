"""Options whose plan is not finished: where they stand, and what their trials count for."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.dataset.ranking.option_trials import samples_of
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.terms import (
    CUTTING,
    LINE_LOST,
    MEETS,
    MISSES,
    NOT_ACCEPTABLE,
    NOT_ALWAYS,
    UNFINISHED,
)
from support.comparisons import Comparison, Way

TRIALS = 41
AT = int(0.05 * (TRIALS - 1))
"""Place of the trial at the careful end, the worst first: the third of 41."""

EARLY = ({"who": "ann", "step": 2, "why": "the shift is over", "waits": False, "words": "early"},)


def even(demand: float, **more) -> Way:
    return Way([demand] * TRIALS, **more)


def first(count: int, step: float = 3.0) -> dict[int, float]:
    return dict.fromkeys(range(count), step)


def placed(ways: dict[str, Way], target: float = 0.7):
    return {one.name: one for one in ranking_of(Comparison(ways, target)).options}


@pytest.mark.parametrize("count", [0, 1, AT, AT + 1, AT + 2, TRIALS - 1, TRIALS])
@pytest.mark.parametrize("demand", [0.01, 0.2])
def test_a_few_trials_are_told_and_from_the_careful_end_on_the_target_is_missed(
    count: int, demand: float
) -> None:
    found = placed({"it": even(demand, unfinished=first(count))})["it"]
    misses = count > AT
    assert found.status[0] == (MISSES if misses else MEETS)
    assert (UNFINISHED in found.status) == misses
    assert (NOT_ALWAYS in found.status) == (0 < count <= AT)
    assert (found.rank is None) == misses
    assert LINE_LOST not in found.status
    assert (found.unfinished, found.unfinished_step) == (count, 3 if count else None)
    assert (f"not finished in {count} of {TRIALS} trials, in step 3" in found.why) == (count > 0)
    assert found.lacks == ((NOT_ALWAYS,) if 0 < count <= AT else ())
    assert ("wear is told of the others" in found.why) == (0 < count < TRIALS)
    assert ("is of the part up to there" in found.why) == (count == TRIALS)


FINISHES = [
    even(0.02, control="soft"),
    even(0.9, control="bare"),
    even(5.0, control="bare"),
    even(0.5, control="bypass", status=("one line",)),
]
BREAKS_OFF = [
    even(0.001, control="edge avoided", unfinished=first(TRIALS)),
    even(0.001, control="re-anchored or deviated", unfinished=first(AT + 1)),
    even(0.001, control="rigid or rolling", ended_early=EARLY),
    even(0.001, control="edge avoided", parted_m=[3.0] * TRIALS),
]


@pytest.mark.parametrize(("whole", "part"), list(product(FINISHES, BREAKS_OFF)))
@pytest.mark.parametrize("turned", [False, True])
def test_an_option_that_is_not_finished_stands_below_every_one_that_is(whole, part, turned) -> None:
    """Whatever its level, and however little of the sheath its part of the plan takes."""
    ways = {"whole": whole, "part": part}
    found = placed(dict(reversed(ways.items())) if turned else ways)
    assert found["whole"].order < found["part"].order
    assert found["part"].rank is None
    assert found["part"].status[:2] == (MISSES, UNFINISHED)
    if len(part.unfinished) == TRIALS:
        assert (found["whole"].p_best, found["part"].p_best) == (1.0, 0.0)


@pytest.mark.parametrize("status", [NOT_ACCEPTABLE, CUTTING])
def test_what_is_not_acceptable_or_cuts_stands_below_still(status) -> None:
    ways = {
        "bare": even(0.01, control="bare", status=(status,)),
        "bare, unfinished": even(0.01, control="bare", status=(status,), ended_early=EARLY),
        "part": even(0.01, ended_early=EARLY),
    }
    found = placed(ways)
    assert found["part"].order == 1
    if status == NOT_ACCEPTABLE:
        assert found["bare"].order < found["bare, unfinished"].order


@given(
    demand=st.lists(st.floats(0.0, 3.0), min_size=20, max_size=60),
    share=st.floats(0.0, 1.0),
    seed=st.integers(0, 999),
)
def test_the_sheath_left_of_a_part_is_never_that_of_the_whole(demand, share, seed) -> None:
    """Sorted by hand: what was not finished counts as if nothing were left, and is no figure."""
    rng = np.random.default_rng(seed)
    part = {i: 2.0 for i in range(len(demand)) if rng.random() < share}
    found = placed({"it": Way(demand, unfinished=part)})["it"]
    left = sorted(-math.inf if i in part else 1.0 - d for i, d in enumerate(demand))
    at = 0.05 * (len(left) - 1)
    low, high = left[math.floor(at)], left[math.ceil(at)]
    if math.isinf(low):
        assert found.margin.p5 is None
    else:  # capped where a line touched an edge; 1e-9: sums in another order
        expected = min(low + (at - math.floor(at)) * (high - low), 0.9999)
        assert found.margin.p5 == pytest.approx(expected, abs=1e-9)
    whole = placed({"it": Way(demand)})["it"]
    if found.margin.p5 is not None:
        assert found.margin.p5 <= whole.margin.p5 + 1e-9


@given(share=st.integers(0, 20), shows=st.integers(0, 20), seed=st.integers(0, 99))
def test_the_chance_of_a_core_is_counted_of_trials_that_tell_it(share, shows, seed) -> None:
    """One that broke off tells it where its core had shown by then, and not where it had not."""
    rng = np.random.default_rng(seed)
    worn = set(rng.permutation(20)[:shows].tolist())
    part = dict.fromkeys(rng.permutation(20)[:share].tolist(), 1.0)
    demand = [1.5 if i in worn else 0.1 for i in range(20)]
    found = placed({"it": Way(demand, unfinished=part)})["it"]
    tell = len(worn | (set(range(20)) - set(part)))
    assert found.p_core_visible == (shows / tell if tell else None)


@pytest.mark.parametrize("count", [1, AT + 1, TRIALS - 1])
def test_looks_are_planned_by_trials_of_the_whole_plan(count: int) -> None:
    """A trial that broke off before a third was worn says nothing of when it would have been."""
    demand = [0.1] * count + [0.9] * (TRIALS - count)
    found = placed({"it": Way(demand, unfinished=first(count))})["it"]
    alone = placed({"it": Way(demand[count:])})["it"]
    assert found.looks.first_time_s == alone.looks.first_time_s
    assert found.edges[0].demand_max == alone.edges[0].demand_max


@pytest.mark.parametrize("known", [0.0, math.nan])
def test_datasets_that_do_not_tell_rank_as_if_all_were_finished(known: float) -> None:
    ways = {"a": even(0.1), "b": even(0.2, control="bare"), "c": even(0.9)}
    before = placed(ways)
    for way in ways.values():
        way.unfinished = first(TRIALS, known)
    after = placed(ways)
    assert {n: (o.order, o.rank, o.status) for n, o in after.items()} == {
        n: (o.order, o.rank, o.status) for n, o in before.items()
    }
    assert all(one.unfinished == 0 for one in after.values())


def test_of_two_the_one_that_is_finished_more_often_stands_first() -> None:
    ways = {n: even(0.1, unfinished=first(n)) for n in (TRIALS, 30, AT + 1)}
    ordered = placed({str(n): way for n, way in ways.items()})
    assert [ordered[str(n)].order for n in (AT + 1, 30, TRIALS)] == [1, 2, 3]
    assert samples_of(Comparison({"a": ways[30]}))[0].careful_end().value == -30 / TRIALS
