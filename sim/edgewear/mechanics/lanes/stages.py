"""A stage of a step over several edges, in loops that are vectorised; see `several`."""

from __future__ import annotations

import math
from typing import Any

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.judging import onto
from edgewear.mechanics.lanes.rows import NEXT
from edgewear.mechanics.lanes.slip_taut import solve_all
from edgewear.mechanics.movement.mover import minimum_jerk
from edgewear.mechanics.step.last_span import bend_aside
from edgewear.mechanics.step.near_one import SMALL, near_one
from edgewear.mechanics.step.stage import STRAIGHT
from edgewear.mechanics.step.swing import sine_cosine
from edgewear.mechanics.wear.wear import worn_rate


@inlined
def _ramped(time_s: float, duration_s: float, per_ramp: float) -> Any:
    """Share of full speed, as `mover.ramped`."""
    x = min(time_s, duration_s - time_s) * per_ramp
    rising = x * x * x * (10.0 + x * (6.0 * x - 15.0))
    moving = 1.0 if x >= 1.0 else rising
    return 0.0 if x <= 0.0 else moving


@inlined
def _work(f: Floats, i: int, share: float) -> None:
    """Where work in place has the body at a stage, as `mover._rarely`."""
    time_s = (f[r.TIME + i] + share) + f[r.OFFSET_S + i]
    omega, bounce_m, sway_m = f[r.OMEGA + i], f[r.BOUNCE + i], f[r.SWAY + i]
    sine, cosine = sine_cosine(omega * time_s)
    sway_omega = f[r.SWAY_OMEGA + i]
    swings, turns = sine_cosine(sway_omega * time_s)
    f[r.GONE + i], f[r.GONE_RATE + i] = bounce_m * sine, bounce_m * omega * cosine
    f[r.SWAY_M + i], f[r.SWAY_RATE + i] = sway_m * swings, sway_m * sway_omega * turns
    f[r.TOOL_N + i] = f[r.TOOL + i] * sine


@inlined
def _drive(f: Floats, i: int, share: float) -> None:
    """What the device takes in at a stage, `share` [s] after the step's begin."""
    part_s, time_s = f[r.PART_I + i], f[r.TIME + i] + share
    passed = part_s if f[r.LIMITED + i] != 0.0 else time_s
    strokes = minimum_jerk(passed * f[r.PER_DURATION + i])
    pays = _ramped(time_s, f[r.DURATION + i], f[r.PER_RAMP + i])
    f[r.TAKE + i] = f[r.RATE + i] * (pays if f[r.PAYS + i] != 0.0 else strokes)
    fall = f[r.Y_I + i] - f[r.POINT + i]
    f[r.FALL + i] = fall
    f[r.FINE + i] = f[r.FINE + i] if fall > f[r.LEAST_FALL + i] else 0.0
    f[r.POWER_LOST + i], f[r.PULL + i], f[r.MIXED + i] = 0.0, 0.0, 0.0


@inlined
def _bend(f: Floats, g: Floats, i: int, more: float) -> None:
    """Factors of an edge whose bend is so much more than where it begins, as `stage._turn`."""
    x = g[r.MU + i] * more
    ratio = g[r.START_RATIO + i] * near_one(x)
    g[r.RATIO + i], g[r.FALLS + i] = ratio, 1.0 / ratio
    f[r.FINE + i] = f[r.FINE + i] if abs(x) <= SMALL else 0.0


@inlined
def _aside(f: Floats, g: Floats, i: int) -> Any:
    """Bend of the last edge beyond that where it begins, its load swayed aside."""
    more, sway_m = g[r.TURN + i] * f[r.FALL + i], f[r.SWAY_M + i]
    bend = g[r.START_BEND + i] + more
    swung = bend_aside(bend, f[r.BY_SWAY + i], f[r.TILT + i])
    beside = more + swung - bend
    swings = (f[r.TILTS + i] != 0.0) & ((sway_m != 0.0) | (f[r.SWAY_RATE + i] != 0.0))
    return beside if swings else more


@inlined
def _spring(f: Floats, g: Floats, i: int, length: float, rate: float, extra: float) -> None:
    """Strain of a span and its part of the slip problem, as `stage._strain`."""
    material = g[r.STAGE + i] + extra
    stretch = length - material
    inverse = 1.0 / (material * length)
    strain = stretch * (length * inverse)
    per_damping = material * (material * inverse) * f[r.PER_K_TAU + i]
    g[r.SHARE_RATE + i], g[r.STRAIN + i] = rate, strain
    g[r.EASE + i] = material * per_damping
    g[r.GIVE + i] = (f[r.K + i] * stretch + f[r.K_TAU + i] * rate) * per_damping
    f[r.FINE + i] = f[r.FINE + i] if strain > -STRAIGHT else 0.0


