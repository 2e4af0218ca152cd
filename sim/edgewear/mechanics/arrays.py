"""Records and buffers of one line: everything a kernel call reads and writes.

The caller owns the buffers, keeps one set for each section of a line, and reads results out
of `state` (the line) and `sums` (one row an edge) between calls by field name. All in SI.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.layout import EDGE, LINE, MAX_EDGES, PERSON, WEAR

SPANS = MAX_EDGES + 1
"""Free lengths of a line over `MAX_EDGES` edges."""

REGIME = np.dtype(
    [
        ("low_m", np.float64),  # the contact set holds for depths low..high
        ("high_m", np.float64),
        ("count", np.int64),  # edges touched
        ("edge", np.int64, (MAX_EDGES,)),  # rows of the line's edges, from the fixed point on
        ("free_m", np.float64, (SPANS,)),  # free lengths l_0 .. l_count at depth low
        ("free_slope", np.float64, (SPANS,)),  # d(free length)/d(depth)
        ("bend_rad", np.float64, (MAX_EDGES,)),  # wrap angles at depth low
        ("bend_slope", np.float64, (MAX_EDGES,)),  # d(bend)/d(depth) [rad/m]
        ("closed", np.int64),  # 1: last free length and last bend follow from the fields below
        ("fixed_bend", np.int64),  # 1: the last bend is given and stays
        ("out_m", np.float64),  # closed: the load's track less the last point, horizontally
        ("point_depth_m", np.float64),  # closed: depth of the last point touched
        ("incoming_out", np.float64),  # closed: unit vector of the rope that reaches that point
        ("incoming_down", np.float64),
    ]
)
"""One contact set of a line and the depths of the load for which it holds.

