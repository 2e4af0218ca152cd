"""Steps that change what lies on an edge."""

from __future__ import annotations

from typing import ClassVar, Literal

from edgewear.scenario.models.base import Duration
from edgewear.scenario.models.step import EdgeStep


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
