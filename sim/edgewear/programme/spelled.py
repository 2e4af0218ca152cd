"""What was seen in a test, as people type it."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, ConfigDict, Field, Tag, TypeAdapter, model_validator
from pydantic.types import Discriminator

from edgewear.scenario.models.base import Closed, Factor, Force, Length, Share
from edgewear.scenario.text.choices import Choices
from edgewear.scenario.text.quantities import Measured, Quantity, shown

Temperature = Annotated[Measured, Quantity("temperature")]


class Came(Closed):
    """Something that comes about in the course of a test, and how far the test was by then."""

    short: ClassVar[str] = "by"
    observation: str = ""
    not_by: str | None = None
    """The last look that did not show it, as the test's `how far` is typed: `3 m`, `8`."""
    by: str | None = None
    """The first look that showed it; left out: the test ended before it came."""
    error: Factor | None = None
    """Spread of when an eye calls it so, one standard deviation of the logarithm of wear."""

    @model_validator(mode="after")
    def _either(self) -> Came:
        """Refuse an entry that says nothing."""
        if self.by is None and self.not_by is None:
            raise shown("choice", "`by`, `not by` or both are due")
        return self


class Fuzz(Came):
    """A quarter of the sheath is worn: fuzz."""

    observation: Literal["fuzz"] = "fuzz"


class YarnsCut(Came):
    """Half of the sheath is worn: yarns are cut."""

    observation: Literal["yarns cut"] = "yarns cut"


class CoreVisible(Came):
    """The core shows."""

    observation: Literal["core visible"] = "core visible"


class SheathBroken(Came):
    """The sheath is broken: the core shows."""

    observation: Literal["sheath broken"] = "sheath broken"


class Parted(Came):
    """The rope parts."""

    observation: Literal["parted"] = "parted"


class Look(Closed):
    """What somebody saw who looked at the rope once."""

    short: ClassVar[str] = "seen"
    observation: Literal["look"] = "look"
    seen: Literal["nothing", "fuzz", "yarns cut", "core visible", "usable", "whole"]
    """A word of wear; usable: below half worn; whole: the core does not show."""
    after: str | None = None
    """How far the test was; left out: its end."""
    error: Factor | None = None
    """Spread of a trained eye, one standard deviation of the logarithm of wear."""


class Reading(Closed):
    """A number that an instrument gave."""

    observation: str = ""
    value: Measured | None = None
    error: Measured | None = None
    at_least: Measured | None = None
    at_most: Measured | None = None
    after: str | None = None
    """How far the test was; left out: its end."""

    @model_validator(mode="after")
    def _said(self) -> Reading:
        """Refuse an entry without a number, or with a value that nobody can have read exactly."""
        if self.value is None and self.at_least is None and self.at_most is None:
            raise shown("choice", "`value` with `error`, `at least`, `at most` or both are due")
        if self.value is not None and (self.at_least or self.at_most):
            raise shown("choice", "`value` beside `at least` or `at most`: keep one of them")
        if self.error is None or self.error.value <= 0.0:
            raise shown("choice", "`error` is due: one standard deviation of the reading, above 0")
        low, high = self.at_least, self.at_most
        if low is not None and high is not None and low.value >= high.value:
            raise shown("choice", "`at least` must be below `at most`")
        return self


class StrengthLost(Reading):
    """Share of a new rope's strength that a pull test found gone."""

    observation: Literal["strength lost"] = "strength lost"
    value: Share | None = None
    error: Share | None = None
    at_least: Share | None = None
    at_most: Share | None = None


class CoreLost(Reading):
    """Share of the core's section that is gone at the worst place."""

    observation: Literal["core lost"] = "core lost"
    value: Share | None = None
    error: Share | None = None
    at_least: Share | None = None
    at_most: Share | None = None


class AnchorPeak(Reading):
    """Largest pull that a load cell at the anchor read."""

    observation: Literal["anchor peak"] = "anchor peak"
    value: Force | None = None
    error: Force | None = None
    at_least: Force | None = None
    at_most: Force | None = None


class Stretch(Reading):
    """Largest stretch at the person."""

    observation: Literal["stretch"] = "stretch"
    value: Length | None = None
    error: Length | None = None
    at_least: Length | None = None
    at_most: Length | None = None


class Slip(Reading):
    """Rope that slid over the edges in all."""

    observation: Literal["slip"] = "slip"
    value: Length | None = None
    error: Length | None = None
    at_least: Length | None = None
    at_most: Length | None = None


class ContactTemperature(Reading):
    """Highest temperature of the contact, by an instrument or by the colour of the strand."""

    observation: Literal["contact temperature"] = "contact temperature"
    value: Temperature | None = None
    error: Temperature | None = None
    at_least: Temperature | None = None
    at_most: Temperature | None = None


SPELLED: tuple[type[Closed], ...] = (
    Fuzz, YarnsCut, CoreVisible, SheathBroken, Parted, Look, StrengthLost, CoreLost, AnchorPeak,
    Stretch, Slip, ContactTemperature,
)  # fmt: skip
"""Every kind of entry, in the order of the reference page."""

_CHOICES = Choices("observation", "observation", SPELLED)

Spelled = Annotated[
    Annotated[Fuzz, Tag("fuzz")]
    | Annotated[YarnsCut, Tag("yarns cut")]
    | Annotated[CoreVisible, Tag("core visible")]
    | Annotated[SheathBroken, Tag("sheath broken")]
    | Annotated[Parted, Tag("parted")]
    | Annotated[Look, Tag("look")]
    | Annotated[StrengthLost, Tag("strength lost")]
    | Annotated[CoreLost, Tag("core lost")]
    | Annotated[AnchorPeak, Tag("anchor peak")]
    | Annotated[Stretch, Tag("stretch")]
    | Annotated[Slip, Tag("slip")]
    | Annotated[ContactTemperature, Tag("contact temperature")],
    Discriminator(_CHOICES.tag),
    BeforeValidator(_CHOICES.normalise, json_schema_input_type=Any),
]
"""Any entry of `seen`."""

SPELLED_ADAPTER: TypeAdapter[Spelled] = TypeAdapter(Spelled, config=ConfigDict(defer_build=True))
"""Reads one entry of `seen`."""


class TestEntry(Closed):
    """One test as people type it."""

    __test__: ClassVar[bool] = False  # pytest: this is no test of ours

    scenario: str | None = None
    """Name under `scenarios`; the only one if left out."""
    option: str | None = None
    """The option that was rigged; the only one if left out."""
    with_: dict[str, str] = Field(default_factory=dict)
    """Address -> value that this test had instead of the scenario's."""
    how_far: str | None = None
    """Address of the number that grows in the course of the test: height, cycles, times."""
    bench: str = ""
    """Where the tests of one stand share what is not known of its edges."""
    batch: str = ""
    """Ropes of one batch share what differs from rope to rope."""
    samples: Annotated[int, Field(ge=1, le=100)] | str = "1"
    """Ropes tested alike with the same outcome."""
    on: str = ""
    """Day of the test, as typed."""
    cost: Factor | None = None
    """What one such test costs, in a unit of your own."""
    seen: tuple[Any, ...] = ()
    """What was seen; empty: the test is planned, not made."""
    note: str = ""