@inlined
def _last_spring(f: Floats, g: Floats, i: int) -> None:
    """The same of the last span, with the body's share."""
    plumb_m, slope, extra = length_of(f, g, i), g[r.SLOPE + i], f[r.BODY + i]
    f[r.FINE + i] = f[r.FINE + i] if plumb_m > 0.0 else 0.0
    f[r.BY_SWAY + i], g[r.PULLS + i] = 0.0, slope
    length = plumb_m - f[r.OFFSET + i]
    _spring(f, g, i, length + extra, slope * f[r.V_I + i], extra)


@inlined
def _swayed_spring(f: Floats, g: Floats, i: int) -> None:
    """The same with what work in place does to it."""
    plumb_m, sway_m, extra = length_of(f, g, i), f[r.SWAY_M + i], f[r.BODY + i]
    far_m = length_aside(f, g, i)
    f[r.FINE + i] = f[r.FINE + i] if plumb_m > 0.0 else 0.0
    per_far = 1.0 / far_m
    share, by_sway = plumb_m * per_far, sway_m * per_far
    by_depth = g[r.SLOPE + i] * (share if sway_m != 0.0 else 1.0)
    rate = by_depth * f[r.V_I + i] + by_sway * f[r.SWAY_RATE + i]
    f[r.BY_SWAY + i], g[r.PULLS + i] = by_sway, by_depth
    length = far_m - (f[r.GONE + i] + f[r.OFFSET + i])
    _spring(f, g, i, length + extra, rate - f[r.GONE_RATE + i], extra)


@inlined
def length_of(f: Floats, g: Floats, i: int) -> Any:
    """Free length at a stage."""
    return g[r.FREE + i] + g[r.SLOPE + i] * f[r.FALL + i]


@inlined
def length_aside(f: Floats, g: Floats, i: int) -> Any:
    """Last free length to a load that may be swayed aside, as `last_span.aside`."""
    plumb_m, sway_m = length_of(f, g, i), f[r.SWAY_M + i]
    return math.sqrt(plumb_m * plumb_m + sway_m * sway_m)


@inlined
def _span_flow(f: Floats, g: Floats, i: int, t: int, q: int, reach: float) -> None:
    """What a span loses and how it pulls; its rope at the next stage, `reach` [s] on."""
    change, strain, tension = g[q - NEXT + i] - g[q + i], g[r.STRAIN + i], g[t + i]
    lost = (tension - f[r.K + i] * strain) * (g[r.SHARE_RATE + i] - (1.0 + strain) * change)
    f[r.POWER_LOST + i] += lost
    f[r.PULL + i] += tension * g[r.PULLS + i]
    g[r.STAGE + i] = g[r.S + i] + reach * change


@inlined
def _edge_flow(f: Floats, g: Floats, i: int, t: int, q: int, weight: float, nth: int) -> None:
    """Slip, path, energy and exposure of an edge onto the sums, as `stage._book_flows`."""
    rate, before, after = g[q + i], g[t + i], g[t + NEXT + i]
    strain, later = g[r.STRAIN + i], g[r.STRAIN + NEXT + i]
    mean = 0.5 * (strain + later)
    speed = (1.0 + mean) * abs(rate)
    power = abs(after - before) * speed
    mixed = (0.5 * (before + after) - f[r.K + i] * mean) * (later - strain) * rate
    f[r.MIXED + i] += mixed
    worn = worn_rate(
        power, speed, max(before, after), 0.0, f[r.COLD + i], f[r.PER_SPEED + i], 0.0,
        g[r.GAIN + i], 0.0, 0.0,
    )  # fmt: skip
    first = nth == 0
    onto(g, r.DQ + i, first, weight * rate)
    onto(g, r.PATH + i, first, weight * speed)
    onto(g, r.RUBBED + i, first, weight * power)
    onto(g, r.WORN + i, first, weight * worn)
    if nth == 0:
        g[r.WORN_1 + i] = worn
    if nth == 3:
        g[r.WORN_4 + i] = worn


@inlined
def _draw(f: Floats, g: Floats, i: int, t: int, q: int) -> None:
    """What the device really takes in, as `stage._device`."""
    tension, take = g[t + i], f[r.TAKE + i]
    given = (f[r.FULL + i] - tension) * f[r.PER_RANGE + i]
    part = min(max(given, 0.0), 1.0) if f[r.LIMITED + i] != 0.0 else 0.0
    f[r.GIVEN + i] = part
    g[q + i] = take * part if f[r.LIMITED + i] != 0.0 else take


