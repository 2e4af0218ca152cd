"""What can go wrong during a job: one frozen model a fault, chosen by the word that is typed.

Every fault has a trigger: an event it comes `after`, a time it comes `at`, a step it comes with, or
a rate. A rate is never invented: it needs the source that gave it.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, ConfigDict, Tag, TypeAdapter, model_validator
from pydantic.types import Discriminator

from edgewear.scenario.models.base import Closed, Count, Duration, Mass, Rate, Speed
from edgewear.scenario.text.choices import Choices
from edgewear.scenario.text.quantities import Measured, shown


class Triggered(Closed):
    """When a fault happens; at the start of the job if nothing is said."""

    after: str | None = None
    """The event it follows: one that the job raises, or `core visible` and the like."""
    at: Duration | None = None
    """Time since the start of the job."""
    step: Count | None = None
    """Number of the step it comes with, from 1: of whom it names, or of the first to begin it."""
    delay: Duration = Measured.exact(0.0, "s")
    """Time between the trigger and the fault."""
    rate: Rate | None = None
    """How often it happens; needs a source."""
    source: str | None = None
    """Who says so."""

    @model_validator(mode="after")
    def _one_trigger(self) -> Triggered:
        """Refuse a rate without a source and two triggers at once."""
        if self.rate is not None and not self.source:
            message = "a rate needs a source: add `source: who says so`"
            raise shown("rate", message, at="rate")
        named = [k for k in ("after", "at", "step", "rate") if getattr(self, k) is not None]
        if len(named) > 1:
            raise shown("trigger", f"two triggers ({' and '.join(named)}): keep one of them")
        return self


class ProtectionDisplaced(Triggered):
    """Protection moves off an edge, by sawing or by a swing."""

    short: ClassVar[str] = "edge"
    fault: Literal["protection displaced"] = "protection displaced"
    edge: str
    """The edge."""


class ProtectionWornThrough(Triggered):
    """Protection no longer separates rope and edge."""

    short: ClassVar[str] = "edge"
    fault: Literal["protection worn through"] = "protection worn through"
    edge: str
    """The edge."""


class ProtectionNotRefitted(Triggered):
    """Protection stays off after somebody has crossed the edge."""

    short: ClassVar[str] = "edge"
    fault: Literal["protection not refitted"] = "protection not refitted"
    edge: str
    """The edge."""


class SleeveOnWrongSide(Triggered):
    """A sleeve sits beside the edge and not on it."""

    short: ClassVar[str] = "edge"
    fault: Literal["sleeve on the wrong side"] = "sleeve on the wrong side"
    edge: str
    """The edge."""


class RopeOffRoller(Triggered):
    """The rope jumps off a roller and runs over what is beside it."""

    short: ClassVar[str] = "edge"
    fault: Literal["rope off the roller"] = "rope off the roller"
    edge: str
    """The edge."""


class Weather(Triggered):
    """Rain, grit or ice reaches the edges."""

    short: ClassVar[str] = "weather"
    fault: Literal["weather"] = "weather"
    weather: Literal["wet", "gritty", "icy"]
    """What it does to the edges."""


class JerkyPerson(Triggered):
    """A person begins to move badly."""

    short: ClassVar[str] = "person"
    fault: Literal["jerky person"] = "jerky person"
    person: str
    """Who."""
    technique: str = "jerky"
    """How they move from then on."""


class HeavierPerson(Triggered):
    """A person is heavier than planned."""

    short: ClassVar[str] = "person"
    fault: Literal["heavier person"] = "heavier person"
    person: str
    """Who."""
    by: Mass = Measured.exact(20.0, "kg")
    """How much heavier."""


class SecondPerson(Triggered):
    """A second person's weight comes onto a line."""

    short: ClassVar[str] = "person"
    fault: Literal["second person"] = "second person"
    person: str
    """Whose line."""
    mass: Mass = Measured.exact(100.0, "kg")
    """The weight added."""


class WrongRope(Triggered):
    """Another kind of rope than planned was taken from the store."""

    short: ClassVar[str] = "rope"
    fault: Literal["wrong rope"] = "wrong rope"
    rope: str
    """The kind taken instead."""
    person: str | None = None
    """On whose working line; everybody's if left out."""


class UnknownEdge(Triggered):
    """The working line lies over an edge nobody surveyed."""

    short: ClassVar[str] = "is"
    fault: Literal["unknown edge"] = "unknown edge"
    is_: str = "rolled-section steel arris"
    """Its class."""
    below: str | None = None
    """The surveyed edge it lies below; the last one if left out."""


class InspectionSkipped(Triggered):
    """A planned inspection does not take place."""

    short: ClassVar[str] = "person"
    fault: Literal["inspection skipped"] = "inspection skipped"
    person: str | None = None
    """Whose; every inspection if left out."""


class AttendantAway(Triggered):
    """The edge attendant is not at the edge."""

    short: ClassVar[str] = "for"
    fault: Literal["attendant away"] = "attendant away"
    for_: Duration | None = None
    """How long; for the rest of the job if left out."""


class LateReaction(Triggered):
    """Everybody reacts later than planned."""

    short: ClassVar[str] = "by"
    fault: Literal["late reaction"] = "late reaction"
    by: Duration = Measured.exact(60.0, "s")
    """How much later."""


