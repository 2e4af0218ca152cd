"""The taut string in space between two points: the jitted twin of the plain one in `rigging`.

A string passes outside straight edges in list order. For given touched edges its length is a
convex function of the crossings (Newton steps with bounds); edges bent the wrong way are let go,
edges cut through are taken up, until neither is left. No allocation: all arrays are the caller's.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from edgewear.layout import MAX_EDGES
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit

BEND_FLOOR_RAD = 1e-9
SIDE_FLOOR_M = 1e-10
SOFTENING_M = 1e-9


class Edges(NamedTuple):
    """Edges of a line as arrays, n rows; and rows to work in."""

    start: Floats  # (n, 3) [m]
    along: Floats  # (n, 3) unit vector from start to end
    extent: Floats  # (n,) length [m]
    led: Any  # (n,) int64, 0 an edge; else a led point, which no string bends over by itself
    turn: Floats  # (n, 3) unit vector about which the line turns; set for each string
    passed: Any  # (n,) int64, the string's end hangs below the edge; set for each string
    near: Floats  # (n, 3) point of the edge nearest the straight line
    touched: Any  # (n,) int64, edges of the string found
    place: Floats  # (n,) crossing along each of them [m]
    points: Floats  # (n + 2, 3) of the string found
    trial: Floats  # (n,) crossings tried
    step: Floats  # (n,) Newton step
    slope: Floats  # (n,)
    diagonal: Floats  # (n,)
    beside: Floats  # (n,)


def edges_of(start: Floats, end: Floats, led: Any) -> Edges:
    """Make the arrays for edges start .. end, (n, 3) each [m]; led: (n,) int64."""
    count = len(start)
    span = end - start
    extent = np.sqrt((span * span).sum(axis=1))
    rows = max(count, 1)
    return Edges(
        start=np.ascontiguousarray(start),
        along=span / np.maximum(extent, 1e-300)[:, None],
        extent=extent,
        led=np.ascontiguousarray(led),
        turn=np.zeros((rows, 3)),
        passed=np.zeros(rows, np.int64),
        near=np.zeros((rows, 3)),
        touched=np.zeros(rows, np.int64),
        place=np.zeros(rows),
        points=np.zeros((MAX_EDGES + 2, 3)),
        trial=np.zeros(rows),
        step=np.zeros(rows),
        slope=np.zeros(rows),
        diagonal=np.zeros(rows),
        beside=np.zeros(rows),
    )


@njit
def turn_of(
    ax: float, ay: float, az: float, bx: float, by: float, bz: float, turn: Floats, j: int
) -> Any:
    """Angle from a to b, negative if it does not turn about `turn[j]` [rad].

    atan2(|a x b|, a . b), exact for small angles where acos of the cosine is not.
    """
    x = ay * bz - az * by
    y = az * bx - ax * bz
    z = ax * by - ay * bx
    angle = math.atan2(math.sqrt(x * x + y * y + z * z), ax * bx + ay * by + az * bz)
    return angle if x * turn[j, 0] + y * turn[j, 1] + z * turn[j, 2] >= 0.0 else -angle


@njit
def _orient(e: Edges, j: int, dx: float, dy: float, dz: float) -> None:
    """Turn the edge's direction so that the structure is on the right hand of the string."""
    x, y, z = e.along[j, 0], e.along[j, 1], e.along[j, 2]
    if abs(y) > 1e-6:
        sign = 1.0 if y > 0.0 else -1.0
    else:
        share = x + z
        ox, oy, oz = 1.0 - share * x, -share * y, 1.0 - share * z
        across = dx * (y * oz - z * oy) + dy * (z * ox - x * oz) + dz * (x * oy - y * ox)
        sign = 1.0 if across >= 0.0 else -1.0
    e.turn[j, 0], e.turn[j, 1], e.turn[j, 2] = sign * x, sign * y, sign * z


@njit
def _hangs_below(e: Edges, j: int, bx: float, by: float, bz: float) -> Any:
    """1 if the end of the string has passed edge j; always so for an upright edge."""
    x, y, z = e.turn[j, 0], e.turn[j, 1], e.turn[j, 2]
    if math.sqrt(x * x + y * y) < 1e-6:
        return 1
    # turn x outward, outward = (y, -x, 0)
    down = (
        (bx - e.start[j, 0]) * (z * x)
        + (by - e.start[j, 1]) * (z * y)
        - (bz - e.start[j, 2]) * (x * x + y * y)
    )
    return 1 if down > 0.0 else 0


