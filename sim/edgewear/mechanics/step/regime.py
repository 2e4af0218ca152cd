"""Going from one contact set to another: constants of its edges, and the rope in its spans."""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import njit
from edgewear.mechanics.movement.mover import drive
from edgewear.mechanics.slip.slip import BOTH, NEITHER
from edgewear.mechanics.step.last_span import aside, tilt
from edgewear.mechanics.step.stage import capstan
from edgewear.mechanics.wear.wear import gain, met_severity, seen_radius_m, window_m


@njit
def find_regime(regimes: Any, depth: float) -> Any:
    """Row of the regime that holds at `depth`."""
    for row in range(regimes.shape[0]):
        if depth <= regimes[row].high_m:
            return row
    return regimes.shape[0] - 1


@njit
def load_edge(j: int, row: int, w: Floats, edges: Any, line: Any, wear: Any) -> Any:
    """Constants of the edge in list row `row`, as the j-th one touched."""
    edge = edges[row]
    w[r.ROW + j] = row
    w[r.TURNED + j] = w[r.BEND + j]
    w[r.MU + j] = edge.friction
    radius_m = seen_radius_m(edge)
    w[r.RADIUS + j] = radius_m
    # no friction, no hold; a bend that turns with the depth may begin at 0
    turns = w[r.REGIME_P + r.FIXED_BEND] == 0.0
    holds = edge.friction > 0.0 and (turns or w[r.BEND + j] > 0.0)
    w[r.STATIC + j] = edge.static_ratio if holds else 1.0
    w[r.POWER + j] = edge.power_exponent
    w[r.SEVERITY + j] = met_severity(edge)
    w[r.GAIN + j] = gain(edge, line, wear)
    width = wear.width_share * line.diameter_m
    w[r.WINDOW + j] = window_m(radius_m, w[r.BEND + j], line.diameter_m)
    w[r.AREA + j] = width * w[r.WINDOW + j]
    w[r.SHIFT + j] = 0.0
    if edge.power_exponent == 1.0:
        w[r.RATIO + j] = math.exp(edge.friction * w[r.BEND + j])
    else:
        slope, shift = capstan(
            1.0, 0.0, 1000.0, edge.friction, w[r.BEND + j], radius_m, edge.power_exponent
        )
        w[r.RATIO + j] = slope
        w[r.SHIFT + j] = shift
    w[r.START_RATIO + j] = w[r.RATIO + j]
    w[r.FALLS + j] = 1.0 / w[r.RATIO + j]
    w[r.ALLOWED + j] = NEITHER if w[r.STATIC + j] > 1.0 else BOTH


@njit
def enter_regime(
    row: int, w: Floats, state: Any, line: Any, edges: Any, wear: Any, regimes: Any
) -> Any:
    """Write a contact set to the scratch rows; the rope in the spans stays as it is."""
    regime = regimes[row]
    n = regime.count
    state.regime = row
    state.count = n
    w[r.REGIME_P + r.CLOSED] = regime.closed
    w[r.REGIME_P + r.FIXED_BEND] = regime.fixed_bend
    w[r.REGIME_P + r.OUT] = regime.out_m
    w[r.REGIME_P + r.POINT] = regime.point_depth_m
    w[r.REGIME_P + r.IN_OUT] = regime.incoming_out
    w[r.REGIME_P + r.IN_DOWN] = regime.incoming_down
    w[r.REGIME_P + r.LOW] = regime.low_m
    w[r.REGIME_P + r.HIGH] = regime.high_m
    w[r.LINE_P + r.ANY_STATIC] = 0.0
    w[r.LINE_P + r.ANY_POWER] = 0.0
    for i in range(n + 1):
        w[r.FREE + i] = regime.free_m[i]
        w[r.SLOPE + i] = regime.free_slope[i]
        w[r.PIECE + i] = -1.0
        w[r.MODE + i] = 0.0
    for j in range(n, state.mode.shape[0]):
        state.mode[j] = 0
    for j in range(1, n + 1):
        w[r.BEND + j] = regime.bend_rad[j - 1]
        w[r.BEND_SLOPE + j] = regime.bend_slope[j - 1]
        load_edge(j, regime.edge[j - 1], w, edges, line, wear)
        w[r.REGIME_P + r.TILT] = tilt(w[r.BEND + j])
        if w[r.STATIC + j] > 1.0:
            w[r.LINE_P + r.ANY_STATIC] = 1.0
        if w[r.POWER + j] != 1.0:
            w[r.LINE_P + r.ANY_POWER] = 1.0


