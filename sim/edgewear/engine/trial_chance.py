"""Chance for one trial of a job: a pure function of seed, replicate and name."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from edgewear.engine.draws import quantile, uniforms
from edgewear.scenario.text.quantities import Measured


@dataclass(frozen=True)
class Drawn:
    """The looks, delays and times of one trial; each belongs to its name alone."""

    seed: int
    replicate: int

    def share(self, name: str) -> float:
        """A number between 0 and 1 that belongs to a name."""
        return float(uniforms(self.seed, f"job: {name}", self.replicate, 1)[0])

    def value(self, name: str, quantity: Measured) -> float:
        """A value of an uncertain quantity, in its unit."""
        if quantity.distribution == "fixed":
            return quantity.value
        share = np.array([self.share(name)])
        found = quantile(quantity.distribution, quantity.value, quantity.low, quantity.high, share)
        return float(found[0])
