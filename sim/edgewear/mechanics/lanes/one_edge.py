"""A step of many runs at once, each a taut line over one edge, in loops that are vectorised.

The flow and the springs are those of the scalar step (`step.flow`), and every operation is made in
its order, so that a run comes to the same bits. Choices are between numbers that are both there:
a branch would part the lanes.
"""

from __future__ import annotations

from typing import Any

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, wide
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.booking import (
    begin_books,
    book_line,
    book_load,
    book_slip,
    book_span,
    tell,
)
from edgewear.mechanics.lanes.judging import begin_step, forget, forget_edge, judged, onto
from edgewear.mechanics.lanes.rows import NEXT
from edgewear.mechanics.lanes.slip import slip
from edgewear.mechanics.lanes.wear import book_wear
from edgewear.mechanics.movement.mover import minimum_jerk
from edgewear.mechanics.step.flow import Taut, early, flows, springs


@inlined
def _line(f: Floats, i: int) -> Any:
    """Constants of the line as the flow wants them."""
    return Taut(
        f[r.K + i], f[r.K_TAU + i], f[r.FREE + i], f[r.GRAVITY + i], f[r.PER_MASS + i],
        f[r.WEIGHT + i], f[r.FULL + i], f[r.PER_RANGE + i], f[r.CAP + i], 0.0,
        f[r.COLD + i], f[r.PER_SPEED + i], 0.0, f[r.GAIN + i], 0.0, 0.0,
    )  # fmt: skip


@inlined
def _stage(
    f: Floats, i: int, weight: float, share: float, reach: float, to_t: int, to_q: int,
    first: bool, last: bool,
) -> None:  # fmt: skip
    """All rates at one stage onto the sums, and what the next begins with; as `_flow`.

    weight: of the stage [s]; share: from the step's begin to the stage [s]; reach: to the next [s].
    to_t, to_q: rows for the tensions and the slip rate. What is told while compiling is no choice.
    """
    c = _line(f, i)
    limited = f[r.LIMITED + i] != 0.0
    y0, v0, part0, d0 = f[r.Y + i], f[r.V + i], f[r.PART + i], f[r.S + NEXT + i] + f[r.BODY + i]
    y, v, part_s, s0, d1 = y0, v0, part0, f[r.S + i], d0
    if not first:
        y, v, part_s = f[r.Y_I + i], f[r.V_I + i], f[r.PART_I + i]
        s0, d1 = f[r.S0_I + i], f[r.D1_I + i]
    passed = part_s if limited else f[r.TIME + i] + share
    take = f[r.RATE + i] * minimum_jerk(passed * f[r.PER_DURATION + i])
    down = y - f[r.POINT + i]
    e0, e1, a0, b0, a1, b1, elastic1 = springs(down + f[r.EXTRA + i], 1.0, v, s0, d1, c)
    q, t0, t1, part, ok = slip(a0, b0, a1, b1, take, limited, f[r.RATIO + i], f[r.FALLS + i], c)
    drawn = take * part
    a, speed, power, worn, viscous, mixing = flows(
        1.0, v, drawn, e0, e1, a0, elastic1, q, t0, t1, c
    )
    fine = ok & (e0 > 0.0) & (e1 > 0.0) & (down > 0.0)
    if not first:
        fine = fine & (f[r.FINE + i] != 0.0)
    f[r.FINE + i] = 1.0 if fine else 0.0
    f[to_t + i], f[to_t + NEXT + i], f[to_q + i] = t0, t1, q
    onto(f, r.DY + i, first, weight * v)
    onto(f, r.DV + i, first, weight * a)
    onto(f, r.DP + i, first, weight * part)
    onto(f, r.DQ + i, first, weight * q)
    onto(f, r.DD + i, first, weight * drawn)
    onto(f, r.PATH + i, first, weight * speed)
    onto(f, r.RUBBED + i, first, weight * power)
    onto(f, r.WORN + i, first, weight * worn)
    onto(f, r.D_DEVICE + i, first, (weight * drawn) * (t1 * (1.0 + e1)))
    onto(f, r.D_LEAVES + i, first, (weight * drawn) * (0.5 * elastic1 * e1))
    onto(f, r.D_VISCOUS + i, first, weight * viscous)
    onto(f, r.D_MIXING + i, first, weight * mixing)
    if first:
        f[r.WORN_1 + i] = worn
    if last:
        f[r.WORN_4 + i] = worn
        f[r.STRAIN + i], f[r.STRAIN + NEXT + i] = e0, e1
    else:
        f[r.Y_I + i], f[r.V_I + i], f[r.PART_I + i] = (
            y0 + reach * v,
            v0 + reach * a,
            part0 + reach * part,
        )
        f[r.S0_I + i], f[r.D1_I + i] = f[r.S + i] - reach * q, d0 + reach * (q - drawn)


