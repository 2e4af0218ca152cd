"""Lines at play: the only place that hands records to the kernels."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from math import isnan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear import codes, mechanics
from edgewear.case import Batch, Case, Records
from edgewear.engine.contact_cache import Routes
from edgewear.engine.movement_memory import Memory, followed
from edgewear.engine.past_wear import lay_in
from edgewear.engine.results.given_up import given_up
from edgewear.engine.snapshot import SectionSnapshot, Snapshot
from edgewear.errors import RunFailed

Floats = NDArray[np.float64]
Draws = Callable[[int, int], Floats]
"""From (row of the person, block of strokes) to (64, 2) standard normals."""

FOREVER = np.iinfo(np.int64).max

MOST_ROUTES = 64
"""Ways in which a section lies that are kept where runs come again."""


class Recording(NamedTuple):
    """How much a run writes down beside its sums."""

    travel: int = 0  # strokes whose travel is kept
    trace: int = 0  # samples of the timeline
    trace_ticks: int = 1000
    step_s: float = 0.015  # most a step may last [s]


SUMS_ONLY = Recording()

EDITED = (
    "friction", "static_ratio", "power_exponent", "radius_m", "severity", "wet_factor",
    "thickness_m", "own_radius_m", "spares",
)  # fmt: skip
"""What changes about an edge when something is put on it; where it lies does not."""
MOVING = (codes.STROKES, codes.WORK, codes.FEED, codes.PAYOUT)
"""Movements in which the person or the rope moves."""


class Change(NamedTuple):
    """A variant that took an edge's place: since when, and what had been done there by then."""

    variant: int
    tick: int = 0
    loaded_ticks: int = 0
    energy_j: float = 0.0  # of friction
    slip_m: float = 0.0
    before: AtEdge | None = None  # what slid there before; None: nothing did


class Piece(NamedTuple):
    """A piece of rope that lay in a section."""

    row: int  # of the section
    rope: int  # which of its line's ropes, from 1: each swap lays a fresh one in all its sections
    buffers: mechanics.Buffers


class AtEdge(NamedTuple):
    """An edge as it was for a while, and what was done there."""

    edge: np.void
    sums: np.void


def steady(person: int, block: int) -> Floats:
    """Strokes that do not vary, for nominal runs (64, 2) [1]."""
    return np.zeros((64, 2))


