"""What rigging says of an option: loads, catches, ropes, and what to mind beside its status."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from edgewear import spelt
from edgewear.findings.limits import AboveLimit, Drop, Figure
from edgewear.findings.plain import Worded


@dataclass(frozen=True)
class Pull:
    """A force on a fixed point or an edge."""

    size_n: float
    direction: tuple[float, ...]  # unit vector out, along, up


@dataclass(frozen=True)
class TouchedEdge:
    """An edge or deviation that a section bends over with its person at work."""

    name: str
    kind: str
    protection: str | None
    level: str | None
    setback_m: float
    below_m: float
    bend_deg: float
    loaded: bool
    tension_ratio: float
    tension_n: float
    load: Pull | None
    sideways_m: float


@dataclass(frozen=True)
class SectionFacts:
    """A section of a line with its person at work in it."""

    line: str
    role: str
    person: str
    rope: str
    anchor: str
    from_m: float  # may be infinite: from the line's start ...
    to_m: float  # ... to the rope's end
    work_depth_m: float
    load_n: float
    free_m: tuple[float, ...]
    stretch_m: float
    frequency_sliding_hz: float
    frequency_stuck_hz: float
    haul_at_top_n: float
    edges: tuple[TouchedEdge, ...]
    covers: Mapping[str, str | None]  # edge -> what lies on it


@dataclass(frozen=True)
class PointLoad:
    """The load on one fixed or led point in one case."""

    name: str
    use: str
    line: str
    case: str  # in work, rescue or catch
    peak_n: float
    direction: tuple[float, ...] | None
    kind: str
    each_fixing_n: tuple[float, ...]
    strength_n: float | None


@dataclass(frozen=True)
class Caught:
    """A person's weight come onto their safety line."""

    person: str
    line: str
    step: int
    mass_kg: float
    carried: tuple[str, ...] = field(metadata={"key": "with"})  # whom they took over
    depth_m: float
    over: tuple[str, ...]
    drop_m: float | None  # by the middle of everything; None: nothing ends it
    swing_m: float
    peak_n: float
    through_device_m: float | None
    clearance_m: Mapping[str, float | None]  # thing below -> way from the feet, careful end
    beyond: tuple[AboveLimit, ...]  # at the careful ends
    drop_careful_m: float | None  # 19 of 20 catches drop less; None: nothing ends it
    peak_careful_n: float
    made_of: Drop | None = None  # the middle drop's parts; None: nothing ends it

    @property
    def who(self) -> str:
        """Who is caught."""
        return " with ".join([self.person, *self.carried])


@dataclass(frozen=True)
class Bears:
    """What one part of a rigging is asked to bear in one case, beside what it may."""

    kind: str  # anchor, re-anchor, deviation, high directional, rope, backup device
    name: str
    lines: tuple[str, ...]
    people: tuple[str, ...]  # whose lines bear on it; the one of the case first
    case: str  # in work, rescue or catch
    load: float  # [N]; of a drop [m], infinite where nothing ends it
    others: float  # of it, what other people add who work on it meanwhile
    most: float | None  # None: nobody said
    unit: str


@dataclass(frozen=True)
class SlungEdge:
    """A bypass sling over an edge."""

    line: str
    edge: str
    name: str
    wears: float  # its wear for each unit of demand that it keeps from the rope
    holds_n: float  # its weakest part, at the low end


@dataclass(frozen=True)
class RopeFacts:
    """How much rope a line takes and has."""

    line: str
    rope: str
    available_m: float
    needed_m: float
    tail_m: float
    stopper: bool | None
    through_m: float = 0.0  # of what it needs, above the anchor before it is let out there


@dataclass(frozen=True)
class WordMeaning:
    """What a word or a distance of the survey was taken to mean."""

    address: str
    typed: str
    meaning: str
    value: float
    low: float
    high: float
    unit: str
    source: str
    basis: str = ""  # class, measured, taped or paced


@dataclass(frozen=True)
class Assumed:
    """A length that rigging takes for granted."""

    what: str
    value_m: float
    low_m: float
    high_m: float
    pedigree: str = "assumed"


@dataclass(frozen=True)
class WorkMove:
    """One number of how somebody is taken to move at a step of work in place, in SI.

    `said` is "step" where the step types it, "task" where a word of the library stands for it,
    "usual" where nothing is said; the latter two are assumed.
    """

    person: str
    step: int  # of their list, from 1
    lasts_s: float
    task: str | None
    what: str  # bounce, bounce rate, sway, sway rate, tool, duty
    value: float
    low: float
    high: float
    unit: str
    said: str
    address: str
    pedigree: str


@dataclass(frozen=True)
class BareEdge(Worded):
    """Bare edges under one line of which no status tells."""

    line: str
    edges: tuple[str, ...]
    works: bool  # loaded in work; else in a catch alone

    @property
    def parts(self) -> Mapping[str, Any]:
        """The finding by its parts and in words."""
        return {**vars(self), "words": self.words}

    @property
    def words(self) -> str:
        """The finding in words."""
        over = " and ".join(self.edges)
        if self.works:
            return f"bare edge: the loaded {self.line} runs over {over} without protection"
        return (
            f"if the working line is lost, the {self.line} catches over bare {over}: protect it "
            "there too"
        )


@dataclass(frozen=True)
class OffInWork(Worded):
    """A working line that travels further along its edges than their protection reaches."""

    line: str
    travels: tuple[str, ...]  # how far along which edge, over which piece

    @property
    def words(self) -> str:
        """The finding in words."""
        return (
            f"{self.line}: in work it travels further along the edge than its protection reaches: "
            f"{', '.join(self.travels)}; beside it the edge is bare"
        )


