"""One run on a device: a thread plays a whole tape and writes down what came of it."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from edgewear.layout import EDGE, LINE, Kind
from edgewear.mechanics.arrays import Buffers, Floats, Records
from edgewear.mechanics.device.field import SPARE, WORKS, clear
from edgewear.mechanics.device.quick import quick_steps
from edgewear.mechanics.movement.advance import _make_step, _played
from edgewear.mechanics.movement.periods import mark
from edgewear.mechanics.movement.status import DRAWS, FAILED, FULL, PARTED
from edgewear.mechanics.wear.wear import core_left, strength_n
from edgewear.mechanics.wear.worst_place import scan

STROKES, WORK, FEED, PAYOUT, LOAD = (
    int(Kind.STROKES), int(Kind.WORK), int(Kind.FEED), int(Kind.PAYOUT), int(Kind.LOAD)
)  # fmt: skip
FOREVER = 2**62


def aligned(plain: np.dtype[np.void]) -> np.dtype[np.void]:
    """The same record, known to lie at addresses of whole numbers: else each byte is read alone."""
    return np.dtype(plain.descr, align=True)


LINE_NAMES = (
    "edge_count", "stiffness_n", "viscous_s", "diameter_m", "device_slip_n", "rope_m",
)  # fmt: skip
DEVICE_LINE = np.dtype([(name, LINE[name]) for name in LINE_NAMES], align=True)
"""What a device needs of a line; where it lies is in its contact sets."""
EDGE_NAMES = (
    "friction", "static_ratio", "power_exponent", "radius_m", "severity", "thickness_m",
    "own_radius_m", "spares", "wet_factor",
)  # fmt: skip
DEVICE_EDGE = np.dtype([(name, EDGE[name]) for name in EDGE_NAMES], align=True)

COLUMNS = (
    "end", "largest_j_m", "core_loss", "strength_n", "sliding_hz", "stuck_hz", "core_step",
    "parted_step", "ascended_m", "strokes", "ticks", "residual", "peak_n", "anchor_peak_n",
    "stretch_m", "third_tick", "third_ascended_m", "two_thirds_tick", "two_thirds_ascended_m",
    "core_tick", "core_ascended_m", "parted_tick", "parted_ascended_m", "slip_m", "energy_j",
    "climbing_ticks", "steps",
)  # fmt: skip
"""What a run writes down, one column of `found` each."""
AT_EDGE = (
    "slips", "sawing_m", "strokes", "strokes_stuck", "peak_n", "wrap_rad", "lateral_m",
    "lateral_j_m", "flash_n", "flash_speed_m_s", "flash_wrap_rad", "third_tick",
    "third_ascended_m", "two_thirds_tick", "two_thirds_ascended_m", "core_tick",
    "core_ascended_m", "travels",
)  # fmt: skip
"""What it writes down of its edge, where `found` has columns for it, behind the others; behind them
what a mark travelled in each stroke, NaN where the edge was not touched."""
AT_LINE, AT_ALL = len(COLUMNS), len(COLUMNS) + len(AT_EDGE)
UNFINISHED = FAILED | DRAWS | FULL
LEFT = 0.0
"""`end` of a run that a device leaves to the processor."""


class Given(NamedTuple):
    """n runs; an array with one row stands for all."""

    lines: Records  # DEVICE_LINE (n or 1,)
    edges: Records  # DEVICE_EDGE (n or 1, 1)
    people: Records  # PERSON (n or 1,)
    wears: Records  # WEAR (n or 1,)
    regimes: Records  # REGIME (n or 1, r)
    tapes: Records  # MOVEMENT (n or 1, m)
    variation: Floats  # (n or 1, k, 2)
    cells: Floats  # (3,) cell length, left end of the processor's cells [m], longest step [s]
    state: Records  # STATE (1,) at the start
    sums: Records  # SUMS (1,) at the start


class Tape(NamedTuple):
    """What is kept from one movement of a tape to the next."""

    status: int
    sliding_hz: float
    stuck_hz: float
    core_step: int
    parted_step: int
    ascended_m: float
    strokes: int
    ticks: int


class Own(NamedTuple):
    """What a thread keeps of its own."""

    state: Records  # STATE (1,)
    sums: Records  # SUMS (1,)
    mark_state: Records  # STATE (1,)
    mark_sums: Records  # SUMS (1,)
    movement: Records  # MOVEMENT (1,)
    cells: Floats  # (3,)
    work: Floats  # (WORK_ROWS*16,)
    pending: Floats  # (1, 2*(c + SPARE)), see `field`
    trace: Records  # TRACE (0,)


def device_step(k: int, p: Buffers) -> Any:
    """Take as many steps as go in one, or a single one the general way; (all well, within)."""
    taken, inside = quick_steps(p)
    if taken > 0:
        return True, inside
    return _make_step(k, p)


def device_mark(
    state: Any, sums: Any, w: Floats, pending: Floats, exposure: Floats, mark_state: Any,
    mark_sums: Any,
) -> None:  # fmt: skip
    """Remember the start of a pattern of work in place; from here on its wear is kept apart."""
    mark(state, sums, w, pending, exposure, mark_state, mark_sums)
    half = pending.shape[1] // 2
    pending[0, half - WORKS] = 1.0


def _blank(own: Own, given: Given) -> None:
    """Make a thread's arrays ready for another run; its field was cleared after the last one."""
    own.state[0] = given.state[0]
    own.mark_state[0] = given.state[0]
    own.sums[0] = given.sums[0]
    own.mark_sums[0] = given.sums[0]
    for k in range(3):
        own.cells[k] = given.cells[k]


