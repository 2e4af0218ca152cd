"""A scenario as the other rooms see it: frozen, in SI, options fully merged.

Every physical quantity is a `Measured`. The text under a field is what the reference page says
about it; the key people type is the field's name with blanks.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Literal, NamedTuple

from pydantic import Field, PrivateAttr

from edgewear.errors import UsageError
from edgewear.scenario.models.base import (
    Along,
    Angle,
    Closed,
    Count,
    Duration,
    Factor,
    Force,
    Length,
    Out,
    Up,
    YesNo,
)
from edgewear.scenario.models.faults import Fault
from edgewear.scenario.models.gear import Backup, Edge, Obstacle, Protection, Rope, Sling
from edgewear.scenario.models.kit import Lying
from edgewear.scenario.models.observations import Observation
from edgewear.scenario.models.people import (
    Detection,
    Person,
    System,
    Technique,
    Times,
    WorkDefaults,
)
from edgewear.scenario.models.steps import Step
from edgewear.scenario.models.study import Study
from edgewear.scenario.models.wear import WearParameters
from edgewear.scenario.text.quantities import Measured, Quantity
from edgewear.terms import Level

Setting = Literal["industrial", "alpine", "test"]

ReactionWord = Literal[
    "stop", "carry on", "re-rig", "swap rope", "retreat on safety line", "call rescue"
]


class Anchor(Closed):
    """A fixed point that a line starts from or is led to."""

    out: Out | None = None
    """Distance out from the face; behind it is negative, or `22 m back`."""
    along: Along | None = None
    """Distance along the face."""
    up: Up | None = None
    """Height; below is negative, or `4 m down`."""
    kind: Literal["single", "pair", "y-hang"] = "single"
    """How many fixings share the load."""
    strength: Force
    """Rated strength."""
    is_: str | None = None
    """What it is fixed to: a word of the library."""
    releasable: YesNo = False
    """Whether the line can be moved and lowered from it."""


class Pass(Closed):
    """An edge that a line runs over, its bend given directly."""

    edge: str
    """The edge."""
    after: Length
    """Rope from the anchor or the edge before it."""
    bend: Angle
    """Angle by which the line turns; 0 is straight."""


class Deviation(Closed):
    """A redirect that lowers or removes a bend."""

    anchor: str
    """The anchor it hangs on."""
    sling: Length
    """Length between that anchor and the line."""
    strength: Force
    """Strength of the sling and connectors."""


class Shift(Closed):
    """Rope let through now and then, at the releasable anchor or re-anchor that carries."""

    by: Length
    """How far."""
    every: Count
    """After how many strokes."""


class Line(Closed):
    """One of a person's lines as an option rigs it."""

    role: Literal["working line", "safety line"]
    anchor: str | None
    """None: the bends are given directly."""
    rope: str
    over: tuple[Pass, ...] = ()
    """The path given directly; empty: it follows from the coordinates."""
    protect: dict[str, Protection] = Field(default_factory=dict)
    """Edge -> protection in place (or held ready for a step that places it)."""
    re_anchor: tuple[str, ...] = ()
    """Further anchors the line is fixed to, from the top."""
    deviations: tuple[Deviation, ...] = ()
    shares_protection: bool = False
    """Whether the protection is the working line's own, so that both lines lie on it."""
    high_directional: str | None = None
    """The anchor, a frame or tripod, that lifts the line clear."""
    bypass: dict[str, Sling] = Field(default_factory=dict)
    """Edge -> sling clamped to the line above and below it."""
    shift: Shift | None = None
    backup: Backup | None = None
    """The device that arrests the person; safety lines have one."""
    attendant: str | None = None
    """Who watches this line at its edges."""
    turned: YesNo = False
    """Whether the rope's end B is at the anchor, not end A."""
    tail: Annotated[Measured, Quantity("length", low=0.0)] = Measured.exact(0.0, "m")
    """Rope between its end and the anchor; shifts which part lies over which edge."""
    knots: tuple[Length, ...] = ()
    """Knots in the rope that devices are passed over, each by the rope from the anchor to it."""
    slack: Annotated[Measured, Quantity("length", low=0.0)] | None = None
    """Slack tied into a safety line, fallen through before it is tight; 0.2 m if left out."""


class PersonLines(Closed):
    """The lines of one person."""

    working: Line
    safety: Line | None = None


class Option(Closed):
    """A way of rigging the job, with everything that all options share merged in."""

    lines: dict[str, PersonLines]
    """Person -> lines; a machine bench has the person `machine`."""
    people: dict[str, Person]
    """Person -> how they move and what they weigh in this option."""
    why_not_higher: dict[Level, str] = Field(default_factory=dict)
    """Level of control -> why it was not used."""
    both_lines_loaded: YesNo = False
    """Whether working and safety line share the load all the time."""


class Reaction(Closed):
    """What somebody does when something is seen."""

    do: ReactionWord
    by: str | None = None
    """Who sees it and calls; None: whoever can see it."""
    delay: Duration = Measured.exact(0.0, "s")


