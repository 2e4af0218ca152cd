"""Stated chances are right as often as they say, over synthetic comparisons of known chances."""

from __future__ import annotations

import numpy as np
from scipy.stats import norm

from edgewear.dataset.ranking.rank import ranking_of
from edgewear.dataset.ranking.statistics import chance_of_beating, chances_of_first, dense_places
from support.comparisons import Comparison, Way

COMPARISONS = 500
REPLICATES = 256


def places(margins):
    return dense_places(np.full(margins.shape, 2), margins)


def off_by(stated, known):
    """Largest gap between the mean stated and the mean known chance over tenths of the scale.

    A chance from 256 trials is known to 3 points at worst; the mean of the 20 or more of a
    tenth to 0.7 points, and sorting by a noisy figure pulls the ends in by about as much.
    """
    stated, known = np.ravel(stated), np.ravel(known)
    tenth = np.minimum((stated * 10).astype(int), 9)
    gaps = [
        abs(stated[tenth == t].mean() - known[tenth == t].mean())
        for t in range(10)
        if (tenth == t).sum() >= 20
    ]
    assert len(gaps) >= 5
    return max(gaps)


def test_paired_chances_are_calibrated_within_three_points():
    generator = np.random.default_rng(6)
    stated, known = [], []
    for _ in range(COMPARISONS):
        ahead, apart = generator.normal(0, 0.05), generator.uniform(0.02, 0.08)
        world = generator.normal(0, 0.3, REPLICATES)  # common to both, as draws are
        one = 0.6 + world + ahead + generator.normal(0, apart, REPLICATES)
        found = places(np.stack([one, 0.6 + world]))
        stated.append(chance_of_beating(found[0], found[1]))
        known.append(norm.cdf(ahead / apart))
    assert off_by(stated, known) < 0.03


def test_chances_of_coming_first_are_calibrated_within_three_points():
    generator = np.random.default_rng(7)
    stated, known = [], []
    for _ in range(COMPARISONS):
        count = int(generator.integers(2, 6))
        middle, spread = generator.normal(0.5, 0.05, count), generator.uniform(0.01, 0.1, count)

        def drawn(trials, middle=middle, spread=spread):
            own = generator.normal(size=(trials, middle.size)) * spread + middle
            return own.T + 0.3 * generator.normal(size=trials)

        stated.append(chances_of_first(places(drawn(REPLICATES))))
        # known from 20,000 worlds: to 0.35 points
        known.append(np.bincount(drawn(20_000).argmax(axis=0), minlength=count) / 20_000)
    assert off_by(np.concatenate(stated), np.concatenate(known)) < 0.03


def test_options_called_told_apart_stand_in_their_true_order():
    generator = np.random.default_rng(9)
    right = []
    for seed in range(120):
        ahead = generator.normal(0, 0.06)
        world = generator.normal(0, 0.1, 128)
        one = 0.4 + world - ahead + generator.normal(0, 0.04, 128)
        other = 0.4 + world + generator.normal(0, 0.04, 128)
        ways = {"one": Way(one.tolist()), "other": Way(other.tolist())}
        first = ranking_of(Comparison(ways, target=0.0, seed=seed)).options[0]
        if first.beats_next is not None and first.beats_next.told_apart:
            right.append((first.name == "one") == (ahead > 0))
    # told apart at 1.96 standard errors: at most 1 in 40 the wrong way round, and 120 cases leave
    # three standard errors of 4 points
    assert len(right) > 50
    assert np.mean(right) > 0.93