closed = 1: l_N = |load - last point| and theta_N is the angle between the incoming rope and
the last free length, in every stage of a step. closed = 0: all lengths and bends are affine
in the depth; a table of short affine pieces carries crossing points that move along an edge.
"""

STATE = np.dtype(
    [
        # clock and movement
        ("tick", np.int64),  # now; set it before a new movement starts
        ("busy", np.int64),  # 1: a movement is under way
        ("begin_tick", np.int64),  # when it began
        ("step_ticks", np.int64),  # length of a step in this phase
        ("phase", np.int64),
        ("phase_tick", np.int64),  # ticks since the phase began
        ("phase_end", np.int64),  # ticks the phase lasts; -1: until a condition holds
        ("part_s", np.float64),  # progress of the force-limited rise
        ("stroke", np.int64),  # strokes begun in this movement
        ("strokes", np.int64),  # strokes completed on this line
        ("gained_m", np.float64),  # STROKES: rope taken in, net; PAYOUT, FEED: moved so far
        ("drawn_m", np.float64),  # rope taken in at the device in this movement, as integrated
        ("fed_m", np.float64),  # rope that came in at the anchor end in this movement
        ("net_m", np.float64),  # of this stroke: net gain, sit-back and durations
        ("back_m", np.float64),
        ("rise_s", np.float64),
        ("drop_s", np.float64),
        ("pause_s", np.float64),
        ("rate_m_s", np.float64),  # PAYOUT, FEED: full speed, signed
        ("ramp_s", np.float64),
        ("cycle", np.int64),  # FEED: half cycles done; WORK: bounces done of the pattern
        ("bounces", np.int64),  # WORK: bounces and sways in one period of the whole pattern
        ("sways", np.int64),
        ("bounce_ticks", np.int64),  # WORK: one bounce (one sway, where nothing bounces)
        ("marked", np.int64),  # WORK: 1: mark_state and mark_sums hold the period's start
        ("skipped", np.int64),  # WORK: whole periods passed in closed form and not yet booked
        ("repeats", np.int64),  # WORK: the last period repeated the one before; STILL: at rest
        ("wait_sign", np.int64),  # of the predicted speed while waiting for the bounce
        # the load and the rope
        ("loaded", np.int64),
        ("mass_kg", np.float64),  # what hangs on the line
        ("depth_m", np.float64),
        ("offset_m", np.float64),  # body above where it hung, left over from work in place
        ("speed_m_s", np.float64),  # downwards
        ("regime", np.int64),
        ("count", np.int64),  # edges touched
        ("span_m", np.float64, (SPANS,)),  # unstretched rope in each free length
        ("taut", np.int64, (SPANS,)),
        ("mode", np.int64, (MAX_EDGES,)),  # 1 slips toward the load, -1 toward the anchor, 0 still
        ("slipping", np.int64, (MAX_EDGES,)),  # the same at the last stage computed
        ("device_piece", np.int64),  # how the device took rope in there
        ("allowed", np.int64, (MAX_EDGES,)),  # static friction: 3 holds, 1 or 2 may slip that way
        ("tension_n", np.float64, (SPANS,)),
        ("anchor_at_m", np.float64),  # material at the fixed point; below 0 after letting out
        # status
        ("raised", np.int64),  # status bits that stand, so that a rise can be told
        ("steps", np.int64),  # made since the buffers were cleared
        ("substeps", np.int64),  # extra ones made to locate something
        # the line as a whole
        ("peak_n", np.float64),  # largest tension anywhere
        ("anchor_peak_n", np.float64),
        ("stretch_m", np.float64),  # largest stretch at the person
        ("ascended_m", np.float64),  # rope climbed
        ("climbing_ticks", np.int64),
        # energy, each term integrated on its own [J]
        ("device_j", np.float64),  # work done at the device, T*(1 + e) times rope taken in
        ("leaves_j", np.float64),  # elastic energy that leaves with the rope at the device
        ("feed_j", np.float64),  # work done at the anchor end less elastic energy leaving there
        ("mover_j", np.float64),  # bounce, sway and tool reaction of work in place
        ("gravity_j", np.float64),
        ("kinetic_j", np.float64),  # gained
        ("elastic_j", np.float64),  # gained by the rope
        ("body_j", np.float64),  # gained by the body spring
        ("viscous_j", np.float64),
        ("friction_j", np.float64),
        ("mixing_j", np.float64),
        ("flows_j", np.float64),  # sum of the absolute flows but gravity and what is stored
        ("base_gravity_j", np.float64),  # so that total = base + value of the state
        ("base_kinetic_j", np.float64),
        ("base_elastic_j", np.float64),
        ("base_body_j", np.float64),
        # wear of the whole line
        ("largest_j_m", np.float64),  # largest exposure at the last scan
        ("bound_j_m", np.float64),  # what it can have grown to since
        ("rescan_j_m", np.float64),  # the bound at which to look again
        ("holds_n", np.float64),  # tension the rope holds for sure up to that bound
        ("residual_n", np.float64),  # strength at the last scan
        ("worn_tick", np.int64, (2,)),  # a third, two thirds of the sheath worn; -1: never
        ("worn_ascended_m", np.float64, (2,)),
        ("core_tick", np.int64),  # -1: never
        ("core_ascended_m", np.float64),
        ("parted_tick", np.int64),  # -1: never
        ("parted_ascended_m", np.float64),
        ("travels", np.int64),  # rows of the travel log written
        ("samples", np.int64),  # rows of the trace written
        ("next_sample", np.int64),
    ]
)
"""The complete state of one line; energies and largest values since the buffers were cleared."""

SUMS = np.dtype(
    [
        ("slips", np.int64),  # changes from stick to slip
        ("slip_m", np.float64),  # sliding path, stretched
        ("energy_j", np.float64),  # friction energy
        ("exposure_j", np.float64),  # weighted energy deposited, without presliding
        ("sawing_m", np.float64),  # largest travel end to end within one cycle
        ("peak_n", np.float64),  # largest tension on either side
        ("wrap_rad", np.float64),  # largest bend of a rope that carries load
        ("bare_tick", np.int64),  # -1, or first tick with more than 200 N over a bend
        ("bare_ticks", np.int64),  # how long in all
        ("flash_measure", np.float64),  # largest (delta T)^2 * speed [N2 m/s]
        ("flash_n", np.float64),  # friction force there, |T_j - T_(j-1)|
        ("flash_speed_m_s", np.float64),
        ("flash_wrap_rad", np.float64),
        ("presliding_m", np.float64),  # creep inside the stick band, kept apart
        ("presliding_j", np.float64),
        ("presliding_exposure_j", np.float64),
        ("load_slip_m", np.float64),  # slipping while the load was applied slowly, kept apart
        ("load_energy_j", np.float64),
        ("lateral_m", np.float64),  # path along the edge while swaying, and its wear, kept apart
        ("lateral_j", np.float64),
        ("lateral_exposure_j", np.float64),
        ("lateral_j_m", np.float64),  # the same over the contact length, as if all at one place
        ("strokes", np.int64),  # cycles made while loaded over this edge
        ("strokes_stuck", np.int64),  # of these, without slip
        # the cycle under way
        ("travel_m", np.float64),  # material that crossed toward the load, signed
        ("cycle_low_m", np.float64),
        ("cycle_high_m", np.float64),
        ("cycle_slip_m", np.float64),
        ("cycle_friction_n", np.float64),  # largest |T_j - T_(j-1)|
        ("cycle_peak_n", np.float64),
        ("cycle_ticks", np.int64),
        # deposition
        ("pending_low", np.int64),  # cells with second differences not yet folded
        ("pending_high", np.int64),
        ("worn_low", np.int64),  # cells ever worn here
        ("worn_high", np.int64),
        # the travel of its window under way, see `wear.field.travel_on`
        ("open_at", np.float64),  # where its middle is [cells]
        ("open_cells", np.float64),  # its length
        ("open_j_m", np.float64),  # by how much less each cell is to get from there on
        ("open_kept", np.float64, (6,)),  # of the field, while somebody looks
        # cells worn since the last look, from 0 on: any; sums of what is pending before a cell
        ("fresh_low", np.int64),
        ("fresh_high", np.int64),
        ("known_cell", np.int64),
        ("known_first", np.float64),
        ("known_value", np.float64),
        # what this edge alone has worn at its worst place
        ("largest_j_m", np.float64),  # at the last look
        ("worn_tick", np.int64, (3,)),  # a third, two thirds, core visible; -1: never
        ("worn_ascended_m", np.float64, (3,)),
        # the slide under way since the last look, see `exposure_bound`
        ("run_way", np.int64),  # 1 toward the load, -1 toward the anchor, 0: none
        ("run_at_m", np.float64),  # material at the edge at its end
        ("run_j_m3", np.float64),  # largest exposure per travel and contact length
        ("run_contact_m", np.float64),  # largest contact length
        ("run_j_m", np.float64),  # sum of exposure per contact length
    ]
)
"""What one edge of the line did since the buffers were cleared."""

TRACE = np.dtype(
    [
        ("tick", np.int64),
        ("depth_m", np.float64),
        ("tension_n", np.float64),
        ("anchor_n", np.float64),
        ("slip_m", np.float64),  # so far, all edges
        ("demand", np.float64),  # largest sheath demand so far
    ]
)
"""A sample of the timeline, taken after the first step that reaches its tick."""

Records = NDArray[np.void]
Floats = NDArray[np.float64]


class Buffers(NamedTuple):
    """The arrays of one section of a line; n edges, c cells."""

    line: Records  # LINE (1,)
    edges: Records  # EDGE (n,); may be edited between calls
    person: Records  # PERSON (1,)
    wear: Records  # WEAR (1,)
    regimes: Records  # REGIME (r,)
    state: Records  # STATE (1,)
    sums: Records  # SUMS (n,)
    pending: Floats  # (n, c + 4) second differences of exposure not yet folded [J/m]
    exposure: Floats  # (n, c) exposure from each edge [J/m]
    cells: Floats  # (3,) cell length, material coordinate of the left end [m], longest step [s]
    travel: Floats  # (n, k) travel of a mark in each stroke [m], NaN where not touched; k may be 0
    trace: Records  # TRACE (k,); k may be 0
    trace_ticks: Any  # int, interval of the trace
    mark_state: Records  # STATE (1,): at the start of the period under way
    mark_sums: Records  # SUMS (n,)
    work: Floats  # scratch of the kernels


WORK_ROWS = 67
"""Rows of the kernels' scratch array."""