class Player:
    """The lines of one run and what is left of them as the job goes on.

    One set of buffers a section is kept between runs; `begin` clears it for the next run.
    """

    def __init__(
        self,
        case: Case,
        recording: Recording = SUMS_ONLY,
        memory: Memory | None = None,
        routes: Routes | None = None,
    ) -> None:
        """Nothing is loaded yet.

        Parameters:
            memory: of movements made before; of no use where more than sums is written down.
            routes: contact sets that a player of the same case keeps.
        """
        self.case, self.recording = case, recording
        self._memory = memory if recording == SUMS_ONLY else None
        self._history: dict[int, bytes | None] = {}  # of each section in use
        self._buffers: dict[int, mechanics.Buffers] = {}
        self._kept: dict[int, SectionSnapshot] = {}
        self.routes = routes or Routes(1 if memory is None else MOST_ROUTES)
        people = {name: person for person, name in enumerate(case.person_names)}
        self._persons = tuple(people[section.person] for section in case.rigged.sections)
        self._variation: dict[int, Floats] = {}
        self._draws: Draws = steady

    def begin(self, batch: Batch, run: int, draws: Draws = steady) -> None:
        """Start a run afresh with the numbers of one row of a batch."""
        self.batch, self.run, self._draws = batch, run, draws
        self._variation.clear()
        self.in_use: list[int] = []
        self.loaded: dict[int, int] = {}  # person -> section they hang on
        self.ascended_m = np.zeros(len(self.case.people))
        self.strokes = np.zeros(len(self.case.people), np.int64)
        self.core_step: dict[int, int] = {}
        self.parted_step: dict[int, int] = {}
        self.used_up_step: dict[int, int] = {}
        self.frequencies_hz = (np.nan, np.nan)
        self.edits: dict[tuple[int, int], int] = {}  # (section, edge) -> variant in its place
        self.retired: list[Piece] = []  # ropes taken out of use
        self.rope: defaultdict[int, int] = defaultdict(lambda: 1)  # section -> which rope is there
        self.changes: dict[tuple[int, int], list[Change]] = {}  # edits of a section's edge
        self._changed_under: list[dict[int, list[Change]]] = []  # the same of each retired rope

    def edit(self, row: int, edge: int, variant: int) -> None:
        """Put a variant's numbers in the place of an edge's own; its place in space stays."""
        self.edits[row, edge] = variant
        change = Change(variant)
        if row in self.in_use:
            buffers = self._buffers[row]
            before = AtEdge(buffers.edges[edge].copy(), buffers.sums[edge].copy())
            self._write(buffers, row, edge)
            self._goes_on(row, buffers.edges)
            tick, sums = buffers.state["tick"][0], buffers.sums[edge]
            lasted, energy_j, slip_m = (sums[n] for n in ("bare_ticks", "energy_j", "slip_m"))
            change = Change(variant, int(tick), int(lasted), float(energy_j), float(slip_m), before)
            # the hottest slip is that over what lies there now
            buffers.sums["flash_measure"][edge] = buffers.sums["flash_speed_m_s"][edge] = 0.0
        self.changes.setdefault((row, edge), []).append(change)

    def swap(self, row: int) -> None:
        """Take a section's rope out of use; the next movement on it meets a fresh one."""
        if row in self.in_use:
            self.in_use.remove(row)
            self.retired.append(Piece(row, self.rope[row], self._buffers.pop(row)))
            self._kept.pop(row, None)
            mine = [(edge, made) for (place, edge), made in self.changes.items() if place == row]
            self._changed_under.append(dict(mine))
            for edge, changes in mine:
                self.changes[row, edge] = [Change(changes[-1].variant)]
        self.rope[row] += 1

    def changes_under(self, row: int, edge: int, rope: mechanics.Buffers) -> Sequence[Change]:
        """Edits of a section's edge while a rope lay there, which may be in use no more."""
        for retired, changes in zip(self.retired, self._changed_under, strict=True):
            if retired.buffers is rope:
                return changes.get(edge, ())
        return self.changes.get((row, edge), ())

    def pieces(self) -> list[Piece]:
        """Every piece of rope that was used; those taken out of use first."""
        return [*self.retired, *(Piece(r, self.rope[r], self._buffers[r]) for r in self.in_use)]

    def pieces_in_order(self) -> list[Piece]:
        """The same, section by section, the ropes of each in the order they lay there."""
        return sorted(self.pieces(), key=lambda piece: (piece.row, piece.rope))

    def demand_by_edge(self, row: int) -> dict[str, float]:
        """Largest sheath demand from each edge of a section [1]; none where it was not used."""
        if row not in self.in_use:
            return {}
        found = mechanics.demand_by_edge(self._buffers[row])
        return dict(zip(self.case.edge_names[row], map(float, found), strict=True))

    def worst_edge(self, row: int) -> str:
        """The edge that wore a section's rope most."""
        edge = mechanics.worst(self.buffers(row))[2]
        return self.case.edge_names[row][edge] if edge >= 0 else ""

    def slid_m(self, row: int, edge: int) -> float:
        """Sliding path at an edge of a section so far [m]."""
        return float(self._buffers[row].sums["slip_m"][edge]) if row in self.in_use else 0.0

    def energy_j(self, row: int, edge: int) -> float:
        """Friction energy at an edge of a section so far [J]."""
        return float(self._buffers[row].sums["energy_j"][edge]) if row in self.in_use else 0.0

    def buffers(self, row: int) -> mechanics.Buffers:
        """The arrays of a section, made or cleared when it is first used in a run."""
        if row not in self.in_use:
            self._buffers[row] = self._prepare(row)
            self._history[row] = self._begun(row)
            self.in_use.append(row)
        return self._buffers[row]

    def make(
        self,
        movement: Records,
        tick: int,
        until: int | None = None,
        exact: bool = False,
        armed: int = 0,
    ) -> int:
        """Make a movement that begins at a tick, or go on with it after an early return.

        movement: MOVEMENT (1,). until: the tick to stop at; exact: cut it there, else stop at the
        last step not past it. armed: statuses to return early for. Returns statuses, both as
        bits of `layout.Status`.

        Raises:
            RunFailed: the kernel met something that is not a number.
        """
        row, kind = int(movement["line"][0]), int(movement["kind"][0])
        buffers = self.buffers(row)
        if not buffers.state["busy"][0]:
            self._take_up(buffers, movement, kind, row, tick)
            self._listen(buffers, kind)
        until = FOREVER if until is None else until
        history = self._goes_on(row, buffers.state, movement, until, exact, armed)
        status = self._recalled(history, buffers)
        if status is None:
            status = self._advance(row, buffers, movement, until, exact, armed)
            if self._memory is not None and history is not None:
                self._memory.keep(history, buffers, status)
        self._note(row, buffers, movement, kind)
        if status & codes.FULL:
            self.used_up_step.setdefault(row, int(movement["step"][0]))
        return status

    def snapshot(self, row: int) -> Snapshot:
        """Keep a section as it is, so that a movement can be taken back; forgets the one before."""
        buffers, person = self.buffers(row), self._persons[row]
        if row not in self._kept:
            self._kept[row] = SectionSnapshot(buffers)
        self._kept[row].take()
        return Snapshot(
            row, float(self.ascended_m[person]), int(self.strokes[person]),
            self.core_step.get(row), self.parted_step.get(row), self.used_up_step.get(row),
            self._history.get(row),
        )  # fmt: skip

    def restore(self, kept: Snapshot) -> None:
        """Take a section back to the snapshot that was made of it last."""
        row, person = kept.row, self._persons[kept.row]
        self._kept[row].put_back()
        self._history[row] = kept.history
        self.ascended_m[person], self.strokes[person] = kept.ascended_m, kept.strokes
        for steps, step in (
            (self.core_step, kept.core_step), (self.parted_step, kept.parted_step),
            (self.used_up_step, kept.used_up_step),
        ):  # fmt: skip
            if step is None:
                steps.pop(row, None)

    def state(self, row: int) -> Records:
        """STATE (1,) of a section in use."""
        return self.buffers(row).state

    def _prepare(self, row: int) -> mechanics.Buffers:
        count = int(self.batch.lines[self.run, row]["edge_count"])
        line = self.batch.lines[self.run, row : row + 1]
        edges = self.batch.edges[self.run, row, :count]
        person = self.batch.people[self.run, self._persons[row] :][:1]
        if self._draws is steady:  # the mean stroke: the median of what varies would be shorter
            person = person.copy()
            person["amplitude_cv"] = person["timing_cv"] = 0.0
        wear = self.batch.wear[self.run, row : row + 1]
        regimes = self.routes.of(row, line, edges)
        old, past = self._buffers.get(row), self.case.pasts[row] if self.case.pasts else None
        if old is None:
            new = self._new(line, edges, person, wear, regimes, past is not None)
        else:
            new = _refill(old, line, edges, person, wear, regimes)
        if past is not None and self.rope[row] == 1:
            lay_in(new, past, float(self.batch.past[self.run, row]["z"]))
        for section, edge in self.edits:
            if section == row:
                self._write(new, row, edge)
        return new

    def _begun(self, row: int) -> bytes | None:
        """History of a section that is used for the first time in a run; None: not told."""
        if self._memory is None or (self.case.pasts and self.case.pasts[row] is not None):
            return None
        buffers = self._buffers[row]
        began = buffers.line, buffers.edges, buffers.person, buffers.wear, buffers.cells
        return followed(b"", [*began, self._strokes(self._persons[row])[:64]])

    def _goes_on(self, row: int, *parts: object) -> bytes | None:
        """Add what happens to a section to its history."""
        history = self._history[row]
        if history is not None:
            self._history[row] = history = followed(history, parts)
        return history

    def _recalled(self, history: bytes | None, buffers: mechanics.Buffers) -> int | None:
        if self._memory is None or history is None:
            return None
        return self._memory.recall(history, buffers)

    def _new(
        self,
        line: Records,
        edges: Records,
        person: Records,
        wear: Records,
        regimes: Records,
        past: bool,
    ) -> mechanics.Buffers:
        """Fresh buffers with room for the rope that the job lets out at the anchor.

        They get copies: buffers are written over by the next run, the batch never is.
        """
        return mechanics.allocate(
            line.copy(), edges, person.copy(), wear.copy(), regimes,
            behind_m=self.case.let_out_m, past=past, **self.recording._asdict(),
        )  # fmt: skip

    def _write(self, buffers: mechanics.Buffers, row: int, edge: int) -> None:
        variant = self.batch.variants[self.run, self.edits[row, edge]]
        for field in EDITED:
            buffers.edges[field][edge] = variant[field]

    def _take_up(
        self, buffers: mechanics.Buffers, movement: Records, kind: int, row: int, tick: int
    ) -> None:
        """Let a section go on where the person comes from: one clock, one count of rope climbed."""
        state, person = buffers.state, self._persons[row]
        state["tick"], state["ascended_m"] = tick, self.ascended_m[person]
        movement["first_stroke"] = self.strokes[person]
        if kind == codes.LOAD:
            self.loaded[person] = row

    def _listen(self, buffers: mechanics.Buffers, kind: int) -> None:
        """Keep both natural frequencies as they are when somebody first moves on the line."""
        if kind in MOVING and isnan(self.frequencies_hz[0]):
            self.frequencies_hz = mechanics.frequencies(buffers)

    def _advance(
        self,
        row: int,
        buffers: mechanics.Buffers,
        movement: Records,
        until: int,
        exact: bool,
        armed: int,
    ) -> int:
        person = self._persons[row]
        while True:
            variation = self._strokes(person)
            status = mechanics.advance(buffers, movement, variation, until, exact, armed)
            if status & codes.FAILED:
                who, step = self.case.person_names[person], int(movement["step"][0])
                why = given_up(self.case, row, buffers, movement)
                raise RunFailed(f"{self.case.option}: job/{who}, step {step}: {why}")
            if not status & codes.DRAWS:
                return status
            self._more_strokes(person)

    def _strokes(self, person: int) -> Floats:
        if person not in self._variation:
            self._variation[person] = self._draws(person, 0)
        return self._variation[person]

    def _more_strokes(self, person: int) -> None:
        have = self._variation[person]
        block = self._draws(person, len(have) // 64)
        self._variation[person] = np.concatenate([have, block])

    def _note(self, row: int, buffers: mechanics.Buffers, movement: Records, kind: int) -> None:
        """Keep what belongs to the person and the job rather than to one section."""
        state, person = buffers.state, self._persons[row]
        if kind == codes.STROKES:
            self.ascended_m[person] = state["ascended_m"][0]
            self.strokes[person] = movement["first_stroke"][0] + state["stroke"][0]
        for steps, field in ((self.core_step, "core_tick"), (self.parted_step, "parted_tick")):
            if row not in steps and state[field][0] >= 0:
                steps[row] = int(movement["step"][0])


def _refill(
    old: mechanics.Buffers,
    line: Records,
    edges: Records,
    person: Records,
    wear: Records,
    regimes: Records,
) -> mechanics.Buffers:
    """Give kept buffers the numbers of the next run, cleared."""
    for name, new in (("line", line), ("edges", edges), ("person", person), ("wear", wear)):
        getattr(old, name)[...] = new
    buffers = old._replace(regimes=regimes)
    mechanics.clear(buffers)
    return buffers
