"""What EN 1891 and EN 892 ask of a rope, checked on every rope of a scenario.

Numbers: EN 1891 (static strength, elongation, sheath share, peak force at fall factor 0.3,
diameter) and EN 892 (peak force, static and dynamic elongation). A warning names the clause's
subject; no rope is refused, because old ropes have to be computed too.
"""

from __future__ import annotations

from math import sqrt
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.scenario.models.gear import Rope
from edgewear.scenario.models.scenario import Scenario
from edgewear.terms import GRAVITY_M_S2

STRENGTH_N = {"A": 22_000.0, "B": 18_000.0}
TERMINATED_N = {"A": 15_000.0, "B": 12_000.0}
ELONGATION = 0.05
DIAMETER_M = (0.0085, 0.016)
PEAK_N = 6_000.0
PEAK_MASS_KG = {"A": 100.0, "B": 80.0}
PEAK_FALL_FACTOR = 0.3
DYNAMIC_PEAK_N = 12_000.0
STATIC_ELONGATION_892 = 0.10
DYNAMIC_ELONGATION_892 = 0.40

DIAMETER, STRENGTH, TERMINATED, STRETCH, SHEATH, PEAK = (
    "diameter",
    "static strength",
    "static strength with terminations",
    "elongation between 50 kg and 150 kg",
    "proportion of sheath",
    "peak force at fall factor 0.3",
)
"""Subjects of clauses of EN 1891, in the order in which they are told."""

Number = Any
"""A float, or a float a run (n,): both are reckoned with alike."""


def least_sheath_share(diameter_m: Number) -> Number:
    """Give the sheath's least share of the mass, (4*D - 4)/D^2 with D in mm (EN 1891).

    Parameters:
        diameter_m: of the rope [m].
    """
    d = diameter_m * 1e3
    return (4 * d - 4) / (d * d)


def impact_force_n(mass_kg: float, stiffness_n: float, fall_factor: float) -> float:
    """Give the peak of a fall on an undamped spring: m*g + sqrt((m*g)^2 + 2*m*g*K*f).

    Parameters:
        mass_kg: of the falling body [kg].
        stiffness_n: K of the rope [N].
        fall_factor: f, height of fall over rope length [1].
    """
    weight = mass_kg * GRAVITY_M_S2
    return weight + sqrt(weight**2 + 2 * weight * stiffness_n * fall_factor)


def most_stiffness_n(mass_kg: float, peak_n: float, fall_factor: float) -> float:
    """Give the stiffness at which an undamped spring just reaches a peak; inverse of the above.

    Parameters:
        mass_kg: of the falling body [kg].
        peak_n: the peak [N].
        fall_factor: height of fall over rope length [1].
    """
    weight = mass_kg * GRAVITY_M_S2
    return (peak_n - 2 * weight) * peak_n / (2 * weight * fall_factor)


def check_ropes(scenario: Scenario) -> tuple[str, ...]:
    """Warn of every rope that its standard would not pass."""
    return tuple(
        f"ropes/{name}: {warning}"
        for name, rope in scenario.ropes.items()
        for warning in rope_warnings(rope)
    )


class Failing(NamedTuple):
    """What a rope's standard would not pass: the subject of the clause, and a sentence."""

    standard: str
    subject: str
    found: str

    @property
    def sentence(self) -> str:
        """The standard, its subject and what was found."""
        return f"{self.standard}, {self.subject}: {self.found}"


def rope_warnings(rope: Rope) -> list[str]:
    """Compare a rope with the standard of its family.

    Parameters:
        rope: the rope.
    """
    return [failing.sentence for failing in _failings(rope)]


def unlike(rope: Rope) -> tuple[str, ...]:
    """Name what the standard of a rope's family would not pass.

    Parameters:
        rope: the rope.
    """
    return tuple(failing.subject for failing in _failings(rope))


class Numbers(NamedTuple):
    """What EN 1891 judges of a rope: of one, or of one a run (n,)."""

    diameter_m: Number
    strength_n: Number
    termination: Number  # share of the strength that knots leave
    elongation: Number  # between 50 kg and 150 kg
    sheath_share: Number
    stiffness_n: Number

    @classmethod
    def of(cls, rope: Rope) -> Numbers:
        """Those of a rope; the elongation is stated, or from the stiffness."""
        stiffness_n = rope.stiffness.value
        stated = rope.elongation
        return cls(
            rope.diameter.value,
            rope.strength.value,
            rope.termination.value,
            100 * GRAVITY_M_S2 / stiffness_n if stated is None else stated.value,
            rope.sheath_share.value,
            stiffness_n,
        )