def allocate(
    line: Records,
    edges: Records,
    person: Records,
    wear: Records,
    regimes: Records,
    *,
    cell_m: float = 1e-3,
    behind_m: float = 0.0,
    travel: int = 0,
    trace: int = 0,
    trace_ticks: int = 1000,
    step_s: float = 0.015,
    past: bool = False,
) -> Buffers:
    """Make the buffers of one section, cleared.

    line, person, wear: one record each; edges: (n,) records; regimes: from `route`.
    cell_m: length of a cell of the exposure field [m].
    behind_m: rope behind the fixed point that FEED may let out [m].
    travel: strokes the travel log holds; trace: samples of the timeline, `trace_ticks` apart.
    step_s: longest step [s]; two thirds in a quick bounce, never longer than the rope's tau.
    past: whether a row behind those of the edges is for wear from before.
    """
    one = np.atleast_1d
    count = len(edges) + past
    margin_m = behind_m + 0.1
    cells = int(np.ceil((float(one(line)["rope_m"][0]) + margin_m + 0.1) / cell_m)) + 1
    buffers = Buffers(
        line=np.array(one(line), LINE),
        edges=np.array(edges, EDGE),
        person=np.array(one(person), PERSON),
        wear=np.array(one(wear), WEAR),
        regimes=np.array(regimes, REGIME),
        state=np.zeros(1, STATE),
        sums=np.zeros(count, SUMS),
        pending=np.zeros((count, cells + 4)),
        exposure=np.zeros((count, cells)),
        cells=np.array([cell_m, -margin_m, step_s]),
        travel=np.zeros((count, travel)),
        trace=np.zeros(trace, TRACE),
        trace_ticks=trace_ticks,
        mark_state=np.zeros(1, STATE),
        mark_sums=np.zeros(count, SUMS),
        work=np.zeros(WORK_ROWS * 16),
    )
    clear(buffers)
    return buffers


