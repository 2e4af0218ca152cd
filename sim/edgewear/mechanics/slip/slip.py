"""Which edges slip, and how fast: unique rates by active set with a tridiagonal solve.

With tau > 0 every tension is a falling function of the slip rates,
T_i = max(0, A_i - B_i*(q_i - q_(i+1))), and with R_j = exp(mu_j*theta_j)

    q_j > 0 (toward the load):    T_j = R_j*T_(j-1)
    q_j < 0 (toward the anchor):  T_(j-1) = R_j*T_j
    q_j = 0:                      T_j <= R_j*T_(j-1) and T_(j-1) <= R_j*T_j

which is mid(w_j, q_j, u_j) = 0 with u_j = R_j*T_(j-1) + SHIFT_j - T_j and
w_j = T_(j-1) - R_j*T_j - SHIFT_j, both rising in q_j and falling in its neighbours: an M-function.
"""

from __future__ import annotations

from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit

LIMP_N = 1e-9
"""A span counts as without tension below minus this [N], so that T = 0 as a bound is not."""
TOLERANCE = 1e-12
"""Of a slip condition, relative to the tensions beside the edge."""
SAME_RATE = 1e-12
"""Rates that differ by less than this, relative to the largest (at least 1 mm/s), are the same."""
SINGULAR = 1e-12
"""A pivot below this share of its row is rounding."""
HOLDS = 1e-9
"""Breach of a slip condition by which rates not found in the plain way are judged, relative."""
BOTH, TOWARD_LOAD, TOWARD_ANCHOR, NEITHER = 0.0, 1.0, 2.0, 3.0
"""Codes of the ALLOWED row: which slips the modes kept in the state permit."""


@njit
def last_piece(x: float, b: float, take: float, limited: bool, w: Floats) -> Any:
    """Tension of the last span as a line over x, its tension with the device standing still.

    A rise takes rope in at take*clip((F_max - T)/(F_max - m*g), 0, 1), and T grows with it: the
    loop between tension and device rate has one solution, linear in x by pieces.
    Returns (constant, slope, piece) of T = constant + slope*x.
    """
    constant = b * take
    slope = 1.0
    piece = 1.0
    if limited:
        full_n = w[r.LINE_P + r.FULL_N]
        if x >= full_n:
            constant = 0.0
            piece = 2.0
        elif x + constant > w[r.LINE_P + r.WEIGHT_N]:
            share = constant * w[r.REGIME_P + r.PER_RANGE]
            slope = 1.0 / (1.0 + share)
            constant = share * full_n * slope
            piece = 3.0
    tension = constant + slope * x
    if tension < -LIMP_N:
        return 0.0, 0.0, 0.0
    if tension > w[r.LINE_P + r.CAP_N]:
        return w[r.LINE_P + r.CAP_N], 0.0, 4.0
    return constant, slope, piece


@njit
def allowed_mode(up: float, down: float, tolerance: float, allowed: float) -> Any:
    """Mode that mid(v, q, u) selects, kept to what `allowed` permits.

    up: q - u, down: q - v, with q in newtons by the diagonal of the row concerned: then a rate
    found for a slipping edge lies beyond the tolerance by which it was released, and no edge
    flutters between slip and stick.
    """
    if up > tolerance and (allowed in (BOTH, TOWARD_LOAD)):
        return 1.0
    if down < -tolerance and (allowed in (BOTH, TOWARD_ANCHOR)):
        return -1.0
    return 0.0


@njit
def classify(n: int, w: Floats, take: float, limited: bool) -> Any:
    """Pieces, tensions and modes at the present rates; True if any differs from before."""
    changed = False
    for i in range(n):
        x = w[r.A + i] - w[r.B + i] * (w[r.Q + i] - w[r.Q + i + 1])
        piece = 0.0
        w[r.ALPHA + i] = 0.0
        w[r.BETA + i] = 0.0
        w[r.T + i] = max(x, 0.0)
        if x >= -LIMP_N and w[r.B + i] > 0.0:
            piece = 1.0
            w[r.ALPHA + i] = w[r.A + i]
            w[r.BETA + i] = w[r.B + i]
        if piece != w[r.PIECE + i]:
            w[r.PIECE + i] = piece
            changed = True
    x = w[r.A + n] - w[r.B + n] * w[r.Q + n]
    constant, slope, piece = last_piece(x, w[r.B + n], take, limited, w)
    w[r.ALPHA + n] = constant + slope * w[r.A + n]
    w[r.BETA + n] = slope * w[r.B + n]
    w[r.T + n] = max(constant + slope * x, 0.0)
    if piece != w[r.PIECE + n]:
        w[r.PIECE + n] = piece
        changed = True
    for j in range(1, n + 1):
        before = w[r.T + j - 1]
        after = w[r.T + j]
        ratio = w[r.RATIO + j]
        u = ratio * before + w[r.SHIFT + j] - after
        v = before - ratio * after - w[r.SHIFT + j]
        below = w[r.BETA + j - 1]
        above = w[r.BETA + j]
        up = w[r.Q + j] * (ratio * below + above) - u
        down = w[r.Q + j] * (below + ratio * above) - v
        tolerance = TOLERANCE * (1.0 + before + after)
        mode = allowed_mode(up, down, tolerance, w[r.ALLOWED + j])
        if mode != w[r.MODE + j]:
            w[r.MODE + j] = mode
            changed = True
    return changed


