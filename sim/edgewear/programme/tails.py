"""Where in its prediction an outcome lies: what a posterior predictive check counts."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.programme.likelihood import Figures
from edgewear.programme.model import Event, Outcome, Reading

Floats = NDArray[np.float64]

LEAST = 1e-9


class Tails(NamedTuple):
    """Chances that a run gives an outcome at or to either side of the one that was seen [1]."""

    early: float
    """As early as seen or earlier; of a reading, as small or smaller."""
    late: float
    """As late as seen or later; of a reading, as large or larger."""


def tails(outcome: Outcome, figures: Figures) -> Tails:
    """Average the chances over runs.

    Parameters:
        outcome: as seen.
        figures: (n,) of runs that know nothing of this test but what all tests taught.
    """
    early, late = _event(outcome, figures) if isinstance(outcome, Event) else _read(
        outcome, figures
    )  # fmt: skip
    return Tails(float(np.mean(early)), float(np.mean(late)))


def _event(event: Event, figures: Figures) -> tuple[Floats, Floats]:
    from scipy.special import ndtr

    looks = iter(event.figures())
    one = np.ones(1)
    late = one if event.not_by is None else 1.0 - ndtr(_z(figures[next(looks)], event))
    early = one if event.by is None else ndtr(_z(figures[next(looks)], event))
    return early, late


def _z(column: Floats, event: Event) -> Floats:
    found: Floats = np.log(np.fmax(column, LEAST) / event.level) / event.spread
    return found


def _read(reading: Reading, figures: Figures) -> tuple[Floats, Floats]:
    from scipy.special import ndtr

    column, low, high = figures[reading.figures()[0]], reading.low, reading.high
    if reading.logarithmic:
        column = np.log(np.fmax(column, LEAST))
        low, high = (float(np.log(max(one, LEAST))) for one in (low, high))
    return (
        np.nan_to_num(ndtr((high - column) / reading.spread)),
        np.nan_to_num(ndtr((column - low) / reading.spread)),
    )
