"""One class a step: what a person does at that point of the job."""

from __future__ import annotations

from edgewear.job.steps.base import Repeat, Step
from edgewear.job.steps.crew import Event, Inspect, Rest, TakeOver, WaitFor
from edgewear.job.steps.edges import (
    CheckProtection,
    FixBypassSling,
    PlaceProtection,
    RemoveBypassSling,
    RemoveProtection,
)
from edgewear.job.steps.moving import (
    Ascend,
    CrossEdge,
    Descend,
    HangOn,
    LowerUnloaded,
    PassDeviation,
    PassReAnchor,
    Swing,
    WorkInPlace,
)
from edgewear.job.steps.ropes import Feed, Haul, ShiftRope, SwapRope

__all__ = [
    "Ascend",
    "CheckProtection",
    "CrossEdge",
    "Descend",
    "Event",
    "Feed",
    "FixBypassSling",
    "HangOn",
    "Haul",
    "Inspect",
    "LowerUnloaded",
    "PassDeviation",
    "PassReAnchor",
    "PlaceProtection",
    "RemoveBypassSling",
    "RemoveProtection",
    "Repeat",
    "Rest",
    "ShiftRope",
    "Step",
    "SwapRope",
    "Swing",
    "TakeOver",
    "WaitFor",
    "WorkInPlace",
]