@njit
def tridiagonal(n: int, w: Floats, keeps: bool) -> Any:
    """Rates of the present active set: one row an edge, Thomas' algorithm (M-matrix, no pivots).

    Returns whether they are those that were there: at a corner between two pieces either gives
    the same rates, and rounding may choose the one or the other for ever. An edge whose row says
    nothing is let stand, and DIAGONAL[0] counts those that want to slip: their conditions are open.
    keeps: an edge between recoiling spans keeps the rate it has; else it is let stand.
    """
    w[r.DIAGONAL] = 0.0
    for j in range(1, n + 1):
        below = w[r.BETA + j - 1]
        above = w[r.BETA + j]
        lower = 0.0
        diagonal = 1.0
        upper = 0.0
        right = 0.0
        if w[r.MODE + j] > 0.0:
            ratio = w[r.RATIO + j]
            lower = -ratio * below
            diagonal = ratio * below + above
            upper = -above
            right = w[r.ALPHA + j] - ratio * w[r.ALPHA + j - 1] - w[r.SHIFT + j]
        elif w[r.MODE + j] < 0.0:
            ratio = w[r.RATIO + j]
            lower = -below
            diagonal = below + ratio * above
            upper = -ratio * above
            right = ratio * w[r.ALPHA + j] + w[r.SHIFT + j] - w[r.ALPHA + j - 1]
        if j == n:
            upper = 0.0
        if diagonal <= 0.0:  # no tension on either side, or one that a slipping device keeps
            w[r.DIAGONAL] += abs(w[r.MODE + j])
            lower = 0.0
            diagonal = 1.0
            upper = 0.0
            right = 0.0
        if keeps and below == 0.0 and above == 0.0 and w[r.B + j - 1] + w[r.B + j] > 0.0:
            right = w[r.Q + j]
        full = diagonal
        if j == 1:
            right -= lower * w[r.Q + 0]
        else:
            factor = lower / w[r.DIAGONAL + j - 1]
            diagonal -= factor * w[r.UPPER + j - 1]
            right -= factor * w[r.RIGHT + j - 1]
        if diagonal <= SINGULAR * full:  # a taut span between slack ones: let one side stand
            w[r.DIAGONAL] += abs(w[r.MODE + j])
            diagonal = 1.0
            upper = 0.0
            right = 0.0
        w[r.DIAGONAL + j] = diagonal
        w[r.UPPER + j] = upper
        w[r.RIGHT + j] = right
    ahead = 0.0
    moved = 0.0
    largest = 0.0
    for back in range(n):
        j = n - back
        ahead = (w[r.RIGHT + j] - w[r.UPPER + j] * ahead) / w[r.DIAGONAL + j]
        moved = max(moved, abs(ahead - w[r.Q + j]))
        largest = max(largest, abs(ahead))
        w[r.Q + j] = ahead
    return moved <= SAME_RATE * (1e-3 + largest)


@njit
def holds(n: int, w: Floats) -> Any:
    """Whether the rates there keep every friction bound, and lie on it where they slip."""
    for j in range(1, n + 1):
        before = w[r.T + j - 1]
        after = w[r.T + j]
        allowed = w[r.ALLOWED + j]
        over_load = after - w[r.RATIO + j] * before - w[r.SHIFT + j]
        over_anchor = before - w[r.RATIO + j] * after - w[r.SHIFT + j]
        tolerance = HOLDS * (1.0 + before + after)
        if allowed in (BOTH, TOWARD_LOAD) and over_load > tolerance:
            return False
        if allowed in (BOTH, TOWARD_ANCHOR) and over_anchor > tolerance:
            return False
        if w[r.Q + j] > SAME_RATE and over_load < -tolerance:
            return False
        if w[r.Q + j] < -SAME_RATE and over_anchor < -tolerance:
            return False
    return True


