"""Steps of a taut line over one edge in the registers of a device, many in one go.

The flow function is that of the scalar step (`step.flow`), the scheme and what is booked too. What
these steps cannot do is left to the general step: another contact set, a rope without tension, a
device that slips, a step that has to be divided, the end of a rise.
"""

from __future__ import annotations

from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import Buffers, Floats
from edgewear.mechanics.device.field import LARGEST, SPARE, WORKS, add
from edgewear.mechanics.movement.limits import END_S, GIVES_UP_TICKS
from edgewear.mechanics.movement.mover import minimum_jerk, ramped
from edgewear.mechanics.step.balance import EVEN, OPEN_M
from edgewear.mechanics.step.booking import CARRIES_N
from edgewear.mechanics.step.flow import flows, slip, springs
from edgewear.mechanics.step.one_edge_step import _slip_closely, is_single, taut_line
from edgewear.mechanics.wear.exposure_bound import forget_slides
from edgewear.mechanics.wear.wear import window_m
from edgewear.terms import LOADED_BEND_RAD, LOADED_N

MOST_STEPS = 100_000
"""Steps taken in one go at most."""


def takes(state: Any, w: Floats, half: int, field: Floats) -> Any:
    """Whether these steps may be tried: taut, over one edge, the bend given, no work in place."""
    if not is_single(state.count, state.phase, w):
        return False
    if w[r.REGIME_P + r.FIXED_BEND] == 0.0 or w[r.REGIME_P + r.OUT] != 0.0:
        return False
    if state.phase == r.WAIT or state.phase == r.STILL or field[half - WORKS] != 0.0:
        return False
    window = window_m(w[r.RADIUS + 1], w[r.BEND + 1], w[r.REGIME_P + r.DIAMETER])
    return window == w[r.WINDOW + 1]


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


