"""Fitting the wear law to the observations: `python -m edgewear.validation.fit`.

Only the exposure at the edge depends on the rope, the edge and the climber; what exposure breaks a
sheath does not. So every world that could have been there during the tests is played once, and the
energies that make it agree with what was seen are read off:

- sheath energy: core visible after 3 to 4 m (T1), drawn log-normal with that central 90 %;
- core energy: a quarter of the core lost after 20 m (T5), the loss drawn normal;
- worlds count by how well they agree with the bounds: usable after 5 m smooth (T2), 9 mm broken
  within 3 m (T4);
- the reinforced sheath's toughness has a lower bound only (T6).

What is left is a sample of (friction, arc share, sheath energy, core energy) that stands together;
its medians, 90 % intervals and correlations go into the library. a, c, p0, v0, the contact's width
and its share of the sheath are fixed. T3 and T7 are not looked at.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from dataclasses import dataclass, replace
from math import log, sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from edgewear.case.correlations import DIRECT, SHARED
from edgewear.engine.draws import quantile, uniforms
from edgewear.validation import trade_tests
from edgewear.validation.trials import (
    LEFT_OUT,
    UNBREAKABLE,
    compiled,
    drawn,
    nominal,
    played,
    unbreakable,
    with_law,
)

if TYPE_CHECKING:
    pass

Floats = NDArray[np.float64]

DRAWS = 2000
HELD = (*LEFT_OUT, "wear/sheath energy", "wear/core energy", "wear/cold share")
"""Not drawn in the fit: what is fitted, and c."""

HEIGHTS_M = (2.5, 3.0, 3.5, 4.0, 4.75)
"""Heights at which the exposure of T1 is computed; between them it follows a power."""

CORE_LOSS = (0.25, 0.17, 0.33)
"""Core loss seen in T5: about a quarter; the spread is assumed."""

USABLE, BOUND_SPREAD = 0.5, 0.2
"""Demand below which a rope would be used again, and how sharply bounds are known (log).
Assumed."""

OURS = {"edges": "arris", "people": "climber", "ropes": "rope"}
COLUMNS = {
    name: column.replace("*", OURS.get(column.split("/")[0], "*"))
    for name, column in {**SHARED, **DIRECT}.items()
}
"""Numbers that the fit is found to go with -> the uncertainty in the observations' scenarios."""

GREAT_SHAPE = 0.25
"""Demand that still reads as great shape; assumed."""


NOMINAL = 0
"""Draws that stand for one world of nominal values and strokes that do not vary."""


@dataclass(frozen=True)
class Fitted:
    """A fitted number: value and central 90 %."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Fit:
    """What the observations say of the wear law's parameters."""

    law: str
    parameters: dict[str, Fitted]
    correlation: dict[str, dict[str, float]]
    least_toughness: Fitted
    """Of the reinforced sheath, so that T6 reads as great shape."""
    effective_draws: float
    """Worlds that count, by their weights."""


def fit(draws: int = DRAWS, seed: int = 0, law: str = "weighted") -> Fit:
    """Fit a wear law to the observations that it is to be fitted to."""
    tests, plain = Tests(draws, seed, law), Tests(NOMINAL, seed, law)
    sheath, plain_sheath = tests.sheath_energy(), plain.sheath_energy()
    weights = tests.weights(sheath)
    fitted = {"sheath energy": sheath, "core energy": tests.core_energy(sheath)}
    at_nominal = {"sheath energy": plain_sheath, "core energy": plain.core_energy(plain_sheath)}
    others = {name: tests.first.values[column] for name, column in COLUMNS.items()}
    return Fit(
        law=law,
        parameters={
            name: between(interval(values, weights), float(at_nominal[name][0]))
            for name, values in fitted.items()
        },
        correlation=correlations(others, fitted, weights),
        least_toughness=interval(tests.least_toughness(sheath), weights),
        effective_draws=float(weights.sum() ** 2 / (weights**2).sum()),
    )


class Test:
    """One observation's set-up, played in every world with what is fitted held."""

    def __init__(self, one: trade_tests.Observed, draws: int, seed: int, law: str) -> None:
        case, tape = compiled(one.text)
        case = unbreakable(with_law(case, law))
        held = (*HELD, *(u.name for u in case.uncertainties if u.name.endswith("/toughness")))
        alone = tuple(replace(u, leans=()) for u in case.uncertainties)
        if draws == NOMINAL:
            self.values, runs = {}, nominal(case, tape)
        else:
            self.values = drawn(replace(case, uncertainties=alone), draws, seed, held)
            runs = played(case, tape, self.values, seed)
        withstood = case.batch(tape, self.values, len(runs)).wear["sheath_j_m"][:, 0]
        self.case = case
        self.exposure_j_m: Floats = runs["sheath_demand_max"] * withstood
        self.per_energy_m2: Floats = withstood / self.median("wear/sheath energy")

    def median(self, name: str) -> float:
        """The nominal value of an uncertainty."""
        return next(u.median for u in self.case.uncertainties if u.name.endswith(name))