@njit
def _nearest(e: Edges, j: int, p: Floats) -> None:
    """Point of edge j nearest the straight line p[0] .. p[1], to `near`."""
    dx, dy, dz = p[1, 0] - p[0, 0], p[1, 1] - p[0, 1], p[1, 2] - p[0, 2]
    size = max(math.sqrt(dx * dx + dy * dy + dz * dz), 1e-300)
    dx, dy, dz = dx / size, dy / size, dz / size
    gx, gy, gz = p[0, 0] - e.start[j, 0], p[0, 1] - e.start[j, 1], p[0, 2] - e.start[j, 2]
    slope = e.along[j, 0] * dx + e.along[j, 1] * dy + e.along[j, 2] * dz
    flat = 1.0 - slope * slope
    at = 0.0
    if flat > 1e-12:
        reached = gx * e.along[j, 0] + gy * e.along[j, 1] + gz * e.along[j, 2]
        at = (reached - (gx * dx + gy * dy + gz * dz) * slope) / flat
    at = min(max(at, 0.0), e.extent[j])
    for c in range(3):
        e.near[j, c] = e.start[j, c] + at * e.along[j, c]


@njit
def _chain_turns(e: Edges, before: int, j: int, after: int, p: Floats) -> Any:
    """Bend at nearest point j between those before and after; -1 stands for an end."""
    a0 = p[0, 0] if before < 0 else e.near[before, 0]
    a1 = p[0, 1] if before < 0 else e.near[before, 1]
    a2 = p[0, 2] if before < 0 else e.near[before, 2]
    b0 = p[1, 0] if after < 0 else e.near[after, 0]
    b1 = p[1, 1] if after < 0 else e.near[after, 1]
    b2 = p[1, 2] if after < 0 else e.near[after, 2]
    x, y, z = e.near[j, 0], e.near[j, 1], e.near[j, 2]
    return turn_of(x - a0, y - a1, z - a2, b0 - x, b1 - y, b2 - z, e.turn, j)


@njit
def _scan(e: Edges, first: int, last: int, p: Floats) -> Any:
    """First guess of the touched edges, exact in a plane; returns how many."""
    count = 0
    for j in range(first, last + 1):
        if j < last and e.passed[j] == 0:
            continue
        after = j if j < last else -1
        while count > 0:
            before = e.touched[count - 2] if count > 1 else -1
            if _chain_turns(e, before, e.touched[count - 1], after, p) > BEND_FLOOR_RAD:
                break
            count -= 1
        if j < last:
            e.touched[count] = j
            count += 1
    return count


@njit
def put_points(e: Edges, count: int, place: Floats, p: Floats) -> Any:
    """Points of the string for given crossings, to `points`; returns its softened length."""
    for c in range(3):
        e.points[0, c] = p[0, c]
        e.points[count + 1, c] = p[1, c]
    for k in range(count):
        j = e.touched[k]
        for c in range(3):
            e.points[k + 1, c] = e.start[j, c] + place[k] * e.along[j, c]
    length = 0.0
    for k in range(count + 1):
        x = e.points[k + 1, 0] - e.points[k, 0]
        y = e.points[k + 1, 1] - e.points[k, 1]
        z = e.points[k + 1, 2] - e.points[k, 2]
        length += math.sqrt(x * x + y * y + z * z + SOFTENING_M * SOFTENING_M)
    return length


