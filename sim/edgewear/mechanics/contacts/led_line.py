"""A line in space laid through led points: strings joined at rings and pulleys.

The jitted twin of `rigging.laying`: a deviation's ring hangs within its sling's length of its
anchor, settles where the line is shortest and is let go where nothing pulls it.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from edgewear.layout import EDGE, LINE, MAX_EDGES
from edgewear.mechanics.arrays import Floats, Records
from edgewear.mechanics.contacts.taut import BEND_FLOOR_RAD, Edges, edges_of, taut
from edgewear.mechanics.jit import njit

LEAST_M = 1e-3
"""Points of a track lie at least so far below each other [m]."""

DOUBTFUL, KEPT = 2, 3
"""In `Ground.on`: a ring that nothing pulls where the line lies just now; one not let go again."""


class Ground(NamedTuple):
    """A line with everything it may touch, and rows to work in."""

    edges: Edges
    anchor: Floats  # (3,)
    track: Floats  # (t, 3) depth, out, along; at least one row
    reach: Floats  # (n,)
    ring: Floats  # (n, 3) where each led point holds the line
    on: Any  # (n,) int64, above 0: the line is led through it
    ends: Floats  # (2, 3) of the string being laid
    item: Any  # (MAX_EDGES,) int64, what the line touches
    points: Floats  # (MAX_EDGES + 2, 3)


@njit
def _unit(x: float, y: float, z: float) -> Any:
    size = math.sqrt(x * x + y * y + z * z)
    if size == 0.0:
        return x, y, z
    return x / size, y / size, z / size


@njit
def _load(g: Ground, depth: float) -> None:
    """Place of the load at a depth, to the end of `points`' work rows (`ends[1]`)."""
    row = 0
    while row < g.track.shape[0] - 1 and depth > g.track[row, 0]:
        row += 1
    before = max(row - 1, 0)
    span = g.track[row, 0] - g.track[before, 0]
    share = min(max((depth - g.track[before, 0]) / span, 0.0), 1.0) if span > 0.0 else 1.0
    for c in range(2):
        a, b = g.track[before, c + 1], g.track[row, c + 1]
        g.ends[1, c] = a + share * (b - a)
    g.ends[1, 2] = -depth


@njit
def _join(g: Ground, depth: float) -> Any:
    """Lay the strings between fixed point, rings and load; returns how much is touched."""
    e = g.edges
    n = e.extent.shape[0]
    count = 0
    first: Any = np.int64(0)
    for c in range(3):
        g.points[0, c] = g.anchor[c]
    for last in range(n + 1):
        if last < n and g.on[last] == 0:
            continue
        for c in range(3):
            g.ends[0, c] = g.points[count, c]
        if last < n:
            for c in range(3):
                g.ends[1, c] = g.ring[last, c]
        else:
            _load(g, depth)
        touched = taut(e, first, last, g.ends)
        for k in range(touched):
            g.item[count + k] = e.touched[k]
            for c in range(3):
                g.points[count + k + 1, c] = e.points[k + 1, c]
        count += touched
        for c in range(3):
            g.points[count + 1, c] = g.ends[1, c]
        if last < n:
            g.item[count] = last
            count += 1
        first = last + 1
    return count


@njit
def _nearest(g: Ground, k: int, before: int, after: int) -> Any:
    """Where the straight way between two of `points` passes nearest the anchor of an item.

    Returns the place as seen from that anchor, and how far off it is [m].
    """
    p = g.points
    cx, cy, cz = g.edges.start[k, 0], g.edges.start[k, 1], g.edges.start[k, 2]
    ax, ay, az = p[before, 0] - cx, p[before, 1] - cy, p[before, 2] - cz
    bx, by, bz = p[after, 0] - cx, p[after, 1] - cy, p[after, 2] - cz
    dx, dy, dz = bx - ax, by - ay, bz - az
    size = dx * dx + dy * dy + dz * dz
    share = min(max(-(ax * dx + ay * dy + az * dz) / size, 0.0), 1.0) if size > 0.0 else 0.0
    x, y, z = ax + share * dx, ay + share * dy, az + share * dz
    return x, y, z, math.sqrt(x**2 + y**2 + z**2)


@njit
def _move(g: Ground, at: int, rx: float, ry: float, rz: float) -> Any:
    """Move the ring at `points[at]` to a place as seen from its anchor; returns how far [m].

    The next ring is moved with this one where it is now: two side by side that are moved at once
    may pass each other for ever.
    """
    k = g.item[at - 1]
    x, y, z = g.edges.start[k, 0] + rx, g.edges.start[k, 1] + ry, g.edges.start[k, 2] + rz
    moved = max(abs(x - g.ring[k, 0]), abs(y - g.ring[k, 1]))
    moved = max(moved, abs(z - g.ring[k, 2]))
    g.ring[k, 0], g.ring[k, 1], g.ring[k, 2] = x, y, z
    g.points[at, 0], g.points[at, 1], g.points[at, 2] = x, y, z
    return moved


@njit
def _passes(g: Ground, k: int, count: int) -> Any:
    """Say whether a line laid without a ring passes within the reach of its sling."""
    before = 0
    while before < count and g.item[before] < k:
        before += 1
    return _nearest(g, k, before, before + 1)[3] <= g.reach[k]