class Tests:
    """The observations that are fitted to, in the same worlds."""

    def __init__(self, draws: int, seed: int, law: str) -> None:
        self.draws, self.seed, self.law = draws, seed, law
        self.first = self.played(trade_tests.T1, times=1)

    def played(self, one: trade_tests.Observed, **changed: str | int) -> Test:
        """Play an observation's set-up, some of it changed."""
        return Test(replace(one, **changed), self.draws, self.seed, self.law)  # type: ignore[arg-type]

    def sheath_energy(self) -> Floats:
        """Energy that breaks the sheath where T1 saw it break, (draws,) [J/m3]."""
        low, high = trade_tests.T1.low, trade_tests.T1.high
        share = self._share("T1 distance")
        seen = np.log(quantile("lognormal", sqrt(low * high), low, high, share))
        tests = [self.played(trade_tests.T1, times=1, height=f"{h} m") for h in HEIGHTS_M]
        logs, at = np.log([t.exposure_j_m for t in tests]), np.log(HEIGHTS_M)
        found = np.exp([np.interp(seen[i], at, logs[:, i]) for i in range(len(seen))])
        energy: Floats = found / self.first.per_energy_m2
        return energy

    def core_energy(self, sheath: Floats) -> Floats:
        """Energy that leaves of the core what T5 saw, (draws,) [J/m3]."""
        test = self.played(trade_tests.T5)
        wear, share = test.case.wear[0], self._share("T5 core loss")
        loss = np.clip(quantile("normal", *CORE_LOSS, share), 0.05, 0.6)
        gone = 1.0 - (1.0 - loss) ** (float(wear["core_exponent"]) + 1.0)
        section_m2 = float(wear["core_j_m"]) / UNBREAKABLE / test.median("wear/core energy")
        beyond = np.maximum(test.exposure_j_m - sheath * test.per_energy_m2, 1.0)
        energy: Floats = beyond / gone / section_m2
        return energy

    def weights(self, sheath: Floats) -> Floats:
        """How well each world agrees with the bounds of T2 and T4, (draws,) [1]."""
        from scipy.special import ndtr

        smooth, thin = (
            self.played(trade_tests.T2),
            self.played(trade_tests.T4, times=1, height="3 m"),
        )
        usable = log(USABLE) - np.log(smooth.exposure_j_m / (sheath * smooth.per_energy_m2))
        broken = np.log(thin.exposure_j_m / (sheath * thin.per_energy_m2))
        agree: Floats = ndtr(usable / BOUND_SPREAD) * ndtr(broken / BOUND_SPREAD)
        return agree

    def least_toughness(self, sheath: Floats) -> Floats:
        """Toughness of the reinforced sheath that keeps it in great shape, (draws,) [1]."""
        test = self.played(trade_tests.T6)
        own = test.median("sheath/toughness")
        found: Floats = test.exposure_j_m * own / (GREAT_SHAPE * sheath * test.per_energy_m2)
        return found

    def _share(self, name: str) -> Floats:
        """Where in what was seen each world lies, (draws,) [1]; nominal values: in the middle."""
        middle = np.array([0.5])
        return middle if self.draws == NOMINAL else uniforms(self.seed, name, 0, self.draws)


def between(found: Fitted, at_nominal: float) -> Fitted:
    """Put the value half way, in proportion, from the worlds' median to that of the nominal run.

    The spread is lopsided, so the two differ; half way both the nominal run and the middle of the
    worlds agree with what was seen.
    """
    return Fitted(sqrt(found.value * at_nominal), found.low, found.high)


def interval(values: Floats, weights: Floats) -> Fitted:
    """Give the weighted median and central 90 % of a sample."""
    order = np.argsort(values)
    share = np.cumsum(weights[order]) - 0.5 * weights[order]
    low, middle, high = np.interp([0.05, 0.5, 0.95], share / weights.sum(), values[order])
    return Fitted(float(middle), float(low), float(high))


def correlations(
    others: dict[str, Floats], fitted: dict[str, Floats], weights: Floats
) -> dict[str, dict[str, float]]:
    """Give the weighted correlations of the logarithms of what is fitted with all before it."""
    names = [*others, *fitted]
    logs = np.log(np.maximum([*others.values(), *fitted.values()], 1e-9))
    covariance = np.cov(logs, aweights=weights)
    spread = np.sqrt(np.diag(covariance))
    matrix = covariance / np.outer(spread, spread)
    return {
        name: {other: float(matrix[i, j]) for j, other in enumerate(names[:i])}
        for i, name in enumerate(names)
        if name in fitted
    }


def words(found: Fit) -> str:
    """Write a fit as lines for the library's file."""
    lines = [f"# law {found.law}; worlds that count: {found.effective_draws:.0f}"]
    for name, one in found.parameters.items():
        numbers = f"value: {one.value:.3g}, low: {one.low:.3g}, high: {one.high:.3g}"
        lines.append(f"{name}: {{{numbers}}}")
    least = found.least_toughness
    lines.append(f"# toughness at least {least.value:.2g} ({least.low:.2g} to {least.high:.2g})")
    lines.append("correlation:")
    for name, others in found.correlation.items():
        kept = ", ".join(f"{other}: {value:.2f}" for other, value in others.items())
        lines.append(f"  {name}: {{{kept}}}")
    return "\n".join(lines) + "\n"


def main(arguments: list[str] | None = None) -> None:
    """Fit and write what was found to stdout."""
    parser = ArgumentParser(
        prog="python -m edgewear.validation.fit", description="Fit the wear law."
    )
    parser.add_argument("--draws", type=int, default=DRAWS)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--law", choices=("weighted", "energy", "threshold"), default="weighted")
    chosen = parser.parse_args(arguments)
    sys.stdout.write(words(fit(chosen.draws, chosen.seed, chosen.law)))


if __name__ == "__main__":
    main()