@njit
def _newton(e: Edges, count: int, place: Floats, p: Floats) -> Any:
    """Newton step of the crossings to `step`; returns the steepest slope of the free ones.

    Length sum |p_(k+1) - p_k| with p_k = start + s_k*along: slope along.(u_in - u_out), second
    derivatives (1 - (along.u)^2)/length on the diagonal (the plain calculus of a sum of lengths).
    """
    put_points(e, count, place, p)
    trace = 0.0
    q = e.points
    ux, uy, uz, size = 0.0, 0.0, 0.0, 1.0
    for k in range(count + 1):
        vx, vy, vz = q[k + 1, 0] - q[k, 0], q[k + 1, 1] - q[k, 1], q[k + 1, 2] - q[k, 2]
        far = math.sqrt(vx * vx + vy * vy + vz * vz + SOFTENING_M * SOFTENING_M)
        vx, vy, vz = vx / far, vy / far, vz / far
        if k > 0:
            i = e.touched[k - 1]
            x, y, z = e.along[i, 0], e.along[i, 1], e.along[i, 2]
            arriving = x * ux + y * uy + z * uz
            leaving = x * vx + y * vy + z * vz
            e.slope[k - 1] = arriving - leaving
            e.diagonal[k - 1] = (1.0 - arriving**2) / size + (1.0 - leaving**2) / far
            trace += e.diagonal[k - 1]
            if k < count:
                j = e.touched[k]
                ahead = e.along[j, 0] * vx + e.along[j, 1] * vy + e.along[j, 2] * vz
                both = x * e.along[j, 0] + y * e.along[j, 1] + z * e.along[j, 2]
                e.beside[k - 1] = -(both - leaving * ahead) / far
        ux, uy, uz, size = vx, vy, vz, far
    return _solve(e, count, place, 1e-13 * max(trace, 1e-300))


@njit
def _solve(e: Edges, count: int, place: Floats, hair: float) -> Any:
    """Tridiagonal solve (Thomas' algorithm); crossings that the slope holds at a bound stay."""
    steepest = 0.0
    for k in range(count):
        held = (place[k] <= 0.0 and e.slope[k] > 0.0) or (
            place[k] >= e.extent[e.touched[k]] and e.slope[k] < 0.0
        )
        if held:
            e.diagonal[k], e.slope[k] = 1.0, 0.0
            if k > 0:
                e.beside[k - 1] = 0.0
            if k + 1 < count:
                e.beside[k] = 0.0
        else:
            e.diagonal[k] += hair
            steepest = max(steepest, abs(e.slope[k]))
        e.step[k] = -e.slope[k]
    for k in range(1, count):
        ratio = e.beside[k - 1] / e.diagonal[k - 1]
        e.diagonal[k] -= ratio * e.beside[k - 1]
        e.step[k] -= ratio * e.step[k - 1]
    for k in range(count - 1, -1, -1):
        if k + 1 < count:
            e.step[k] -= e.beside[k] * e.step[k + 1]
        e.step[k] /= e.diagonal[k]
    return steepest


@njit
def _shortest(e: Edges, count: int, p: Floats) -> None:
    """Crossings along the touched edges that make the string shortest, to `place`."""
    for k in range(count):
        j = e.touched[k]
        e.place[k] = 0.0
        for c in range(3):
            e.place[k] += (e.near[j, c] - e.start[j, c]) * e.along[j, c]
    length = put_points(e, count, e.place, p)
    for _ in range(200):
        if _newton(e, count, e.place, p) < 1e-14:
            return
        shorter = length
        share = 1.0
        while share > 1e-9:
            for k in range(count):
                at = e.place[k] + share * e.step[k]
                e.trial[k] = min(max(at, 0.0), e.extent[e.touched[k]])
            shorter = put_points(e, count, e.trial, p)
            if shorter <= length:
                break
            share *= 0.5
        if shorter > length:
            break
        gain = length - shorter
        length = shorter
        for k in range(count):
            e.place[k] = e.trial[k]
        if gain <= 1e-9 * length:
            break
    _polish(e, count, p)


@njit
def _polish(e: Edges, count: int, p: Floats) -> None:
    """Whole Newton steps while the slope still falls."""
    steepest = _newton(e, count, e.place, p)
    for _ in range(6):
        for k in range(count):
            at = e.place[k] + e.step[k]
            e.trial[k] = min(max(at, 0.0), e.extent[e.touched[k]])
        flatter = _newton(e, count, e.trial, p)
        if flatter >= steepest:
            break
        steepest = flatter
        for k in range(count):
            e.place[k] = e.trial[k]


