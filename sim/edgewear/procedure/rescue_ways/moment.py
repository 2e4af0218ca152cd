"""Everybody at one moment of a run, read out of its log: where, on what, able or not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, isfinite, nan
from typing import TYPE_CHECKING, NamedTuple

from edgewear.job.detection import attended
from edgewear.job.log import Entry, Kind
from edgewear.job.site import ATTENDANT
from edgewear.layout import TICK_S
from edgewear.scenario.models import faults as typed
from edgewear.scenario.models import steps as planned
from edgewear.scenario.text.quantities import Measured
from edgewear.terms import WORKING

if TYPE_CHECKING:
    from edgewear.job.faults import Injected
    from edgewear.rigging.model import Section
    from edgewear.scenario.models.scenario import Scenario

NOT_TO_BE_LEFT = (
    planned.CrossEdge, planned.PassReAnchor, planned.PassDeviation, planned.TakeOver,
    planned.PlaceProtection, planned.RemoveProtection, planned.FixBypassSling,
    planned.RemoveBypassSling, planned.SwapRope,
)  # fmt: skip
"""Steps that somebody finishes before they come to help."""


BARES = (
    typed.ProtectionDisplaced, typed.ProtectionWornThrough, typed.ProtectionNotRefitted,
    typed.SleeveOnWrongSide, typed.RopeOffRoller,
)  # fmt: skip
"""Faults that leave an edge bare."""


JAMS = (typed.DeviceJammed, typed.DeviceDropped)
"""Faults that leave somebody hanging where they are, for a while or for good."""

JAM_WORDS = frozenset(jam.model_fields["fault"].default for jam in JAMS)
"""What a pause is told to be for while such a fault lasts."""


class Jam(NamedTuple):
    """A device that serves no more for a while."""

    person: str
    tick: int  # from which on
    what: str
    lasting: Measured


@dataclass(frozen=True)
class Fall:
    """A fall that a line ended."""

    from_m: float  # depth at which it began; nan: not known
    role: str  # of the line that caught
    step: int
    made: int  # of that step, a repeat, with the one under way


@dataclass
class Someone:
    """One person as the log leaves them."""

    name: str
    hangs: bool = False  # on a line of their own
    depth_m: float = nan
    role: str = WORKING  # of the line they hang on, or did last
    held_by: str = ""  # name of that line; "": the one of their role
    lost: set[str] = field(default_factory=set)  # roles of lines that hold no more
    able: bool = True
    stuck: str = ""  # the fault of a device that serves no more
    fell: bool = False
    carried_by: str = ""
    carries: list[str] = field(default_factory=list)
    went_back: bool = False
    stopped: bool = False  # their plan ended before its last step
    waits_for: str = ""  # in vain, where their plan ended so
    still_tick: int = 0  # from when on they hang still, where their plan ended so
    jammed_tick: int | None = None  # from when on a device keeps them still that may serve again
    step: int = 0
    made: int = 0  # of that step, a repeat, with the one under way; 0: the step is over
    begun_tick: int | None = None  # of the step under way
    known_tick: int = 0  # when their depth was last known
    drop_m: float | None = None  # the longest, as the run has it
    falls: list[Fall] = field(default_factory=list)
    dropped_from_m: float = nan
    caught_last: bool = False  # nothing moved them since a line caught them

    @property
    def hangs_from_tick(self) -> int:
        """From when on they hang still, a jam before their plan ended included."""
        jammed = self.still_tick if self.jammed_tick is None else self.jammed_tick
        return min(jammed, self.still_tick)


@dataclass
class Moment:
    """Everybody, and what no longer holds."""

    tick: int
    people: dict[str, Someone]
    gone: set[str] = field(default_factory=set)  # fixed points
    spent: set[str] = field(default_factory=set)  # lines whose core shows, or that parted
    parted: set[str] = field(default_factory=set)  # of these, those that parted
    bare: set[str] = field(default_factory=set)  # edges whose protection is not where it belongs
    away_until: float = 0.0  # tick at which the attendant is back
    heard_from: float = 0.0  # tick from which those at the edge and on the ropes hear each other
    busy_s: dict[str, float] = field(default_factory=dict)
    hang_from: dict[str, int] = field(default_factory=dict)
    """Tick from which somebody hangs next who does not now, where a run has it."""


def moment_at(
    log: Sequence[Entry],
    tick: int,
    scenario: Scenario,
    sections: Sequence[Section],
    faults: Iterable[Injected],
) -> Moment:
    """Read a log up to a tick; who is on the way somewhere is taken along it evenly."""
    walk = _Walk(scenario, sections, faults)
    for entry in log:
        if entry.tick <= tick:
            walk.take(entry)
    found = walk.now
    found.tick = tick
    for person in found.people.values():
        _on_the_way(person, log, found, scenario)
    return found


class _Walk:
    """Takes a log entry by entry."""

    def __init__(
        self, scenario: Scenario, sections: Sequence[Section], faults: Iterable[Injected]
    ) -> None:
        self.scenario = scenario
        self.roles = {s.line: s.role for s in sections}
        self.whose = {s.line: s.person for s in sections}
        self.faults = {one.name: one.fault for one in faults}
        self.now = Moment(0, {name: Someone(name) for name in scenario.job})

    def take(self, entry: Entry) -> None:
        """Let one entry change what is known."""
        if entry.kind is Kind.FAULT:
            self._fault(entry)
        elif entry.kind in (Kind.CORE_VISIBLE, Kind.PARTED):
            self.now.spent.add(entry.who)
            self.now.parted |= {entry.who} if entry.kind is Kind.PARTED else set()
        elif entry.kind in (Kind.PROTECTION_USED_UP, Kind.PROTECTION_DISPLACED):
            self.now.bare.add(entry.who)
        elif entry.kind is Kind.RIGGED_AGAIN:
            self.now.bare.discard(entry.detail)
        elif entry.who in self.now.people:
            self._person(self.now.people[entry.who], entry)

    def _fault(self, entry: Entry) -> None:
        fault = self.faults.get(entry.who)
        if isinstance(fault, typed.AnchorFails):
            self.now.gone.add(fault.anchor)
        elif isinstance(fault, BARES):
            self.now.bare.add(fault.edge)
        elif isinstance(fault, typed.CasualtyUnresponsive):
            self.now.people[fault.person].able = False
        elif isinstance(fault, typed.DeviceJammed | typed.DeviceDropped):
            if fault.for_ is None:
                self.now.people[fault.person].stuck = fault.fault
        elif isinstance(fault, typed.AttendantAway):
            self.now.away_until = _until(entry, fault.for_)
        elif isinstance(fault, typed.CommunicationLost):
            self.now.heard_from = _until(entry, fault.for_)

    def _person(self, who: Someone, entry: Entry) -> None:
        act = _ACTS.get(entry.kind)
        if act is not None:
            act(self, who, entry)
        if isfinite(entry.value) and entry.kind in PLACES:
            who.depth_m, who.known_tick, who.hangs = entry.value, entry.tick, True

    def begins(self, who: Someone, entry: Entry) -> None:
        """A step begins."""
        who.step, who.begun_tick, who.known_tick = entry.step, entry.tick, entry.tick
        who.still_tick, who.caught_last, who.made = entry.tick, False, 1

    def made(self, who: Someone, entry: Entry) -> None:
        """A step inside a repeat ends, and the next one begins."""
        who.still_tick, who.caught_last = entry.tick, False
        who.hangs = who.hangs and isfinite(entry.value)
        who.made += 1

    def ends(self, who: Someone, entry: Entry) -> None:
        """A step ends."""
        who.begun_tick, who.made = None, 0
        who.hangs = who.hangs and isfinite(entry.value)

    def stops(self, who: Someone, entry: Entry) -> None:
        """Somebody's plan ends before its last step."""
        who.stopped, who.begun_tick = True, None
        who.hangs = isfinite(entry.value)
        who.waits_for = entry.detail if entry.kind is Kind.WAITS_IN_VAIN else ""
        if entry.kind is Kind.STOPS and not who.caught_last:
            who.still_tick = entry.tick

    def loses(self, who: Someone, entry: Entry) -> None:
        """The line somebody hangs on holds no more."""
        who.lost.add(who.role)
        who.dropped_from_m = entry.value

    def caught(self, who: Someone, entry: Entry) -> None:
        """Another line has caught somebody; they hang still from then on."""
        from_m = who.dropped_from_m if isfinite(who.dropped_from_m) else who.depth_m
        drop_m = entry.value - from_m if isfinite(from_m) else 0.0
        who.drop_m = max(who.drop_m or 0.0, drop_m)
        who.role, who.held_by = self.roles.get(entry.detail, who.role), entry.detail
        who.falls.append(Fall(from_m, who.role, entry.step, who.made))
        who.still_tick, who.caught_last, who.dropped_from_m = entry.tick, True, nan

    def falls(self, who: Someone, entry: Entry) -> None:
        """Nothing holds somebody, or those they carry."""
        who.fell, who.able, who.hangs = True, False, False
        for name in who.carries:
            other = self.now.people[name]
            other.fell, other.able = True, False

    def takes_over(self, who: Someone, entry: Entry) -> None:
        """Somebody's weight comes onto another person's line."""
        other = self.now.people[entry.detail]
        other.carried_by, other.hangs = who.name, False
        who.carries.append(other.name)

    def moved(self, who: Someone, entry: Entry) -> None:
        """Somebody has been hauled or lowered."""
        other = self.now.people.get(entry.detail)
        if other is not None and not other.carried_by:
            up_m = entry.value if entry.kind is Kind.HAULED else -entry.value
            other.depth_m, other.hangs, other.known_tick = other.depth_m - up_m, True, entry.tick

    def back(self, who: Someone, entry: Entry) -> None:
        """Somebody is back where they began."""
        who.went_back = True

    def pauses(self, who: Someone, entry: Entry) -> None:
        """Something holds somebody up for a while; a jam keeps them still."""
        if entry.detail in JAM_WORDS:
            who.jammed_tick = entry.tick

    def goes_on(self, who: Someone, entry: Entry) -> None:
        """What held somebody up is over: they move again."""
        who.caught_last = False
        if entry.detail in JAM_WORDS:
            who.jammed_tick = None

    def swapped(self, who: Someone, entry: Entry) -> None:
        """Fresh rope takes the place of a lost line."""
        mine = {k for k, role in self.roles.items() if (self.whose[k], role) == (who.name, WORKING)}
        self.now.spent -= mine
        self.now.parted -= mine
        who.lost.discard(WORKING)
        who.role, who.held_by = WORKING, ""


