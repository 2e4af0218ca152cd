"""What a rope's datasheet says, turned into a stiffness."""

from __future__ import annotations

import re

from edgewear.scenario.text.measured import Measured, shown
from edgewear.scenario.text.units import DIMENSIONS, NUMBER, to_si
from edgewear.terms import GRAVITY_M_S2

LOAD_KG = 100.0
"""Between the two loads of an EN 1891 elongation, 50 kg and 150 kg."""

OTHER_LOADS = rf"({NUMBER}\s*%)\s+at\s+({NUMBER}\s*(?:lbf|kN|N|kgf)|{NUMBER}\s*% of strength)"
"""An elongation stated at one load, as American datasheets do."""

_OTHER_LOADS = re.compile(OTHER_LOADS, re.ASCII)


def stiffness_n(elongation: float) -> float:
    """Give the static stiffness of an elongation between 50 kg and 150 kg.

    K = 100 kg * g / e; 3 % gives 32.7 kN.

    Parameters:
        elongation: share of the length [1].
    """
    return LOAD_KG * GRAVITY_M_S2 / elongation


def as_en_1891(found: object, strength: Measured | None) -> object:
    """Turn `2.6 % at 300 lbf` and `4 % at 10 % of strength` into 50 kg to 150 kg.

    Both take the rope's elongation as proportional to its load from slack on.

    Parameters:
        found: the elongation as typed.
        strength: of the rope, for a load stated as a share of it.
    """
    match = _OTHER_LOADS.fullmatch(found.strip()) if isinstance(found, str) else None
    if match is None:
        return found
    if match[2].endswith("strength"):
        if strength is None:
            raise shown("rope", f"{found!r} needs the rope's strength")
        load = match[2].removesuffix(" of strength")
        force = to_si(load, DIMENSIONS["share"]) * strength.value
    else:
        force = to_si(match[2], DIMENSIONS["force"])
    if force <= 0:
        raise shown("rope", f"{found!r}: the load must be above 0")
    share = to_si(match[1], DIMENSIONS["share"]) * LOAD_KG * GRAVITY_M_S2 / force
    return Measured(
        value=share,
        low=share / 1.2,
        high=share * 1.2,
        unit="1",
        typed=found,
        basis="assumed",
        distribution="lognormal",
        pedigree="proportional to load, which a new rope is not quite: within 20 %, assumed",
    )


def stiffness_of(elongation: Measured) -> Measured:
    """Give the static stiffness with the range that the elongation has.

    Parameters:
        elongation: between 50 kg and 150 kg.
    """
    return Measured(
        value=stiffness_n(elongation.value),
        low=stiffness_n(elongation.high),
        high=stiffness_n(elongation.low),
        unit="N",
        typed=elongation.typed,
        basis=elongation.basis,
        distribution="lognormal" if elongation.low < elongation.high else "fixed",
        pedigree=f"100 kg * g over the elongation; {elongation.pedigree}".rstrip("; "),
    )
