"""Where things lie in the kernels' flat scratch array: rows of 16, a place a span or an edge.

Span i of a line with n edges touched is column i (0 .. n); edge j is column j (1 .. n).
Nothing here outlives a kernel call: what must last is copied to the state.
"""

from __future__ import annotations

# the slip problem: T_i = A_i - B_i * (Q_i - Q_(i+1)), T_hi = RATIO * T_lo + SHIFT
A, B, RATIO, SHIFT, Q, T = 0, 16, 32, 48, 64, 80
ALPHA, BETA, LOWER, DIAGONAL, UPPER, RIGHT = 96, 112, 128, 144, 160, 176
MODE, PIECE, ALLOWED = 192, 208, 224

# spans: unstretched rope at the step's start, at the stage, its rate, taut flag, strain
SPAN, STAGE, RATE, TAUT, STRAIN = 240, 256, 272, 288, 304

# geometry and edges of the regime
FREE, SLOPE, BEND, BEND_SLOPE = 320, 336, 352, 368
MU, RADIUS, WINDOW, GAIN, SEVERITY, STATIC, POWER, ROW, AREA = (
    384,
    400,
    416,
    432,
    448,
    464,
    480,
    496,
    512,
)

# the step: weighted sums over the stages, shares of its first half, values at its start and middle
D_SPAN, D_SLIP, D_PATH, D_ENERGY, D_EXPOSURE, EARLY_SLIP, EARLY_EXPOSURE = range(528, 640, 16)
T_START, Q_START, T_MIDDLE, Q_MIDDLE = 640, 656, 672, 688
GLOBAL, TOTAL = 704, 720

# scalars
LINE_P, PHASE_P, REGIME_P = 736, 752, 768
SCAN_1, SCAN_2 = 784, 800
MOVING, KINK = 816, 832

# runs of edges that slip alike: 1/RATIO, 1/B, A/B, and sums of both to the end of the run
FALLS, EASE, GIVE, EASES, GIVES = 912, 928, 944, 960, 976

# cells of the exposure field looked at together; the largest exposure by each edge alone
SCAN, BLOCK = 848, 64
SCAN_MOST = 992

# RATIO where an affine piece of the contact set begins
START_RATIO = 1008

# bend where the load is now, swayed or not
TURNED = 1024

# exposure a second at each edge, at the stage and at the step's start
WORN, WORN_START = 1040, 1056

# columns of GLOBAL and TOTAL [J]
DEVICE, LEAVES, FEED_WORK, MOVER, VISCOUS, FRICTION, MIXING, FLOWS = 0, 1, 2, 3, 4, 5, 6, 7

# columns of LINE_P
K, TAU, K_TAU, MASS, GRAVITY, BODY_M = 0, 1, 2, 3, 4, 5
FULL_N, WEIGHT_N, CAP_N = 6, 7, 8
COLD, PER_SPEED, LAW, THRESHOLD, ANY_STATIC, ANY_POWER, PER_K_TAU = 9, 10, 11, 12, 13, 14, 15

# columns of PHASE_P
RATE_P, DURATION, PER_RAMP, OMEGA, SWAY_OMEGA, BOUNCE, SWAY, TOOL, OFFSET_S = range(9)

# columns of REGIME_P
CLOSED, FIXED_BEND, OUT, POINT, IN_OUT, IN_DOWN, LOW, HIGH, OFFSET_M = 0, 1, 2, 3, 4, 5, 6, 7, 8

# further columns of REGIME_P that the line sets, and of PHASE_P
PER_RANGE, PER_MASS, DIAMETER, PER_CELL = 9, 10, 11, 12
TILT, BESIDE = 13, 14
"""How a sway adds to the last bend; edges of the contact sets whose steps lanes take, 0: of one
edge, by the step of its own."""
PER_DURATION = 10

# phases of a movement
NO_PHASE, RISE, DROP, PAUSE, STILL, PAYOUT, FEED, WORK, WAIT = 0, 1, 2, 3, 4, 5, 6, 7, 8