@njit
def lengths(n: int, w: Floats, phase: int, y: float, part_s: float, time_s: float) -> Any:
    """Free lengths at a depth and time, to the KINK row; the last one less the body's offset."""
    fall_m = y - w[r.REGIME_P + r.LOW]
    for i in range(n + 1):
        w[r.KINK + i] = w[r.FREE + i] + w[r.SLOPE + i] * fall_m
    _, _, offset_m, _, sway_m, _, _ = drive(phase, time_s, part_s, w)
    if w[r.REGIME_P + r.CLOSED] != 0.0:
        for i in range(n):
            w[r.KINK + i] = w[r.FREE + i]
        down = y - w[r.REGIME_P + r.POINT]
        out = w[r.REGIME_P + r.OUT]
        w[r.KINK + n] = math.sqrt(down * down + out * out + sway_m * sway_m)
    else:
        w[r.KINK + n], _, _ = aside(w[r.KINK + n], sway_m)
    w[r.KINK + n] -= offset_m + w[r.REGIME_P + r.OFFSET_M]


@njit
def bend_at(j: int, n: int, w: Floats, y: float) -> Any:
    """Wrap angle of the j-th edge touched, at depth y (sway aside)."""
    if w[r.REGIME_P + r.CLOSED] == 0.0:
        return w[r.BEND + j] + w[r.BEND_SLOPE + j] * (y - w[r.REGIME_P + r.LOW])
    if j < n or w[r.REGIME_P + r.FIXED_BEND] != 0.0:
        return w[r.BEND + j]
    down = y - w[r.REGIME_P + r.POINT]
    out = w[r.REGIME_P + r.OUT]
    along = w[r.REGIME_P + r.IN_OUT] * out + w[r.REGIME_P + r.IN_DOWN] * down
    across = w[r.REGIME_P + r.IN_OUT] * down - w[r.REGIME_P + r.IN_DOWN] * out
    return math.atan2(abs(across), along)


@njit
def elastic(n: int, w: Floats) -> Any:
    """Elastic energy of the rope and of the body spring [J], free lengths in KINK."""
    total = 0.0
    body = 0.0
    k = w[r.LINE_P + r.K]
    for i in range(n + 1):
        extra = w[r.LINE_P + r.BODY_M] if i == n else 0.0
        strain = (w[r.KINK + i] - w[r.SPAN + i]) / (w[r.SPAN + i] + extra)
        if strain > 0.0:
            total += 0.5 * k * strain * strain * w[r.SPAN + i]
            body += 0.5 * k * strain * strain * extra
    return total, body


@njit
def _shared(edge: Any, old: Any, count: int) -> Any:
    """Place of an edge among the first `count` of the old contact set (1 ..), or 0."""
    for j in range(count):
        if old[j] == edge:
            return j + 1
    return 0


@njit
def _slide_on(n: int, new: Any, old: Any, n_old: int, state: Any, w: Floats) -> None:
    """Edges touched before and after that slide, with static friction, go on to."""
    for j in range(n):
        place = _shared(new[j], old, n_old)
        if place != 0 and w[r.STATIC + j + 1] > 1.0:
            w[r.ALLOWED + j + 1] = state.allowed[place - 1]


@njit
def change_regime(
    row: int,
    w: Floats,
    state: Any,
    line: Any,
    edges: Any,
    wear: Any,
    regimes: Any,
    phase: int,
    y: float,
    part_s: float,
    time_s: float,
) -> Any:
    """Enter another contact set in mid-motion: splitting keeps the strain, merging mixes.

    What elastic energy this costs is booked as mixing.
    """
    n_old = state.count
    old = regimes[state.regime].edge
    lengths(n_old, w, phase, y, part_s, time_s)
    before, before_body = elastic(n_old, w)
    total = 0.0
    for i in range(n_old + 1):
        total += w[r.SPAN + i]
        w[r.MOVING + i + 1] = total  # old cut i + 1; the last one is the rope's end
    w[r.MOVING + 0] = 0.0
    for j in range(n_old):
        state.allowed[j] = int(w[r.ALLOWED + j + 1])
    enter_regime(row, w, state, line, edges, wear, regimes)
    n = state.count
    new = regimes[row].edge
    _slide_on(n, new, old, n_old, state, w)
    lengths(n, w, phase, y, part_s, time_s)
    # groups of new spans between edges that were there before
    first = 0
    from_cut = 0.0
    for i in range(n + 1):
        if i < n:
            place = _shared(new[i], old, n_old)
            if place == 0:
                continue
            to_cut = w[r.MOVING + place]
            extra = 0.0
        else:
            to_cut = total
            extra = w[r.LINE_P + r.BODY_M]
        material = to_cut - from_cut
        length = 0.0
        for part in range(first, i + 1):
            length += w[r.KINK + part]
        strain = (length - material) / (material + extra)
        left = material
        for part in range(first, i):
            if strain > 0.0:
                w[r.SPAN + part] = w[r.KINK + part] / (1.0 + strain)
            else:
                w[r.SPAN + part] = material * w[r.KINK + part] / length
            left -= w[r.SPAN + part]
        w[r.SPAN + i] = left
        first = i + 1
        from_cut = to_cut
    for i in range(n + 1):
        w[r.TAUT + i] = 1.0 if w[r.KINK + i] > w[r.SPAN + i] else 0.0
    after, after_body = elastic(n, w)
    lost = before + before_body - after - after_body
    w[r.TOTAL + r.MIXING] += lost
    w[r.TOTAL + r.FLOWS] += abs(lost)
