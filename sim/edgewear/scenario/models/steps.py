"""The steps of a job: one frozen model a step, chosen by the word that is typed.

The text under a field is what the reference page says about it. `short` names the field that
the short spelling fills: `descend: 18 m` is `descend: {height: 18 m}`.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, ConfigDict, Field, Tag, TypeAdapter
from pydantic.types import Discriminator

from edgewear.scenario.models.base import (
    Closed,
    Count,
    Duration,
    Force,
    Length,
    Mass,
    Rate,
    Speed,
)
from edgewear.scenario.text.choices import Choices
from edgewear.scenario.text.quantities import Measured, Quantity

Amplitude = Annotated[Measured, Quantity("length", low=0.0)]
Handling = Literal["lifted", "left"]


class JobStep(Closed):
    """What a step says of itself, so that nobody else has to know it by its word."""

    step: str
    hanging: ClassVar[bool] = False
    """Whether nobody makes it without a line of their own."""
    loading: ClassVar[bool] = False
    """Whether the line bears somebody while it is made."""
    moving: ClassVar[bool] = False
    """Whether it drags a loaded rope."""
    staying: ClassVar[bool] = False
    """Whether its person stays where they are for a while, hanging."""
    takes_up: ClassVar[bool] = True
    """Whether whoever needs a line for it hangs on that line afterwards."""
    sign: ClassVar[int] = 0
    """Whether its height leads down (1), up (-1) or nowhere (0)."""

    def moved(self, by: str) -> str:
        """Name whom the step moves, `by` being who makes it."""
        return getattr(self, "person", None) or by

    def needs_line(self) -> bool:
        """Tell whether whoever makes it needs a line of their own."""
        return self.hanging

    def hangs_after(self, by: str) -> bool:
        """Tell whether who makes it hangs on their line afterwards, also if not before."""
        return self.hanging and self.takes_up

    def deeper_m(self, person: str, by: str) -> float:
        """By how much the step takes a person down when somebody makes it [m]."""
        if not self.sign or self.moved(by) != person:
            return 0.0
        return self.sign * float(self.height.value)  # type: ignore[attr-defined]

    @property
    def changes(self) -> bool:
        """Whether an edge may be another than before."""
        return False

    def at(self, edge: str) -> bool:
        """Tell whether it is made at an edge."""
        return getattr(self, "edge", None) == edge


class EdgeStep(JobStep):
    """Something done to what lies on an edge, which is another afterwards."""

    edge: str
    """The edge."""

    @property
    def changes(self) -> bool:
        """Whether an edge may be another than before: always."""
        return True


class _FromTop(JobStep):
    """A haul or a lower: whose line moves may be somebody else's."""

    loading: ClassVar[bool] = True
    moving: ClassVar[bool] = True

    def needs_line(self) -> bool:
        """Tell whether whoever makes it needs a line of their own: for themself only."""
        return getattr(self, "person", None) is None

    def hangs_after(self, by: str) -> bool:
        """Tell whether who makes it hangs on their line afterwards: if it moved themself."""
        return self.moved(by) == by


class Ascend(JobStep):
    """Climb the rope."""

    short: ClassVar[str] = "height"
    hanging: ClassVar[bool] = True
    loading: ClassVar[bool] = True
    sign: ClassVar[int] = -1
    step: Literal["ascend"] = "ascend"
    height: Length
    """Height to gain."""
    technique: str | None = None
    """Technique for this step only."""
    system: str | None = None
    """Ascent system for this step only."""


class Descend(JobStep):
    """Descend on the working line."""

    short: ClassVar[str] = "height"
    hanging: ClassVar[bool] = True
    loading: ClassVar[bool] = True
    moving: ClassVar[bool] = True
    sign: ClassVar[int] = 1
    step: Literal["descend"] = "descend"
    height: Length
    """Height to lose."""
    speed: Speed | None = None
    """Speed between stops; the technique's if left out."""
    stop_every: Length | None = None
    """Height between stops; the technique's if left out."""


class Work(JobStep):
    """Work in place, hanging."""

    short: ClassVar[str] = "for"
    hanging: ClassVar[bool] = True
    loading: ClassVar[bool] = True
    moving: ClassVar[bool] = True
    staying: ClassVar[bool] = True
    step: Literal["work"] = "work"
    for_: Duration
    """How long."""
    bounce: Amplitude | None = None
    """Vertical amplitude."""
    bounce_rate: Rate | None = None
    """How often."""
    sway: Amplitude | None = None
    """Sideways amplitude."""
    sway_rate: Rate | None = None
    """How often."""
    tool: Force | None = None
    """Amplitude of a tool's reaction."""


