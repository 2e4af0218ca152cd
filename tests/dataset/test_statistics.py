"""Figures of a sample against definitions written out plainly."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgewear.dataset.ranking import statistics
from edgewear.dataset.ranking.statistics import (
    careful,
    chance_of_beating,
    chances_of_first,
    dense_places,
    difference_error,
    never_is_late,
    quantile,
    quantile_errors,
    replicates_to_settle,
    share_error,
)

VALUES = st.lists(st.floats(-5, 5), min_size=1, max_size=40)


@given(VALUES, st.floats(0, 1))
def test_quantiles_of_numbers_are_numpy_s(values, share):
    ours = quantile(np.array(values), share)
    # two ways of interpolating between numbers of order 5 in float64
    assert ours == pytest.approx(float(np.quantile(values, share)), abs=1e-13)


@given(VALUES, st.integers(1, 40), st.floats(0, 1))
def test_a_quantile_next_to_never_is_none(values, never, share):
    sample = np.array(values + [math.inf] * never)
    at = share * (sample.size - 1)
    found = quantile(sample, share)
    assert (found is None) == (
        (math.ceil(at) >= len(values) and at != math.floor(at)) or math.floor(at) >= len(values)
    )


def test_no_values_have_no_quantile():
    assert quantile(np.empty(0), 0.5) is None


def test_the_error_of_a_quantile_is_what_repetition_shows():
    generator = np.random.default_rng(2)
    samples = generator.normal(size=(2000, 400))
    told = np.array([vars(quantile_errors(row))["p5"] for row in samples[:200]])
    seen = np.quantile(samples, 0.05, axis=1).std()
    # a standard error from one sample scatters by about a quarter; the mean of 200 by 2 %, and
    # the spacing of order statistics at n = 400 biases it by a few per cent
    assert told.mean() == pytest.approx(seen, rel=0.1)


def test_the_error_of_a_paired_difference_is_what_repetition_shows():
    generator = np.random.default_rng(3)

    def pair():
        world = generator.normal(size=300)
        return world, world + 0.3 * generator.normal(size=300) + 0.2

    differences = []
    for _ in range(2000):
        one, other = pair()
        differences.append(np.quantile(one, 0.05) - np.quantile(other, 0.05))
    told = [difference_error(*pair(), 0.05, seed) for seed in range(60)]
    # a bootstrap of 200 scatters by 5 % and by the sample; quantiles bias it upwards a little
    assert np.mean(told) == pytest.approx(np.std(differences), rel=0.15)


def test_the_error_of_a_difference_is_the_deviation_of_a_sample_of_resamples(monkeypatch):
    """Of two resamples, each the lower of two draws from 0 and 1: alike, or 0 and 1.

    Two figures d apart have the deviation d over the square root of two, the mean being theirs.
    """
    monkeypatch.setattr(statistics, "RESAMPLES", 2)
    values, still = np.array([0.0, 1.0]), np.zeros(2)
    for pair in ((values, still), (still, values)):
        told = {round(difference_error(*pair, 0.0, seed), 12) for seed in range(40)}
        assert told == {0.0, round(math.sqrt(0.5), 12)}  # to rounding
    assert {difference_error(values, values, 0.0, seed) for seed in range(40)} == {0.0}  # in pairs


@given(
    st.lists(
        st.lists(st.sampled_from([0.1, 0.2, 0.3]), min_size=6, max_size=6), min_size=1, max_size=5
    )
)
def test_chances_of_first_share_ties_and_add_up(margins):
    values = np.array(margins)
    places = dense_places(np.full(values.shape, 2), values)
    wanted = []
    for row in values:
        shares = [
            (row[t] == values[:, t].max()) / (values[:, t] == values[:, t].max()).sum()
            for t in range(6)
        ]
        wanted.append(np.mean(shares))
    # the same shares summed in another order
    np.testing.assert_allclose(chances_of_first(places), wanted, rtol=1e-14)


def test_grades_come_before_values():
    places = dense_places(np.array([[2, 1, 0]]), np.array([[-5.0, 9.0, 99.0]]))
    assert places.tolist() == [[2, 1, 0]]


def test_beating_counts_ties_half():
    assert chance_of_beating(np.array([1, 2, 3, 4]), np.array([0, 2, 9, 9])) == 0.375


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 1.0])
def test_the_error_of_a_share_covers_what_it_says(share):
    # Agresti and Coull 1998: 95 % intervals from the adjusted share cover at least about 92 %
    trials, covered = 60, []
    for seen in stats.binom(trials, share).rvs(800, random_state=5):
        adjusted = (seen + 2) / (trials + 4)
        covered.append(abs(adjusted - share) <= 1.96 * share_error(seen / trials, trials))
    assert np.mean(covered) >= 0.92


def test_replicates_to_settle_grow_with_the_square_of_the_error():
    assert replicates_to_settle(0.01, 0.01, 256) == math.ceil(256 * 1.96**2 / 64) * 64
    assert replicates_to_settle(0.0, 0.01, 256) is None


def test_the_error_of_a_share_is_the_binomial_one_of_four_more_trials():
    """Two kept and two not are added; the variance of one that is or is not is p (1 - p)."""
    for trials in (1, 7, 256):
        for kept in range(0, trials + 1, max(trials // 7, 1)):
            share = Fraction(kept + 2, trials + 4)
            variance = share * (1 - share) / (trials + 4)
            found = share_error(kept / trials, trials)
            assert found == pytest.approx(math.sqrt(variance), rel=1e-12)  # some roundings


def test_a_trial_counts_only_where_it_went_well_and_has_a_number():
    values = [(good, one) for good in (True, False) for one in (0.5, -0.25, math.nan, math.inf)]
    ok = np.array([good for good, _ in values])
    told = np.array([one for _, one in values])
    lowest = [one if good and math.isfinite(one) else -math.inf for good, one in values]
    assert careful(told, ok).tolist() == lowest
    never = [math.inf if math.isnan(one) else one for good, one in values if good]
    assert never_is_late(told, ok).tolist() == never
