"""A person at work: where they hang, what they have in hand, and what can stop them."""

from __future__ import annotations

from collections.abc import Callable, Generator, Mapping, Sequence
from math import exp, inf
from typing import Any, NamedTuple

import simpy

from edgewear import codes
from edgewear.case import Case
from edgewear.job.account import Account, Habits
from edgewear.job.line import Line, Outcome, Process
from edgewear.job.log import Kind, Log
from edgewear.job.moves import Move, climb, drop, hold, let_out, load, ticks, unload
from edgewear.terms import SAFETY, WORKING

RECOVERY_S = 600.0
"""Rest after which about two thirds of a person's fatigue is gone [s]; assumed."""

SETTLES_S = 5.0
"""Time a caught person is watched until they hang still [s]; assumed."""


class Station(NamedTuple):
    """A section of one of the person's lines and the depths at which they use it."""

    line: int  # row of the case's lines
    name: str
    top_m: float
    bottom_m: float
    anchor: str = ""  # its fixed point
    deviations: tuple[tuple[str, float], ...] = ()  # (anchor, depth) of each
    knots: tuple[tuple[str, float], ...] = ()  # (name, depth) of each, from the top


NOWHERE = Station(-1, "no line", 0.0, inf)
"""Where somebody is who only helps from above."""


class Pause(NamedTuple):
    """Told to a person: do this first, then go on where you were."""

    why: str
    action: Callable[[Worker], Process]
    befalls: bool = False  # it happens to whoever hangs, also after their plan has ended


LASTS = (codes.HOLD, codes.WORK)
"""Movements that go on where somebody hangs by then; the way of others is theirs to find anew."""

Fall = Callable[["Worker"], Process]
"""What becomes of a person whose fixed point gives way."""


class Halt(NamedTuple):
    """Told to a person: stop here."""

    why: str


class HaltedError(Exception):
    """A person's plan ends before its last step."""


class ImpossibleError(HaltedError):
    """A step that cannot be made; a mistake in the scenario unless something went wrong before."""