@njit
def _settle(g: Ground, at: int) -> Any:
    """Move the ring of what `points[at]` is led through; returns how far [m].

    Where nothing pulls it, it goes to the straight way between its neighbours and is `DOUBTFUL`.
    """
    k = g.item[at - 1]
    p = g.points
    sx, sy, sz, off = _nearest(g, k, at - 1, at + 1)
    if off <= g.reach[k]:
        g.on[k] = max(g.on[k], DOUBTFUL)
        return _move(g, at, sx, sy, sz)
    cx, cy, cz = g.edges.start[k, 0], g.edges.start[k, 1], g.edges.start[k, 2]
    ax, ay, az = p[at - 1, 0] - cx, p[at - 1, 1] - cy, p[at - 1, 2] - cz
    bx, by, bz = p[at + 1, 0] - cx, p[at + 1, 1] - cy, p[at + 1, 2] - cz
    ux, uy, uz = _unit(ax, ay, az)
    along = bx * ux + by * uy + bz * uz
    vx, vy, vz = bx - along * ux, by - along * uy, bz - along * uz
    across = math.sqrt(vx * vx + vy * vy + vz * vz)
    rx, ry, rz = g.reach[k] * ux, g.reach[k] * uy, g.reach[k] * uz
    if across >= BEND_FLOOR_RAD * math.sqrt(bx * bx + by * by + bz * bz):
        vx, vy, vz = vx / across, vy / across, vz / across
        low, high = 0.0, math.atan2(across, along)
        for _ in range(60):
            middle = 0.5 * (low + high)
            c, s = math.cos(middle), math.sin(middle)
            rx = g.reach[k] * (c * ux + s * vx)
            ry = g.reach[k] * (c * uy + s * vy)
            rz = g.reach[k] * (c * uz + s * vz)
            fx, fy, fz = _unit(ax - rx, ay - ry, az - rz)
            hx, hy, hz = _unit(bx - rx, by - ry, bz - rz)
            tx, ty, tz = c * vx - s * ux, c * vy - s * uy, c * vz - s * uz
            if (fx + hx) * tx + (fy + hy) * ty + (fz + hz) * tz > 0.0:
                low = middle
            else:
                high = middle
    return _move(g, at, rx, ry, rz)


@njit
def _let_go(g: Ground, depth: float) -> Any:
    """Let go the doubtful rings without which the line still passes within their reach.

    A ring may itself have drawn the crossings beside it aside. Without it they may slide so far
    that the line leaves its reach: then it stays. Returns whether any was let go.
    """
    any_gone = False
    for k in range(g.edges.extent.shape[0]):
        if g.on[k] != DOUBTFUL:
            continue
        g.on[k] = 0
        if _passes(g, k, _join(g, depth)):
            any_gone = True
        else:
            g.on[k] = 1
    return any_gone


@njit
def _is_led(g: Ground, k: int, depth: float) -> Any:
    return g.edges.led[k] == 2 or (g.edges.led[k] == 1 and -depth < g.edges.start[k, 2])


@njit
def _taken_up(g: Ground, depth: float, count: int) -> Any:
    """Take up rings that were let go while others hung elsewhere; returns whether any was."""
    any_taken = False
    for k in range(g.edges.extent.shape[0]):
        if g.on[k] == 0 and _is_led(g, k, depth) and not _passes(g, k, count):
            g.on[k] = KEPT
            for c in range(3):
                g.ring[k, c] = g.edges.start[k, c]
            any_taken = True
    return any_taken


@njit
def lay(g: Ground, depth: float) -> Any:
    """Lay the line with its load at a depth; returns how much it touches."""
    e = g.edges
    for k in range(e.extent.shape[0]):
        led = _is_led(g, k, depth)
        if g.on[k] == 0 or not led:  # else the ring begins where it hung last
            for c in range(3):
                g.ring[k, c] = e.start[k, c]
        g.on[k] = 1 if led else 0
    count = 0
    for _ in range(500):
        count = _join(g, depth)
        still, doubted = True, False
        for at in range(1, count + 1):
            k = g.item[at - 1]
            if e.led[k] == 0 or g.reach[k] == 0.0:
                continue
            moved = _settle(g, at)
            doubted = doubted or g.on[k] == DOUBTFUL
            still = still and moved < 1e-11
        if doubted and (_let_go(g, depth) or not still):
            continue
        if still:
            if doubted:
                count = _join(g, depth)
            if not _taken_up(g, depth, count):
                return count
    return _join(g, depth)  # as it lies: to ask whether a ring can go has laid it otherwise


def ground_of(line: Records, edges: Records) -> Ground:
    """Make the arrays of one LINE record and its EDGE records (n,)."""
    record = np.atleast_1d(np.asarray(line, LINE))[0]
    edges = np.asarray(edges, EDGE)
    count = len(edges)
    track = np.array([[0.0, record["load_out_m"], record["load_along_m"]]])
    if record["track_count"] > 0:
        track = np.ascontiguousarray(record["track_m"][: record["track_count"]])
        for row in range(1, len(track)):  # points that a draw has moved past each other
            track[row, 0] = max(track[row, 0], track[row - 1, 0] + LEAST_M)
    rows = max(count, 1)
    return Ground(
        edges=edges_of(
            np.ascontiguousarray(edges["start_m"]), edges["end_m"], edges["led"].astype(np.int64)
        ),
        anchor=np.ascontiguousarray(record["anchor_m"]),
        track=track,
        reach=np.ascontiguousarray(edges["reach_m"]),
        ring=np.zeros((rows, 3)),
        on=np.zeros(rows, np.int64),
        ends=np.zeros((2, 3)),
        item=np.zeros(MAX_EDGES, np.int64),
        points=np.zeros((MAX_EDGES + 2, 3)),
    )
