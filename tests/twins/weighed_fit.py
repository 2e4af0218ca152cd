"""The posterior of the trade's observations by weighing worlds, without a sampler.

The fit plays worlds and reads off what energies make them agree with what was seen: draws of
(world, ln e_s, ln e_c) of a known density. Weighed by prior times likelihood over that density they
are a sample of the posterior that learning from the shipped file of tests is to draw from.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np
from scipy.stats import norm

from edgewear.engine.draws import quantile, uniforms
from edgewear.layout import MOVEMENT
from edgewear.percentiles import NORMAL_90
from edgewear.validation import trade_tests
from edgewear.validation.fit import CORE_LOSS, Test, Tests

Floats = np.ndarray

SHARES = (0.05, 0.5, 0.95)


@dataclass(frozen=True)
class Weighed:
    """Worlds with their energies, and two ways to count them."""

    energies: dict[str, Floats]  # address -> (draws,) [J/m3]
    as_fitted: Floats  # (draws,) as the fit counts worlds
    as_learned: Floats  # (draws,) by prior and likelihood of the file of tests

    def quantiles(self, address: str, weights: Floats) -> Floats:
        """Weighted 5, 50 and 95 % of an energy's logarithm."""
        logs = np.log(self.energies[address])
        order = np.argsort(logs)
        share = np.cumsum(weights[order]) - 0.5 * weights[order]
        return np.interp(SHARES, share / weights.sum(), logs[order])

    def moved(self, address: str) -> Floats:
        """How far weighing moves the quantiles of the logarithm from those of the fit."""
        return self.quantiles(address, self.as_learned) - self.quantiles(address, self.as_fitted)

    def error(self, address: str, weights: Floats, times: int = 200) -> Floats:
        """Deviation of the quantiles between samples drawn anew from these worlds."""
        chance = np.random.default_rng(0)
        count = len(weights)
        drawn = [chance.multinomial(count, np.full(count, 1 / count)) for _ in range(times)]
        found = [self.quantiles(address, weights * one) for one in drawn]
        return np.std(found, axis=0)


def core_section(test: Test) -> Floats:
    """Each world's own core section over the nominal one that the fit takes, (draws,) [1]."""
    count = len(test.exposure_j_m)
    own = test.case.batch(np.zeros(0, MOVEMENT), test.values, count).wear["core_j_m"][:, 0]
    return np.asarray(own / float(test.case.wear["core_j_m"][0]))


def weighed(
    draws: int, seed: int, beliefs: dict[str, tuple[float, float, float]], eye: float
) -> Weighed:
    """Weigh the fit's worlds.

    Parameters:
        beliefs: address -> value, low, high of a log-normal belief; eye: error of T1's looks.
    """
    tests = Tests(draws, seed, "weighted")
    sheath = tests.sheath_energy()
    core = tests.core_energy(sheath) / core_section(tests.played(trade_tests.T5))
    fitted = tests.weights(sheath)

    # T1: distance at which X = e_s*per, between 3 and 4 m with an eye's error, and its proposal
    low, high = (
        np.log(tests.played(trade_tests.T1, times=1, height=f"{h} m").exposure_j_m) for h in (3, 4)
    )
    needed = np.log(sheath * tests.first.per_energy_m2)
    slope = (high - low) / log(4 / 3)  # d ln X/d ln distance
    likelihood = norm.cdf((high - needed) / eye) - norm.cdf((low - needed) / eye)
    at = quantile("normal", 0.0, -NORMAL_90, NORMAL_90, uniforms(seed, "T1 distance", 0, draws))
    spread = log(trade_tests.T1.high / trade_tests.T1.low) / 2 / NORMAL_90
    proposed = norm.pdf(at) / spread / slope  # of ln e_s

    # T5: the same likelihood as the proposal's, so only d ln e_c/d loss is left
    loss = quantile("normal", *CORE_LOSS, uniforms(seed, "T5 core loss", 0, draws))
    loss = np.clip(loss, 0.05, 0.6)
    left = 1 - loss
    stretched = 2 * left / (1 - left**2)  # core exponent 1: gone = 1 - left^2

    prior = np.ones(draws)
    energies = {"wear/sheath energy": sheath, "wear/core energy": core}
    for address, (value, least, most) in beliefs.items():
        deviation = log(most / least) / 2 / NORMAL_90
        prior = prior * norm.pdf(np.log(energies[address] / value) / deviation)
    return Weighed(energies, fitted, fitted * prior * likelihood / proposed * stretched)