def unlike_each(rope: Rope, numbers: Numbers) -> list[tuple[str, bool | NDArray[np.bool_]]]:
    """Name what the standard of a rope's family may not pass, and where it does not.

    Parameters:
        rope: what is the same in all runs.
        numbers: of the runs.
    """
    if rope.family != "low-stretch":  # its standard speaks of nothing that runs change
        return [(subject, True) for subject in unlike(rope)]
    return list(_beyond(rope, numbers).items())


def _beyond(rope: Rope, of: Numbers) -> dict[str, bool | NDArray[np.bool_]]:
    """What EN 1891 speaks of, and where it is not met."""
    kind = _kind(rope)
    low_m, high_m = DIAMETER_M
    most_n = most_stiffness_n(PEAK_MASS_KG[kind], PEAK_N, PEAK_FALL_FACTOR)
    hard = of.stiffness_n > most_n if rope.peak_force is None else rope.peak_force.value >= PEAK_N
    return {
        DIAMETER: (of.diameter_m < low_m) | (of.diameter_m > high_m),
        STRENGTH: of.strength_n < STRENGTH_N[kind],
        TERMINATED: of.strength_n * of.termination < TERMINATED_N[kind],
        STRETCH: of.elongation > ELONGATION * (1 + 1e-9),
        SHEATH: of.sheath_share < least_sheath_share(of.diameter_m) * (1 - 1e-3),
        PEAK: hard,
    }


def _kind(rope: Rope) -> str:
    return rope.type_ if rope.type_ in STRENGTH_N else "A"


def _failings(rope: Rope) -> list[Failing]:
    return _en_1891(rope) if rope.family == "low-stretch" else _en_892(rope)


def _en_1891(rope: Rope) -> list[Failing]:
    of, kind = Numbers.of(rope), _kind(rope)
    strength, least = of.strength_n, least_sheath_share(of.diameter_m)
    diameter = f"{of.diameter_m * 1e3:g} mm"
    told = {
        DIAMETER: f"{diameter} is outside 8.5 to 16 mm",
        STRENGTH: f"{strength / 1e3:g} kN is below {STRENGTH_N[kind] / 1e3:g} kN for type {kind}",
        TERMINATED: (
            f"{strength * of.termination / 1e3:.1f} kN is below "
            f"{TERMINATED_N[kind] / 1e3:g} kN for type {kind}"
        ),
        STRETCH: f"{100 * of.elongation:.1f} % is above 5 %",
        SHEATH: f"{100 * of.sheath_share:.1f} % is below {100 * least:.2f} % at {diameter}",
        PEAK: _hard(rope, kind),
    }
    return [Failing("EN 1891", name, told[name]) for name, out in _beyond(rope, of).items() if out]


def _hard(rope: Rope, kind: str) -> str:
    """What is said of the peak of the standard's fall where it is too high."""
    if rope.peak_force is not None:
        return f"{rope.peak_force.value / 1e3:g} kN is not below 6 kN"
    most = most_stiffness_n(PEAK_MASS_KG[kind], PEAK_N, PEAK_FALL_FACTOR)
    return (
        f"a spring of {rope.stiffness.value / 1e3:.1f} "
        f"kN is above {most / 1e3:.2f} kN, so it would reach 6 kN (no damping counted)"
    )


def _en_892(rope: Rope) -> list[Failing]:
    found: list[Failing] = []
    if rope.type_ == "single" and rope.peak_force and rope.peak_force.value > DYNAMIC_PEAK_N:
        found.append(
            Failing("EN 892", "peak force", f"{rope.peak_force.value / 1e3:g} kN is above 12 kN")
        )
    if rope.static_elongation and rope.static_elongation.value > STATIC_ELONGATION_892:
        share = 100 * rope.static_elongation.value
        found.append(Failing("EN 892", "static elongation", f"{share:g} % is above 10 %"))
    if rope.dynamic_elongation and rope.dynamic_elongation.value > DYNAMIC_ELONGATION_892:
        share = 100 * rope.dynamic_elongation.value
        found.append(Failing("EN 892", "dynamic elongation", f"{share:g} % is above 40 %"))
    return found