@njit
def _depth_inside(e: Edges, count: int, j: int) -> Any:
    """How deep the string cuts into the structure at edge j [m]; below 0: clear of it."""
    k = 0
    while k < count and e.touched[k] < j:
        k += 1
    q = e.points
    ax, ay, az = q[k, 0] - e.start[j, 0], q[k, 1] - e.start[j, 1], q[k, 2] - e.start[j, 2]
    bx = q[k + 1, 0] - e.start[j, 0]
    by = q[k + 1, 1] - e.start[j, 1]
    bz = q[k + 1, 2] - e.start[j, 2]
    tx, ty, tz = e.turn[j, 0], e.turn[j, 1], e.turn[j, 2]
    dx, dy, dz = bx - ax, by - ay, bz - az
    ox, oy, oz = dy * tz - dz * ty, dz * tx - dx * tz, dx * ty - dy * tx
    size = math.sqrt(ox * ox + oy * oy + oz * oz)
    if size < 1e-12:
        return -1.0
    x, y, z = e.along[j, 0], e.along[j, 1], e.along[j, 2]
    at_a, at_b = ax * x + ay * y + az * z, bx * x + by * y + bz * z
    off_a = math.sqrt((ax - at_a * x) ** 2 + (ay - at_a * y) ** 2 + (az - at_a * z) ** 2)
    off_b = math.sqrt((bx - at_b * x) ** 2 + (by - at_b * y) ** 2 + (bz - at_b * z) ** 2)
    share = off_a / (off_a + off_b) if off_a + off_b > 0.0 else 0.5
    at = min(max(at_a + share * (at_b - at_a), 0.0), e.extent[j])
    bend = turn_of(
        at * x - ax, at * y - ay, at * z - az, bx - at * x, by - at * y, bz - at * z, e.turn, j
    )
    if bend <= BEND_FLOOR_RAD:
        return -1.0
    return -(ax * ox + ay * oy + az * oz) / size


@njit
def bend_in(e: Edges, k: int) -> Any:
    """Bend at the k-th touched edge, from `points` [rad]."""
    q = e.points
    return turn_of(
        q[k + 1, 0] - q[k, 0],
        q[k + 1, 1] - q[k, 1],
        q[k + 1, 2] - q[k, 2],
        q[k + 2, 0] - q[k + 1, 0],
        q[k + 2, 1] - q[k + 1, 1],
        q[k + 2, 2] - q[k + 1, 2],
        e.turn,
        e.touched[k],
    )


@njit
def _correct(e: Edges, count: int, first: int, last: int) -> Any:
    """Let go the edge bent most the wrong way, else take up the one cut deepest.

    Returns how many are touched then; -1: nothing to correct.
    """
    worst, least = -1, BEND_FLOOR_RAD
    for k in range(count):
        bend = bend_in(e, k)
        if bend <= least and (worst < 0 or bend < least):
            worst, least = k, bend
    if worst >= 0:
        for k in range(worst, count - 1):
            e.touched[k] = e.touched[k + 1]
        return count - 1
    deepest, most = -1, SIDE_FLOOR_M
    k = 0
    for j in range(first, last):
        if k < count and e.touched[k] == j:
            k += 1
        elif e.passed[j] == 1:
            depth = _depth_inside(e, count, j)
            if depth > most:
                deepest, most = j, depth
    if deepest < 0:
        return -1
    k = count
    while k > 0 and e.touched[k - 1] > deepest:
        e.touched[k] = e.touched[k - 1]
        k -= 1
    e.touched[k] = deepest
    return count + 1


@njit
def taut(e: Edges, first: int, last: int, p: Floats) -> Any:
    """Lay the string from p[0] to p[1] outside edges first .. last - 1; returns edges touched.

    Results in `touched`, `place`, `points`. Where corrections run in a circle the string found
    last stands.
    """
    dx, dy, dz = p[1, 0] - p[0, 0], p[1, 1] - p[0, 1], p[1, 2] - p[0, 2]
    for j in range(first, last):
        if e.led[j] != 0:
            e.passed[j] = 0
            continue
        _orient(e, j, dx, dy, dz)
        e.passed[j] = _hangs_below(e, j, p[1, 0], p[1, 1], p[1, 2])
        _nearest(e, j, p)
    count = _scan(e, first, last, p)
    for _ in range(64):
        _shortest(e, count, p)
        put_points(e, count, e.place, p)
        changed = _correct(e, count, first, last)
        if changed < 0:
            break
        count = changed
    return count
