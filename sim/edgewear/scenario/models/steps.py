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
    Length,
    Rate,
    Share,
    Speed,
)
from edgewear.scenario.models.edge_steps import CheckProtection as CheckProtection
from edgewear.scenario.models.edge_steps import FixBypassSling as FixBypassSling
from edgewear.scenario.models.edge_steps import PlaceProtection as PlaceProtection
from edgewear.scenario.models.edge_steps import RemoveBypassSling as RemoveBypassSling
from edgewear.scenario.models.edge_steps import RemoveProtection as RemoveProtection
from edgewear.scenario.models.people import BounceSize, SwaySize
from edgewear.scenario.models.step import FromTop, JobStep
from edgewear.scenario.text.choices import Choices
from edgewear.scenario.text.quantities import Measured, Quantity

Reaction = Annotated[Measured, Quantity("force", low=0.0)]
MOST_DEAD_WEIGHT_KG = 2000.0
"""About what the ropes of this trade break at; a wear test stays far below."""
DeadWeight = Annotated[Measured, Quantity("mass", low=0.0, high=MOST_DEAD_WEIGHT_KG, above=True)]
Handling = Literal["lifted", "left"]


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
    task: str | None = None
    """What is done: a word of the library, whose numbers hold where the step gives none."""
    bounce: BounceSize | None = None
    """Vertical amplitude; none if left out."""
    bounce_rate: Rate | None = None
    """How often."""
    sway: SwaySize | None = None
    """Sideways amplitude."""
    sway_rate: Rate | None = None
    """How often."""
    tool: Reaction | None = None
    """Amplitude of a tool's reaction, `0 N` allowed; none if left out."""
    duty: Share | None = None
    """Share of the time in which the person moves; the rest they hang still."""


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
    def lifts(self) -> bool:
        """Whether protection is lifted off the edge while the devices pass it."""
        return self.protection == "lifted"

    @property
    def changes(self) -> bool:
        """Whether an edge may be another than before: its protection is lifted meanwhile."""
        return self.lifts


class PassReAnchor(JobStep):
    """Pass a re-anchor; put into the plan by itself where it is left out."""

    short: ClassVar[str] = "anchor"
    hanging: ClassVar[bool] = True
    holding: ClassVar[bool] = True
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
    holding: ClassVar[bool] = True
    step: Literal["pass deviation"] = "pass deviation"
    anchor: str
    """The deviation's anchor."""
    for_: Duration | None = None
    """How long it takes."""


class Haul(FromTop):
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


class Lower(FromTop):
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
    """Move the rope along at the releasable anchor that carries: a fresh place meets the edge."""

    short: ClassVar[str] = "by"
    hanging: ClassVar[bool] = True
    holding: ClassVar[bool] = True
    step: Literal["shift rope"] = "shift rope"
    by: Length
    """How far; its person comes down by as much."""

    def deeper_m(self, person: str, by: str) -> float:
        """By how much it takes a person down: whoever hangs there comes down with the rope [m]."""
        return self.by.value if person == by else 0.0

    def let_out_m(self, person: str, by: str) -> float:
        """How much rope it lets out at the top of a person's line [m]."""
        return self.deeper_m(person, by)


class Rest(JobStep):
    """Hang still."""

    short: ClassVar[str] = "for"
    staying: ClassVar[bool] = True
    holding: ClassVar[bool] = True
    step: Literal["rest"] = "rest"
    for_: Duration
    """How long."""


class Inspect(JobStep):
    """Look at the rope where it meets the edges."""

    short: ClassVar[str] = "by"
    holding: ClassVar[bool] = True
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
    holding: ClassVar[bool] = True
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
    load: DeadWeight
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