class Worker:
    """One person, their lines cut into stations, and their place in the job."""

    def __init__(
        self,
        env: simpy.Environment,
        case: Case,
        person: int,
        stations: Mapping[str, Sequence[Station]],
        lines: Mapping[str, Line],
        log: Log,
        habits: Habits,
        start_m: float = 0.0,
    ) -> None:
        self.env, self.case, self.person, self.log = env, case, person, log
        self.stations = {role: tuple(found) for role, found in stations.items()}
        self.lines, self.habits, self.start_m = dict(lines), habits, start_m
        self.name, self.account = case.person_names[person], Account(env)
        self.technique, self.fastest_m_s = habits.technique, 0.0
        self.extra_kg, self.fatigue, self.depth_m = 0.0, 0.0, 0.0
        self.role, self.station = WORKING, next(iter(self.stations.get(WORKING, ())), NOWHERE)
        self.hanging, self.step, self.waits_for = False, 0, ""
        self.inside = 0  # how many steps of their step, a repeat, they have made
        self.lost: set[str] = set()  # roles of lines that hold no more
        self.gone: dict[tuple[str, str], Fall] = {}  # role, point that gave way -> what then
        self.tell_lost: Callable[[str, int], None] = lambda line, step: None
        self.tell_inside: Callable[[Worker], None] = lambda worker: None
        self.answered = False  # whether somebody reacts when a line is lost
        self.carried_by: Worker | None = None
        self.fell = self.unresponsive = False
        self.made: Callable[[Worker, Move], None] = lambda worker, move: None
        self.wind: dict[str, simpy.Process] = {}  # role -> what moves that line unloaded
        self.ended = self.back = False  # whether their plan is over; whether they went back
        self._in_hand = False
        self._hands_free: list[simpy.Event] = []

    @property
    def line(self) -> Line:
        """The line they hang on, or will."""
        return self.lines[self.role]

    @property
    def mass_kg(self) -> float:
        """What hangs on their line; 0: themself alone, as the case has it."""
        return self.habits.mass_kg + self.extra_kg if self.extra_kg else 0.0

    @property
    def able(self) -> bool:
        """Whether they can see, call and act: alive and responsive."""
        dropped = self.carried_by is not None and self.carried_by.fell
        return not (self.fell or self.unresponsive or dropped)

    @property
    def on_their_line(self) -> bool:
        """Whether they hang on their line in use, or somebody just puts weight on it."""
        return self.hanging or self._in_hand

    @property
    def hangs_at_m(self) -> float:
        """Their depth where they hang on a line of their own; else NaN [m]."""
        return self.depth_m if self.hanging else float("nan")

    def say(self, kind: Kind, detail: str = "", value: float = float("nan")) -> None:
        """Write an entry under this person's name."""
        self.log.add(int(self.env.now), self.name, kind, self.step, detail, value)

    def pattern(self, technique: str | None = None, system: str | None = None) -> int:
        """The person's pattern for a technique and a system, or for their own.

        What makes them move otherwise than they are used to goes before what a step asks for.
        """
        word = self.technique if self.moves_otherwise else technique or self.technique
        return self.case.pattern(self.person, word, system or "")

    @property
    def moves_otherwise(self) -> bool:
        """Whether something has changed how they move."""
        return self.technique != self.habits.technique

    def make(self, move: Move) -> Generator[simpy.Event, Any, Outcome]:
        """Make one movement on the line in use; a pause cuts it, and the rest is made after."""
        left = move._replace(step=self.step, person=self.person)
        while True:
            yield from self.hands_free()
            start, self._in_hand = int(self.env.now), True
            try:
                outcome = yield from self.line.advance(left)
            except simpy.Interrupt as told:
                self._let_go()
                rest = self._what_is_left(left, int(self.env.now) - start)
                place = self.role, self.station
                yield from self.heed(told.cause)
                if rest is None or ((self.role, self.station) != place and rest.kind not in LASTS):
                    return Outcome(0, self.depth_m)
                left = self._renewed(rest._replace(line=self.station.line))
                continue
            self._let_go()
            yield from self._finish(left, outcome)
            return outcome

    def hands_free(self) -> Process:
        """Wait until nobody moves this person's line; wind lets go of it at once."""
        wind = self.wind.pop(self.role, None)
        if wind is not None and wind.is_alive:
            wind.interrupt("the line is taken into use")
            yield wind
        while self._in_hand:
            free = self.env.event()
            self._hands_free.append(free)
            yield from self.wait(free, f"{self.name}'s line, which somebody moves")

    def lend(self, move: Move, by: Worker) -> Process:
        """Let somebody else move this person's line."""
        while self._in_hand:
            free = self.env.event()
            self._hands_free.append(free)
            yield from by.wait(free, f"{self.name}'s line, which is in use")
        left: Move | None = move._replace(step=by.step, person=self.person)
        while left is not None:
            start, self._in_hand = int(self.env.now), True
            try:
                outcome = yield from self.line.advance(left)
            except simpy.Interrupt as told:
                self._let_go()
                left = self._what_is_left(left, int(self.env.now) - start)
                yield from by.heed(told.cause)
                continue
            self._let_go()
            self.depth_m, left = outcome.depth_m, None
            self.made(self, move)

    def heed(self, told: Pause | Halt) -> Process:
        """Do what one is told in the midst of something.

        Raises:
            HaltedError: the plan ends here.
        """
        if isinstance(told, Halt):
            raise HaltedError(told.why)
        self.say(Kind.PAUSES, told.why)
        yield from told.action(self)
        self.say(Kind.GOES_ON, told.why)

    def wait(self, event: simpy.Event, what: str) -> Process:
        """Wait for something; what interrupts is heeded, then the waiting goes on."""
        before, self.waits_for = self.waits_for, what
        try:
            while not event.processed:
                try:
                    with self.account.spending("waiting"):
                        yield event
                except simpy.Interrupt as told:
                    yield from self.heed(told.cause)
        finally:
            self.waits_for = before

    def stay(self, duration_s: float) -> Process:
        """Stay where one is: hang still, or stand there if one does not hang."""
        left = ticks(duration_s)
        if left > 0 and self.hanging:
            yield from self.make(hold(self.station.line, duration_s))
            return
        while left > 0:
            start = int(self.env.now)
            try:
                yield self.env.timeout(left)
                return
            except simpy.Interrupt as told:
                left -= int(self.env.now) - start
                yield from self.heed(told.cause)

    def rest(self, duration_s: float) -> Process:
        """Rest; it takes fatigue away."""
        with self.account.spending("rest"):
            yield from self.stay(duration_s)
        self.fatigue *= exp(-duration_s / RECOVERY_S)

    def hang_on(self, depth_m: float, mass_kg: float | None = None) -> Process:
        """Hang on the station that serves a depth.

        Raises:
            ImpossibleError: they hang on somebody else's line, who took them over.
        """
        if self.carried_by is not None:
            raise ImpossibleError(f"hangs on the line of {self.carried_by.name}")
        self.station, self.depth_m = self.station_at(depth_m), depth_m
        yield from self.take_up(depth_m, self.mass_kg if mass_kg is None else mass_kg)
        self.say(Kind.HANGS_ON, self.station.name, depth_m)
        yield from self.trust()

    def take_up(self, depth_m: float, mass_kg: float) -> Process:
        """Put one's weight on the station in use, on another one that takes its place meanwhile."""
        line: int | None = None
        while line != self.station.line:
            if line is not None:
                yield from self.make(unload(line))
            line = self.station.line
            yield from self.make(load(line, depth_m, mass_kg))
        self.hanging = True

    def trust(self) -> Process:
        """Find out whether the fixed point one has just hung on still holds."""
        if (fall := self.gone.get((self.role, self.station.anchor))) is not None:
            yield from fall(self)

    def must_hang(self) -> Process:
        """Hang on where the job starts, if one does not hang yet."""
        if not self.hanging:
            yield from self.hang_on(self.start_m)

    def weigh_anew(self) -> Process:
        """Let the line bear what hangs on it now."""
        if self.hanging:
            yield from self.make(load(self.station.line, self.depth_m, self.mass_kg))

    def hang_off(self) -> Process:
        """Take the weight off the line."""
        if self.hanging:
            yield from self.make(unload(self.station.line))
        self.hanging = False

    def change_line(self, role: str) -> Process:
        """Move over to one's other line at the same depth."""
        yield from self.hang_off()
        self.role = role
        yield from self.hang_on(self.depth_m)

    def lose(self, why: str, told: bool = False) -> Process:
        """The line one hangs on holds no more: fall onto the other one, if there is one.

        Parameters:
            told: whether others have been told already.

        Raises:
            HaltedError: nobody reacts to it, or there is nothing to fall onto.
        """
        self.say(Kind.LINE_LOST, why, self.hangs_at_m)
        self.lost.add(self.role)
        if not told:
            self.tell_lost(self.station.name, self.step)
        yield from self.fall()
        if self.answered and not self.ended:
            yield from self.wait(self.env.event(), "what is done about the lost line")
        raise HaltedError(f"hangs on the {SAFETY}: {why}")

    def fall(self) -> Process:
        """Fall onto the safety line and be caught.

        Raises:
            HaltedError: there is none, or it is lost too.
        """
        fell, self.role, fall_m = self.role, SAFETY, self.habits.free_fall_m
        if SAFETY in self.lines:
            self.station = self.station_at(self.depth_m)
        gone = (SAFETY, self.station.anchor) in self.gone
        if fell == SAFETY or SAFETY not in self.lines or gone:
            self.hanging, self.fell = False, True
            self.say(Kind.FALLS, "nothing holds")
            raise HaltedError("falls: nothing holds")
        line = self.station.line
        yield from self.make(drop(line, self.depth_m, fall_m, self.mass_kg, SETTLES_S))
        self.depth_m = self.line.depth_m(line)
        self.hanging = True
        self.say(Kind.CAUGHT, self.station.name, self.depth_m)

    def station_at(self, depth_m: float) -> Station:
        """The section of the line in use that serves a depth; the deepest if several do."""
        mine = self.stations[self.role]
        fitting = [s for s in mine if s.top_m <= depth_m <= s.bottom_m]
        return fitting[-1] if fitting else mine[0 if depth_m < mine[0].bottom_m else -1]

    def neighbour(self, way: int) -> Station | None:
        """The section below (1) or above (-1) the one in use."""
        mine = self.stations[self.role]
        if self.station not in mine:  # its fixed point gave way
            return None
        at = mine.index(self.station) + way
        return mine[at] if 0 <= at < len(mine) else None

    def _finish(self, move: Move, outcome: Outcome) -> Process:
        self.depth_m = outcome.depth_m
        self.fatigue = min(1.0, self.fatigue + outcome.strokes * self.habits.tires)
        self.made(self, move)
        if outcome.parted:
            yield from self.lose(f"{self.station.name} parted", told=True)
        if outcome.full:
            yield from self._end_of_rope()

    def _end_of_rope(self) -> Process:
        if self.habits.stopper:
            self.say(Kind.STOPPED, "by the stopper: the rope is used up")
            raise HaltedError("the rope is used up")
        yield from self.lose("ran off the rope's end, no stopper")

    def _what_is_left(self, move: Move, made_ticks: int) -> Move | None:
        if move.kind not in (codes.LOAD, codes.DROP):
            self.depth_m = self.line.depth_m(move.line)
        return self.line.rest_of(move, made_ticks)

    def _renewed(self, rest: Move) -> Move:
        """The rest of a movement as the person moves now: other technique, other speed."""
        line = rest.line
        changed = self.moves_otherwise  # else what the step asks for goes on
        if rest.kind == codes.STROKES and changed and rest.pattern != self.pattern():
            new = climb(self.case, self.pattern(), line, rest.length_m, self.fatigue)
        elif rest.kind == codes.STROKES:
            return rest._replace(fatigue=self.fatigue)
        elif rest.kind == codes.PAYOUT and (changed or self.fastest_m_s):
            new = self.let_out(rest.length_m, self.pattern())
        else:
            return rest
        return new._replace(step=self.step, person=self.person)

    def let_out(self, length_m: float, pattern: int, speed_m_s: float | None = None) -> Move:
        """A stretch of a descent; the fastest a person goes overrides what they mean to do."""
        move = let_out(self.case, pattern, self.station.line, length_m)
        if speed_m_s:
            move = move._replace(speed_m_s=speed_m_s)
        if self.fastest_m_s:
            move = move._replace(speed_m_s=self.fastest_m_s, stop_s=2 * 0.1 / self.fastest_m_s)
        return move

    def _let_go(self) -> None:
        self._in_hand = False
        waiting, self._hands_free = self._hands_free, []
        for free in waiting:
            free.succeed()
