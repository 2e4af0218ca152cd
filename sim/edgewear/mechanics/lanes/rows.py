"""Where things lie in the lanes' array: rows of `LANES` numbers, row r of lane i at LANES*r + i.

One flat array, the rows' numbers known while compiling: so a compiler sees that no lane touches
another's numbers, and takes them all at once. Whole numbers are kept as floats, exact to 2^53.
"""

from __future__ import annotations

LANES = 8

# what stays while a load hangs there, in the order of `flow.Taut`
CONSTANTS = 0
(
    K, K_TAU, ABOVE, GRAVITY, PER_MASS, WEIGHT_N, FULL_N, PER_RANGE, CAP_N,
    LAW, COLD, PER_SPEED, THRESHOLD, GAIN, SEVERITY, AREA,
) = range(16)  # fmt: skip
POINT, EXTRA, RATIO, BODY_M, LOW, HIGH, BEND, WINDOW, ROPE_M = range(16, 25)

# what stays in a phase, the first six in the order of `taut_step.Moved`
LIMITED, RAMPS, RATE, PER_DURATION, DURATION, RAMP = range(25, 31)
STEP_TICKS, PHASE_END, RISE_S, RESCAN, HOLDS_N, MOST_STEPS = range(31, 37)

# the state
Y, V, PART, SPAN_0, SPAN_1, PHASE_TICK, TICK, STEPS = range(37, 45)
PEAK, ANCHOR_PEAK, STRETCH, ANCHOR_AT, DRAWN, BOUND, MODE = range(45, 52)
DEVICE, LEAVES, VISCOUS, FRICTION, MIXING, FLOWS = range(52, 58)

# the edge's sums
EDGE_PEAK, CYCLE_PEAK, WRAP, CYCLE_TICKS, BARE_TICK, BARE_TICKS, CYCLE_FRICTION = range(58, 65)
SLIP, CYCLE_SLIP, ENERGY, EXPOSURE, TRAVEL, CYCLE_LOW, CYCLE_HIGH = range(65, 72)
FLASH, FLASH_N, FLASH_SPEED, FLASH_WRAP, SLIPS = range(72, 77)
RUN_WAY, RUN_AT, RUN_STEEP, RUN_WIDE, RUN_TOTAL = range(77, 82)

# what a step leaves for those who look: tensions and slip rates at its stages, the deposit
START_0, START_1, START_Q, MIDDLE_0, MIDDLE_1, MIDDLE_Q = range(82, 88)
END_0, END_1, END_Q, STRAIN_0, STRAIN_1 = range(88, 93)
FROM_CELL, TO_CELL, AMOUNT, OUTCOME = range(93, 97)
ROWS = 97

GOES_ON, BOOKED, LEFT = 0.0, 1.0, 2.0
"""OUTCOME of a lane's step: taken, and another can be; taken, and it has to be looked at; not."""
