"""How far a drop may go and how hard a catch may pull before it is said in words."""

from __future__ import annotations

from edgewear.scenario.models.scenario import Scenario

MOST_DROP_M = 2.0
"""Arrest distance that a backup device is held to [m]; EN 12841, from memory."""

MOST_PEAK_N = 6e3
"""Force on a person that an arrest is held to [N]; EN 12841, from memory."""

SOURCE = "EN 12841, from memory"


def beyond_limits(
    scenario: Scenario, drop_m: float | None, peak_n: float | None
) -> tuple[str, ...]:
    """Return in words what of a drop and a peak lies above the scenario's limits.

    Parameters: `drop_m`, `peak_n`: None where there is none.

    Where the scenario sets no limit, 2 m and 6 kN of EN 12841 (from memory) are taken. They hold
    for one person of 100 kg on a device's test; two people are held to the same.
    """
    said = []
    limits = scenario.limits
    most_m = MOST_DROP_M if limits.drop is None else limits.drop.value
    if drop_m is not None and drop_m > most_m:
        source = SOURCE if limits.drop is None else "limits/drop"
        said.append(f"drop of {drop_m:.1f} m, more than {most_m:g} m ({source})")
    most_n = MOST_PEAK_N if limits.peak is None else limits.peak.value
    if peak_n is not None and peak_n > most_n:
        source = SOURCE if limits.peak is None else "limits/peak"
        said.append(f"peak of {peak_n / 1000:.1f} kN, more than {most_n / 1000:g} kN ({source})")
    return tuple(said)
