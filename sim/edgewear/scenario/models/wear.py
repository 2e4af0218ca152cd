"""Parameters of the wear law, each with its range and where it comes from."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from edgewear.scenario.models.base import Closed, Factor, Length, Share, Speed
from edgewear.scenario.text.quantities import Measured, Quantity

EnergyDensity = Annotated[Measured, Quantity("energy per volume", low=0.0, above=True)]


class WearParameters(Closed):
    """The one file of wear parameters; replaced as a whole by a fit."""

    law: Literal["weighted", "energy", "threshold"]
    """weighted by pressure and speed; plain energy; or a cold part and a power threshold."""
    sheath_energy: EnergyDensity
    """e_s: energy that wears a volume of polyamide sheath away."""
    core_energy: EnergyDensity
    """e_c: the same for the core."""
    contact_share: Share
    """Share of the sheath's section in contact with an edge."""
    rotation: Factor
    """How much more of it comes into contact because the rope turns about its axis."""
    core_exponent: Factor
    """a of the core's loss."""
    reference_pressure: Annotated[Measured, Quantity("pressure", low=0.0, above=True)]
    """p0, fixed."""
    reference_speed: Speed
    """v0, fixed."""
    cold_share: Factor
    """c: cutting without heat."""
    width_share: Factor
    """Contact width over diameter."""
    arc_share: Factor
    """Least contact radius over diameter."""
    presliding: Length
    """Creep of a cycle inside the stick band."""
    power_threshold: Annotated[Measured, Quantity("power per area", low=0.0, above=True)]
    """Of the rival law."""
    radius_exponent: Factor
    """Severity falls with (radius / 1 mm) to this power."""
    fibre_density: Annotated[Measured, Quantity("factor", low=0.0, above=True)]
    """Density of the fibre [kg/m3]."""
    core_strength_share: Share
    """Share of the strength that the core holds."""
    core_weakening: Share
    """q: share of the core's strength that is gone by the time the sheath is through."""
    bend_strength: Factor
    """Strength left over an edge of small radius."""
    discrepancy: Factor
    """Log-normal factor on the exposure until independent tests are in."""
    correlation: dict[str, dict[str, float]] = Field(default_factory=dict)
    """Of the logarithms of sheath energy, core energy, arc share and friction of steel."""