class Limits(Closed):
    """What a rescue and a catch must keep to."""

    reach: Duration | None = None
    """Time from the fault within which a rescue must have reached the casualty."""
    release: Duration | None = None
    """Time within which it must have released them from their lines."""
    ground: Duration | None = None
    """Time within which it must have brought them down."""
    drop: Length | None = None
    """Longest drop onto another line; 2 m if left out (EN 12841, from memory)."""
    peak: Force | None = None
    """Largest peak of a catch; 6 kN if left out (EN 12841, from memory)."""
    hands: Force | None = None
    """Largest pull of one person at a haul; 250 N if left out (assumed, 150-400 N)."""
    suspension: Duration | None = None
    """Longest time somebody may hang still, from the fault until they are down or can go on."""


class Reader(NamedTuple):
    """Who reads scenarios: handed to each, so that models need not know how files are read."""

    with_values: Callable[[Scenario, Mapping[str, str | float]], Scenario]
    addresses_of: Callable[[Scenario, str], tuple[str, ...]]


class Scenario(Closed):
    """Everything a scenario file says, resolved."""

    title: str
    setting: Setting
    target: float | None = None
    """Sheath left that is wanted, 5th percentile [1]."""
    anchors: dict[str, Anchor] = Field(default_factory=dict)
    edges: dict[str, Edge] = Field(default_factory=dict)
    legs_over: dict[str, str] = Field(default_factory=dict)
    """Anchor surveyed by legs -> the edge that its first leg leads over."""
    ropes: dict[str, Rope] = Field(default_factory=dict)
    people: dict[str, Person] = Field(default_factory=dict)
    kit: dict[str, int] = Field(default_factory=dict)
    """Shared gear -> how many."""
    kit_places: dict[str, tuple[Lying, ...]] = Field(default_factory=dict)
    """Shared gear -> where its pieces lie; on top where nothing is said."""
    options: dict[str, Option]
    job: dict[str, tuple[Step, ...]]
    """Person -> steps."""
    faults: dict[str, Fault] = Field(default_factory=dict)
    when: dict[str, Reaction] = Field(default_factory=dict)
    """Trigger (`core visible`, `parted`, an event) -> reaction."""
    study: Study | None = None
    observed: tuple[Observation, ...] = ()
    """What was measured on site."""
    limits: Limits = Limits()
    below: dict[str, Measured] = Field(default_factory=dict)
    """What lies below -> its height [m]; for clearances."""
    beside: dict[str, Obstacle] = Field(default_factory=dict)
    """What stands beside the work, in the way of a swing."""
    wear: WearParameters
    times: Times
    work: WorkDefaults
    weather: dict[str, Factor] = Field(default_factory=dict)
    """Wear factor of an edge that is dry, wet, gritty or icy."""
    detection: Detection
    techniques: dict[str, Technique] = Field(default_factory=dict)
    """Every technique by its word, for steps and faults that name one."""
    systems: dict[str, System] = Field(default_factory=dict)
    """Every ascent system by its word."""
    tasks: dict[str, WorkDefaults] = Field(default_factory=dict)
    """How people move at each task, by its word."""
    protections: dict[str, Protection] = Field(default_factory=dict)
    """Every kind of protection by its word."""
    edge_classes: dict[str, Edge] = Field(default_factory=dict)
    """Every edge class by its word, without a place."""
    notes: dict[str, str] = Field(default_factory=dict)
    """author, checker, revision, survey date."""
    warnings: tuple[str, ...] = ()
    """What was found that is no error, each with its address."""
    path: str = ""
    source: str = ""
    """The file's text as read."""
    library_source: str | None = None
    """The text of the user's own library."""
    _read_by: Reader | None = PrivateAttr(default=None)

    def lying(self, word: str) -> tuple[Lying, ...]:
        """Where the pieces of one word of the kit lie; nothing where there are none."""
        many = self.kit.get(word, 0)
        return self.kit_places.get(word) or ((Lying(count=many),) if many else ())

    def at_hand(self, word: str) -> int | None:
        """How many pieces lie on top or are carried; None: nobody counts them."""
        if word not in self.kit:
            return None
        return sum(some.count for some in self.lying(word) if some.at_hand)

    def with_values(self, values: Mapping[str, str | float]) -> Scenario:
        """Read the scenario again with some inputs replaced, as if they had been typed.

        Parameters:
            values: address, perhaps with `*` -> text as it would be typed, or a number in SI.

        Raises:
            ScenarioError: an address leads nowhere, or the result cannot be used.
        """
        return self._reader().with_values(self, values)

    def resolve_addresses(self, pattern: str) -> tuple[str, ...]:
        """Spell out the addresses that a pattern with `*` stands for.

        Parameters:
            pattern: such as `options/*/over/1/after`.

        Raises:
            ScenarioError: it leads nowhere.
        """
        return self._reader().addresses_of(self, pattern)

    def read_by(self, reader: Reader) -> Scenario:
        """Say who read the scenario and can read it again; returns itself."""
        self._read_by = reader
        return self

    def _reader(self) -> Reader:
        if self._read_by is None:
            raise UsageError("this scenario was not read from a text, so no input can be replaced")
        return self._read_by