@inlined
def _energy(f: Floats, i: int, y: float, v: float, s0: float, s1: float) -> Any:
    """Energy of rope, body spring, motion and height [J], as `balance.stored`."""
    kink0 = f[r.FREE + i]
    kink1 = abs(y - f[r.POINT + i]) - f[r.OFFSET + i]
    d1 = s1 + f[r.BODY + i]
    strain0 = (kink0 - s0) / s0
    strain1 = (kink1 - s1) / d1
    part0 = strain0 * strain0 * s0
    part1 = strain1 * strain1 * d1
    stretched = part0 if strain0 > 0.0 else 0.0
    more = part1 if strain1 > 0.0 else 0.0
    moving = f[r.MASS + i] * v * v
    return 0.5 * (f[r.K + i] * (stretched + more) + moving) - f[r.WEIGHT + i] * y


@inlined
def _judge(f: Floats, i: int) -> None:
    """What the step comes to, and whether it stands."""
    y, v, s0, s1 = f[r.Y + i], f[r.V + i], f[r.S + i], f[r.S + NEXT + i]
    new_y, new_v = y + f[r.DY + i], v + f[r.DV + i]
    dq = f[r.DQ + i]
    new_s0, new_s1 = s0 - dq, s1 + (dq - f[r.DD + i])
    f[r.NEW_Y + i], f[r.NEW_V + i], f[r.NEW_PART + i] = new_y, new_v, f[r.PART + i] + f[r.DP + i]
    f[r.NEW_S + i], f[r.NEW_S + NEXT + i] = new_s0, new_s1
    f[r.AFTER + i] = _energy(f, i, new_y, new_v, new_s0, new_s1)
    f[r.RUBBED_ALL + i], f[r.D_MOVER + i], f[r.REST + i] = f[r.RUBBED + i], 0.0, 0.0
    q1, q4, h = f[r.Q_1 + i], f[r.Q_4 + i], f[r.H + i]
    f[r.EARLY_SLIP + i] = early(dq, q1, q4, h)
    f[r.EARLY_WORN + i] = early(f[r.WORN + i], f[r.WORN_1 + i], f[r.WORN_4 + i], h)
    turns = (q1 * q4 <= 0.0) & (q1 != q4)
    solved = f[r.FINE + i] != 0.0  # the general step begins its search with what was solved last
    stands = judged(f, i, turns, f[r.T_1 + NEXT + i], f[r.T_4 + NEXT + i])
    above, below, was_above = f[r.T_4 + i], f[r.T_4 + NEXT + i], f[r.LAST_T + i]
    was_below = f[r.LAST_T + NEXT + i]
    f[r.LAST_T + i] = above if solved else was_above
    f[r.LAST_T + NEXT + i] = below if solved else was_below
    f[r.LAST_Q + i] = q4 if solved else f[r.LAST_Q + i]
    forget(f, i, stands)
    forget_edge(f, f, i, stands)


@wide
def step_one_edge(f: Floats) -> None:
    """Take a step in every lane; what happened in it goes to the rows EVENT and DEPOSITS.

    A loop a part, so that while the first lanes wait for a division the next go on. How many lanes
    there are is not told while compiling: short loops would be written out, lane by lane.
    """
    lanes = f.shape[0] // r.ROWS
    for i in range(lanes):
        begin_step(f, i)
        begin_books(f, i)
    for i in range(lanes):
        _stage(f, i, f[r.SIXTH + i], 0.0, f[r.HALF + i], r.T_1, r.Q_1, True, False)
    for i in range(lanes):
        _stage(f, i, f[r.THIRD + i], f[r.HALF + i], f[r.HALF + i], r.T_4, r.Q_4, False, False)
    for i in range(lanes):
        _stage(f, i, f[r.THIRD + i], f[r.HALF + i], f[r.H + i], r.T_3, r.Q_3, False, False)
    for i in range(lanes):
        _stage(f, i, f[r.SIXTH + i], f[r.H + i], 0.0, r.T_4, r.Q_4, False, True)
    for i in range(lanes):
        _judge(f, i)
    for i in range(lanes):
        book_load(f, f, i)
    for i in range(lanes):
        book_slip(f, f, i)
    for i in range(lanes):
        book_wear(f, f, i)
    for i in range(lanes):
        book_span(f, f, i, i)
        book_span(f, f, i, i + NEXT)
        book_line(f, i)
    for i in range(lanes):
        tell(f, i)
