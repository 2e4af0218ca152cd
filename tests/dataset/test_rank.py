"""The order of options keeps its rules whatever the trials were."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.dataset.ranking.edge_summaries import _mark_stop, edge_summaries
from edgewear.dataset.ranking.headline import NONE_MEETS
from edgewear.dataset.ranking.inspection_plan import _closest
from edgewear.dataset.ranking.model import sheath_left
from edgewear.dataset.ranking.option_trials import samples_of
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.dataset.ranking.why import middle_edge, why_of, worst_edge
from edgewear.terms import CUTTING, FAILED, LEVELS, LINE_LOST, MEETS, MISSES, NOT_ACCEPTABLE
from support.comparisons import Comparison, Way

TRIALS = 24


def demands(low=0.0, high=1.5):
    return st.lists(st.floats(low, high), min_size=TRIALS, max_size=TRIALS)


@st.composite
def ways(draw):
    demand = draw(demands())
    status = draw(st.sampled_from([(), (), (), (NOT_ACCEPTABLE,), (CUTTING,), ("one line",)]))
    parted = None
    if draw(st.booleans()):
        held = draw(st.lists(st.booleans(), min_size=TRIALS, max_size=TRIALS))
        parted = [math.nan if h else 10 * d for h, d in zip(held, demand, strict=True)]
    failed = frozenset(draw(st.sets(st.integers(0, TRIALS - 1), max_size=3)))
    return Way(demand, draw(st.sampled_from(LEVELS)), status, parted, failed)


@st.composite
def comparisons(draw):
    names = "abcdef"[: draw(st.integers(1, 5))]
    laid = {name: draw(ways()) for name in names}
    if len(names) > 1 and draw(st.booleans()):
        laid[names[1]] = laid[names[0]]
    return Comparison(laid, target=draw(st.floats(0.0, 0.95)))


COMPARISONS = settings(max_examples=60, deadline=None)


@COMPARISONS
@given(comparisons())
def test_no_option_below_the_target_has_a_rank(comparison):
    ranking = ranking_of(comparison)
    for option in ranking.options:
        if option.rank is not None:
            assert option.margin.p5 >= ranking.target
            assert option.status[0] == MEETS
            assert not {CUTTING, NOT_ACCEPTABLE, MISSES} & set(option.status)
        else:
            assert MEETS not in option.status
    if all(option.rank is None for option in ranking.options):
        assert ranking.headline == NONE_MEETS


@COMPARISONS
@given(comparisons())
def test_groups_then_who_is_caught_then_levels_then_the_careful_end(comparison):
    def band(option):
        unheld = option.group == 0 and "one line" in option.status
        unfinished = option.group > 0 and "plan not finished" in option.status
        return option.group, unheld or unfinished, option.level

    options = ranking_of(comparison).options
    for above, below in pairwise(options):
        assert band(above) <= band(below)
        if band(above) == band(below) and above.group < 3:
            ends = [_lowest(comparison, o.name) for o in (above, below)]
            assert ends[0] >= ends[1]
            assert (above.order == below.order) == (ends[0] == ends[1])


def _lowest(comparison, name):
    """Grade of the trial at the careful end, found by sorting the trials as plain tuples."""
    way = comparison.ways[name]
    parted = way.parted_m or [math.nan] * TRIALS
    trials = sorted(
        (0, 0.0) if i in way.failed else (1, p) if not math.isnan(p) else (2, 1 - d)
        for i, (d, p) in enumerate(zip(way.demand, parted, strict=True))
    )
    grade = trials[int(0.05 * (TRIALS - 1))][0]
    if grade == 1:
        return 1, float(np.median([value for g, value in trials if g == 1]))
    if grade == 0:
        return 0, 0.0
    margins = [-math.inf if i in way.failed else 1 - d for i, d in enumerate(way.demand)]
    margins.sort()
    if math.isinf(margins[1]):
        return 0, 0.0
    return 2, margins[1] + (0.05 * (TRIALS - 1) - 1) * (margins[2] - margins[1])


@COMPARISONS
@given(comparisons())
def test_orders_and_ranks_count_up_and_chances_add_up_to_one(comparison):
    options = ranking_of(comparison).options
    for index, option in enumerate(options):
        assert option.order <= index + 1
        same = [o.name for o in options if o.order == option.order]
        assert options[option.order - 1].name in same
    chances = [o.p_best for o in options if o.p_best is not None]
    # sums of up to 24*5 shares in float64
    assert not chances or abs(sum(chances) - 1) < 1e-12


@COMPARISONS
@given(comparisons())
def test_a_cutting_edge_has_no_margin_and_stands_last(comparison):
    options = ranking_of(comparison).options
    cutting = [CUTTING in option.status for option in options]
    assert cutting == sorted(cutting)
    for option in options:
        if CUTTING in option.status:
            told = option.as_json()
            assert [
                told[k]
                for k in (
                    "margin",
                    "p_core_visible",
                    "p_best",
                    "core_visible_at",
                    "residual_strength_n",
                    "rank",
                )
            ] == [None] * 6


@COMPARISONS
@given(comparisons())
def test_no_loaded_contact_reads_as_new(comparison):
    for option in ranking_of(comparison).options:
        if option.margin is not None:
            for margin in (option.margin.p5, option.margin.p50, option.margin.p95):
                assert margin is None or margin < 1
                assert not sheath_left(margin).startswith("100")


@COMPARISONS
@given(comparisons())
def test_the_document_holds_nulls_and_no_nan(comparison):

    json.dumps(ranking_of(comparison).as_json(), allow_nan=False)


@given(st.floats(0.98, 1.0))
def test_sheath_left_never_rounds_up(margin):
    assert sheath_left(margin) in ("98 %", "99 %")


def test_the_same_way_under_two_names_shares_chance_and_place():
    demand = np.linspace(0.05, 0.25, TRIALS).tolist()
    ranking = ranking_of(Comparison({"a": Way(demand), "b": Way(demand)}))
    assert [(o.order, o.rank, o.p_best) for o in ranking.options] == [(1, 1, 0.5)] * 2
    assert ranking.options[0].beats_next.chance == 0.5
    assert ranking.options[0].beats_next.replicates_to_settle is None
    assert ranking.headline.startswith("'a' and 'b' share the first place")


def test_a_lower_level_with_more_sheath_left_stands_below():
    ranking = ranking_of(
        Comparison(
            {
                "sleeve": Way([0.01] * TRIALS, "soft"),
                "roller": Way([0.2] * TRIALS, "rigid or rolling"),
            }
        )
    )
    assert [(o.name, o.rank) for o in ranking.options] == [("roller", 1), ("sleeve", 2)]
    assert ranking.option("sleeve").p_best == 1.0


def test_a_parted_line_stands_below_every_line_that_held_then_by_rope_climbed():
    early, late = [2.0] * TRIALS, [1.5] * TRIALS
    ranking = ranking_of(
        Comparison(
            {
                "early": Way(early, parted_m=[3.0] * TRIALS),
                "late": Way(late, parted_m=[8.0] * TRIALS),
                "worn": Way([5.0] * TRIALS),
            }
        )
    )
    assert [o.name for o in ranking.options] == ["worn", "late", "early"]
    assert ranking.option("early").margin.p5 == -1.0
    assert ranking.option("worn").p_best == 1.0
    assert all(LINE_LOST in o.status for o in ranking.options)


def test_trials_that_could_not_be_computed_count_at_the_careful_end():
    demand = [0.1] * TRIALS
    whole = ranking_of(Comparison({"a": Way(demand)})).options[0]
    broken = ranking_of(Comparison({"a": Way(demand, failed=frozenset(range(3)))})).options[0]
    assert (whole.rank, whole.margin.p5) == (1, 0.9)
    assert (broken.rank, broken.margin.p5, broken.margin.p50) == (None, None, 0.9)
    assert FAILED in broken.status
    assert broken.failed == 3
    assert broken.failed_reasons == ("made to fail",)


def test_core_visible_never_among_the_trials_is_below_three_in_n():
    option = ranking_of(Comparison({"a": Way([0.2] * TRIALS)})).options[0]
    assert option.p_core_visible == 0.0
    assert option.p_core_visible_words == "below 3/24"
    assert option.core_visible_at is None


def test_a_quantile_that_falls_among_trials_that_never_showed_it_is_none():
    demand = [2.0] * 6 + [0.5] * 18
    option = ranking_of(Comparison({"a": Way(demand)})).options[0]
    assert option.p_core_visible == 0.25
    assert option.core_visible_at.time_s.p5 == 30.0
    assert option.core_visible_at.time_s.p50 is None


def test_an_untouched_line_may_be_as_new():
    way = Way([0.0] * TRIALS, "edge avoided", wrap_deg=0.0)
    option = ranking_of(Comparison({"a": way})).options[0]
    assert option.margin.p5 == 1.0
    assert option.why == "The loaded working line bends over no edge."


def test_options_that_differ_by_less_than_their_error_are_said_to():
    generator = np.random.default_rng(4)
    base = generator.normal(0.12, 0.02, TRIALS)
    near = base + generator.normal(0, 0.02, TRIALS)
    ranking = ranking_of(
        Comparison(
            {
                "a": Way(base.tolist()),
                "b": Way(near.tolist()),
                "c": Way((base + 0.4).tolist()),
            }
        )
    )
    first, second = ranking.options[0].beats_next, ranking.options[1].beats_next
    assert not first.told_apart
    assert first.replicates_to_settle is None or first.replicates_to_settle > TRIALS
    assert "cannot be told apart" in ranking.headline
    assert second.told_apart
    assert len(ranking.notes) == 1


def test_half_the_step_can_make_two_options_indistinct():
    ways = {"a": Way([0.1] * TRIALS, step_error=0.02), "b": Way([0.13] * TRIALS, step_error=0.02)}
    told = ranking_of(Comparison(ways)).options[0].beats_next
    assert (told.told_apart, told.replicates_to_settle) == (False, None)


@pytest.mark.parametrize(("demand", "wanted"), [(0.9, LINE_LOST), (1.2, LINE_LOST), (0.5, None)])
def test_core_visible_at_the_careful_end_is_a_line_lost(demand, wanted):
    spread = (np.linspace(0.8, 1.2, TRIALS) * demand).tolist()
    option = ranking_of(Comparison({"a": Way(spread)})).options[0]
    assert (LINE_LOST in option.status) == (wanted is not None)


def test_why_names_the_worst_edge_its_travel_and_both_bounces():
    way = Way([0.2] * TRIALS, edges={"kerb": 0.4, "flange": 1.0})
    option = ranking_of(Comparison({"a": way})).options[0]
    for told in (
        "flange (pad, bend up to 60 degrees)",
        "1.2 m of rope slides there",
        "1.5 kN",
        "20 % of the sheath",
        "Next comes kerb",
    ):
        assert told in option.why
    facts = {fact.label: fact.words for fact in option.why_facts}
    assert facts["strokes in which the rope lay still at flange"] == "20 %"
    assert facts["strokes a second"] == "0.50"
    assert facts["bounces a second, sliding"] == "0.90"
    assert facts["bounces a second, stuck"] == "1.4"
    assert facts["stroke rate over the bounce, sliding"] == "0.56"  # 0.50 / 0.90


def test_looks_come_in_thirds_of_the_way_to_the_core():
    option = ranking_of(Comparison({"a": Way([0.5] * TRIALS)})).options[0]
    # demand grows evenly to 0.5 in 60 s and 10 m: a third of the sheath is gone at 40 s
    assert option.looks.first_time_s == pytest.approx(40.0, rel=1e-12)
    assert option.looks.first_ascended_m == pytest.approx(40 / 6, rel=1e-12)
    assert option.looks.first_strokes == 20
    assert [worn.share for worn in option.looks.worn_at] == [1 / 3, 2 / 3, 1.0]
    calm = ranking_of(Comparison({"a": Way([0.05] * TRIALS)})).options[0]
    assert calm.looks.first_time_s is None


def test_no_look_comes_later_than_the_careful_trial_has_worn_a_third():
    demands = np.linspace(0.2, 2.4, TRIALS)  # evenly: the careful trials wear fastest
    looks = ranking_of(Comparison({"a": Way(demands.tolist())})).options[0].looks
    third, two_thirds, core = looks.worn_at
    fast = np.quantile(demands, 0.95)
    # trials in between are interpolated over 1/demand, which is convex: 1 % of the value
    assert third.time_s == pytest.approx(20 / fast, rel=0.01)
    assert core.time_s == pytest.approx(60 / fast, rel=0.01)
    assert looks.first_time_s == third.time_s <= two_thirds.time_s <= core.time_s
    assert looks.stop is not None  # closer together than anybody can look
    assert looks.stop.time_s == core.time_s


@pytest.mark.parametrize(
    ("moments", "wanted"),
    [
        ([0.4, 0.9, 2.0], 0.4),
        ([0.5, 0.9, 2.0], 0.4),
        ([5.0, 5.0, 9.0], 4.0),  # two at once are one look
        ([7.0, None, None], 7.0),
        ([0.0, 0.0, 3.0], 3.0),
        ([None, None, None], None),
    ],
)
def test_looks_lie_as_far_apart_as_the_closest_two_moments(moments, wanted):
    assert _closest(moments) == (None if wanted is None else pytest.approx(wanted))


def test_looks_that_nobody_can_keep_are_a_stop_with_the_edge_that_wears_through():
    # 1.5 in 60 s and 10 m: a third at 13.3 s, two thirds at 26.7 s, the core at 40 s; 30 strokes
    looks = ranking_of(Comparison({"a": Way([1.5] * TRIALS)})).options[0].looks
    assert (looks.every_time_s, looks.every_ascended_m, looks.every_strokes) == (None, None, None)
    assert (looks.stop.edge, looks.stop.from_start) == ("kerb", True)
    assert looks.stop.time_s == pytest.approx(40.0, rel=1e-12)
    assert looks.stop.strokes == 20
    assert "about 20 strokes" in looks.stop.words


def test_a_third_that_one_trial_in_a_hundred_wears_asks_for_looks_before_and_after_only():
    demands = [0.1] * (TRIALS - TRIALS // 100) + [0.5] * (TRIALS // 100)
    looks = ranking_of(Comparison({"a": Way(demands)})).options[0].looks
    assert looks.first_time_s is None
    assert [worn.time_s for worn in looks.worn_at] == [None, None, None]


@pytest.mark.parametrize(
    ("middle_m", "high_m", "shown"),
    [
        (0.05, 0.08, True),
        (1e-4, 2e-4, True),
        (0.3, 1.2, False),
        (0.0, 0.0, False),
        (0.7, 0.7, False),
    ],
)
def test_a_mark_stops_work_where_it_can_be_seen_and_measured(middle_m, high_m, shown):
    columns = {
        "mark_travel_p50_m": np.linspace(middle_m, high_m, 20),
        "mark_travel_p95_m": np.linspace(middle_m, high_m, 20),
    }
    stop_m = _mark_stop(columns)
    assert (stop_m is not None) == shown
    assert stop_m is None or 5e-3 <= stop_m <= 0.5


def test_the_why_speaks_of_the_careful_end_and_says_when_the_middle_has_another_cause():
    generator = np.random.default_rng(3)
    kerb = generator.uniform(0.2, 0.3, 200)
    lip = np.where(np.arange(200) < 30, 0.8, 0.01)  # bad luck in 30 of 200 trials
    comparison = Comparison({"a": Way(np.maximum(kerb, lip).tolist())})
    sample = samples_of(comparison)[0]
    edges = {name: np.tile(column, 2) for name, column in sample.edges.items()}
    edges["edge"] = np.repeat(np.array(["kerb", "lip"], object), 200)
    edges["demand_max"] = np.concatenate([kerb, lip])
    runs = {**sample.runs, "worst_edge": np.where(lip > kerb, "lip", "kerb").astype(object)}
    found = edge_summaries(edges, runs, sample.rigged, sample.careful_trials)
    assert sample.careful_trials.sum() == 10  # a twentieth of 200
    assert (worst_edge(found).edge, middle_edge(found).edge) == ("lip", "kerb")
    assert worst_edge(found).demand_careful == 0.8
    option = replace(ranking_of(comparison).options[0], edges=found)
    assert "lip (" in why_of(option).split(":")[0]
    assert "In the middle of the trials it is kerb" in why_of(option)
    assert "In the middle" not in why_of(replace(option, edges=found[:1]))


@pytest.mark.parametrize("failed", [0, 1, 5, TRIALS - 1, TRIALS])
def test_trials_at_the_careful_end_are_some_that_were_computed(failed):
    way = Way(np.linspace(0.1, 0.5, TRIALS).tolist(), failed=frozenset(range(failed)))
    [sample] = samples_of(Comparison({"a": way}))
    assert (sample.careful_trials & ~sample.ok).sum() == 0
    assert sample.careful_trials.any() == (failed < TRIALS)
