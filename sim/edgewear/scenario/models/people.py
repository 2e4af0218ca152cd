"""People and how they move, in SI."""

from __future__ import annotations

from typing import Annotated

from edgewear.scenario.models.base import (
    Along,
    Closed,
    Duration,
    Factor,
    Length,
    Out,
    Rate,
    Share,
    Speed,
)
from edgewear.scenario.text.quantities import Measured, Quantity

MOST_KG = 400.0
"""Of a person, or of two with a stretcher on one rope: beyond it a mass is a slip of the pen."""

Weight = Annotated[Measured, Quantity("mass", accuracy="mass", low=0.0, high=MOST_KG, above=True)]

MOST_BOUNCE_M = 1.0
"""Up and down to either side: who bends their knees and lifts their arms comes to less."""
MOST_SWAY_M = 5.0
"""To either side, in place: whoever works further aside than that swings there or hangs anew."""

BounceSize = Annotated[Measured, Quantity("length", low=0.0, high=MOST_BOUNCE_M)]
SwaySize = Annotated[Measured, Quantity("length", low=0.0, high=MOST_SWAY_M)]


class Technique(Closed):
    """How a person climbs and descends."""

    name: str
    """Its word."""
    rise: Length
    """Net height of a stroke."""
    sit_back: Annotated[Measured, Quantity("length", low=0.0)]
    """Drop at the end of a stroke: slack that the lower device did not take up."""
    rise_time: Duration
    """Standing up, before the legs' limit."""
    drop_time: Duration
    """Sitting back."""
    pause_time: Duration
    """Until the next stroke."""
    amplitude_cv: Factor
    """Coefficient of variation of a stroke's height."""
    timing_cv: Factor
    """Coefficient of variation of its times."""
    skill: Share
    """0 keeps a fixed period, 1 waits for the bounce."""
    fatigue: Factor
    """Share of the way to jerky that each stroke adds."""
    descent_speed: Speed
    """Speed of a descent."""
    stop_distance: Length
    """Way in which a descent is stopped."""
    stop_every: Length
    """Height between two stops of a descent."""


class System(Closed):
    """Devices that a person climbs with."""

    name: str
    """Its word."""
    rise_factor: Factor
    """Net height of a stroke relative to pre-threaded."""
    slack: Annotated[Measured, Quantity("length")]
    """Added to the sit-back."""


class Shifts(Closed):
    """Working hours."""

    length: Duration
    """Length of a shift."""
    break_every: Duration | None = None
    """Work between two breaks."""
    break_: Duration | None = None
    """Length of a break."""


class Person(Closed):
    """Somebody who hangs on the ropes."""

    mass: Weight
    """With clothing, harness, kit and tools."""
    technique: Technique
    """How they move: a word of the library, or its numbers."""
    system: System
    """Devices: a word of the library, or its numbers."""
    body_stiffness: Annotated[Measured, Quantity("body stiffness", low=0.0, above=True)]
    """Spring between rope and body's mass."""
    force_ratio: Factor
    """Largest push of the legs over the weight."""
    start: Annotated[Measured, Quantity("length", low=0.0)] | None = None
    """Depth below the last edge at the start; unused if the job begins by crossing an edge."""
    out: Out | None = None
    """Where they hang, out from the face; assumed 0.3 m beyond the outermost edge if left out."""
    along: Along | None = None
    """Where they hang, along the face."""
    shift: Shifts | None = None
    """Working hours."""


class Times(Closed):
    """How long things take that nobody timed; the library's unless a step says so."""

    cross_edge: Duration
    """Passing an edge with the devices."""
    pass_re_anchor: Duration
    """Passing a re-anchor."""
    pass_deviation: Duration
    """Passing a deviation."""
    pass_knot: Duration
    """Passing a knot in the rope with the devices."""
    place_protection: Duration
    """Placing protection."""
    remove_protection: Duration
    """Removing protection."""
    check_protection: Duration
    """Looking at protection and putting it right."""
    fix_bypass_sling: Duration
    """Clamping a bypass sling."""
    remove_bypass_sling: Duration
    """Removing it."""
    inspect: Duration
    """Looking at the rope."""
    swap_rope: Duration
    """Replacing a rope."""
    take_over: Duration
    """Taking a second person onto one's line."""
    shift_rope: Duration
    """Letting rope through at a releasable anchor."""
    react: Duration
    """From seeing something to stopping."""
    call: Duration
    """Until an attendant's call reaches people."""


class WorkDefaults(Closed):
    """How a person moves at work in place, where the step does not say: usually, or at a task."""

    bounce: BounceSize
    """Vertical amplitude."""
    bounce_rate: Rate
    """How often."""
    sway: SwaySize
    """Sideways amplitude."""
    sway_rate: Rate
    """How often."""
    tool: Annotated[Measured, Quantity("force", low=0.0)]
    """Amplitude of a tool's reaction."""
    duty: Share
    """Share of the time in which the person moves; the rest they hang still."""


class Detection(Closed):
    """Chance that a trained eye at the edge sees wear in one look."""

    quarter_worn: Factor
    """Sheath wear 0.25."""
    half_worn: Factor
    """Sheath wear 0.5."""
    core_visible: Factor
    """The core shows."""
    again: Duration
    """Time between two looks of an edge attendant."""
