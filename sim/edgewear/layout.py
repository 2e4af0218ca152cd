"""The arrays that cross into the kernels: one record per line, edge, person and movement, in SI.

`case` fills them, `engine` hands them over, `mechanics` reads them by field name; nobody else
needs them. Angles are in rad, times of the clock in ticks of 0.1 ms, everything else in SI.
"""

from __future__ import annotations

from enum import IntEnum, IntFlag

import numpy as np

TICK_S = 1e-4
"""One tick of the clock [s]; SimPy time is a whole number of these."""

MAX_EDGES = 12
"""Edges one line may run over."""


class Kind(IntEnum):
    """What a movement does to the line it is made on."""

    HOLD = 0  # nobody moves: duration_ticks
    STROKES = 1  # climb `length_m` in strokes (rise, sit back, pause)
    PAYOUT = 2  # the device lets out `length_m` at `speed_m_s`, starts and stops within `stop_s`
    WORK = 3  # `duration_ticks` in place: bounce, sway and tool reaction
    FEED = 4  # the anchor end takes in (length > 0) or lets out rope: haul, lower, shift, machine
    LOAD = 5  # the person hangs on slowly at `depth_m`; ends what hung before
    UNLOAD = 6  # the line is free of load until the next LOAD
    EDIT = 7  # row `variant` of the case takes the place of edge `edge`; never reaches a kernel
    SWAP = 8  # a fresh rope takes the place of the one in use; never reaches a kernel
    IDLE = 10  # nothing but time passes, `idle_ticks`; never reaches a kernel
    DROP = 9  # the person falls `length_m` free onto a straight rope, then hangs `duration_ticks`


class Status(IntFlag):
    """Why a kernel call returned."""

    DONE = 1  # the movement is complete
    UNTIL = 2  # the next step would pass the tick asked for
    CORE_VISIBLE = 4
    PARTED = 8
    SLACK = 16
    WATCH = 32  # demand reached the level somebody looks for
    FULL = 64  # the rope in this line is used up
    DRAWS = 128  # more stroke variation is needed to go on
    FAILED = 256  # not a number, or the step budget is used up


_VECTOR = (np.float64, (3,))

LINE = np.dtype(
    [
        ("role", np.int64),  # 0 working line, 1 safety line
        ("direct", np.int64),  # 1: bends and free lengths are given, 0: from coordinates
        ("edge_count", np.int64),
        ("stiffness_n", np.float64),  # K, dynamic [N per unit strain]
        ("viscous_s", np.float64),  # tau
        ("diameter_m", np.float64),
        ("rope_kg_m", np.float64),
        ("anchor_m", *_VECTOR),  # x out, y along, z up
        ("load_out_m", np.float64),  # the load's track is the vertical line at (out, along)
        ("load_along_m", np.float64),
        (
            "device_slip_n",
            np.float64,
        ),  # the device lets rope through above this tension; inf: never
        ("rope_m", np.float64),  # unstretched rope available from the anchor on
        ("track_count", np.int64),  # points of the load's track where it is not plumb
        ("track_m", np.float64, (52, 3)),  # depth, out, along; straight between them
    ]
)
"""A line from a fixed point to the person.

Depth is -z with coordinates, else counted from the last edge.
"""

EDGE = np.dtype(
    [
        ("friction", np.float64),  # mu, kinetic, of what the rope lies on
        ("static_ratio", np.float64),  # static over kinetic, at least 1
        ("power_exponent", np.float64),  # n of F = a*N^n; 1: Coulomb
        ("radius_m", np.float64),  # of the edge itself
        ("severity", np.float64),  # M_edge of it bare, relative to a bare steel arris of 1 mm
        ("thickness_m", np.float64),  # of what lies on it; 0: nothing
        ("own_radius_m", np.float64),  # that it has of itself: the rope sees no less
        ("spares", np.float64),  # how many times it spares a rope on that arris; up to 1: nothing
        ("wet_factor", np.float64),  # M_wet
        ("start_m", *_VECTOR),  # the edge is the straight segment start..end
        ("end_m", *_VECTOR),
        ("after_m", np.float64),  # direct: free length from the fixed point or edge before it
        ("bend_rad", np.float64),  # direct: wrap angle
        ("led", np.int64),  # 0 edge; a point the line is led through: 1 deviation, 2 fixed pulley
        ("reach_m", np.float64),  # deviation: length of its sling
    ]
)

