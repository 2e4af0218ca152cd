"""Edges, ropes, protection, slings and devices of a scenario, in SI."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from edgewear.scenario.models.base import (
    Along,
    Closed,
    Factor,
    Force,
    Friction,
    Length,
    Out,
    Ratio,
    Share,
    Up,
    YesNo,
)
from edgewear.scenario.text.quantities import Measured, Quantity, shown
from edgewear.scenario.text.stiffness import as_en_1891, stiffness_of

Radius = Annotated[Measured, Quantity("length", accuracy="radius", low=0.0, above=True)]
Elongation = Annotated[
    Measured, Quantity("share", accuracy="elongation", low=0.0, high=0.6, above=True)
]


class SurveyPoint(Closed):
    """A point of the survey."""

    out: Out
    """Distance out from the face."""
    along: Along = Measured.exact(0.0, "m")
    """Distance along the face."""
    up: Up
    """Height."""

    @property
    def metres(self) -> tuple[float, float, float]:
        """Give the nominal point as x out, y along, z up [m]."""
        return self.out.value, self.along.value, self.up.value


class Obstacle(Closed):
    """Something beside the work that somebody could swing into: plumb, between two heights."""

    along: Along
    """Where it stands along the face."""
    from_: Up | None = None
    """Its upper end; as high as anybody hangs if left out."""
    to: Up | None = None
    """Its lower end; as deep as anybody hangs if left out."""


class Surface(Closed):
    """What an edge is made of, as a rope feels it."""

    name: str
    friction: Friction
    """Coefficient of sliding friction."""
    static_ratio: Ratio
    """Static over sliding friction."""
    roughness: Factor
    """Wear of a sheath relative to rolled steel of the same radius."""
    conductivity: Annotated[Measured, Quantity("conductivity", low=0.0, above=True)]
    """Heat conductivity."""
    heat_capacity: Annotated[Measured, Quantity("heat capacity", low=0.0, above=True)]
    """Heat capacity of a volume."""


class Edge(Closed):
    """Where a line bends over the structure: a straight segment with a radius."""

    out: Out | None = None
    """Distance out from the face; for an edge that runs along it."""
    along: Along | None = None
    """Middle of the edge along the face."""
    up: Up | None = None
    """Height."""
    length: Length | None = None
    """Length of the edge along the face."""
    from_: SurveyPoint | None = None
    """One end, for an edge that runs in any direction."""
    to: SurveyPoint | None = None
    """The other end."""
    is_: str | None = None
    """Its class: a word of the library."""
    radius: Radius
    """Radius of the edge."""
    surface: Surface
    """What it is made of: a word of the library, or its numbers."""
    friction: Friction
    """Coefficient of sliding friction; the surface's if left out."""
    roughness: Factor
    """Wear relative to rolled steel of the same radius; the surface's if left out."""
    condition: Literal["sound", "burred", "broken"] = "sound"
    """Whether it is burred or broken, which makes it a cutting edge."""
    state: Literal["dry", "wet", "gritty", "icy"] = "dry"
    """What lies on it."""

    @property
    def start_m(self) -> tuple[float, float, float] | None:
        """Give one end as x out, y along, z up [m]; None when the bend is given directly."""
        return self._end(self.from_, -0.5)

    @property
    def end_m(self) -> tuple[float, float, float] | None:
        """Give the other end."""
        return self._end(self.to, 0.5)

    @property
    def is_cutting(self) -> bool:
        """Tell whether it can part a rope in one pass.

        Common practice, no published source: burred or broken, or a radius below 0.75 mm; of a
        class the lower end counts, of a measurement its value.
        """
        judged = self.radius.low if self.radius.basis in ("class", "library") else self.radius.value
        return self.condition != "sound" or judged < CUTTING_RADIUS_M

    def _end(self, point: SurveyPoint | None, share: float) -> tuple[float, float, float] | None:
        if point is not None:
            return point.metres
        if self.out is None or self.up is None:
            return None
        middle = self.along.value if self.along else 0.0
        length = self.length.value if self.length else EDGE_LENGTH_M
        return self.out.value, middle + share * length, self.up.value


CUTTING_RADIUS_M = 0.75e-3
"""Edges below this radius count as cutting edges [m]."""

EDGE_LENGTH_M = 20.0
"""Length of an edge along the face when none is given [m]."""


class Sheath(Closed):
    """The sheath's material."""

    name: str
    toughness: Ratio
    """Wear energy it takes, relative to polyamide."""
    softens: Annotated[Measured, Quantity("temperature")]
    """Where the fibre softens."""
    melts: Annotated[Measured, Quantity("temperature")]
    """Where it melts or chars."""
    conductivity: Annotated[Measured, Quantity("conductivity", low=0.0, above=True)]
    """Heat conductivity."""
    heat_capacity: Annotated[Measured, Quantity("heat capacity", low=0.0, above=True)]
    """Heat capacity of a volume."""


class Worn(Closed):
    """A part of a rope that is worn before the job begins."""

    from_: Annotated[Measured, Quantity("length", low=0.0)]
    """Where it begins, from end A."""
    to: Length
    """Where it ends."""
    sheath: Factor
    """Share of the sheath that is gone there; 1 is core visible."""


