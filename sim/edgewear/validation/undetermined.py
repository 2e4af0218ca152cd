"""Numbers of the wear law that no observation determines, and what test would tell."""

from __future__ import annotations

from typing import NamedTuple

from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.text.quantities import Measured


class Undetermined(NamedTuple):
    """A number nobody has measured: the interval it gets, and the test that would narrow it."""

    address: str
    value: float
    low: float
    high: float
    unit: str
    test: str


OF_THE_LAW = {
    "cold_share": "a machine at 0.02 to 0.2 m/s under the same load: wear against speed",
    "presliding": "a load cycled inside the stick band over one edge, some thousand times",
    "radius_exponent": "the same ascent over edges of 1, 2, 4 and 8 mm",
    "rotation": "a coloured line along the sheath, looked at after each ascent",
    "core_strength_share": "pull tests of ropes with the sheath cut through all round",
    "bend_strength": "pull tests over a 1 mm edge, new ropes",
    "contact_share": "sections of worn ropes; it is one number with the sheath energy until then",
    "width_share": "ink prints of a loaded rope on an edge; one number with the sheath energy",
    "arc_share": "9 and 12 mm ropes over an edge of 0.8 mm; one number with the sheath energy",
    "core_exponent": "pull tests after 10, 15, 20 and 25 m: core loss against distance",
    "discrepancy": "any of these, predicted before it is made",
}
"""Field of the wear parameters -> the test that would tell."""

OF_AN_EDGE = {
    "wet": "the observations' jerky ascent with water running over the edge",
    "gritty": "the same with sand from the site",
    "icy": "the same with an iced edge",
}
"""State of an edge -> the test that would tell."""

OF_A_SHEATH = "the rope climbed until its sheath breaks; seen so far: one ascent, two on a bench"

OF_PROTECTION = {
    "severity": "the observations' jerky ascent over each kind, the sheath looked at after 20 m",
    "capacity": "the same until the piece is worn through",
}
"""Field of a protection -> the test that would tell."""


def undetermined(scenario: Scenario) -> list[Undetermined]:
    """Every such number of a scenario's library, with its interval."""
    law = scenario.wear
    found = [
        _row(f"wear/{field.replace('_', ' ')}", getattr(law, field), test)
        for field, test in OF_THE_LAW.items()
    ]
    found += [
        _row(f"weather/{state}", scenario.weather[state], test)
        for state, test in OF_AN_EDGE.items()
    ]
    for rope in scenario.ropes.values():
        if rope.sheath.name != "polyamide":
            found.append(
                _row(f"sheaths/{rope.sheath.name}/toughness", rope.sheath.toughness, OF_A_SHEATH)
            )
    for name, protection in scenario.protections.items():
        for field, test in OF_PROTECTION.items():
            found.append(_row(f"protection/{name}/{field}", getattr(protection, field), test))
    return found


def _row(address: str, value: Measured, test: str) -> Undetermined:
    return Undetermined(address, value.value, value.low, value.high, value.unit, test)
