"""Rows of the flat array of lanes: what row r of lane i holds lies at place r + i.

One array, every row at a place known while compiling: so the compiler sees that the lanes of a
loop do not meet, and makes it of instructions that take many lanes at once.
"""

from __future__ import annotations

LANES = 16
"""Runs side by side: two registers of eight numbers, so that one is worked on while one waits."""

# the line, and the clock of its phase
(
    Y, V, PART, S0, S1, PHASE_TICK, TICK, STEPS, STORED, DRAWN, BOUND, PEAK, STRETCH, ANCHOR_PEAK,
    MODE, DEVICE, LEAVES, VISCOUS, FRICTION, MIXING, FLOWS,
) = range(0, 21 * LANES, LANES)  # fmt: skip
_A = 21 * LANES
# what its edge has seen
(
    EDGE_PEAK, CYCLE_PEAK, WRAP, CYCLE_TICKS, BARE_TICK, BARE_TICKS, RUBBING, SLIP, CYCLE_SLIP,
    ENERGY, EXPOSURE, TRAVEL, CYCLE_LOW, CYCLE_HIGH, FLASH, FLASH_N, FLASH_SPEED, FLASH_WRAP,
    SLIPS, RUN_WAY, RUN_AT, RUN_STEEP, RUN_WIDE, RUN_TOTAL,
) = range(_A, _A + 24 * LANES, LANES)  # fmt: skip
_B = _A + 24 * LANES
# what stays while a phase lasts
(
    LIMITED, RATE, PER_DURATION, STEP_TICKS, PHASE_END, RISE_S,
    RATIO, FALLS, POINT, EXTRA, OFFSET, BODY, MASS, LOW_M, HIGH_M, BEND, BARE_BEND,
    PER_CELL, WINDOW, WINDOW_CELLS, LEFT_M, ANCHOR_AT, CELLS, ROOM, RESCAN, HOLDS,
    K, K_TAU, ABOVE_M, GRAVITY, PER_MASS, WEIGHT, FULL, PER_RANGE, CAP, COLD, PER_SPEED, GAIN,
    ACTIVE,
) = range(_B, _B + 39 * LANES, LANES)  # fmt: skip
_D = _B + 39 * LANES
# the step under way: its length, its stages, what they add up to
(
    TICKS, TRIED, H, HALF, SIXTH, THIRD, TIME, Y_I, V_I, PART_I, S0_I, D1_I, Q_I,
    DY, DV, DP, DQ, DD, PATH, RUBBED, WORN, D_DEVICE, D_LEAVES, D_VISCOUS, D_MIXING, FINE,
    EARLY_SLIP, EARLY_WORN, GROWN,
    T0_1, T1_1, Q_1, T0_3, T1_3, Q_3, T0_4, T1_4, Q_4, E0, E1,
    LAST_T0, LAST_T1, LAST_Q,
    NEW_Y, NEW_V, NEW_PART, NEW_S0, NEW_S1, AFTER, STANDS, HIGH,
) = range(_D, _D + 51 * LANES, LANES)  # fmt: skip
_E = _D + 51 * LANES
# the search for the tick at which a rise is over
SEARCH_LOW, SEARCH_HIGH, GUESS, LAST = range(_E, _E + 4 * LANES, LANES)
_F = _E + 4 * LANES
# what comes of a step: an event, and the cells it has worn so far
EVENT, PENDING_LOW, PENDING_HIGH = range(_F, _F + 3 * LANES, LANES)
# a deposit of each half: whether there is one, and four ramps in three cells each
_G = _F + 3 * LANES
DEPOSITS, RAMPS = range(_G, _G + 2 * LANES, LANES)
RAMP = 4 * LANES
"""Rows of a ramp: its first cell, and what that one and the next two get."""
LATER = LANES + 4 * RAMP
"""From a row of the first half's deposit to that of the second."""
SIZE = _G + 2 * LATER
ROWS = SIZE // LANES
