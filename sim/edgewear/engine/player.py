"""Lines at play: the only place that hands records to the kernels."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear import mechanics
from edgewear.case import Batch, Case, Records
from edgewear.errors import RunFailed
from edgewear.layout import Kind, Status

Floats = NDArray[np.float64]
Draws = Callable[[int, int], Floats]
"""From (row of the person, block of strokes) to (64, 2) standard normals."""

LEAST_BUDGET = 1_000_000
"""Steps below which a movement that was given up did not run out of its budget."""

FOREVER = np.iinfo(np.int64).max


class Recording(NamedTuple):
    """How much a run writes down beside its sums."""

    travel: int = 0  # strokes whose travel is kept
    trace: int = 0  # samples of the timeline
    trace_ticks: int = 1000
    step_s: float = 0.01  # most a step may last [s]


SUMS_ONLY = Recording()

EDITED = ("friction", "static_ratio", "power_exponent", "radius_m", "severity", "wet_factor")
"""What changes about an edge when something is put on it; where it lies does not."""
NOTHING = Status(0)


class Change(NamedTuple):
    """A variant that took an edge's place: since when, and how long it had been loaded by then."""

    variant: int
    tick: int = 0
    loaded_ticks: int = 0


class Snapshot(NamedTuple):
    """A section as it was before a movement: its records, and the cells worn by then."""

    row: int
    records: tuple[NDArray[np.generic], ...]
    cells: tuple[tuple[slice, Floats, slice, Floats], ...]
    ascended_m: float
    strokes: int
    steps: tuple[dict[int, int], dict[int, int]]


def steady(person: int, block: int) -> Floats:
    """Strokes that do not vary, for nominal runs (64, 2) [1]."""
    return np.zeros((64, 2))