def _until(entry: Entry, lasting: Measured | None) -> float:
    """The tick until which a fault lasts; inf: for good."""
    return inf if lasting is None else entry.tick + lasting.value / TICK_S


_ACTS = {
    Kind.BEGINS: _Walk.begins,
    Kind.MADE: _Walk.made,
    Kind.ENDS: _Walk.ends,
    Kind.STOPS: _Walk.stops,
    Kind.WAITS_IN_VAIN: _Walk.stops,
    Kind.LINE_LOST: _Walk.loses,
    Kind.CAUGHT: _Walk.caught,
    Kind.FALLS: _Walk.falls,
    Kind.TAKES_OVER: _Walk.takes_over,
    Kind.HAULED: _Walk.moved,
    Kind.LOWERED: _Walk.moved,
    Kind.RETREATED: _Walk.back,
    Kind.PAUSES: _Walk.pauses,
    Kind.GOES_ON: _Walk.goes_on,
    Kind.ROPE_SWAPPED: _Walk.swapped,
}

PLACES = frozenset((
    Kind.ENDS, Kind.MADE, Kind.HANGS_ON, Kind.CAUGHT, Kind.STOPS, Kind.WAITS_IN_VAIN,
    Kind.RETREATED, Kind.PASS_ENDS,
))  # fmt: skip
"""Entries of a person whose value is the depth at which they hang."""