@dataclass(frozen=True)
class OffInCatch(Worded):
    """A safety line that a catch takes along its edges, off what protects it there."""

    line: str
    edges: tuple[str, ...]
    travels: tuple[str, ...]  # how far at most along which edge, over which piece

    @property
    def words(self) -> str:
        """The finding in a line, alike for options that differ in figures alone: see `remark`."""
        return f"in a catch off its protection: {self.line} at {', '.join(self.edges)}"

    @property
    def remark(self) -> str:
        """The finding in words, with how far it travels."""
        return (
            f"{self.line}: a catch would swing it along the edge and off its protection, up to "
            f"{', '.join(self.travels)}; beside it the edge is bare"
        )


@dataclass(frozen=True)
class NotLedOver(Worded):
    """A line laid out by places, beside edges that have none."""

    line: str
    edges: tuple[str, ...]

    @property
    def words(self) -> str:
        """The finding in words."""
        edges = " and ".join(self.edges)
        return (
            f"{self.line}: computed as clear of {edges}, of which no place is given: if it runs "
            "there, say so in its `over`"
        )


@dataclass(frozen=True)
class StandOff(Worded):
    """Somebody whose place is assumed, where that decides which edges their lines lie on."""

    person: str
    edge: str  # the outermost, beyond which they are taken to hang
    range_m: tuple[float, float, float]  # how far out: assumed, nearest, furthest
    moves: tuple[str, ...]  # at which end of the range which line meets another edge

    @property
    def words(self) -> str:
        """The finding in words."""
        usual, near, far = (f"{length_m:g}" for length_m in self.range_m)
        return (
            f"{self.person} hangs {usual} m out from {self.edge} (assumed, {near} to {far} m); "
            f"{', '.join(self.moves)}: measure it, and type it as `people/{self.person}/out`"
        )


@dataclass(frozen=True)
class HangsUnder(Worded):
    """Somebody taken to hang further out than anything below a re-anchor holds them there."""

    person: str
    re_anchor: str
    outs_m: tuple[float, float]  # as taken, and as far as something there holds them
    onto: tuple[str, ...]  # which lines would lie on which edges that they count as clear of

    @property
    def words(self) -> str:
        """The finding in words."""
        usual, held = (f"{length_m:.2g}" for length_m in self.outs_m)
        return (
            f"{self.person} is taken to hang {usual} m out below {self.re_anchor} too, where "
            f"nothing holds them further out than {held} m; there {' and '.join(self.onto)}, which "
            f"is not counted: measure it, and type it as `people/{self.person}/out`"
        )


@dataclass(frozen=True)
class SunkOnto(Worded):
    """An edge that a line is clear of as planned, and comes onto once its rope has stretched."""

    line: str
    edge: str
    sunk_m: float  # the most, by the middle of everything

    @property
    def words(self) -> str:
        """The finding in words."""
        return (
            f"{self.line}: comes onto {self.edge} once the rope has stretched, in the middle by up "
            f"to {spelt.tenths(self.sunk_m)}; it counts as loaded there"
        )


@dataclass(frozen=True)
class LongCatch(Worded):
    """A catch that is longer or harder than it should be."""

    who: str
    above: AboveLimit
    made_of: Drop | None = None  # None: nothing ends it

    @property
    def words(self) -> str:
        """The finding in words, a drop with what it is made of."""
        return f"if the working line is lost, {self.who}: {self.above.told(self._made_of)}"

    @property
    def _made_of(self) -> str:
        drops = self.above.figure is Figure.DROP
        if not drops or self.made_of is None:
            return ""
        middle = f"in the middle {spelt.tenths(self.made_of.whole_m)}: " * self.above.careful
        return f"{middle}{self.made_of.words}"

    @property
    def parts(self) -> Mapping[str, Any]:
        """The finding by its parts and in words."""
        return {
            "who": self.who,
            "figure": self.above.figure.value,
            "found": self.above.found,
            "told": self.above.told(self._made_of),
            "plain": self.above.told(),
            "short": self.above.short,
            "words": self.words,
        }


@dataclass(frozen=True)
class Facts:
    """Everything that a report says of an option's rigging."""

    option: str
    control: str
    why_not_higher: Mapping[str, str]
    status: tuple[str, ...]
    edge_levels: Mapping[str, str]
    start_depth_m: float
    starts_m: Mapping[str, float]
    shared: tuple[str, ...]
    independence: str
    warnings: tuple[str, ...]
    mind: tuple[Worded, ...]  # stands beside the status everywhere
    drawing: Mapping[str, Any]  # points and names; plain, because a page alone reads it
    sections: tuple[SectionFacts, ...]
    loads: tuple[PointLoad, ...]
    transfers: tuple[Caught, ...]
    ropes: tuple[RopeFacts, ...]
    words: tuple[WordMeaning, ...]
    assumed: tuple[Assumed, ...]
    work: tuple[WorkMove, ...] = ()  # how people are taken to move at work in place
    bare_edges: tuple[Mapping[str, Any], ...] = ()  # of `mind`, by their parts
    catches: tuple[Mapping[str, Any], ...] = ()  # of `mind`, by their parts
    bears: tuple[Bears, ...] = ()
    slings: tuple[SlungEdge, ...] = ()

    @property
    def works_bare(self) -> bool:
        """Whether somebody works over a bare edge that no status tells of."""
        return any(isinstance(one, BareEdge) and one.works for one in self.mind)