PERSON = np.dtype(
    [
        ("mass_kg", np.float64),
        ("body_stiffness_n_m", np.float64),  # inf: a dead weight
        ("force_ratio", np.float64),  # F_max / (m*g)
        ("amplitude_cv", np.float64),  # of strokes
        ("timing_cv", np.float64),
        ("skill", np.float64),  # 0 fixed period .. 1 waits for the bounce
        ("fatigue_per_stroke", np.float64),  # share of the way to jerky added a stroke
    ]
)

WEAR = np.dtype(
    [
        ("sheath_j_m", np.float64),  # X_s, exposure at which the core shows
        ("core_j_m", np.float64),  # X_c
        ("core_exponent", np.float64),  # a
        ("reference_pressure_pa", np.float64),  # p0
        ("reference_speed_m_s", np.float64),  # v0
        ("cold_share", np.float64),  # c
        ("width_share", np.float64),  # contact width over diameter
        ("arc_share", np.float64),  # least contact radius over diameter
        ("presliding_m", np.float64),  # creep a cycle inside the stick band
        (
            "law",
            np.int64,
        ),  # 0 weighted, 1 unweighted energy, 2 rival: cold part and power threshold
        ("power_threshold_w_m2", np.float64),  # rival law
        ("breaking_n", np.float64),  # of the new rope, termination and bend counted
        ("core_strength_share", np.float64),  # of breaking_n held by the core
        ("core_weakening", np.float64),  # of that, gone by the time the sheath is through
    ]
)

MOVEMENT = np.dtype(
    [
        ("kind", np.int64),
        ("line", np.int64),  # row of LINE
        ("duration_ticks", np.int64),  # HOLD, WORK
        ("length_m", np.float64),  # STROKES: height to gain; PAYOUT, FEED: rope
        (
            "depth_m",
            np.float64,
        ),  # LOAD; for STROKES the highest, for PAYOUT the lowest depth wanted
        ("mass_kg", np.float64),  # LOAD: 0 takes the person's
        ("rise_m", np.float64),  # net gain of a stroke
        ("sit_back_m", np.float64),
        ("rise_s", np.float64),
        ("drop_s", np.float64),
        ("pause_s", np.float64),
        ("speed_m_s", np.float64),  # PAYOUT, FEED
        ("stop_s", np.float64),  # PAYOUT, FEED: from full speed to rest
        ("bounce_m", np.float64),  # WORK: vertical amplitude and rate
        ("bounce_hz", np.float64),
        ("sway_m", np.float64),  # WORK: sideways amplitude and rate
        ("sway_hz", np.float64),
        ("tool_n", np.float64),  # WORK: amplitude of the tool reaction, at the bounce rate
        ("cycles", np.int64),  # FEED: to-and-fro cycles of `length_m`; 0: once, one way
        ("first_stroke", np.int64),  # ordinal of the first stroke since the start of the job
        ("step", np.int64),  # which step of the job this belongs to
        ("person", np.int64),  # row of PERSON
        ("pattern", np.int64),  # which pairing of person and technique its numbers come from
        ("cut_ticks", np.int64),  # 0: made whole; else it was cut after so many ticks
        (
            "idle_ticks",
            np.int64,
        ),  # between the end of the line's movement before it and its start
        ("fatigue", np.float64),  # STROKES: share of the way to jerky at its first stroke
        ("edge", np.int64),  # EDIT: which edge of the line, counted from the fixed point
        ("variant", np.int64),  # EDIT: row of the case's variants
        ("at_ticks", np.int64),  # EDIT: so long after the line's next movement begins
    ]
)
