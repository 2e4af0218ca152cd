"""What was measured on site: it corrects a forecast."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, ConfigDict, Field, Tag, TypeAdapter
from pydantic.types import Discriminator

from edgewear.scenario.models.base import Closed, Count, Duration, Length
from edgewear.scenario.text.choices import Choices


class OnSite(Closed):
    """Where something was measured."""

    option: str | None = None
    """The option that was rigged; the only one if left out."""
    person: str | None = None
    """Whose line; the only person's if left out; due where the option has several."""


class MarkTravel(OnSite):
    """Travel of a tape mark at an edge, end to end, in some strokes."""

    short: ClassVar[str] = ""
    observation: Literal["mark travel"] = "mark travel"
    edge: str
    """The edge."""
    strokes: tuple[Length, ...] = Field(min_length=1)
    """Travel in each stroke watched; three are enough."""


class Bounce(OnSite):
    """A person hanging still is set bouncing and the bounces are counted."""

    short: ClassVar[str] = ""
    observation: Literal["bounce"] = "bounce"
    count: Count
    """Bounces counted."""
    in_: Duration
    """Time they took."""
    depth: Length
    """Depth below the last edge."""


class Inspection(OnSite):
    """What somebody saw who looked at the rope."""

    short: ClassVar[str] = ""
    observation: Literal["inspection"] = "inspection"
    edge: str
    """The edge at which the rope was looked at."""
    seen: Literal["nothing", "fuzz", "yarns cut", "core visible"]
    """What was seen."""
    after: Length | None = None
    """Rope climbed by then."""
    at: Duration | None = None
    """Time since the start of the job."""


OBSERVATIONS: tuple[type[OnSite], ...] = (MarkTravel, Bounce, Inspection)
"""Every kind of observation, in the order of the reference page."""

_CHOICES = Choices("observation", "observation", OBSERVATIONS)

Observation = Annotated[
    Annotated[MarkTravel, Tag("mark travel")]
    | Annotated[Bounce, Tag("bounce")]
    | Annotated[Inspection, Tag("inspection")],
    Discriminator(_CHOICES.tag),
    BeforeValidator(_CHOICES.normalise, json_schema_input_type=Any),
]
"""Any observation."""

OBSERVATION: TypeAdapter[Observation] = TypeAdapter(
    Observation, config=ConfigDict(defer_build=True)
)
"""Reads one observation."""