class Rope(Closed):
    """A kind of rope in the store; every line takes a piece of its own."""

    like: str | None = None
    """The library's rope that fills in what is left out."""
    family: Literal["low-stretch", "dynamic"]
    """EN 1891 or EN 892."""
    type_: Literal["A", "B", "single", "half", "twin"]
    """Type within the family."""
    diameter: Length
    """Diameter."""
    strength: Force
    """Static strength of the new rope."""
    elongation: Elongation | None = None
    """Between 50 kg and 150 kg; also `2.6 % at 300 lbf` or `4 % at 10 % of strength`."""
    stiffness: Force = Field(default=None, validate_default=True)
    """Static: force per unit strain; follows from the elongation."""
    dynamic_ratio: Ratio
    """Dynamic over static stiffness."""
    damping: Annotated[Measured, Quantity("time", low=0.0)]
    """Retardation time of the Kelvin-Voigt rope."""
    length: Length
    """Length of the piece."""
    stopper: YesNo | None = None
    """Whether a stopper knot is tied at its end."""
    sheath_share: Share
    """Sheath's share of the mass."""
    sheath: Sheath
    """Sheath's material: a word of the library, or its numbers."""
    mass: Annotated[Measured, Quantity("mass per length", low=0.0, above=True)]
    """Mass of a metre."""
    termination: Ratio
    """Share of the strength that its knots or sewn ends leave."""
    peak_force: Force | None = None
    """Peak force of the standard's fall, where a datasheet gives it."""
    dynamic_elongation: Share | None = None
    """Of the standard's fall, dynamic ropes."""
    static_elongation: Share | None = None
    """With 80 kg, dynamic ropes."""
    condition: Literal["new", "used", "wet", "dirty"] = "new"
    """What it has been through."""
    stiffness_factor: Ratio
    """Stiffness relative to a new, dry rope; follows from the condition."""
    strength_factor: Ratio
    """Strength relative to a new, dry rope; follows from the condition."""
    friction_factor: Ratio
    """Friction relative to a new, dry rope; follows from the condition."""
    record: str | None = None
    """The file of its record, or `{file: ..., rope: ...}`: brings length and worn parts."""
    cut_from: str | None = None
    """What it was cut from, where the past of that is not known; said with every result."""
    worn: tuple[Worn, ...] = ()
    """Parts that are worn before the job begins; such a rope is one piece, for one line."""

    @field_validator("elongation", mode="before")
    @classmethod
    def _other_loads(cls, found: object, info: ValidationInfo) -> object:
        """Read an elongation stated at one load only."""
        return as_en_1891(found, info.data.get("strength"))

    @field_validator("stiffness", mode="before")
    @classmethod
    def _from_elongation(cls, found: object, info: ValidationInfo) -> object:
        """Fill in the stiffness where only an elongation is given."""
        if found is not None:
            return found
        if "elongation" not in info.data:
            return Measured.exact(1.0, "N")  # why it is not has been told: no rope comes of this
        elongation = info.data["elongation"]
        if elongation is None:
            raise shown("rope", "an elongation or a stiffness is due")
        return stiffness_of(elongation)


class Protection(Closed):
    """What keeps rope and edge apart."""

    is_: str
    """Its kind: a word of the library."""
    level: Literal["rigid or rolling", "soft"]
    """Level of control."""
    fixed_to: Literal["structure", "rope"] = "structure"
    """Whether it stays at the edge or travels with the rope."""
    friction: Friction
    """Coefficient of friction that the rope meets on it."""
    severity: Factor
    """Wear of the sheath on a steel arris of 1 mm under it, relative to that arris bare."""
    thickness: Annotated[Measured, Quantity("length", low=0.0)] = Measured.exact(0.0, "m")
    """How far it keeps rope and edge apart, pressed: added to the edge's radius."""
    radius: Annotated[Measured, Quantity("length", low=0.0)] = Measured.exact(0.0, "m")
    """Radius of its own, such as a roller's: the rope bends over no less."""
    covers: Length
    """Length of rope or edge that it covers."""
    capacity: Annotated[Measured, Quantity("energy per length", low=0.0, above=True)]
    """Friction energy a metre that wears it through on a steel arris of 1 mm."""
    creep: Share = Measured.exact(0.0)
    """How far each metre of sliding drags it along on steel; off after half of what it covers."""
    seen_through: Factor
    """Chance of seeing worn rope without lifting it, relative to an open edge."""


class Sling(Closed):
    """A sling clamped to the line above and below an edge, which carries the load instead."""

    is_: str
    """Its kind: a word of the library."""
    strength: Force
    """Strength of the sling."""
    clamps: Force
    """Force at which the clamps tear the sheath or slip."""
    length: Length
    """Length between the clamps."""
    severity: Factor
    """Wear relative to a rope's sheath on the same edge."""

    @property
    def holds_n(self) -> float:
        """What it surely holds: the low end of its weakest part [N]."""
        return min(self.strength.low, self.clamps.low)


class Backup(Closed):
    """What arrests a person on the safety line."""

    is_: str
    """Its kind: a word of the library."""
    slips: Force
    """Force at which it lets rope through."""
    arrest: Length
    """Rope that passes before it grips."""
    tears: Force | None = None
    """Force at which its teeth tear the sheath; nothing where it has none."""