MOVES = PLACES | set(_ACTS)
"""Entries that change where somebody is, or on what."""


def _on_the_way(person: Someone, log: Sequence[Entry], now: Moment, scenario: Scenario) -> None:
    """Put somebody in the midst of a step where they are by then, and say how long it still takes.

    The way between two known depths is taken evenly.
    """
    if person.begun_tick is None:
        return
    later = (e for e in log if e.who == person.name and e.tick > now.tick)
    known = next((e for e in later if e.kind in PLACES and isfinite(e.value)), None)
    if known is not None and person.hangs and isfinite(person.depth_m):
        share = (now.tick - person.known_tick) / max(known.tick - person.known_tick, 1)
        person.depth_m += share * (known.value - person.depth_m)
    step = scenario.job[person.name][person.step - 1]
    if isinstance(step, NOT_TO_BE_LEFT):
        ends = (e.tick for e in log if e.who == person.name and e.tick > now.tick
                and e.kind in (Kind.ENDS, Kind.STOPS))  # fmt: skip
        now.busy_s[person.name] = (next(ends, now.tick) - now.tick) * TICK_S


def people_of(scenario: Scenario, option: str) -> Mapping[str, bool]:
    """Everybody who may help, and whether they have lines of their own: the edges' watchers too."""
    lines = scenario.options[option].lines
    found = {name: name in lines for name in scenario.job}
    return found | {name: name in lines for name in watchers(scenario, option)}


def watchers(scenario: Scenario, option: str) -> list[str]:
    """Who watches an edge: whoever a line names, and the attendant of whom the scenario speaks."""
    named = [ATTENDANT] if attended(scenario) else []
    for both in scenario.options[option].lines.values():
        for line in (both.working, both.safety):
            if line is not None and line.attendant is not None:
                named.append(line.attendant)
    return list(dict.fromkeys(named))
