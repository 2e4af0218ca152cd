"""What EN 1891 and EN 892 ask of a rope, checked on every rope of a scenario.

Numbers: EN 1891 (static strength, elongation, sheath share, peak force at fall factor 0.3,
diameter) and EN 892 (peak force, static and dynamic elongation). A warning names the clause's
subject; no rope is refused, because old ropes have to be computed too.
"""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

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


def least_sheath_share(diameter_m: float) -> float:
    """Give the sheath's least share of the mass, (4*D - 4)/D^2 with D in mm (EN 1891).

    Parameters:
        diameter_m: of the rope [m].
    """
    d = diameter_m * 1e3
    return (4 * d - 4) / d**2


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


def _failings(rope: Rope) -> list[Failing]:
    return _en_1891(rope) if rope.family == "low-stretch" else _en_892(rope)


def _en_1891(rope: Rope) -> list[Failing]:
    kind = rope.type_ if rope.type_ in STRENGTH_N else "A"
    found: list[Failing] = []
    low, high = DIAMETER_M
    if not low <= rope.diameter.value <= high:
        found.append(
            Failing(
                "EN 1891", "diameter", f"{rope.diameter.value * 1e3:g} mm is outside 8.5 to 16 mm"
            )
        )
    if rope.strength.value < STRENGTH_N[kind]:
        found.append(
            Failing(
                "EN 1891",
                "static strength",
                f"{rope.strength.value / 1e3:g} kN is below "
                f"{STRENGTH_N[kind] / 1e3:g} kN for type {kind}",
            )
        )
    terminated = rope.strength.value * rope.termination.value
    if terminated < TERMINATED_N[kind]:
        found.append(
            Failing(
                "EN 1891",
                "static strength with terminations",
                f"{terminated / 1e3:.1f} kN is below "
                f"{TERMINATED_N[kind] / 1e3:g} kN for type {kind}",
            )
        )
    elongation = _elongation(rope)
    if elongation > ELONGATION * (1 + 1e-9):
        found.append(
            Failing(
                "EN 1891",
                "elongation between 50 kg and 150 kg",
                f"{100 * elongation:.1f} % is above 5 %",
            )
        )
    return [*found, *_en_1891_build(rope, kind)]


def _en_1891_build(rope: Rope, kind: str) -> list[Failing]:
    """How a rope is built: its sheath, and the peak of the standard's fall."""
    found: list[Failing] = []
    least = least_sheath_share(rope.diameter.value)
    if rope.sheath_share.value < least * (1 - 1e-3):
        found.append(
            Failing(
                "EN 1891",
                "proportion of sheath",
                f"{100 * rope.sheath_share.value:.1f} % is below "
                f"{100 * least:.2f} % at {rope.diameter.value * 1e3:g} mm",
            )
        )
    if rope.peak_force is not None and rope.peak_force.value >= PEAK_N:
        found.append(
            Failing(
                "EN 1891",
                "peak force at fall factor 0.3",
                f"{rope.peak_force.value / 1e3:g} kN is not below 6 kN",
            )
        )
    most = most_stiffness_n(PEAK_MASS_KG[kind], PEAK_N, PEAK_FALL_FACTOR)
    if rope.peak_force is None and rope.stiffness.value > most:
        found.append(
            Failing(
                "EN 1891",
                "peak force at fall factor 0.3",
                f"a spring of {rope.stiffness.value / 1e3:.1f} "
                f"kN is above {most / 1e3:.2f} kN, so it would reach 6 kN (no damping counted)",
            )
        )
    return found


def _elongation(rope: Rope) -> float:
    """Give the elongation between 50 kg and 150 kg, stated or from the stiffness."""
    if rope.elongation is not None:
        return rope.elongation.value
    return 100 * GRAVITY_M_S2 / rope.stiffness.value


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
