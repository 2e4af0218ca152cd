"""Wear along a rope, as its jobs computed it and its inspections corrected it.

Each job left a sheath demand along the rope in its nominal run, times a factor nobody knows: the
job's comparison says 5th, 50th and 95th percentile of it. The factors of one rope's jobs rise and
fall together (the same sheath, the same crew), so that one standard normal number z stands for a
world: the careful end of a sum is the sum of the careful ends. What an inspection finds weighs the
worlds by its likelihood, as a measurement on site does.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.stock import looks

Floats = NDArray[np.float64]

CELL_M = 1e-3
"""Length of a cell along the rope [m], the same as of a run's wear."""

WORLDS = 512
LEAST_EFFECTIVE = 20
"""With fewer worlds left an inspection does not correct what was computed; it contradicts it."""

SHARES = (0.05, 0.5, 0.95)
_NORMAL = NormalDist()
Z95 = _NORMAL.inv_cdf(0.95)
_U = (np.arange(WORLDS) + 0.5) / WORLDS
_Z = np.array([_NORMAL.inv_cdf(float(u)) for u in _U])
_NODES = np.linspace(-3.5, 3.5, 29)
"""Worlds at which wear is worked out; between them its logarithm is nearly straight in z."""


class Stretch(NamedTuple):
    """Demand along a part of the rope: a profile times a factor with three percentiles."""

    first: int  # cell
    demand: Floats  # (n,) [1]
    factors: tuple[float, float, float]  # 5th, 50th, 95th percentile [1]
    entry: int
    floor: bool = False  # what was seen: at least this, whatever was computed before

    def factor(self, z: Floats) -> Floats:
        """Give the factor of each world: log-normal on either side of its median."""
        low, middle, high = (max(one, 1e-12) for one in self.factors)
        above = (high / middle) ** (np.maximum(z, 0.0) / Z95)
        below = (low / middle) ** (np.maximum(-z, 0.0) / Z95)
        return np.asarray(self.factors[1] * above * below)


class Look(NamedTuple):
    """An inspection beside what was computed for its place."""

    entry: int
    finding: str
    before: tuple[float, float, float]  # 5th, 50th, 95th percentile of the place's largest [1]
    after: tuple[float, float, float]
    agrees: bool  # some worlds fit; False: what was computed does not hold there


@dataclass
class PastWear:
    """Wear of one rope, entry by entry."""

    cells: int
    stretches: list[Stretch] = field(default_factory=list)
    looks: list[Look] = field(default_factory=list)
    fits: dict[int, Floats] = field(default_factory=dict)  # entry -> log likelihoods (WORLDS,)

    @property
    def quantiles(self) -> tuple[float, float, float]:
        """Standard normal numbers of the 5th, 50th and 95th percentile, inspections counted."""
        if not self.fits:
            return -Z95, 0.0, Z95
        weight = looks.weights(np.sum(list(self.fits.values()), axis=0))
        ends = np.cumsum(weight) - 0.5 * weight
        found = np.interp(SHARES, ends, _U)
        low, middle, high = (_NORMAL.inv_cdf(float(u)) for u in found)
        return low, middle, high

    def along(self, z: float) -> Floats:
        """Demand of each cell in one world, (cells,) [1]."""
        return np.asarray(self._stretch(np.array([z]), 0, self.cells)[0])

    def interval(self) -> tuple[Floats, Floats, Floats]:
        """Demand of each cell, (cells,) [1]: 5th, 50th and 95th percentile."""
        low, middle, high = self._stretch(np.array(self.quantiles), 0, self.cells)
        return low, middle, high

    def largest(self) -> tuple[float, float, float]:
        """Largest demand along the rope: 5th, 50th and 95th percentile [1]."""
        return self._at(0, self.cells)

    def used(self, entry: int, first_mm: int, demand: Floats, factors: tuple[float, ...]) -> None:
        """Add what a job wore."""
        first = min(first_mm, self.cells)
        low, middle, high = factors
        kept = np.asarray(demand, np.float64)[: self.cells - first]
        self.stretches.append(Stretch(first, kept, (low, middle, high), entry))

    def looked(self, entry: int, finding: str, from_m: float, to_m: float) -> None:
        """Let what was seen on a stretch correct what was computed, or stand beside it."""
        if finding not in looks.SEEN:
            return
        first = min(round(from_m / CELL_M), self.cells - 1)
        last = min(max(round(to_m / CELL_M), first + 1), self.cells)
        before = self._at(first, last)
        nodes = np.maximum(self._stretch(_NODES, first, last).max(axis=1), 1e-9)
        demand = np.exp(np.interp(_Z, _NODES, np.log(nodes)))
        fit = looks.inspection(finding, demand)
        agrees = self._weigh(entry, fit)
        if not agrees:
            self._contradicted(entry, finding, first, last, before)
        self.looks.append(Look(entry, finding, before, self._at(first, last), agrees))

    def _weigh(self, entry: int, fit: Floats) -> bool:
        """Take up an inspection's likelihoods where enough worlds fit all there are."""
        fits = [*self.fits.values(), fit]
        weight = looks.weights(np.sum(fits, axis=0))
        near = float(fit.max()) >= looks.NEAR
        heard = all(looks.believed(weight, one) >= looks.LEAST_BELIEVED for one in fits)
        agrees = near and heard and looks.effective(weight) >= LEAST_EFFECTIVE
        if agrees:
            self.fits[entry] = fit
        return agrees

    def _contradicted(
        self, entry: int, finding: str, first: int, last: int, before: tuple[float, float, float]
    ) -> None:
        """What was seen counts where it is worse than computed; a good word corrects nothing."""
        low, high = looks.SEEN[finding]
        if low <= 0.0 or before[1] >= low:
            return
        most = high if np.isfinite(high) else low
        factors = (low, float(np.sqrt(low * most)), most)
        self.stretches.append(Stretch(first, np.ones(last - first), factors, entry, floor=True))

    def _at(self, first: int, last: int) -> tuple[float, float, float]:
        low, middle, high = self._stretch(np.array(self.quantiles), first, last).max(axis=1)
        return float(low), float(middle), float(high)

    def piece(self, first: int, cells: int) -> PastWear:
        """Give the wear of a piece that is cut out, its looks weighed as they are here.

        Parameters:
            first: cell at which the piece begins.
            cells: of the piece.
        """
        kept = []
        for one in self.stretches:
            begin, end = max(one.first, first), min(one.first + len(one.demand), first + cells)
            if begin < end:
                part = one.demand[begin - one.first : end - one.first]
                kept.append(one._replace(first=begin - first, demand=part))
        return PastWear(cells, kept, [], dict(self.fits))

    def anywhere(self, cells: int) -> PastWear:
        """Give the wear of a piece of which nobody knows where it lay: the most, all along.

        Parameters:
            cells: of the piece.
        """
        most = self.largest()
        worn = [Stretch(0, np.ones(cells), most, 0)] if most[2] > 0.0 else []
        return PastWear(cells, worn)

    def _stretch(self, z: Floats, first: int, last: int) -> Floats:
        """Demand of the cells first .. last - 1 in each world, (len(z), last - first) [1]."""
        total = np.zeros((len(z), max(last - first, 1)))
        for one in self.stretches:
            begin, end = max(one.first, first), min(one.first + len(one.demand), last)
            if begin >= end:
                continue
            part = one.demand[begin - one.first : end - one.first]
            worn = one.factor(z)[:, None] * part[None, :]
            place = total[:, begin - first : end - first]
            place[...] = np.maximum(place, worn) if one.floor else place + worn
        return total