@njit
def least_index(n: int, w: Floats, take: float, limited: bool) -> Any:
    """Policy iteration that changes only the first edge whose mode is wrong; False: gave up.

    Changing all at once can go round in circles where friction pulls both ways; one at a time,
    always the first, does not for matrices of this kind (Murty, Linear Algebra Appl. 7 (1974) 309,
    from memory).
    """
    same = False
    for passes in range(40 * n):
        for j in range(1, n + 1):
            w[r.LOWER + j] = w[r.MODE + j]
        changed = classify(n, w, take, limited)
        if passes > 0 and (same or not changed):
            return w[r.DIAGONAL] == 0.0 or holds(n, w)
        first = True
        for j in range(1, n + 1):
            if w[r.MODE + j] != w[r.LOWER + j]:
                if not first:
                    w[r.MODE + j] = w[r.LOWER + j]
                first = False
        same = tridiagonal(n, w, False) and first
    return False


@njit
def _gap(j: int, q: float, n: int, w: Floats, take: float, limited: bool) -> Any:
    """Edge j's own condition mid(v, q, u) with its rate set to q: rises through 0 at its root.

    The conditions are those of this file's head (Euler-Eytelwein as a complementarity problem).
    """
    w[r.Q + j] = q
    classify(n, w, take, limited)
    ratio = w[r.RATIO + j]
    before = w[r.T + j - 1]
    after = w[r.T + j]
    if w[r.MODE + j] > 0.0:
        return ratio * before + w[r.SHIFT + j] - after
    if w[r.MODE + j] < 0.0:
        return before - ratio * after - w[r.SHIFT + j]
    return q


@njit
def _relax(j: int, n: int, w: Floats, take: float, limited: bool) -> Any:
    """Set the rate of edge j so that its own condition holds; returns how far it moved.

    Bracketed by doubling, then regula falsi (Illinois), so that no corner can be jumped over.
    """
    start = w[r.Q + j]
    low = start
    low_gap = _gap(j, low, n, w, take, limited)
    if low_gap == 0.0:
        return 0.0
    reach = 1e-6
    way = -1.0 if low_gap > 0.0 else 1.0
    high = low + way * reach
    high_gap = _gap(j, high, n, w, take, limited)
    while high_gap * way < 0.0 and reach < 1e6:
        low, low_gap = high, high_gap
        reach *= 4.0
        high = low + way * reach
        high_gap = _gap(j, high, n, w, take, limited)
    for _ in range(200):
        if high_gap == 0.0 or abs(high - low) <= 1e-15 * (1e-3 + abs(high)):
            break
        q = (low * high_gap - high * low_gap) / (high_gap - low_gap)
        gap = _gap(j, q, n, w, take, limited)
        if gap * high_gap < 0.0:
            low, low_gap = high, high_gap
        else:
            low_gap *= 0.5
        high, high_gap = q, gap
    w[r.Q + j] = high
    return abs(high - start)


@njit
def one_at_a_time(n: int, w: Floats, take: float, limited: bool) -> Any:
    """Solve edge after edge, the others held: slow, but converges for every M-function.

    Every few sweeps the active set found is tried. False: the budget was not enough.
    Convergence: Rheinboldt, J. Math. Anal. Appl. 32 (1970) 274 (from memory).
    """
    for _ in range(4000):
        for _ in range(5):
            moved = 0.0
            for j in range(1, n + 1):
                moved = max(moved, _relax(j, n, w, take, limited))
        classify(n, w, take, limited)
        if moved <= 1e-14:
            return True
        for j in range(1, n + 1):
            w[r.LOWER + j] = w[r.Q + j]
        tridiagonal(n, w, True)
        classify(n, w, take, limited)
        if holds(n, w):
            return True
        for j in range(1, n + 1):
            w[r.Q + j] = w[r.LOWER + j]
    return False


@njit
def solve_any(n: int, w: Floats, take: float, limited: bool) -> Any:
    """Rates Q_1 .. Q_n from those already there as a start; returns passes, -1 on failure.

    Howard's policy iteration: classify at the present rates, solve the linear rows, repeat
    until nothing changes. A bound on the passes hands over to `least_index`, and that in turn
    to `one_at_a_time`.
    """
    same = False
    for passes in range(n + 6):
        changed = classify(n, w, take, limited)
        if passes > 0 and (same or not changed):
            if w[r.DIAGONAL] == 0.0 or holds(n, w):
                return passes
            break
        same = tridiagonal(n, w, False)
    if least_index(n, w, take, limited) or one_at_a_time(n, w, take, limited):
        return n + 6
    return -1
