"""Whether trials fit what was measured on site, all of it and every reading by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.study.correction import likelihood

Floats = NDArray[np.float64]

LEAST_EFFECTIVE = 20
"""With fewer worlds left the forecast is not corrected but given up."""


@dataclass(frozen=True)
class Reading:
    """One observation beside what was forecast for it."""

    what: str
    read: tuple[float, ...]
    forecast: tuple[float, float, float] | None  # 5th, 50th, 95th percentile; None: a word
    unit: str
    words: str
    stop: bool = False  # what was measured says: stop the work, whatever is forecast
    agrees: bool = False  # it lies inside the central 90 % of what was forecast
    possible: bool = True  # False: no trial comes near it
    mute: bool = False  # it says nothing of the forecast, neither for nor against it


class Fitted(NamedTuple):
    """How the trials fit all that was measured."""

    weight: Floats  # of each trial; they sum to 1
    effective: float  # trials that the weights rest on; where it does not hold, that fit at all
    holds: bool  # the forecast may be corrected
    against: tuple[tuple[str, ...], ...]  # readings that hardly any trial agrees with


def fitted(readings: Sequence[Reading], fits: Sequence[Floats]) -> Fitted:
    """Weigh trials by readings, and say whether the forecast may be corrected by them.

    Parameters:
        readings: at least one.
        fits: (n,) logarithm of the likelihood of each reading in each trial.
    """
    weight = likelihood.weights(np.sum(fits, axis=0))
    effective = likelihood.effective(weight)
    hopeless = any(reading.stop or not reading.possible for reading in readings)
    against = contradicting(readings, fits) or _passed_over(readings, fits, weight)
    if effective < LEAST_EFFECTIVE or hopeless or against:
        return Fitted(weight, _fitting(fits, weight), False, against)
    return Fitted(weight, effective, True, ())


def _fitting(fits: Sequence[Floats], weight: Floats) -> float:
    """Trials that fit what was measured: together, and the reading that the fewest fit."""
    together = likelihood.effective(weight)
    heard = [together * likelihood.believed(weight, fit) for fit in fits]
    alone = [likelihood.effective(likelihood.weights(fit)) for fit in fits]
    return min([together, *heard, *alone])


def contradicting(
    readings: Sequence[Reading], fits: Sequence[Floats]
) -> tuple[tuple[str, ...], ...]:
    """Name the readings that hardly any trial agrees with; else the pairs that contradict.

    Parameters:
        readings: at least one.
        fits: logarithm of the likelihood of each reading in each trial.

    Two contradict also where each trial that fits one is as bad as can be for the other: the sum
    of both then tells no trial from another.

    Returns: groups of readings; empty where only three or more together leave too few trials.
    """
    near = [fit >= fit.max() + likelihood.NEAR for fit in fits]

    def leaves(places: Sequence[int]) -> bool:
        weight = likelihood.weights(np.sum([fits[place] for place in places], axis=0))
        enough = likelihood.effective(weight) >= min(LEAST_EFFECTIVE, len(weight))
        common = np.all([near[place] for place in places], axis=0).any()
        return bool(enough and common and all(readings[place].possible for place in places))

    places = range(len(readings))
    alone = [place for place in places if not leaves([place])]
    held = [place for place in places if place not in alone]
    pairs = [pair for pair in combinations(held, 2) if not leaves(pair)]
    groups = [(place,) for place in alone] + [*pairs]
    return tuple(tuple(readings[place].what for place in group) for group in groups)


def _passed_over(
    readings: Sequence[Reading], fits: Sequence[Floats], weight: Floats
) -> tuple[tuple[str, ...], ...]:
    """Name the readings that the corrected forecast would not come near, each by itself.

    Such a forecast rests on many trials, and holds what was seen for an error.
    """
    return tuple(
        (reading.what,)
        for reading, fit in zip(readings, fits, strict=True)
        if likelihood.believed(weight, fit) < likelihood.LEAST_BELIEVED
    )


def possible(reading: Reading, fit: Floats) -> Reading:
    """Say where no trial comes near a reading: its terms nearer the floor than their best.

    Such a reading hardly tells a trial from another, so it would correct nothing, unnoticed.
    """
    terms = max(len(reading.read), 1)
    if float(fit.max(initial=-np.inf)) >= terms * likelihood.NEAR:
        return reading
    return replace(reading, words=f"{reading.words}; no trial comes near it", possible=False)
