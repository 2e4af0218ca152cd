"""What people share on a site: edges with what lies on them, kit, crew, and what has happened."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple, Protocol

import simpy

from edgewear.case import Case, covers
from edgewear.case.edge_conditions import BYPASS, Condition, slung_later
from edgewear.case.nominal_records import cover_of
from edgewear.job.line import Line, Process
from edgewear.job.log import Kind
from edgewear.job.moves import Move
from edgewear.job.worker import Worker
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.problems import use_of
from edgewear.scenario.models.gear import Protection
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.models.steps import PlaceProtection
from edgewear.scenario.models.walking import leaves

ATTENDANT = "edge attendant"

NEVER = 2**62
"""A tick after everything."""


ELSEWHERE = "none lies where the work is"
"""Who has the pieces of a word that lies elsewhere, as waits in vain are told."""


class Place(NamedTuple):
    """An edge as one section meets it."""

    row: int
    edge: int


class Cover(NamedTuple):
    """What lies between rope and edge; friction energy and sliding there when it was put down."""

    word: str | None
    energy_j: float = 0.0
    slid_m: float = 0.0


class Eyes(Protocol):
    """Whoever decides what a look shows."""

    def look(self, worker: Worker, by: str, from_edge: str | None, lifted: bool) -> None:
        """Look at ropes where they meet the edges."""
        ...


Tell = Callable[[str, str, int], None]
"""(what, who, step): told when an event of the procedure happens."""


TellSeen = Callable[[str, str, int, str, str], None]
"""(what, line, step, edge, by): told when a look shows something."""


class Kit:
    """Shared gear, counted: each piece is somebody's until it is put back."""

    def __init__(self, env: simpy.Environment, counts: Mapping[str, int]) -> None:
        """Begin with so many pieces of each word at hand; of none whoever asks waits in vain."""
        self._stock = {word: simpy.Resource(env, max(many, 1)) for word, many in counts.items()}
        self._out: dict[tuple[str, str], simpy.resources.resource.Request] = {}
        self._holders: dict[tuple[str, str], str] = {}
        self._elsewhere = {word for word, many in counts.items() if many < 1}
        for word in self._elsewhere:
            self._stock[word].request()
            self._holders[word, ELSEWHERE] = ELSEWHERE

    def take(self, worker: Worker, word: str, use: str) -> Process:
        """Take a piece for a use, waiting if all are out; what is not counted is at hand."""
        if word not in self._stock or (word, use) in self._out:
            return
        request = self._stock[word].request()
        try:
            yield from worker.wait(request, f"{word} (all are out: {self.holders(word)})")
        except BaseException:
            request.cancel()
            self._stock[word].release(request)
            raise
        self._out[word, use], self._holders[word, use] = request, f"{worker.name} at {use}"

    def lay_out(self, word: str, use: str) -> None:
        """Note a piece that is in use before anybody starts."""
        if word in self._stock and (word, use) not in self._out:
            self._out[word, use] = self._stock[word].request()
            self._holders[word, use] = use

    def give_back(self, word: str, use: str) -> None:
        """Put a piece back."""
        request = self._out.pop((word, use), None)
        if request is not None:
            self._stock[word].release(request)
            del self._holders[word, use]

    def pack_up(self) -> None:
        """Put everything back."""
        for word, use in list(self._out):
            self.give_back(word, use)

    def holders(self, word: str) -> str:
        """Say who has the pieces."""
        return ", ".join(who for (kind, _), who in self._holders.items() if kind == word)

    def out(self, word: str) -> int:
        """How many pieces are out."""
        return len([1 for kind, _ in self._out if kind == word])

    @property
    def words(self) -> tuple[str, ...]:
        """What is counted."""
        return tuple(self._stock)


