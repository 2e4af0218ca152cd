"""Two series against scipy, against all deals counted one by one, and against known truths."""

from __future__ import annotations

from itertools import combinations
from math import exp, inf, log, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from typer.testing import CliRunner

from edgewear.cli.commands import app
from edgewear.errors import UsageError
from edgewear.forecasts.quantities import Seen
from edgewear.forecasts.series import (
    exact_chance,
    least_chance,
    pair_signs,
    ratio_of,
    samples_needed,
    side_by_side,
)

FIGURES = st.lists(st.integers(1, 60), min_size=2, max_size=9, unique=True)


def figures(values: list[int] | list[float]) -> list[Seen]:
    return [Seen(float(one), float(one)) for one in values]


@given(FIGURES, st.integers(1, 8))
def test_figures_alone_give_the_test_of_mann_and_whitney(values: list[int], cut: int) -> None:
    count = min(cut, len(values) - 1)
    first, second = values[:count], values[count:]
    there = stats.mannwhitneyu(first, second, alternative="two-sided", method="exact")
    found = exact_chance(pair_signs(figures(first), figures(second)), count)
    assert found == pytest.approx(float(there.pvalue), abs=1e-9)  # both count the same deals


SEEN = st.tuples(st.integers(1, 9), st.integers(0, 4), st.booleans()).map(
    lambda t: Seen(float(t[0]), inf if t[2] else float(t[0] + t[1]))
)


def longer(one: Seen, other: Seen) -> int:
    """Whether one surely lasts longer, in words instead of arrays."""
    if one.exact and other.exact:
        return (one.low > other.low) - (one.low < other.low)
    return int(one.low >= other.high) - int(other.low >= one.high)


@given(st.lists(SEEN, min_size=1, max_size=4), st.lists(SEEN, min_size=1, max_size=4))
def test_censored_series_are_dealt_in_all_ways(first: list[Seen], second: list[Seen]) -> None:
    whole = [*first, *second]

    def statistic(chosen: tuple[int, ...]) -> int:
        others = [i for i in range(len(whole)) if i not in chosen]
        return abs(sum(longer(whole[i], whole[j]) for i in chosen for j in others))

    seen = statistic(tuple(range(len(first))))
    deals = [statistic(one) for one in combinations(range(len(whole)), len(first))]
    expected = sum(one >= seen for one in deals) / len(deals)
    assert exact_chance(pair_signs(first, second), len(first)) == pytest.approx(expected, abs=1e-9)


def test_two_and_two_tell_nothing_however_far_apart() -> None:
    found = side_by_side(figures([1.0, 1.1]), figures([50.0, 60.0]))
    assert found.verdict == "not told"
    assert found.chance == found.least_chance == pytest.approx(2 / 6)
    assert found.needed == 4  # 3 and 3 have 20 deals: one in ten
    assert found.first_longer is not None
    assert found.first_longer < 0.01  # what is believed may still be clear


def test_four_and_four_far_apart_tell() -> None:
    found = side_by_side(figures([5.0, 6.0, 7.0, 8.0]), [Seen(1.0, 2.0)] * 4, ("a", "b"))
    assert found.verdict == "first lasts longer"
    assert found.chance == pytest.approx(least_chance(4, 4))
    assert side_by_side([Seen(1.0, 2.0)] * 4, figures([5.0, 6.0, 7.0, 8.0])).verdict == (
        "second lasts longer"
    )


def test_swapping_the_series_turns_the_ratio_over() -> None:
    first, second = [Seen(3.0, 4.0), Seen(5.0, inf)], [Seen(2.0, 3.0), Seen(0.0, 4.0)]
    one, other = side_by_side(first, second), side_by_side(second, first)
    assert one.chance == other.chance
    assert one.ratio is not None
    assert other.ratio is not None
    middle, low, high = other.ratio
    assert one.ratio == pytest.approx((1 / middle, 1 / high, 1 / low), rel=1e-6)  # the same grid


def test_figures_of_a_known_spread_have_a_closed_form() -> None:
    """Many figures tell the spread; then the ratio is normal about the difference of the means."""
    rng = np.random.default_rng(4)
    first, second = np.exp(0.3 * rng.standard_normal(30)), np.exp(0.3 * rng.standard_normal(30))
    found = side_by_side(figures(list(first)), figures(list(second)))
    between = np.log(first).mean() - np.log(second).mean()
    pooled = sqrt((np.log(first).var(ddof=1) + np.log(second).var(ddof=1)) / 2)
    half = 1.645 * pooled * sqrt(2 / 30)
    assert found.ratio is not None
    assert np.log(found.ratio) == pytest.approx(  # grid of 0.02; the spread itself to 10 %
        [between, between - half, between + half], abs=0.02
    )


@pytest.mark.parametrize(
    ("count", "fewest"), [(40, 30), pytest.param(600, 520, marks=pytest.mark.long)]
)
def test_intervals_of_few_samples_cover_the_truth(count: int, fewest: int) -> None:
    """Truths drawn as is believed, pairs of 2 to 4 looked at each metre; of a true 90 %, fewer than
    so many come once in 300 (binomial)."""
    rng = np.random.default_rng(6)
    inside = 0
    for _ in range(count):
        spread = 0.25 * exp(log(3.2) / 1.645 * rng.standard_normal())
        ratio, many = exp(0.7 * rng.standard_normal()), int(rng.integers(2, 5))
        series = []
        for middle in (8.0 * ratio, 8.0):
            came = middle * np.exp(spread * rng.standard_normal(many))
            series.append([Seen(float(np.floor(one)), float(np.floor(one)) + 1) for one in came])
        found, _ = ratio_of(*series)
        inside += found is not None and found[1] <= ratio <= found[2]
    assert inside >= fewest


@pytest.mark.parametrize(("ratio", "spread"), [(1.5, 0.25), (2.0, 0.4), (1.25, 0.2)])
def test_as_many_as_needed_tell_in_eight_of_ten(ratio: float, spread: float) -> None:
    """300 series: standard error 2.3 %; Noether's formula is good to about 5 % at such sizes."""
    count = samples_needed(ratio, spread)
    assert count is not None
    rng = np.random.default_rng(7)
    first = ratio * np.exp(spread * rng.standard_normal((300, count)))
    second = np.exp(spread * rng.standard_normal((300, count)))
    told = [stats.mannwhitneyu(a, b).pvalue <= 0.05 for a, b in zip(first, second, strict=True)]
    assert np.mean(told) == pytest.approx(0.8, abs=0.12)


def test_alike_ropes_need_more_than_anybody_tests() -> None:
    assert samples_needed(1.0, 0.25) is None
    assert samples_needed(50.0, 0.1) == 4


def test_a_series_open_to_one_side_has_no_ratio() -> None:
    found = side_by_side([Seen(5.0, inf)] * 3, figures([2.0, 3.0, 4.0]))
    assert found.ratio is None
    assert found.needed is None
    with pytest.raises(UsageError):
        side_by_side([], figures([1.0]))


def test_the_command_says_that_two_are_too_few() -> None:
    done = CliRunner().invoke(app, [
        "forecast", "side-by-side", "--first", "3 m to 4 m, at least 5 m", "--second", "2 m, 2.5 m",
        "--names", "grey,red",
    ])  # fmt: skip
    assert done.exit_code == 0, done.output
    assert "can never tell" in " ".join(done.stdout.split())
    assert max(map(len, done.stdout.splitlines())) <= 80
    bad = CliRunner().invoke(app, [
        "forecast", "side-by-side", "--first", "3", "--second", "2 m", "--of", "count",
    ])  # fmt: skip
    assert isinstance(bad.exception, UsageError)
