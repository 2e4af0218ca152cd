"""How far a drop may go and how hard a catch may pull."""

from __future__ import annotations

from collections.abc import Iterator

from edgewear.findings.limits import AboveLimit, Figure
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.text.quantities import Measured

MOST_DROP_M = 2.0
"""Arrest distance that a backup device is held to [m]; EN 12841, from memory."""

MOST_PEAK_N = 6e3
"""Force on a person that an arrest is held to [N]; EN 12841, from memory."""

SOURCE = "EN 12841"


def beyond_limits(
    scenario: Scenario, drop_m: float | None, peak_n: float | None
) -> tuple[AboveLimit, ...]:
    """Return what of a drop and a peak lies above the scenario's limits; None: there is none.

    Where the scenario sets no limit, 2 m and 6 kN of EN 12841 (from memory) are taken. They hold
    for one person of 100 kg on a device's test; two people are held to the same.
    """
    limits = scenario.limits
    return (
        *_above(Figure.DROP, drop_m, limits.drop, most_of(scenario, Figure.DROP)),
        *_above(Figure.PEAK, peak_n, limits.peak, most_of(scenario, Figure.PEAK)),
    )


def most_of(scenario: Scenario, figure: Figure) -> float:
    """Return the largest drop [m] or peak [N] that a catch may have."""
    usual = {Figure.DROP: MOST_DROP_M, Figure.PEAK: MOST_PEAK_N}
    typed: Measured | None = getattr(scenario.limits, figure.value)
    return usual[figure] if typed is None else typed.value


def _above(
    figure: Figure, found: float | None, typed: Measured | None, most: float
) -> Iterator[AboveLimit]:
    if found is not None and found > most:
        source = SOURCE if typed is None else f"limits/{figure.value}"
        yield AboveLimit(figure, found, most, source, usual=typed is None)