class Swing(JobStep):
    """Swing sideways and come back."""

    short: ClassVar[str] = "by"
    hanging: ClassVar[bool] = True
    loading: ClassVar[bool] = True
    moving: ClassVar[bool] = True
    staying: ClassVar[bool] = True
    step: Literal["swing"] = "swing"
    by: Length
    """Distance to one side."""
    times: Count = 1
    """How many times."""


class CrossEdge(JobStep):
    """Pass an edge with the devices."""

    short: ClassVar[str] = "edge"
    hanging: ClassVar[bool] = True
    loading: ClassVar[bool] = True
    step: Literal["cross edge"] = "cross edge"
    edge: str
    """The edge."""
    protection: Handling = "left"
    """Whether its protection is lifted meanwhile."""
    for_: Duration | None = None
    """How long it takes."""

    @property
    def changes(self) -> bool:
        """Whether an edge may be another than before: its protection is lifted meanwhile."""
        return self.protection == "lifted"


class PassReAnchor(JobStep):
    """Pass a re-anchor; put into the plan by itself where it is left out."""

    short: ClassVar[str] = "anchor"
    hanging: ClassVar[bool] = True
    step: Literal["pass re-anchor"] = "pass re-anchor"
    anchor: str
    """The re-anchor."""
    for_: Duration | None = None
    """How long it takes."""


class PassDeviation(JobStep):
    """Pass a deviation; put into the plan by itself where it is left out."""

    short: ClassVar[str] = "anchor"
    hanging: ClassVar[bool] = True
    takes_up: ClassVar[bool] = False
    step: Literal["pass deviation"] = "pass deviation"
    anchor: str
    """The deviation's anchor."""
    for_: Duration | None = None
    """How long it takes."""


class PlaceProtection(EdgeStep):
    """Put protection on an edge, which is bare until then."""

    short: ClassVar[str] = "edge"
    step: Literal["place protection"] = "place protection"
    with_: str | None = None
    """The kind; what the option names for this edge if left out."""
    for_: Duration | None = None
    """How long it takes."""


class RemoveProtection(EdgeStep):
    """Take protection off an edge."""

    short: ClassVar[str] = "edge"
    step: Literal["remove protection"] = "remove protection"
    for_: Duration | None = None
    """How long it takes."""


class CheckProtection(EdgeStep):
    """Look at an edge's protection and put it right."""

    short: ClassVar[str] = "edge"
    step: Literal["check protection"] = "check protection"
    for_: Duration | None = None
    """How long it takes."""


class FixBypassSling(EdgeStep):
    """Clamp a sling to the line above and below an edge, so that it carries the load."""

    short: ClassVar[str] = "edge"
    step: Literal["fix bypass sling"] = "fix bypass sling"
    for_: Duration | None = None
    """How long it takes."""


class RemoveBypassSling(EdgeStep):
    """Take the sling off again."""

    short: ClassVar[str] = "edge"
    step: Literal["remove bypass sling"] = "remove bypass sling"
    for_: Duration | None = None
    """How long it takes."""


class Haul(_FromTop):
    """Raise a person's line from the top; all its rope passes the edges."""

    short: ClassVar[str] = "height"
    sign: ClassVar[int] = -1
    step: Literal["haul"] = "haul"
    height: Length
    """How far."""
    speed: Speed | None = None
    """How fast."""
    person: str | None = None
    """Whose line; one's own if left out."""
    advantage: Annotated[Measured, Quantity("factor", low=1.0)] = Measured.exact(1.0)
    """Mechanical advantage of the haul system."""


class Lower(_FromTop):
    """Lower a person's line from the top; all its rope passes the edges."""

    short: ClassVar[str] = "height"
    sign: ClassVar[int] = 1
    step: Literal["lower"] = "lower"
    height: Length
    """How far."""
    speed: Speed | None = None
    """How fast."""
    person: str | None = None
    """Whose line; one's own if left out."""


class LowerUnloaded(JobStep):
    """Take the person down with no load on the rope, its anchor end fixed."""

    short: ClassVar[str] = "height"
    hanging: ClassVar[bool] = True
    sign: ClassVar[int] = 1
    step: Literal["lower unloaded"] = "lower unloaded"
    height: Length
    """How far."""


class ShiftRope(JobStep):
    """Move the rope along at its releasable anchor, so that a fresh place meets the edge."""

    short: ClassVar[str] = "by"
    hanging: ClassVar[bool] = True
    step: Literal["shift rope"] = "shift rope"
    by: Length
    """How far."""


class Rest(JobStep):
    """Hang still."""

    short: ClassVar[str] = "for"
    staying: ClassVar[bool] = True
    step: Literal["rest"] = "rest"
    for_: Duration
    """How long."""