@inlined
def _end_flow(f: Floats, g: Floats, i: int, t: int, q: int, weight: float, first: bool) -> None:
    """What flows at the device, and what is lost, onto the sums, as `stage._book_ends`."""
    tension, strain, drawn = g[t + i], g[r.STRAIN + i], g[q + i]
    onto(f, r.DD + i, first, weight * drawn)
    onto(f, r.D_DEVICE + i, first, weight * tension * (1.0 + strain) * drawn)
    onto(f, r.D_LEAVES + i, first, weight * 0.5 * f[r.K + i] * strain * strain * drawn)
    moved = f[r.BY_SWAY + i] * f[r.SWAY_RATE + i] - f[r.GONE_RATE + i]
    mover = f[r.TOOL_N + i] * f[r.V_I + i] + tension * moved
    onto(f, r.D_MOVER + i, first, weight * mover)
    onto(f, r.D_VISCOUS + i, first, weight * f[r.POWER_LOST + i])
    onto(f, r.D_MIXING + i, first, weight * f[r.MIXED + i])


@inlined
def _move(f: Floats, i: int, nth: int, reach: float) -> None:
    """What the next stage begins with; the rates of this one to the sums of `stage.step`.

    nth: 0 to 3, told while compiling.
    """
    v, part = f[r.V_I + i], f[r.GIVEN + i]
    a = f[r.GRAVITY + i] + (f[r.TOOL_N + i] - f[r.PULL + i]) * f[r.PER_MASS + i]
    if nth == 0:
        f[r.DY + i], f[r.DV + i], f[r.DP + i] = v, a, part
    elif nth == 1:
        f[r.MID_V + i], f[r.MID_A + i], f[r.MID_P + i] = v, a, part
    elif nth == 2:
        f[r.MID_V + i] += v
        f[r.MID_A + i] += a
        f[r.MID_P + i] += part
    else:
        sixth = f[r.SIXTH + i]
        f[r.NEW_Y + i] = f[r.Y + i] + sixth * (f[r.DY + i] + 2.0 * f[r.MID_V + i] + v)
        f[r.NEW_V + i] = f[r.V + i] + sixth * (f[r.DV + i] + 2.0 * f[r.MID_A + i] + a)
        f[r.NEW_PART + i] = f[r.PART + i] + sixth * (f[r.DP + i] + 2.0 * f[r.MID_P + i] + part)
    f[r.Y_I + i] = f[r.Y + i] + reach * v
    f[r.V_I + i] = f[r.V + i] + reach * a
    f[r.PART_I + i] = f[r.PART + i] + reach * part


@inlined
def stage(
    f: Floats, g: Floats, lanes: int, last: int, nth: int, t: int, q: int, working: int,
    turning: int,
) -> None:  # fmt: skip
    """All rates at one stage onto the sums, as `stage._stage`; t, q: rows for what is solved.

    working, turning: lanes over which the loops of work in place and of turning bends go.
    """
    first = nth == 0
    at_share = r.NOTHING if nth == 0 else (r.H if nth == 3 else r.HALF)
    at_reach = r.NOTHING if nth == 3 else (r.H if nth == 2 else r.HALF)
    at_weight = r.SIXTH if nth == 0 or nth == 3 else r.THIRD
    end, lowest, still = g[last:], g[last - NEXT :], lanes - working
    for i in range(lanes):
        _drive(f, i, f[at_share + i])
    for i in range(working):
        _work(f, i, f[at_share + i])
    for e in range(0, last, NEXT):
        edge = g[e:]
        for i in range(lanes):
            rate = edge[r.SLOPE + i] * f[r.V_I + i]
            _spring(f, edge, i, length_of(f, edge, i), rate, 0.0)
        for i in range(turning):
            _bend(f, edge, i, edge[r.TURN + i] * f[r.FALL + i])
    for i in range(still):
        _last_spring(f, end, i)
    for i in range(working):
        _swayed_spring(f, end, i)
    for i in range(working):
        _bend(f, lowest, i, _aside(f, lowest, i))
    solve_all(f, g, lanes, last, t, q)
    for i in range(lanes):
        _draw(f, end, i, t, q)
    for e in range(0, last, NEXT):
        edge = g[e:]
        for i in range(lanes):
            _span_flow(f, edge, i, t, q, f[at_reach + i])
            _edge_flow(f, edge, i, t, q, f[at_weight + i], nth)
    for i in range(lanes):
        _span_flow(f, end, i, t, q, f[at_reach + i])
        _end_flow(f, end, i, t, q, f[at_weight + i], first)
        _move(f, i, nth, f[at_reach + i])
