"""Rows of the flat array of lanes: what row r of lane i holds lies at place r + i.

One array, every row at a place known while compiling: so the compiler sees that the lanes of a
loop do not meet, and makes it of instructions that take many lanes at once. A row of an edge, or of
a free length, is followed by those of the next ones: what row r of lane i holds of edge e (0, 1 ..)
lies at r + e*NEXT + i, and so does what it holds of the free length above that edge.
"""

from __future__ import annotations

LANES = 16
"""Runs side by side: two registers of eight numbers, so that one is worked on while one waits."""
EDGES = 6
"""Edges touched at once for which there are rows."""
NEXT = LANES
"""From a row of one edge, or free length, to that of the next."""


def _rows(first: int, many: int, each: int = 1) -> range:
    """Places of `many` rows from `first` on, `each` of them for what is named once."""
    return range(first, first + many * each * LANES, each * LANES)


# the line, and the clock of its phase
(
    Y, V, PART, PHASE_TICK, TICK, STEPS, STORED, DRAWN, BOUND, PEAK, STRETCH, ANCHOR_PEAK, DEVICE,
    LEAVES, MOVER, VISCOUS, FRICTION, MIXING, FLOWS, PIECE, PIECE_BEGAN,
) = _rows(0, 21)  # fmt: skip
_A = 21 * LANES
# what stays while a phase lasts
(
    LIMITED, PAYS, HANGS, TILTS, RATE, DURATION, PER_RAMP, PER_DURATION, OMEGA, SWAY_OMEGA, BOUNCE,
    SWAY, TOOL, OFFSET_S, TILT, STEP_TICKS, PHASE_END, RISE_S, POINT, EXTRA, OFFSET, BODY, MASS,
    LOW_M, HIGH_M, LEAST_FALL, PER_CELL, CELL_M, LEFT_M, ANCHOR_AT, CELLS, ROOM, RESCAN, HOLDS,
    DIAMETER, K, K_TAU, PER_K_TAU, GRAVITY, PER_MASS, WEIGHT, FULL, PER_RANGE, CAP, COLD,
    PER_SPEED, ACTIVE,
) = _rows(_A, 47)  # fmt: skip
_B = _A + 47 * LANES
# the step under way: its length, its stages, what they add up to
(
    TICKS, TRIED, NOTHING, H, HALF, SIXTH, THIRD, TIME, Y_I, V_I, PART_I, S0_I, D1_I, TAKE,
    GIVEN, FALL, DY, DV, DP, MID_V, MID_A, MID_P, DD, RUBBED_ALL, D_DEVICE, D_LEAVES, D_VISCOUS,
    D_MIXING, FINE, POWER_LOST, PULL, MIXED, LEAST, SETTLED, NEW_Y, NEW_V, NEW_PART, AFTER,
    STRETCHED, USED, TURNS_ANY, STANDS, HIGH, AT, GROWTH, OUT, ANCHOR_N, GONE, GONE_RATE, SWAY_M,
    SWAY_RATE, TOOL_N, BY_SWAY, D_MOVER, REST,
) = _rows(_B, 55)  # fmt: skip
_C = _B + 55 * LANES
# the search for the tick at which a rise is over; what comes of a step
SEARCH_LOW, SEARCH_HIGH, GUESS, LAST, EVENT = _rows(_C, 5)
_D = _C + 5 * LANES
# of each free length: unstretched rope, tensions at the begin, in the middle and at the end
(
    S, NEW_S, FREE, SLOPE, PULLS, STAGE, STRAIN, SHARE_RATE, EASE, GIVE, EASES, GIVES, T_1, T_3,
    T_4, LAST_T,
) = _rows(_D, 16, EDGES + 1)  # fmt: skip
_E = _D + 16 * (EDGES + 1) * LANES
# of each edge, and of both ends: rates of slip, and what they add up to
_Q = _rows(_E, 5, EDGES + 2)
Q_1, Q_3, Q_4, LAST_Q, DQ = (place + NEXT for place in _Q)
_F = _E + 5 * (EDGES + 2) * LANES
# what each edge has seen
(
    EDGE_PEAK, CYCLE_PEAK, WRAP, CYCLE_TICKS, BARE_TICK, BARE_TICKS, RUBBING, SLIP, CYCLE_SLIP,
    ENERGY, EXPOSURE, TRAVEL, CYCLE_LOW, CYCLE_HIGH, FLASH, FLASH_N, FLASH_SPEED, FLASH_WRAP, SLIPS,
    RUN_WAY, RUN_AT, RUN_STEEP, RUN_WIDE, RUN_TOTAL, MODE, GUESSED, BEGAN, FIRST, WORN_LOW,
    WORN_HIGH,
    # what stays while it is touched, and its bend
    START_RATIO, RATIO, FALLS, MU, START_BEND, TURN, BEND, BARE_BEND, RADIUS, WINDOW, PER_WINDOW,
    WINDOW_CELLS, GAIN, ROW,
    # the step under way
    PATH, RUBBED, WORN, WORN_1, WORN_4, EARLY_SLIP, EARLY_WORN, TOP,
    # the travel of its window under way
    OPEN_AT, OPEN_CELLS, OPEN_J,
    # of each half: whether its travel deposits, what travel it shuts, two ramps in three cells each
    DEPOSITS, SHUT_AT, SHUT_CELLS, SHUT_J, RAMPS,
) = _rows(_F, 60, EDGES)  # fmt: skip
EACH = EDGES * LANES
"""From a row of all edges to the next."""
RAMP = 4 * EACH
"""Rows of a ramp: its first cell, and what that one and the next two get."""
LATER = 4 * EACH + 2 * RAMP
"""From a row of the first half's deposit to that of the second."""
SIZE = DEPOSITS + 2 * LATER
ROWS = SIZE // LANES