def quick_steps(p: Buffers) -> Any:
    """Take steps until something has to be looked at; returns (how many, within the cells)."""
    state, w = p.state[0], p.work
    if state.count != 1 or state.loaded == 0:
        return 0, True
    edge = p.sums[0]
    field = p.pending[0]
    half = field.shape[0] // 2
    if not takes(state, w, half, field):
        return 0, True
    c = taut_line(w)
    phase = state.phase
    limited = phase == r.RISE
    strokes = phase == r.RISE or phase == r.DROP
    rate_m_s = w[r.PHASE_P + r.RATE_P]
    per_duration = w[r.PHASE_P + r.PER_DURATION]
    duration_s = w[r.PHASE_P + r.DURATION]
    ramp_s = w[r.PHASE_P + r.RAMP]
    ratio = w[r.RATIO + 1]
    point = w[r.REGIME_P + r.POINT]
    offset = w[r.REGIME_P + r.OFFSET_M]
    body = w[r.LINE_P + r.BODY_M]
    mass = w[r.LINE_P + r.MASS]
    low_m = w[r.REGIME_P + r.LOW]
    high_m = w[r.REGIME_P + r.HIGH]
    bend = w[r.BEND + 1]
    per_cell = w[r.REGIME_P + r.PER_CELL]
    window = w[r.WINDOW + 1] * per_cell
    left_m = p.cells[1]
    room_m = p.line[0].rope_m - state.anchor_at_m
    anchor_at = state.anchor_at_m
    y = state.depth_m
    v = state.speed_m_s
    part_s = state.part_s
    s0 = w[r.SPAN]
    s1 = w[r.SPAN + 1]
    phase_tick = state.phase_tick
    phase_end = state.phase_end
    step_ticks = state.step_ticks
    rise_end = state.rise_s - 2.0 * END_S
    rescan = state.rescan_j_m
    holds_n = state.holds_n
    peak = state.peak_n
    anchor_peak = state.anchor_peak_n
    stretch_m = state.stretch_m
    way_before = state.mode[0]
    drawn_m = 0.0
    device_j = 0.0
    leaves_j = 0.0
    viscous_j = 0.0
    friction_j = 0.0
    mixing_j = 0.0
    flows_j = 0.0
    high_peak = 0.0
    rubbing = edge.cycle_friction_n
    path_m = 0.0
    exposure_j = 0.0
    travel = edge.travel_m
    cycle_low = edge.cycle_low_m
    cycle_high = edge.cycle_high_m
    flash = edge.flash_measure
    flash_n = edge.flash_n
    flash_speed = edge.flash_speed_m_s
    slips = 0
    carried = 0
    bare = 0
    bare_tick = edge.bare_tick
    tick = state.tick
    worst = field[half - LARGEST]
    first_cell = edge.pending_low
    last_cell = edge.pending_high
    t00 = w[r.T_START]
    t01 = w[r.T_START + 1]
    q0 = w[r.Q_START + 1]
    t20 = w[r.T_MIDDLE]
    t21 = w[r.T_MIDDLE + 1]
    q2 = w[r.Q_MIDDLE + 1]
    t30 = w[r.T]
    t31 = w[r.T + 1]
    q3 = w[r.Q + 1]
    e30 = w[r.STRAIN]
    e31 = w[r.STRAIN + 1]
    inside = True
    count = 0
    while count < MOST_STEPS:
        ticks = step_ticks
        if phase_end >= 0:
            ticks = min(ticks, phase_end - phase_tick)
        if ticks <= 0:
            break
        h = ticks * TICK_S
        if limited and part_s + h > rise_end:
            break
        time_s = phase_tick * TICK_S
        y1, v1, p1 = y, v, part_s
        m0, m1 = s0, s1 + body
        q = 0.0
        dy = dv = dp = dq = dd = path = energy = worn = 0.0
        device = leaves = viscous = mixing = 0.0
        n00 = n01 = n20 = n21 = n30 = n31 = n0 = n2 = n3 = f30 = f31 = 0.0
        fine = True
        for stage in range(4):
            weight = h / 6.0 if stage == 0 or stage == 3 else h / 3.0
            share = 0.0 if stage == 0 else (h if stage == 3 else 0.5 * h)
            if strokes:
                take = rate_m_s * minimum_jerk((p1 if limited else time_s + share) * per_duration)
            elif phase == r.PAYOUT:
                take = rate_m_s * ramped(time_s + share, duration_s, ramp_s)
            else:
                take = 0.0
            down = y1 - point
            length = down + (body - offset)
            e0, e1, a0, b0, a1, b1 = springs(length, 1.0, v1, m0, m1, c)
            q, t0, t1, pr, ok = slip(a0, b0, a1, b1, take, limited, ratio, q, c)
            if not ok:
                q, t0, t1, pr, ok = _slip_closely(a0, b0, a1, b1, take, limited, ratio, w)
            a, drawn, speed, power, wear, vi, mi = flows(
                1.0, v1, take, pr, limited, e0, e1, q, t0, t1, c
            )
            fine = fine and ok and e0 > 0.0 and e1 > 0.0 and down > 0.0
            if stage == 0:
                n00, n01, n0 = t0, t1, q
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
            device += weight * t1 * (1.0 + e1) * drawn
            leaves += weight * 0.5 * c.k * e1 * e1 * drawn
            viscous += weight * vi
            mixing += weight * mi
            reach = h if stage == 2 else 0.5 * h
            y1 = y + reach * v1
            v1 = v + reach * a
            p1 = part_s + reach * pr
            m0 = s0 - reach * q
            m1 = (s1 + body) + reach * (q - drawn)
        y1 = y + dy
        v1 = v + dv
        if not (fine and low_m <= y1 and y1 <= high_m and abs(v1) < 1e9):
            break
        z0 = s0 - dq
        z1 = s1 + (dq - dd)
        if ticks >= 2:
            jumps = abs(n31 - n01) > EVEN * c.weight_n or n31 >= c.cap_n
            turns = n0 * n3 <= 0.0 and n0 != n3
            if jumps or turns:
                before = stored(
                    c.above_m, y - point - offset, s0, s1, body, c.k, mass, v, c.weight_n, y
                )
                after = stored(
                    c.above_m, y1 - point - offset, z0, z1, body, c.k, mass, v1, c.weight_n, y1
                )
                left = (device - leaves) - viscous - energy - mixing
                if abs(left - after + before) > OPEN_M * c.weight_n:
                    break
        way = 0
        if path > 0.0:
            way = 1 if dq > 0.0 else -1
        if worn > 0.0:
            start = (anchor_at + s0 - left_m) * per_cell
            end = (anchor_at + s0 - dq - left_m) * per_cell
            begin = min(start, end) - 0.5 * window
            finish = begin + max(abs(end - start), 1e-3) + window
            if begin < 0.0 or finish >= half - SPARE:
                inside = False
            else:
                worst = max(worst, add(field, half, start, end, window, worn * per_cell))
                first_cell = min(first_cell, int(begin))
                last_cell = max(last_cell, int(finish) + 2)
        t00, t01, t20, t21, t30, t31 = n00, n01, n20, n21, n30, n31
        q0, q2, q3, e30, e31 = n0, n2, n3, f30, f31
        high = max(max(t00, t01), max(t20, t21))
        high_peak = max(high_peak, high)
        peak = max(peak, high)
        anchor_peak = max(anchor_peak, max(t00, t20))
        if high > CARRIES_N:
            carried += ticks
            if high > LOADED_N and bend > LOADED_BEND_RAD:
                if bare_tick < 0:
                    bare_tick = tick
                bare += ticks
        rubbing = max(rubbing, abs(t01 - t00))
        if way != 0:
            path_m += path
            exposure_j += worn
            travel += dq
            cycle_low = min(cycle_low, travel)
            cycle_high = max(cycle_high, travel)
            speed0 = abs(q0) * (1.0 + e31)
            measure0 = (t01 - t00) * (t01 - t00) * speed0
            speed2 = abs(q2) * (1.0 + e31)
            measure2 = (t21 - t20) * (t21 - t20) * speed2
            if measure0 > flash:
                flash, flash_n, flash_speed = measure0, abs(t01 - t00), speed0
            if measure2 > flash:
                flash, flash_n, flash_speed = measure2, abs(t21 - t20), speed2
            if way != way_before:
                slips += 1
        way_before = way
        s0 = z0
        s1 = z1
        stretch_m = max(stretch_m, e30 * s0 + e31 * s1)
        drawn_m += dd
        device_j += device
        leaves_j += leaves
        viscous_j += viscous
        friction_j += energy
        mixing_j += mixing
        flows_j += abs(device) + abs(leaves) + abs(viscous) + abs(energy) + abs(mixing)
        y = y1
        v = v1
        part_s += dp
        phase_tick += ticks
        tick += ticks
        count += 1
        if worst >= rescan or peak > holds_n or s0 + s1 > room_m or not inside:
            break
        if limited and (part_s >= rise_end + END_S or phase_tick > GIVES_UP_TICKS):
            break
    if count == 0:
        return 0, True
    state.depth_m = y
    state.speed_m_s = v
    state.part_s = part_s
    w[r.SPAN] = s0
    w[r.SPAN + 1] = s1
    state.phase_tick = phase_tick
    state.tick = tick
    state.steps += count
    state.peak_n = peak
    state.anchor_peak_n = anchor_peak
    state.stretch_m = stretch_m
    state.drawn_m += drawn_m
    state.mode[0] = way_before
    w[r.TOTAL + r.DEVICE] += device_j
    w[r.TOTAL + r.LEAVES] += leaves_j
    w[r.TOTAL + r.VISCOUS] += viscous_j
    w[r.TOTAL + r.FRICTION] += friction_j
    w[r.TOTAL + r.MIXING] += mixing_j
    w[r.TOTAL + r.FLOWS] += flows_j
    w[r.T_START] = t00
    w[r.T_START + 1] = t01
    w[r.Q_START + 1] = q0
    w[r.T_MIDDLE] = t20
    w[r.T_MIDDLE + 1] = t21
    w[r.Q_MIDDLE + 1] = q2
    w[r.T] = t30
    w[r.T + 1] = t31
    w[r.Q + 1] = q3
    w[r.STRAIN] = e30
    w[r.STRAIN + 1] = e31
    edge.peak_n = max(edge.peak_n, high_peak)
    edge.cycle_peak_n = max(edge.cycle_peak_n, high_peak)
    if carried > 0:
        edge.wrap_rad = max(edge.wrap_rad, bend)
    edge.cycle_ticks += carried
    edge.bare_tick = bare_tick
    edge.bare_ticks += bare
    edge.cycle_friction_n = rubbing
    edge.slip_m += path_m
    edge.cycle_slip_m += path_m
    edge.energy_j += friction_j
    edge.exposure_j += exposure_j
    edge.travel_m = travel
    edge.cycle_low_m = cycle_low
    edge.cycle_high_m = cycle_high
    if flash > edge.flash_measure:
        edge.flash_measure = flash
        edge.flash_n = flash_n
        edge.flash_speed_m_s = flash_speed
        edge.flash_wrap_rad = bend
    edge.slips += slips
    edge.pending_low = first_cell
    edge.pending_high = last_cell
    field[half - LARGEST] = worst
    state.bound_j_m = worst
    forget_slides(p.sums)
    return count, inside