class Inspect(JobStep):
    """Look at the rope where it meets the edges."""

    short: ClassVar[str] = "by"
    step: Literal["inspect"] = "inspect"
    by: str | None = None
    """Who looks; the person whose step it is if left out."""
    from_: str | None = None
    """The edge from which; all that the person can see if left out."""
    protection: Handling = "left"
    """Whether protection is lifted to look under it."""
    for_: Duration | None = None
    """How long it takes."""


class SwapRope(JobStep):
    """Replace the working line."""

    short: ClassVar[str] = "rope"
    hanging: ClassVar[bool] = True
    takes_up: ClassVar[bool] = False
    step: Literal["swap rope"] = "swap rope"
    rope: str | None = None
    """Kind of rope in the store; the same kind if left out."""
    for_: Duration | None = None
    """How long it takes."""


class Event(JobStep):
    """Say that something has happened, for others to wait for."""

    short: ClassVar[str] = "name"
    step: Literal["event"] = "event"
    name: str
    """The event's name."""


class WaitFor(JobStep):
    """Wait until an event has happened."""

    short: ClassVar[str] = "name"
    step: Literal["wait for"] = "wait for"
    name: str
    """The event's name."""


class TakeOver(JobStep):
    """Take a second person onto one's own line."""

    short: ClassVar[str] = "person"
    hanging: ClassVar[bool] = True
    loading: ClassVar[bool] = True
    step: Literal["take over"] = "take over"
    person: str
    """Who is taken over."""
    for_: Duration | None = None
    """How long it takes."""


class Reciprocate(JobStep):
    """Drag the rope to and fro under a dead weight, as a machine does."""

    short: ClassVar[str] = ""
    hanging: ClassVar[bool] = True
    loading: ClassVar[bool] = True
    moving: ClassVar[bool] = True
    staying: ClassVar[bool] = True
    step: Literal["reciprocate"] = "reciprocate"
    load: Mass
    """The dead weight."""
    travel: Length
    """Travel end to end."""
    speed: Speed
    """Speed of the drive."""
    cycles: Count
    """To-and-fro cycles."""


class Repeat(JobStep):
    """Do some steps several times."""

    short: ClassVar[str] = ""
    step: Literal["repeat"] = "repeat"
    times: Count
    """How many times."""
    steps: tuple[Step, ...] = Field(min_length=1)
    """The steps."""


STEPS: tuple[type[Closed], ...] = (
    Ascend,
    Descend,
    Work,
    Swing,
    CrossEdge,
    PassReAnchor,
    PassDeviation,
    PlaceProtection,
    RemoveProtection,
    CheckProtection,
    FixBypassSling,
    RemoveBypassSling,
    Haul,
    Lower,
    LowerUnloaded,
    ShiftRope,
    Rest,
    Inspect,
    SwapRope,
    Event,
    WaitFor,
    TakeOver,
    Reciprocate,
    Repeat,
)
"""Every step, in the order of the reference page."""

_CHOICES = Choices("step", "step", STEPS)

Step = Annotated[
    Annotated[Ascend, Tag("ascend")]
    | Annotated[Descend, Tag("descend")]
    | Annotated[Work, Tag("work")]
    | Annotated[Swing, Tag("swing")]
    | Annotated[CrossEdge, Tag("cross edge")]
    | Annotated[PassReAnchor, Tag("pass re-anchor")]
    | Annotated[PassDeviation, Tag("pass deviation")]
    | Annotated[PlaceProtection, Tag("place protection")]
    | Annotated[RemoveProtection, Tag("remove protection")]
    | Annotated[CheckProtection, Tag("check protection")]
    | Annotated[FixBypassSling, Tag("fix bypass sling")]
    | Annotated[RemoveBypassSling, Tag("remove bypass sling")]
    | Annotated[Haul, Tag("haul")]
    | Annotated[Lower, Tag("lower")]
    | Annotated[LowerUnloaded, Tag("lower unloaded")]
    | Annotated[ShiftRope, Tag("shift rope")]
    | Annotated[Rest, Tag("rest")]
    | Annotated[Inspect, Tag("inspect")]
    | Annotated[SwapRope, Tag("swap rope")]
    | Annotated[Event, Tag("event")]
    | Annotated[WaitFor, Tag("wait for")]
    | Annotated[TakeOver, Tag("take over")]
    | Annotated[Reciprocate, Tag("reciprocate")]
    | Annotated[Repeat, Tag("repeat")],
    Discriminator(_CHOICES.tag),
    BeforeValidator(_CHOICES.normalise, json_schema_input_type=Any),
]
"""Any step."""

STEP: TypeAdapter[Step] = TypeAdapter(Step, config=ConfigDict(defer_build=True))
"""Reads one step."""