def _hertz(state: Any, line: Any, person: Any, first: int) -> Any:
    """Natural frequency [Hz] with the spans from `first` on, as `results.frequencies` gives it."""
    if state.loaded == 0:
        return math.nan
    rope_m = 0.0
    for i in range(first, state.count + 1):
        rope_m += state.span_m[i]
    stiffness = line.stiffness_n / (rope_m + line.stiffness_n / person.body_stiffness_n_m)
    return math.sqrt(stiffness / state.mass_kg) / (2.0 * math.pi)


def _residual(s: Any) -> Any:
    """The energy residual, as `results.residual_of` defines it."""
    given = s.device_j - s.leaves_j + s.feed_j + s.mover_j + s.gravity_j
    taken = s.kinetic_j + s.elastic_j + s.body_j + s.viscous_j + s.friction_j + s.mixing_j
    all_flows = s.flows_j + abs(s.gravity_j) + abs(s.kinetic_j) + abs(s.elastic_j) + abs(s.body_j)
    return abs(given - taken) / all_flows if all_flows > 1e-6 else 0.0


def _place_cells(own: Own, given: Given, room: int) -> None:
    """Lay the thread's cells about the edge; on the same grid as the processor's."""
    cell_m = given.cells[0]
    at = own.state[0].span_m[0] - given.cells[1]
    base = max(0, int(at / cell_m) - room // 2)
    own.cells[1] = given.cells[1] + base * cell_m


def _buffers(run: int, given: Given, own: Own, travel: Floats) -> Any:
    """A line with the numbers of a run, the arrays of a thread and the log of a mark's travel."""
    line = min(run, given.lines.shape[0] - 1)
    who = min(run, given.people.shape[0] - 1)
    worn = min(run, given.wears.shape[0] - 1)
    return Buffers(
        given.lines[line : line + 1], given.edges[min(run, given.edges.shape[0] - 1)],
        given.people[who : who + 1], given.wears[worn : worn + 1],
        given.regimes[min(run, given.regimes.shape[0] - 1)],
        own.state, own.sums, own.pending, own.pending, own.cells, travel, own.trace, 1,
        own.mark_state, own.mark_sums, own.work,
    )  # fmt: skip


def _play_movement(p: Buffers, movement: Any, normals: Floats, so_far: Tape) -> Any:
    """Play one movement, and note what came of it as `engine` does between movements."""
    _, sliding_hz, stuck_hz, core_step, parted_step, ascended_m, strokes, ticks = so_far
    state = p.state[0]
    state.tick = ticks + movement.idle_ticks
    state.ascended_m = ascended_m
    movement.first_stroke = strokes
    kind = movement.kind
    if math.isnan(sliding_hz) and kind in (STROKES, WORK, FEED, PAYOUT):
        sliding_hz = _hertz(state, p.line[0], p.person[0], 0)
        stuck_hz = _hertz(state, p.line[0], p.person[0], state.count)
    status = _played(p, movement, normals, FOREVER, False, PARTED, math.inf)
    if status & UNFINISHED == 0:
        if kind == STROKES:
            ascended_m = state.ascended_m
            strokes = movement.first_stroke + state.stroke
        if core_step == 0 and state.core_tick >= 0:
            core_step = movement.step
        if parted_step == 0 and state.parted_tick >= 0:
            parted_step = movement.step
        ticks = state.tick
    return Tape(status, sliding_hz, stuck_hz, core_step, parted_step, ascended_m, strokes, ticks)


def play_run(run: int, given: Given, own: Own, found: Floats) -> None:
    """Play one run and write down what came of it.

    found: (n, c): `COLUMNS`; where the edge is wanted `AT_EDGE` too, and room for k strokes.
    """
    room = own.pending.shape[1] // 2 - SPARE
    _blank(own, given)
    travel = found[run : run + 1, AT_ALL:]
    for k in range(travel.shape[1]):
        travel[0, k] = math.nan
    p = _buffers(run, given, own, travel)
    normals = given.variation[min(run, given.variation.shape[0] - 1)]
    row = min(run, given.tapes.shape[0] - 1)
    done = Tape(0, math.nan, math.nan, 0, 0, 0.0, 0, 0)
    placed = False
    for index in range(given.tapes.shape[1]):
        own.movement[0] = given.tapes[row, index]
        movement = own.movement[0]
        done = _play_movement(p, movement, normals, done)
        if done.status & (UNFINISHED | PARTED):
            break
        if movement.kind == LOAD and not placed and own.state[0].count == 1:
            _place_cells(own, given, room)
            placed = True
    _write_down(run, done, p, found)
    if found.shape[1] > AT_LINE:
        _write_edge(run, p, found)
    clear(own.pending, own.sums)


def _write_down(run: int, done: Tape, p: Buffers, found: Floats) -> None:
    """Write what a run came to into its row, in the order of `COLUMNS`."""
    state, edge = p.state[0], p.sums[0]
    largest, _ = scan(p.pending, p.exposure, p.sums, 1.0 + state.skipped, p.work)
    found[run, 0] = LEFT if done.status & UNFINISHED else 1.0
    found[run, 1] = largest
    found[run, 2] = 1.0 - core_left(largest, p.wear[0])
    found[run, 3] = strength_n(largest, p.wear[0])
    found[run, 4] = done.sliding_hz
    found[run, 5] = done.stuck_hz
    found[run, 6] = done.core_step
    found[run, 7] = done.parted_step
    found[run, 8] = done.ascended_m
    found[run, 9] = done.strokes
    found[run, 10] = done.ticks
    found[run, 11] = _residual(state)
    found[run, 12] = state.peak_n
    found[run, 13] = state.anchor_peak_n
    found[run, 14] = state.stretch_m
    for k in range(2):
        found[run, 15 + 2 * k] = state.worn_tick[k]
        found[run, 16 + 2 * k] = state.worn_ascended_m[k]
    found[run, 19] = state.core_tick
    found[run, 20] = state.core_ascended_m
    found[run, 21] = state.parted_tick
    found[run, 22] = state.parted_ascended_m
    found[run, 23] = edge.slip_m
    found[run, 24] = edge.energy_j
    found[run, 25] = state.climbing_ticks
    found[run, 26] = state.steps


def _write_edge(run: int, p: Buffers, found: Floats) -> None:
    """Write what happened at the edge, in the order of `AT_EDGE`."""
    edge, at = p.sums[0], AT_LINE
    found[run, at] = edge.slips
    found[run, at + 1] = edge.sawing_m
    found[run, at + 2] = edge.strokes
    found[run, at + 3] = edge.strokes_stuck
    found[run, at + 4] = edge.peak_n
    found[run, at + 5] = edge.wrap_rad
    found[run, at + 6] = edge.lateral_m
    found[run, at + 7] = edge.lateral_j_m
    found[run, at + 8] = edge.flash_n
    found[run, at + 9] = edge.flash_speed_m_s
    found[run, at + 10] = edge.flash_wrap_rad
    for k in range(3):
        found[run, at + 11 + 2 * k] = edge.worn_tick[k]
        found[run, at + 12 + 2 * k] = edge.worn_ascended_m[k]
    found[run, at + 17] = p.state[0].travels
