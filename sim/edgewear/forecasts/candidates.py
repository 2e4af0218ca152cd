"""Candidate tests and what is wanted, as the simulation has them in worlds held common.

A number that has the same name in two files (`wear/sheath energy`, `edges/arris/friction`) is taken
for the same thing and drawn alike, so that a test can tell of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import hypot, log
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import UsageError
from edgewear.forecasts.freeze import DISCREPANCY
from edgewear.forecasts.quantities import LOOKED_FOR, looked_for
from edgewear.forecasts.worth import Candidate
from edgewear.percentiles import NORMAL_90

if TYPE_CHECKING:
    from edgewear.case import Uncertainty
    from edgewear.scenario.models.scenario import Scenario
    from edgewear.study.plan import Block

Floats = NDArray[np.float64]

WORN = "sheath worn"
PLANNED = tuple(word for word, one in LOOKED_FOR.items() if one.stage or word == WORN)
"""What a planned test may look for."""

LOOK = 1.15
"""Without looks a figure is read this finely: so many times from one class to the next."""

LEAST = 1e-9
"""Least wear whose logarithm is taken [1]."""


@dataclass(frozen=True)
class SetUp:
    """One test that could be made."""

    name: str
    scenario: Scenario
    option: str
    looked_for: str
    looks: tuple[float, ...]  # in SI, rising; empty: read off
    cost: float


@dataclass(frozen=True)
class Worlds:
    """The draws that the tests and what is wanted share."""

    count: int
    seed: int
    learned: Mapping[str, Floats] = field(default_factory=dict)
    """Address -> sample of its posterior (n,) in SI, rows of one particle together: drawn from in
    place of what is believed. Empty: nothing was learned."""

    def candidate(self, one: SetUp) -> Candidate:
        """Play a test in every world.

        Raises:
            UsageError: something looked for that cannot be planned.
            RunFailed: a run that cannot be computed.
        """
        if one.looked_for not in PLANNED:
            raise UsageError(f"{one.looked_for!r}: a planned test looks for {', '.join(PLANNED)}")
        latent, own = self._latents(one.scenario, one.option, one.looked_for)
        low, high = np.quantile(latent, [0.001, 0.999])
        steps = int((high - low) / log(LOOK)) + 2
        looks = np.log(one.looks) if one.looks else low + log(LOOK) * np.arange(steps)
        return Candidate(one.name, latent, own, looks, one.cost)

    def demand(self, scenario: Scenario, option: str) -> tuple[Floats, float]:
        """Give the logarithm of an option's sheath demand, and what no test takes away of it."""
        return self._latents(scenario, option, WORN)

    def number(self, scenario: Scenario, option: str, address: str) -> Floats:
        """Give the logarithm of a number that nobody knows, as it is drawn.

        Raises:
            UsageError: the option has no such number that varies, or it can be 0.
        """
        known, block = self._block(scenario, option)
        if address not in {one.name for one in known}:
            listed = ", ".join(one.name for one in known if one.group == "wear")
            raise UsageError(f"{address}: nothing that varies in {option!r}; such as {listed}")
        column = np.asarray(block[address], dtype=np.float64)
        if not (column > 0.0).all():
            raise UsageError(f"{address}: it can be 0 or below, so no factor tells how well")
        return np.asarray(np.log(column))

    def _block(self, scenario: Scenario, option: str) -> tuple[tuple[Uncertainty, ...], Block]:
        from edgewear.study.compare import drawn
        from edgewear.study.model import ScenarioModel
        from edgewear.study.plan import ComparePlan

        known = drawn(ScenarioModel.of(scenario, self.seed).uncertainties(option))
        plan = ComparePlan({option: known}, self.count, self.seed, 1.0)
        block = dict(plan.block(0, self.count))
        return known, block | {k: v for k, v in self._particles().items() if k in block}

    def _particles(self) -> dict[str, Floats]:
        """Draw particles of what was learned, the same for the job and every test."""
        from edgewear.engine.draws import uniforms

        if not self.learned:
            return {}
        rows = len(next(iter(self.learned.values())))
        picked = (rows * uniforms(self.seed, "next test/particle", 0, self.count)).astype(np.int64)
        return {name: column[picked] for name, column in self.learned.items()}

    def _latents(self, scenario: Scenario, option: str, looked: str) -> tuple[Floats, float]:
        """Logarithms where the law holds exactly, this rope the middle one; the spread around.

        The spread is that of what differs from rope to rope, found by drawing it in the same
        worlds, and the law's discrepancy, which counts as the test's own.
        """
        known, block = self._block(scenario, option)
        drawn_too = dict(block)
        for one in known:
            if one.name == DISCREPANCY:
                block[one.name] = drawn_too[one.name] = np.ones(self.count)
            elif one.kind == "aleatory":
                block[one.name] = np.full(self.count, float(one.median))
        latent = self._logs(scenario, option, looked, block)
        ropes = self._logs(scenario, option, looked, drawn_too) - latent
        law = scenario.wear.discrepancy
        own = log(law.high / law.low) / (2.0 * NORMAL_90)
        return latent, hypot(max(float(np.std(ropes)), 0.01), own)

    def _logs(self, scenario: Scenario, option: str, looked: str, block: Block) -> Floats:
        from edgewear.study.model import ScenarioModel
        from edgewear.study.task import playing, refuse_parts

        runs = playing(ScenarioModel.of(scenario, self.seed), block).runs
        refuse_parts(option, runs)
        return _figures(runs, looked)


def _figures(runs: NDArray[np.void], looked: str) -> Floats:
    """Logarithm of the figure; a stage that never came goes on in proportion to the wear.

    Raises:
        UsageError: nobody climbs in this job.
    """
    worn = np.maximum(np.asarray(runs["sheath_demand_max"], dtype=np.float64), LEAST)
    if looked == WORN:
        return np.asarray(np.log(worn))
    asked = looked_for(looked)
    whole = np.max(runs[asked.until])
    if whole <= 0.0:
        raise UsageError(f"{looked}: nobody climbs in this job; ask for `{looked} time`")
    came = np.asarray(runs[asked.column], dtype=np.float64)
    return np.log(np.where(np.isnan(came), whole * np.maximum(asked.stage / worn, 1.0), came))


def varied(
    scenario: Scenario, name: str, levers: Sequence[tuple[str, Sequence[str]]]
) -> list[tuple[str, Scenario]]:
    """Give a scenario with every combination of what levers may be, named by it.

    Parameters:
        scenario: of the test; name: what it is called; levers: address, values as typed.

    Raises:
        ScenarioError: it cannot be used so.
    """
    found = [(name, scenario, dict[str, str | float]())]
    for address, values in levers:
        found = [
            (f"{word}, {address.rpartition('/')[2]} {value}", scenario, {**put, address: value})
            for word, _, put in found
            for value in values
        ]
    return [(word, scenario.with_values(put) if put else scenario) for word, _, put in found]
