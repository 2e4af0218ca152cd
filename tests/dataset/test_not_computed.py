"""What is said of an option whose trials could not be computed."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_UP, Decimal

import pytest

from edgewear.cautions import for_status
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.report.parts.decided import course
from edgewear.report.parts.sentences import MOST_REASONS, failures
from edgewear.spelt import short_by
from edgewear.terms import FAILED, LINE_LOST
from support.comparisons import Comparison, Way

TRIALS = 24


@pytest.mark.parametrize("share_failed", [0.0, 0.04, 0.25, 0.5, 0.96, 1.0])
@pytest.mark.parametrize("demand", [0.1, 0.9, 1.2])
def test_a_line_is_lost_only_where_a_computed_trial_shows_its_core(demand, share_failed):
    """What is not computed shows no core: such an option misses its target, and says why."""
    failed = frozenset(range(round(share_failed * TRIALS)))
    option = ranking_of(Comparison({"a": Way([demand] * TRIALS, failed=failed)})).options[0]
    seen = demand >= 1 and len(failed) < TRIALS
    assert (LINE_LOST in option.status) == seen
    assert any("its core shows" in text for text in for_status(option.status)) == seen
    assert (FAILED in option.status) == bool(failed)
    # The first trials fail; the 5th percentile of 24 lies above the first one and below the third.
    assert (option.rank is None) == (demand >= 0.3 or len(failed) > 1)
    assert ("No trial could be computed" in option.why) == (len(failed) == TRIALS)


@pytest.mark.parametrize("many", range(8))
def test_reasons_that_differ_from_trial_to_trial_are_told_twice_and_counted(many):
    reasons = tuple(f"given up at {metres} m of 10 m" for metres in range(many))
    option = ranking_of(Comparison({"a": Way([0.1] * TRIALS)})).options[0]
    said = failures(replace(option, failed=many, failed_reasons=reasons))
    told = [reason for reason in reasons if reason in said]
    assert told == list(reasons[:MOST_REASONS])
    left = many - len(told)
    assert (f"; {left} more in the document" in said) == (left > 0)
    assert ("unknown" in said) == (many == 0)


@pytest.mark.parametrize("share_failed", [0.0, 0.04, 0.25, 0.5, 1.0])
def test_who_comes_first_is_not_counted_from_what_failed(share_failed):
    failed = frozenset(range(round(share_failed * TRIALS)))
    ways = {"a": Way([0.2] * TRIALS, failed=failed), "b": Way([0.1] * TRIALS)}
    options = {one.name: one for one in ranking_of(Comparison(ways)).options}
    chances = [one.p_best for one in options.values()]
    eligible = [one for one in options.values() if one.group <= 1]
    if all(20 * one.failed <= one.trials for one in eligible):
        assert sum(chance or 0.0 for chance in chances) == pytest.approx(1.0)
    else:
        assert chances == [None, None]


def test_an_option_that_could_not_be_computed_is_not_said_to_bend_over_no_edge():
    ways = {"a": Way([0.1] * TRIALS, failed=frozenset(range(TRIALS)))}
    option = ranking_of(Comparison(ways)).options[0]
    assert course(option) == option.why
    assert "nothing is known" in course(option)


@pytest.mark.parametrize("short_m", [[0.31], [0.31, 0.34], [0.05, 2.4, 0.9], [0.1] * 7])
@pytest.mark.parametrize("others", [0, 3])
def test_reasons_that_differ_in_a_length_alone_are_told_once_with_its_range(short_m, others):
    """Least and most by `min` and `max`, to tenths upwards, by decimal arithmetic."""
    count = len(short_m) + others
    said = "the rope of 'edge 3 m back' is too short for step 2"
    short = {at: (said, length_m) for at, length_m in enumerate(short_m)}
    way = Way([0.1] * TRIALS, failed=frozenset(range(count)), short=short)
    option = ranking_of(Comparison({"a": way})).options[0]
    ends = [
        Decimal(str(m)).quantize(Decimal("0.1"), ROUND_UP) for m in (min(short_m), max(short_m))
    ]
    by = f"by {ends[0]} m" if ends[0] == ends[1] else f"by {ends[0]} m to {ends[1]} m"
    assert option.failed_reasons[0] == f"{said}, {by}"
    assert len(option.failed_reasons) == 1 + (others > 0)
    assert f"{count} of {TRIALS} trials could not be computed: {said}, {by}" in failures(option)


@pytest.mark.parametrize("times", [[1.31], [1.31, 1.34], [2.05, 7.4, 9.99], [1.0001], [3.0] * 7])
@pytest.mark.parametrize("others", [0, 3])
def test_reasons_that_differ_in_how_many_times_too_much_are_told_once(times, others):
    """Least and most by `min` and `max`, to tenths upwards, by decimal arithmetic."""
    count = len(times) + others
    said = "the energy does not close"
    told = {at: (said, one) for at, one in enumerate(times)}
    way = Way([0.1] * TRIALS, failed=frozenset(range(count)), times=told)
    option = ranking_of(Comparison({"a": way})).options[0]
    ends = [Decimal(str(m)).quantize(Decimal("0.1"), ROUND_UP) for m in (min(times), max(times))]
    by = f"{ends[0]}" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
    assert option.failed_reasons[0] == f"{said}, {by} times as much"
    assert len(option.failed_reasons) == 1 + (others > 0)


@pytest.mark.parametrize("least_m", [10.0**power for power in range(-12, -1)])
@pytest.mark.parametrize(("most_m", "up_to"), [(0.0, ""), (0.1, ""), (1.25, " to 1.3 m")])
def test_no_rope_is_told_too_short_by_nothing(least_m, most_m, up_to):
    """Up to the next tenth, of which rounding takes at most 1e-7 m: the first is never none."""
    assert short_by(least_m, max(least_m, most_m)) == f"by 0.1 m{up_to}"


@pytest.mark.parametrize("names", [("edge 1 m", "edge 2 m"), ("2 m", "3 m"), ("by 1 m", "by 2 m")])
def test_names_with_a_length_in_them_are_not_grouped(names):
    short = {
        at: (f"the rope at {name} is too short", 0.1 + at) for at, name in enumerate(names * 2)
    }
    way = Way([0.1] * TRIALS, failed=frozenset(short), short=short)
    option = ranking_of(Comparison({"a": way})).options[0]
    assert option.failed_reasons == (
        f"the rope at {names[0]} is too short, by 0.1 m to 2.1 m",
        f"the rope at {names[1]} is too short, by 1.1 m to 3.1 m",
    )
