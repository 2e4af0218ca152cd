"""One step of a taut line over one edge in the registers of a device: floats in, floats out.

The flow function is that of the scalar step (`step.flow`), the scheme and what is booked too.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.device.field import SPARE, add_both
from edgewear.mechanics.lanes.slip import slip
from edgewear.mechanics.movement.mover import minimum_jerk, ramped
from edgewear.mechanics.step.balance import EVEN, OPEN_M
from edgewear.mechanics.step.flow import SIXTH, Taut, early, flows, springs
from edgewear.mechanics.wear.field import first_half


class Fixed(NamedTuple):
    """What stays as it is while steps are taken in one go."""

    phase: int
    limited: bool  # a rise, whose progress the person's force limits
    strokes: bool  # a rise or a drop
    rate_m_s: float
    per_duration: float  # [1/s]
    duration_s: float
    per_ramp: float  # [1/s]
    ratio: float  # exp(mu*theta)
    falls: float  # 1/ratio
    point: float  # depth of the last point [m]
    offset: float  # [m]
    body: float  # further rope that the body spring is [m]
    mass: float
    low_m: float  # depths at which the contact set holds
    high_m: float
    bend: float  # [rad]
    per_cell: float  # [1/m]
    window: float  # contact length [cells]
    left_m: float  # material coordinate of the first cell
    anchor_at: float  # [m]


class Line(NamedTuple):
    """The state of the line that a step changes."""

    y: float  # depth [m]
    v: float  # [m/s]
    part_s: float  # progress of a rise [s]
    s0: float  # unstretched rope above and below the edge [m]
    s1: float
    phase_tick: int
    tick: int


class Stepped(NamedTuple):
    """What one step comes to: changes, energies [J], and its start, middle and end."""

    fine: bool
    dy: float
    dv: float
    dp: float
    dq: float  # rope that crosses the edge [m]
    dd: float  # rope that the device takes in [m]
    path: float  # [m]
    energy: float
    worn: float
    early_slip: float  # in the first half
    early_worn: float
    device: float
    leaves: float
    viscous: float
    mixing: float
    t00: float  # tensions above and below the edge, at the start
    t01: float
    t20: float  # in the middle
    t21: float
    t30: float  # at the end
    t31: float
    q0: float  # slip rates
    q2: float
    q3: float
    e30: float  # strains at the end
    e31: float


class Worn(NamedTuple):
    """Where a go has worn the rope."""

    worst: float  # [J/m]
    first: int
    last: int
    inside: bool


def taken_in(f: Fixed, time_s: float, part_s: float) -> Any:
    """Nominal rate of taking in at the device [m/s]."""
    if f.strokes:
        return f.rate_m_s * minimum_jerk((part_s if f.limited else time_s) * f.per_duration)
    if f.phase == r.PAYOUT:
        return f.rate_m_s * ramped(time_s, f.duration_s, f.per_ramp)
    return 0.0


def stepped(f: Fixed, c: Taut, line: Line, time_s: float, h: float) -> Any:
    """Classical RK4 over h [s], as `stage.step`; time_s: since the phase began."""
    y1, v1, p1 = line.y, line.v, line.part_s
    m0, m1 = line.s0, line.s1 + f.body
    wear = wear0 = 0.0
    dy = dv = dp = dq = dd = path = energy = worn = 0.0
    device = leaves = viscous = mixing = 0.0
    n00 = n01 = n20 = n21 = n30 = n31 = n0 = n2 = n3 = f30 = f31 = 0.0
    fine = True
    sixth = h * SIXTH
    for stage in range(4):
        weight = sixth if stage == 0 or stage == 3 else 2.0 * sixth
        share = 0.0 if stage == 0 else (h if stage == 3 else 0.5 * h)
        take = taken_in(f, time_s + share, p1)
        down = y1 - f.point
        length = down + (f.body - f.offset)
        e0, e1, a0, b0, a1, b1, elastic1 = springs(length, 1.0, v1, m0, m1, c)
        q, t0, t1, pr, ok = slip(a0, b0, a1, b1, take, f.limited, f.ratio, f.falls, c)
        drawn = take * pr
        a, speed, power, wear, vi, mi = flows(1.0, v1, drawn, e0, e1, a0, elastic1, q, t0, t1, c)
        fine = fine and ok and e0 > 0.0 and e1 > 0.0 and down > 0.0
        if stage == 0:
            n00, n01, n0, wear0 = t0, t1, q, wear
        elif stage == 2:
            n20, n21, n2 = t0, t1, q
        n30, n31, n3, f30, f31 = t0, t1, q, e0, e1
        dy += weight * v1
        dv += weight * a
        dp += weight * pr
        dq += weight * q
        dd += weight * drawn
        path += weight * speed
        energy += weight * power
        worn += weight * wear
        device += (weight * drawn) * (t1 * (1.0 + e1))
        leaves += (weight * drawn) * (0.5 * elastic1 * e1)
        viscous += weight * vi
        mixing += weight * mi
        reach = h if stage == 2 else 0.5 * h
        y1 = line.y + reach * v1
        v1 = line.v + reach * a
        p1 = line.part_s + reach * pr
        m0 = line.s0 - reach * q
        m1 = (line.s1 + f.body) + reach * (q - drawn)
    early_slip, early_worn = early(dq, n0, n3, h), early(worn, wear0, wear, h)
    return Stepped(
        fine, dy, dv, dp, dq, dd, path, energy, worn, early_slip, early_worn, device, leaves,
        viscous, mixing, n00, n01, n20, n21, n30, n31, n0, n2, n3, f30, f31,
    )  # fmt: skip


def after(line: Line, m: Stepped) -> Any:
    """The line after a step, its ticks not yet counted."""
    return Line(
        line.y + m.dy, line.v + m.dv, line.part_s + m.dp, line.s0 - m.dq,
        line.s1 + (m.dq - m.dd), line.phase_tick, line.tick,
    )  # fmt: skip


def later(line: Line, ticks: int) -> Any:
    """The line some ticks later."""
    return Line(
        line.y, line.v, line.part_s, line.s0, line.s1, line.phase_tick + ticks, line.tick + ticks
    )


def stored(
    above: float, length: float, s0: float, s1: float, body: float,
    k: float, mass: float, v: float, weight: float, y: float,
) -> Any:  # fmt: skip
    """Energy of rope, body spring, motion and height [J], as `balance.stored`."""
    strain0 = (above - s0) / s0
    strain1 = (length - s1) / (s1 + body)
    stretched = strain0 * strain0 * s0 if strain0 > 0.0 else 0.0
    stretched += strain1 * strain1 * (s1 + body) if strain1 > 0.0 else 0.0
    return 0.5 * (k * stretched + mass * v * v) - weight * y


def stands(f: Fixed, new: Line, m: Stepped) -> Any:
    """Whether a step ends as it began, taut and over the same edge: else it is made elsewhere."""
    return m.fine and f.low_m <= new.y and new.y <= f.high_m and abs(new.v) < 1e9


def too_open(f: Fixed, c: Taut, line: Line, new: Line, m: Stepped, h: float) -> Any:
    """Whether a step of h [s] leaves so much of its balance open that it has to be halved."""
    if h < 2.0 * TICK_S:
        return False
    jumps = abs(m.t31 - m.t01) > EVEN * c.weight_n or m.t31 >= c.cap_n
    turns = m.q0 * m.q3 <= 0.0 and m.q0 != m.q3
    if not (jumps or turns):
        return False
    before = stored(
        c.above_m, line.y - f.point - f.offset, line.s0, line.s1, f.body, c.k, f.mass, line.v,
        c.weight_n, line.y,
    )  # fmt: skip
    now = stored(
        c.above_m, new.y - f.point - f.offset, new.s0, new.s1, f.body, c.k, f.mass, new.v,
        c.weight_n, new.y,
    )  # fmt: skip
    left = (m.device - m.leaves) - m.viscous - m.energy - m.mixing
    return abs(left - now + before) > OPEN_M * c.weight_n


def wears(f: Fixed, field: Floats, s0: float, m: Stepped, worn: Worn) -> Any:
    """Spread a step's wear over the cells that were in contact, in two halves."""
    first, early = first_half(m.dq, m.early_slip, m.worn, m.early_worn, m.q0, m.q3)
    half = field.shape[0] // 2
    at = f.anchor_at + s0
    start = (at - f.left_m) * f.per_cell
    turn = (at - first - f.left_m) * f.per_cell
    end = (at - m.dq - f.left_m) * f.per_cell
    begin = min(min(start, end), turn) - 0.5 * f.window
    finish = max(max(start, end), turn) + 1e-3 + 0.5 * f.window
    if begin < 0.0 or finish >= half - SPARE:
        return Worn(worn.worst, worn.first, worn.last, False)
    per_cell = f.per_cell
    largest = add_both(
        field, half, start, turn, end, f.window, early * per_cell, (m.worn - early) * per_cell
    )
    return Worn(
        max(worn.worst, largest), min(worn.first, int(begin)), max(worn.last, int(finish) + 2),
        worn.inside,
    )  # fmt: skip
