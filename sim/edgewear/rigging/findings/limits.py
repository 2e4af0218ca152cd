"""How far a drop may go and how hard a catch may pull."""

from __future__ import annotations

from collections.abc import Iterator

from edgewear.findings.limits import AboveLimit, Figure
from edgewear.scenario.models.gear import Backup
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.text.quantities import Measured

MOST_DROP_M = 2.0
"""Arrest distance that a backup device is held to [m]; EN 12841, from memory."""

MOST_PEAK_N = 6e3
"""Force on a person that an arrest is held to [N]; EN 12841, from memory."""

SOURCE = "EN 12841"


def beyond_limits(
    scenario: Scenario, drop_m: float | None, peak_n: float | None, careful: bool = False
) -> tuple[AboveLimit, ...]:
    """Return what of a drop and a peak lies above the scenario's limits.

    None: there is none. One that is infinite, or no number, lies above every limit.

    Where the scenario sets no limit, 2 m and 6 kN of EN 12841 (from memory) are taken. They hold
    for one person of 100 kg on a device's test; two people are held to the same.

    Parameters: `careful`: both are the careful ends of what was found.
    """
    limits = scenario.limits
    return (
        *_above(Figure.DROP, drop_m, limits.drop, most_of(scenario, Figure.DROP), careful),
        *_above(Figure.PEAK, peak_n, limits.peak, most_of(scenario, Figure.PEAK), careful),
    )


def tearing(backup: Backup | None, peak_n: float) -> tuple[AboveLimit, ...]:
    """Return that a backup's teeth may tear the sheath at a peak, if they may.

    Parameters: `peak_n`: the careful end of the peak; it is held against the least force.
    """
    if backup is None or backup.tears is None or peak_n < backup.tears.low:
        return ()
    least_n = backup.tears.low
    return (AboveLimit(Figure.TEAR, peak_n, least_n, f"{backup.is_}, from memory", careful=True),)


def most_of(scenario: Scenario, figure: Figure) -> float:
    """Return the largest drop [m] or peak [N] that a catch may have."""
    usual = {Figure.DROP: MOST_DROP_M, Figure.PEAK: MOST_PEAK_N}
    typed: Measured | None = getattr(scenario.limits, figure.value)
    return usual[figure] if typed is None else typed.value


def _above(
    figure: Figure, found: float | None, typed: Measured | None, most: float, careful: bool
) -> Iterator[AboveLimit]:
    if found is not None and not found <= most:  # what has no end is above it
        source = SOURCE if typed is None else f"limits/{figure.value}"
        yield AboveLimit(figure, found, most, source, usual=typed is None, careful=careful)
