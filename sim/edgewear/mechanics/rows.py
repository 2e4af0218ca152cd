"""Where things lie in the kernels' scratch array: rows of 16, one column a span or an edge.

Span i of a line with n edges touched is column i (0 .. n); edge j is column j (1 .. n).
Nothing here outlives a kernel call: what must last is copied to the state.
"""

from __future__ import annotations

# the slip problem: T_i = A_i - B_i * (Q_i - Q_(i+1)), T_hi = RATIO * T_lo + SHIFT
A, B, RATIO, SHIFT, Q, T = 0, 1, 2, 3, 4, 5
ALPHA, BETA, LOWER, DIAGONAL, UPPER, RIGHT = 6, 7, 8, 9, 10, 11
MODE, PIECE, ALLOWED = 12, 13, 14

# spans: unstretched rope at the step's start, at the stage, its rate, taut flag, strain
SPAN, STAGE, RATE, TAUT, STRAIN = 15, 16, 17, 18, 19

# geometry and edges of the regime
FREE, SLOPE, BEND, BEND_SLOPE = 20, 21, 22, 23
MU, RADIUS, WINDOW, GAIN, SEVERITY, STATIC, POWER, ROW, AREA = 24, 25, 26, 27, 28, 29, 30, 31, 32

# the step: weighted sums over the stages, and values at its start and middle
D_SPAN, D_SLIP, D_PATH, D_ENERGY, D_EXPOSURE = 33, 34, 35, 36, 37
T_START, Q_START, T_MIDDLE, Q_MIDDLE = 38, 39, 40, 41
GLOBAL, TOTAL = 42, 43

# scalars
LINE_P, PHASE_P, REGIME_P = 44, 45, 46
SCAN_1, SCAN_2 = 47, 48
MOVING, KINK = 49, 50

# columns of GLOBAL and TOTAL [J]
DEVICE, LEAVES, FEED_WORK, MOVER, VISCOUS, FRICTION, MIXING, FLOWS = 0, 1, 2, 3, 4, 5, 6, 7

# columns of LINE_P
K, TAU, K_TAU, MASS, GRAVITY, BODY_M, FULL_N, RANGE_N, WEIGHT_N, CAP_N = (
    0,
    1,
    2,
    3,
    4,
    5,
    6,
    7,
    8,
    9,
)
COLD, PER_SPEED, LAW, THRESHOLD, ANY_STATIC, ANY_POWER = 10, 11, 12, 13, 14, 15

# columns of PHASE_P
RATE_P, DURATION, RAMP, OMEGA, SWAY_OMEGA, BOUNCE, SWAY, TOOL, OFFSET_S = 0, 1, 2, 3, 4, 5, 6, 7, 8

# columns of REGIME_P
CLOSED, FIXED_BEND, OUT, POINT, IN_OUT, IN_DOWN, LOW, HIGH, TOP = 0, 1, 2, 3, 4, 5, 6, 7, 8

# phases of a movement
NO_PHASE, RISE, DROP, PAUSE, STILL, PAYOUT, FEED, WORK, WAIT = 0, 1, 2, 3, 4, 5, 6, 7, 8