class Site:
    """The edges, the kit and the crew that everybody on a job shares."""

    def __init__(
        self,
        env: simpy.Environment,
        scenario: Scenario,
        case: Case,
        lines: Mapping[int, Line],
    ) -> None:
        """Lay everything out as it is when the job starts.

        Parameters:
            lines: row of the case's lines -> the line it is a section of.
        """
        self.env, self.scenario, self.case, self.lines = env, scenario, case, dict(lines)
        self.option: Option = scenario.options[case.option]
        self.kit = Kit(env, {word: scenario.at_hand(word) or 0 for word in scenario.kit})
        self.attendant = simpy.Resource(env, 1)
        self.attendant_back = 0  # tick at which the attendant is at the edges again
        self.heard_from = 0  # tick from which those at the edge and on the ropes hear each other
        self.not_refitted: set[str] = set()  # edges whose protection stays off once lifted
        self.crossed: set[str] = set()
        self.skipped: set[str | None] = set()  # whose inspections do not take place; None: all
        self.workers: dict[str, Worker] = {}
        self.disturbed = False  # something went wrong: the plan may not come out any more
        self.eyes: Eyes | None = None
        self.tell: Tell = lambda what, who, step: None
        self.tell_seen: TellSeen = lambda what, line, step, edge, by: None
        self._rows = {condition: k for k, condition in enumerate(case.conditions)}
        self._covers: dict[Place, Cover] = {}
        self._on_row: dict[int, list[Place]] = {}  # section -> where it meets edges
        self._at_edge: dict[str, list[Place]] = {}  # edge -> where sections meet it
        self._kinds: dict[tuple[Place, str], Protection] = {}
        self._state: dict[str, str] = {n: edge.state for n, edge in scenario.edges.items()}
        self._events: dict[str, simpy.Event] = {}
        for row, section in enumerate(case.rigged.sections):
            for column, edge in enumerate(section.edges):
                if edge.kind == "edge":
                    place = Place(row, column)
                    self._covers[place] = Cover(edge.protection)
                    self._on_row.setdefault(row, []).append(place)
                    self._at_edge.setdefault(self.name(place), []).append(place)
        self._expected = {place: cover.word for place, cover in self._covers.items()}
        self._placers = _placers(scenario)
        for place, word in self._expected.items():
            if word:
                self.kit.lay_out(word, self.use(place))
        self._sling()

    def name(self, place: Place) -> str:
        """Name of an edge."""
        return self.case.edge_names[place.row][place.edge]

    def places(self, edge: str) -> list[Place]:
        """Where lines meet an edge."""
        return self._at_edge.get(edge, [])

    def cover(self, edge: str) -> str | None:
        """What lies on an edge now; the first line's if they differ."""
        return next((self._covers[p].word for p in self.places(edge)), None)

    def word_at(self, place: Place) -> str | None:
        """What lies between rope and edge where one section meets it."""
        return self._covers[place].word

    def skips_inspection(self, *names: str) -> bool:
        """Tell whether an inspection by or for somebody does not take place."""
        return None in self.skipped or any(name in self.skipped for name in names)

    def meant(self, edge: str, word: str | None = None) -> dict[Place, str]:
        """What belongs on an edge, line by line: what is named, or what the option rigs there."""
        found = {}
        for place in self.places(edge):
            own = line_of(self.option, self.case.rigged.sections[place.row]).protect.get(edge)
            if word or own:
                found[place] = word or (own.is_ if own else "")
        return found

    def put(self, edge: str, word: str | None, only: Place | None = None) -> None:
        """Put something on an edge, or take it off (None), for every line that meets it."""
        for place in self.places(edge):
            if only is None or place == only:
                self._put(place, word)

    def owner(self, place: Place) -> str:
        """Whose line meets an edge there."""
        return self.case.rigged.sections[place.row].person

    def use(self, place: Place) -> str:
        """What a piece of protection there is in use for: an edge, and a person or a line."""
        return use_of(self.option, self.case.rigged.sections[place.row], self.name(place))

    def placed_by(self, edge: str, who: str) -> list[Place]:
        """Where protection lies that somebody puts on an edge.

        Everybody who places it there places it for their own lines; who does not leaves theirs
        to the others.
        """
        placers = self._placers.get(edge, set())
        return [
            place
            for place in self.places(edge)
            if self.owner(place) == who or self.owner(place) not in placers
        ]

    def fit(self, edge: str, who: str, word: str | None = None) -> None:
        """Put on an edge what belongs there, for the lines of those for whom somebody does it."""
        meant = self.meant(edge, word)
        for place in self.placed_by(edge, who):
            if place in meant:
                self._expected[place] = meant[place]
                self._put(place, meant[place])

    def refit(self, edge: str, only: Place | None = None) -> None:
        """Put back what should lie on an edge by now."""
        for place in self.places(edge):
            if only is None or place == only:
                self._put(place, self._expected[place])

    def take_off(self, edge: str, who: str) -> None:
        """Take protection off an edge for good, where somebody placed it."""
        for place in self.placed_by(edge, who):
            self._expected[place] = None
            self._put(place, None)

    def missing(self, edge: str) -> bool:
        """Tell whether protection is not where it should be by now."""
        return any(
            self._expected[place] is not None
            and self._covers[place].word not in (self._expected[place], BYPASS)
            for place in self.places(edge)
        )

    def weather(self, state: str) -> None:
        """Rain, grit or ice reaches every edge."""
        self._state = dict.fromkeys(self._state, state)
        for row, places in self._on_row.items():
            self._edit(row, places)

    def raise_event(self, name: str) -> None:
        """Something has happened."""
        event = self.event(name)
        if not event.triggered:
            event.succeed(name)

    def event(self, name: str) -> simpy.Event:
        """What is triggered when something of that name happens for the first time."""
        if name not in self._events:
            self._events[name] = self.env.event()
        return self._events[name]

    def happened(self, name: str) -> bool:
        """Tell whether something has happened."""
        return name in self._events and self._events[name].triggered

    def used_up(self, move: Move) -> list[tuple[Kind, str, str]]:
        """Protection that a movement has worn through or dragged off (what, edge, kind)."""
        gone = []
        for place in self._on_row.get(move.line, ()):
            cover = self._covers[place]
            if cover.word is not None and cover.word != BYPASS:
                kind = self._kind(place, cover.word)
                if self._through(place, cover, kind):
                    gone.append((Kind.PROTECTION_USED_UP, self.name(place), kind.is_))
                    self._put(place, None)
                elif self._dragged_off(place, cover, kind):
                    gone.append((Kind.PROTECTION_DISPLACED, self.name(place), kind.is_))
                    self._put(place, None)
        return gone

    def edge_depth_m(self, edge: str) -> float:
        """Depth of an edge [m]; 0 where bends are given directly."""
        start = self.scenario.edges[edge].start_m if edge in self.scenario.edges else None
        return -start[2] if start else 0.0

    def seen_through(self, edge: str, line: str = "") -> float:
        """Chance to see worn rope on an edge as it is covered now, relative to an open one.

        Parameters:
            line: whose rope is looked at; the least chance of all lines there if left out.
        """
        names = self.case.line_names
        places = [p for p in self.places(edge) if line in ("", names[p.row])]
        kinds = [self.scenario.protections.get(self._covers[p].word or "") for p in places]
        return min((k.seen_through.value if k is not None else 1.0 for k in kinds), default=1.0)

    def _kind(self, place: Place, word: str) -> Protection:
        """The piece of protection that lies between rope and edge; looked up once."""
        if (place, word) in self._kinds:
            return self._kinds[place, word]
        section = self.case.rigged.sections[place.row]
        found = cover_of(self.scenario, self.option, section, self.name(place), word)
        self._kinds[place, word] = found
        return found

    def _through(self, place: Place, cover: Cover, kind: Protection) -> bool:
        made_j = self.lines[place.row].energy_j(*place) - cover.energy_j
        made_j *= covers.use(self.scenario, self.scenario.edges[self.name(place)])
        return made_j > kind.capacity.value * kind.covers.value

    def _dragged_off(self, place: Place, cover: Cover, kind: Protection) -> bool:
        """Each metre of sliding drags it along a little; put down in the middle, half is left."""
        slid_m = self.lines[place.row].slid_m(*place) - cover.slid_m
        slid_m *= covers.drag(self.scenario.edges[self.name(place)])
        return kind.creep.value * slid_m > 0.5 * kind.covers.value

    def _sling(self) -> None:
        """Let slings that the option rigs and nobody fixes during the job be there from the start.

        So protection is, and so the levels of control are judged.
        """
        for place in self._covers:
            edge, section = self.name(place), self.case.rigged.sections[place.row]
            sling = line_of(self.option, section).bypass.get(edge)
            if sling is not None and edge not in slung_later(self.scenario, section.person):
                self.kit.lay_out(sling.is_, edge)
                self._put(place, BYPASS)

    def _put(self, place: Place, word: str | None) -> None:
        if self._covers[place].word != word:
            line = self.lines[place.row]
            self._covers[place] = Cover(word, line.energy_j(*place), line.slid_m(*place))
            self._edit(place.row, [place])

    def _edit(self, row: int, places: Iterable[Place]) -> None:
        """Tell a section's line what its edges are now."""
        found = {place.edge: self._variant(place) for place in places}
        changed = {edge: variant for edge, variant in found.items() if variant is not None}
        if changed:
            self.lines[row].edit(row, changed)

    def _variant(self, place: Place) -> int | None:
        """Row of the case's variants that an edge is now; None: it cannot become other."""
        now = Condition(*place, self._covers[place].word, self._state[self.name(place)])
        return self._rows.get(now)


def _placers(scenario: Scenario) -> dict[str, set[str]]:
    """Edge -> those who place protection there."""
    found: dict[str, set[str]] = {}
    for name, steps in getattr(scenario, "job", {}).items():
        for step in leaves(steps):
            if isinstance(step, PlaceProtection):
                found.setdefault(step.edge, set()).add(name)
    return found


__all__ = ["ATTENDANT", "BYPASS", "Cover", "Kit", "Place", "Site"]