class Player:
    """The lines of one run and what is left of them as the job goes on.

    One set of buffers a section is kept between runs; `begin` clears it for the next run.
    """

    def __init__(self, case: Case, recording: Recording = SUMS_ONLY) -> None:
        self.case, self.recording = case, recording
        self._buffers: dict[int, mechanics.Buffers] = {}
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
        self.frequencies_hz = (np.nan, np.nan)
        self.edits: dict[tuple[int, int], int] = {}  # (section, edge) -> variant in its place
        self.retired: list[tuple[int, mechanics.Buffers]] = []  # ropes taken out of use
        self.changes: dict[tuple[int, int], list[Change]] = {}  # edits of a section's edge

    def edit(self, row: int, edge: int, variant: int) -> None:
        """Put a variant's numbers in the place of an edge's own; its place in space stays."""
        self.edits[row, edge] = variant
        change = Change(variant)
        if row in self.in_use:
            buffers = self._buffers[row]
            self._write(buffers, row, edge)
            tick, lasted = buffers.state["tick"][0], buffers.sums["bare_ticks"][edge]
            change = Change(variant, int(tick), int(lasted))
        self.changes.setdefault((row, edge), []).append(change)

    def swap(self, row: int) -> None:
        """Take a section's rope out of use; the next movement on it meets a fresh one."""
        if row in self.in_use:
            self.in_use.remove(row)
            self.retired.append((row, self._buffers.pop(row)))
            for place, changes in self.changes.items():
                if place[0] == row:
                    self.changes[place] = [Change(changes[-1].variant)]

    def pieces(self) -> list[tuple[int, mechanics.Buffers]]:
        """Every piece of rope that was used, with its section; those taken out of use first."""
        return [*self.retired, *((row, self._buffers[row]) for row in self.in_use)]

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
        return float(self._buffers[row].sums[edge]["slip_m"]) if row in self.in_use else 0.0

    def energy_j(self, row: int, edge: int) -> float:
        """Friction energy at an edge of a section so far [J]."""
        return float(self._buffers[row].sums[edge]["energy_j"]) if row in self.in_use else 0.0

    def buffers(self, row: int) -> mechanics.Buffers:
        """The arrays of a section, made or cleared when it is first used in a run."""
        if row not in self.in_use:
            self._buffers[row] = self._prepare(row)
            self.in_use.append(row)
        return self._buffers[row]

    def make(
        self,
        movement: Records,
        tick: int,
        until: int | None = None,
        exact: bool = False,
        armed: Status = NOTHING,
    ) -> Status:
        """Make a movement that begins at a tick, or go on with it after an early return.

        movement: MOVEMENT (1,). until: the tick to stop at; exact: cut it there, else stop at the
        last step not past it. armed: statuses to return early for.

        Raises:
            RunFailed: the kernel met something that is not a number.
        """
        row = int(movement["line"][0])
        buffers, state = self.buffers(row), self.buffers(row).state
        if not state["busy"][0]:
            self._take_up(movement, row, tick)
            self._listen(buffers, movement)
        status = self._advance(buffers, movement, FOREVER if until is None else until, exact, armed)
        self._note(row, movement)
        return status

    def snapshot(self, row: int) -> Snapshot:
        """Keep a section as it is, so that a movement can be taken back."""
        buffers, person = self.buffers(row), self._person(row)
        records = tuple(array.copy() for array in _records(buffers))
        steps = (dict(self.core_step), dict(self.parted_step))
        return Snapshot(
            row, records, _worn(buffers), float(self.ascended_m[person]),
            int(self.strokes[person]), steps,
        )  # fmt: skip

    def restore(self, kept: Snapshot) -> None:
        """Take a section back to a snapshot."""
        buffers, person = self.buffers(kept.row), self._person(kept.row)
        for edge, (pending, differences, worn, exposure) in enumerate(kept.cells):
            now_pending, now_worn = _ranges(buffers, edge)
            buffers.pending[edge, now_pending], buffers.exposure[edge, now_worn] = 0.0, 0.0
            buffers.pending[edge, pending], buffers.exposure[edge, worn] = differences, exposure
        for array, old in zip(_records(buffers), kept.records, strict=True):
            array[...] = old
        self.ascended_m[person], self.strokes[person] = kept.ascended_m, kept.strokes
        self.core_step, self.parted_step = dict(kept.steps[0]), dict(kept.steps[1])

    def state(self, row: int) -> Records:
        """STATE (1,) of a section in use."""
        return self.buffers(row).state

    def _prepare(self, row: int) -> mechanics.Buffers:
        count = int(self.batch.lines[self.run, row]["edge_count"])
        line = self.batch.lines[self.run, row : row + 1]
        edges = self.batch.edges[self.run, row, :count]
        person = self.batch.people[self.run, self._person(row) :][:1]
        wear = self.batch.wear[self.run, row : row + 1]
        regimes = mechanics.route(line, edges)
        old = self._buffers.get(row)
        if old is None:
            new = self._new(line, edges, person, wear, regimes)
        else:
            new = _refill(old, line, edges, person, wear, regimes)
        for section, edge in self.edits:
            if section == row:
                self._write(new, row, edge)
        return new

    def _new(
        self, line: Records, edges: Records, person: Records, wear: Records, regimes: Records
    ) -> mechanics.Buffers:
        """Fresh buffers with room for the rope that the job lets out at the anchor.

        They get copies: buffers are written over by the next run, the batch never is.
        """
        return mechanics.allocate(
            line.copy(), edges, person.copy(), wear.copy(), regimes,
            behind_m=self.case.let_out_m, **self.recording._asdict(),
        )  # fmt: skip

    def _write(self, buffers: mechanics.Buffers, row: int, edge: int) -> None:
        variant = self.batch.variants[self.run, self.edits[row, edge]]
        for field in EDITED:
            buffers.edges[field][edge] = variant[field]

    def _person(self, row: int) -> int:
        return self.case.person_names.index(self.case.rigged.sections[row].person)

    def _take_up(self, movement: Records, row: int, tick: int) -> None:
        """Let a section go on where the person comes from: one clock, one count of rope climbed."""
        state, person = self.buffers(row).state, self._person(row)
        state["tick"], state["ascended_m"] = tick, self.ascended_m[person]
        movement["first_stroke"] = self.strokes[person]
        if movement["kind"][0] == Kind.LOAD:
            self.loaded[person] = row

    def _listen(self, buffers: mechanics.Buffers, movement: Records) -> None:
        """Keep both natural frequencies as they are when somebody first moves on the line."""
        moving = movement["kind"][0] in (Kind.STROKES, Kind.WORK, Kind.FEED, Kind.PAYOUT)
        if moving and np.isnan(self.frequencies_hz[0]):
            self.frequencies_hz = mechanics.frequencies(buffers)

    def _advance(
        self, buffers: mechanics.Buffers, movement: Records, until: int, exact: bool, armed: Status
    ) -> Status:
        person = self._person(int(movement["line"][0]))
        while True:
            variation = self._strokes(person)
            status = mechanics.advance(
                buffers, movement, variation, until, exact, int(armed), np.inf
            )
            if status & Status.FAILED:
                raise RunFailed(f"{self.case.option}: {_failure(buffers)}")
            if not status & Status.DRAWS:
                return Status(status)
            self._more_strokes(person)

    def _strokes(self, person: int) -> Floats:
        if person not in self._variation:
            self._variation[person] = self._draws(person, 0)
        return self._variation[person]

    def _more_strokes(self, person: int) -> None:
        have = self._variation[person]
        block = self._draws(person, len(have) // 64)
        self._variation[person] = np.concatenate([have, block])

    def _note(self, row: int, movement: Records) -> None:
        """Keep what belongs to the person and the job rather than to one section."""
        state, person = self.buffers(row).state, self._person(row)
        if movement["kind"][0] == Kind.STROKES:
            self.ascended_m[person] = state["ascended_m"][0]
            self.strokes[person] = movement["first_stroke"][0] + state["stroke"][0]
        for steps, field in ((self.core_step, "core_tick"), (self.parted_step, "parted_tick")):
            if row not in steps and state[field][0] >= 0:
                steps[row] = int(movement["step"][0])


def _failure(buffers: mechanics.Buffers) -> str:
    """Say why the kernel gave a movement up."""
    state = buffers.state[0]
    if not (np.isfinite(state["depth_m"]) and np.isfinite(state["tension_n"]).all()):
        return "the line's state is no longer a number"
    if state["steps"] < LEAST_BUDGET:
        return "a movement cannot be made with these numbers"
    return f"a movement came to no end within its budget of steps ({int(state['steps'])} made)"


def _records(buffers: mechanics.Buffers) -> tuple[NDArray[np.generic], ...]:
    """Everything a movement changes beside the cells of the rope."""
    return (
        buffers.state, buffers.sums, buffers.mark_state, buffers.mark_sums,
        buffers.travel, buffers.trace,
    )  # fmt: skip


def _ranges(buffers: mechanics.Buffers, edge: int) -> tuple[slice, slice]:
    """Cells of an edge with differences pending, and cells worn so far."""
    sums = buffers.sums[edge]
    pending = slice(int(sums["pending_low"]), max(int(sums["pending_high"]) + 4, 0))
    return pending, slice(int(sums["worn_low"]), max(int(sums["worn_high"]) + 4, 0))


def _worn(buffers: mechanics.Buffers) -> tuple[tuple[slice, Floats, slice, Floats], ...]:
    """Copies of the cells that are not zero, edge by edge."""
    kept = []
    for edge in range(len(buffers.sums)):
        pending, worn = _ranges(buffers, edge)
        kept.append(
            (
                pending,
                buffers.pending[edge, pending].copy(),
                worn,
                buffers.exposure[edge, worn].copy(),
            )
        )
    return tuple(kept)


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
