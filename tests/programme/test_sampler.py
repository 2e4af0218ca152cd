"""The sampler against brute force, known truths, and itself."""

from __future__ import annotations

from copy import deepcopy

import numpy as np
import pytest
from scipy.stats import binom

from edgewear.programme.learn.passes import agreement
from edgewear.programme.learn.sampler import Sampler
from edgewear.programme.learn.state import State
from support.rough_stand_in import fine_posterior
from support.stand_in import StandIn, event, grid_posterior, invented, quantiles

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
RANGE = 2 * 1.6449
"""Central 90 % of what is believed of a standard normal number."""


def test_quantiles_are_those_of_a_grid() -> None:
    target, _ = invented(seed=5, tests=10)
    ends = np.linspace(-4.0, 4.0, 161)
    found = Sampler(target, 1024, 1).sample()
    for k, mass in enumerate(grid_posterior(target, ends)):
        wanted = quantiles(ends, mass, SHARES)
        # 2 % of the range, 0.066; the deviation of a 5 % quantile of 1024 is 0.07 deviations of 0.3
        assert np.quantile(found.shared[:, k], SHARES) == pytest.approx(wanted, abs=0.02 * RANGE)


def test_a_small_sample_is_as_wide_as_the_posterior() -> None:
    """A step along a covariance in which a particle itself counts would make it 3 % narrower."""
    ends, ratios = np.linspace(-4.0, 4.0, 401), []
    for seed in range(200, 206):
        target, _ = invented(seed, tests=10)
        passes = [Sampler(target, 128, seed, (), k).sample().shared for k in range(4)]
        for numbers, mass in zip(
            np.concatenate(passes).T, fine_posterior(target, ends), strict=True
        ):
            true = np.sqrt(mass @ ends**2 - (mass @ ends) ** 2)
            ratios.append(numbers.std() / true)
    error = np.std(ratios) / np.sqrt(len(ratios))
    assert 3 * error < 0.03, "3 % would not be seen"
    assert abs(np.mean(ratios) - 1.0) < 3 * error


def test_the_evidence_is_that_of_a_grid() -> None:
    target = StandIn(np.array([[0.8, 0.0]]), 0.3, [event(0.8, 1.25)])
    found = Sampler(target, 2048, 2).sample()
    # one test, so that its probability is one integral: log wear is normal of known variance,
    # and so is the eye; log d + wear passes the eye's level between the two looks
    from scipy.stats import norm

    spread = np.sqrt(0.8**2 + 0.3**2 + 0.2**2)
    wanted = np.log(norm.cdf(np.log(1.25) / spread) - norm.cdf(np.log(0.8) / spread))
    # deviation of a mean of 2048 weights that differ by their own size: 0.022
    assert found.log_evidence.mean() == pytest.approx(wanted, abs=0.06)


def test_phases_split_the_evidence() -> None:
    target, _ = invented(seed=8, tests=6)
    whole = Sampler(target, 512, 3).sample().log_evidence.sum(axis=0)
    parts = Sampler(target, 512, 3, ((0, 1, 2, 3), (4, 5))).sample().log_evidence
    assert parts.shape[0] == 2
    # each total has a deviation of some 0.1 between populations of 128
    assert parts.sum(axis=0).mean() == pytest.approx(whole.mean(), abs=0.4)


def covered(programmes: int, particles: int, most: int) -> list[int]:
    counts = [0, 0]
    for seed in range(programmes):
        target, truth = invented(seed, tests=8 + seed % most)
        found = Sampler(target, particles, seed).sample()
        low, high = np.quantile(found.shared, (0.05, 0.95), axis=0)
        for k in range(2):
            counts[k] += bool(low[k] <= truth[k] <= high[k])
    return counts


def test_intervals_cover_known_truths() -> None:
    # of 8 intervals that cover 9 in 10 truths fewer than 4 do once in some 20,000 programmes
    assert binom.cdf(3, 8, 0.9) < 1e-3
    assert all(count >= 4 for count in covered(8, 96, most=3))


@pytest.mark.long
def test_intervals_cover_200_known_truths() -> None:
    for count in covered(200, 256, most=23):
        assert 170 <= count <= 190  # 85 to 95 of 100


class Stopped(Exception):
    """Somebody pulled the plug."""


def stopped(target: StandIn, after: int) -> State:
    """Sample until so many states were kept, and pull the plug; the last one kept."""
    kept: list[State] = []

    def keep(state: State) -> None:
        kept.append(deepcopy(state))
        if len(kept) == after:
            raise Stopped

    with pytest.raises(Stopped):
        Sampler(target, 128, 4).sample(keep=keep)
    return kept[-1]


@pytest.mark.parametrize("after", [1, 3])
def test_a_sampler_that_was_stopped_goes_on_to_the_same_sample(after: int) -> None:
    target, _ = invented(seed=3, tests=6)
    whole = Sampler(target, 128, 4).sample()
    again = Sampler(target, 128, 4).sample(stopped(target, after))
    assert (again.shared == whole.shared).all()
    assert (again.log_likelihood == whole.log_likelihood).all()
    assert (again.log_evidence == whole.log_evidence).all()


def test_a_sampler_that_goes_on_makes_no_run_again() -> None:
    """A processor may give other last bits to runs that are made again among other rows."""
    whole, parts = (invented(seed=3, tests=6)[0] for _ in range(2))
    Sampler(whole, 128, 4).sample()
    Sampler(parts, 128, 4).sample(stopped(parts, 2))
    assert parts.plays == whole.plays


def test_populations_that_do_not_agree_are_told() -> None:
    same = np.random.default_rng(0).standard_normal(400)
    apart = same + np.repeat([0.0, 0.0, 0.0, 3.0], 100)
    assert agreement(same, 4) < 1.05  # sampling error of means of 100: 0.01
    assert agreement(apart, 4) > 1.5  # between-variance of a shift of 3 in one of four: 1.9