class AnchorFails(Triggered):
    """An anchor gives way."""

    short: ClassVar[str] = "anchor"
    fault: Literal["anchor fails"] = "anchor fails"
    anchor: str
    """Which."""


class DeviationFails(Triggered):
    """A deviation gives way, and the line falls back to its straight path."""

    short: ClassVar[str] = "anchor"
    fault: Literal["deviation fails"] = "deviation fails"
    anchor: str
    """Which."""


class FastDescent(Triggered):
    """A person descends too fast and stops hard."""

    short: ClassVar[str] = "person"
    fault: Literal["fast descent"] = "fast descent"
    person: str
    """Who."""
    speed: Speed = Measured.exact(2.0, "m/s")
    """How fast."""


class StopperMissing(Triggered):
    """There is no stopper at the end of a person's rope."""

    short: ClassVar[str] = "person"
    fault: Literal["stopper missing"] = "stopper missing"
    person: str
    """Whose."""


class RopeInWind(Triggered):
    """An unloaded line is left in the wind, and saws at its edges."""

    short: ClassVar[str] = "person"
    fault: Literal["rope left in the wind"] = "rope left in the wind"
    person: str
    """Whose."""
    for_: Duration = Measured.exact(3600.0, "s")
    """How long."""


class CasualtyUnresponsive(Triggered):
    """A person can no longer help themself."""

    short: ClassVar[str] = "person"
    fault: Literal["casualty unresponsive"] = "casualty unresponsive"
    person: str
    """Who."""


class DeviceJammed(Triggered):
    """A person's device jams: they hang where they are, and can call."""

    short: ClassVar[str] = "person"
    fault: Literal["device jammed"] = "device jammed"
    person: str
    """Whose."""
    for_: Duration | None = None
    """How long until they have freed it; for the rest of the job if left out."""


class DeviceDropped(Triggered):
    """A person drops a device that they need to go on: they hang where they are, and can call."""

    short: ClassVar[str] = "person"
    fault: Literal["device dropped"] = "device dropped"
    person: str
    """Who."""
    for_: Duration | None = None
    """How long until another one is in its place; for the rest of the job if left out."""


class CommunicationLost(Triggered):
    """Whoever hangs on the ropes hears nobody at the edge, and is not heard."""

    short: ClassVar[str] = "for"
    fault: Literal["communication lost"] = "communication lost"
    for_: Duration | None = None
    """How long; for the rest of the job if left out."""


FAULTS: tuple[type[Triggered], ...] = (
    ProtectionDisplaced,
    ProtectionWornThrough,
    ProtectionNotRefitted,
    SleeveOnWrongSide,
    RopeOffRoller,
    Weather,
    JerkyPerson,
    HeavierPerson,
    SecondPerson,
    WrongRope,
    UnknownEdge,
    InspectionSkipped,
    AttendantAway,
    LateReaction,
    AnchorFails,
    DeviationFails,
    FastDescent,
    StopperMissing,
    RopeInWind,
    CasualtyUnresponsive,
    DeviceJammed,
    DeviceDropped,
    CommunicationLost,
)
"""Every fault, in the order of the reference page."""

_CHOICES = Choices("fault", "fault", FAULTS)

Fault = Annotated[
    Annotated[ProtectionDisplaced, Tag("protection displaced")]
    | Annotated[ProtectionWornThrough, Tag("protection worn through")]
    | Annotated[ProtectionNotRefitted, Tag("protection not refitted")]
    | Annotated[SleeveOnWrongSide, Tag("sleeve on the wrong side")]
    | Annotated[RopeOffRoller, Tag("rope off the roller")]
    | Annotated[Weather, Tag("weather")]
    | Annotated[JerkyPerson, Tag("jerky person")]
    | Annotated[HeavierPerson, Tag("heavier person")]
    | Annotated[SecondPerson, Tag("second person")]
    | Annotated[WrongRope, Tag("wrong rope")]
    | Annotated[UnknownEdge, Tag("unknown edge")]
    | Annotated[InspectionSkipped, Tag("inspection skipped")]
    | Annotated[AttendantAway, Tag("attendant away")]
    | Annotated[LateReaction, Tag("late reaction")]
    | Annotated[AnchorFails, Tag("anchor fails")]
    | Annotated[DeviationFails, Tag("deviation fails")]
    | Annotated[FastDescent, Tag("fast descent")]
    | Annotated[StopperMissing, Tag("stopper missing")]
    | Annotated[RopeInWind, Tag("rope left in the wind")]
    | Annotated[CasualtyUnresponsive, Tag("casualty unresponsive")]
    | Annotated[DeviceJammed, Tag("device jammed")]
    | Annotated[DeviceDropped, Tag("device dropped")]
    | Annotated[CommunicationLost, Tag("communication lost")],
    Discriminator(_CHOICES.tag),
    BeforeValidator(_CHOICES.normalise, json_schema_input_type=Any),
]
"""Any fault."""

FAULT: TypeAdapter[Fault] = TypeAdapter(Fault, config=ConfigDict(defer_build=True))
"""Reads one fault."""