def clear(buffers: Buffers) -> None:
    """Make the buffers ready for another run, touching only the cells that were worn."""
    for row, sums in enumerate(buffers.sums):
        buffers.pending[row, sums["pending_low"] : sums["pending_high"] + 4] = 0.0
        buffers.exposure[row, sums["worn_low"] : sums["worn_high"] + 4] = 0.0
    for records in (buffers.state, buffers.sums, buffers.mark_state, buffers.mark_sums):
        records.view(np.uint8)[...] = 0  # a record with vectors in it is slow to assign
    buffers.travel[...] = np.nan
    buffers.state["phase_end"] = -1
    buffers.state["core_tick"] = -1
    buffers.state["worn_tick"] = -1
    buffers.sums["worn_tick"] = -1
    buffers.state["parted_tick"] = -1
    buffers.sums["bare_tick"] = -1
    buffers.sums["pending_low"] = buffers.exposure.shape[1]
    buffers.sums["worn_low"] = buffers.exposure.shape[1]


def along_m(buffers: Buffers) -> Floats:
    """Unstretched rope from the section's fixed point at load to each cell's middle, (c,) [m]."""
    cell_m, left_m, _ = buffers.cells
    middle: Floats = left_m + (np.arange(buffers.exposure.shape[1]) + 0.5) * cell_m
    return middle
