"""A step of many runs at once, each a taut line over one edge, in loops that are vectorised.

The flow and the springs are those of the scalar step (`step.flow`), and every operation is made in
its order, so that a run comes to the same bits. Choices are between numbers that are both there:
a branch would part the lanes.
"""

from __future__ import annotations

from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, wide
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.rows import LANES
from edgewear.mechanics.lanes.slip import slip_at
from edgewear.mechanics.lanes.wear import OUTSIDE, book_wear
from edgewear.mechanics.movement.limits import END_S, GIVES_UP_TICKS
from edgewear.mechanics.movement.mover import minimum_jerk
from edgewear.mechanics.step.balance import EVEN, OPEN_M
from edgewear.mechanics.step.booking import CARRIES_N
from edgewear.mechanics.step.flow import Taut, flows, springs
from edgewear.mechanics.step.stage import EARLY
from edgewear.terms import LOADED_N

GOES_ON, REFUSED, LOOKS, TURNS, FRESH, SEARCHES = 0.0, 1.0, 2.0, 3.0, 4.0, 5.0


@inlined
def line_of(f: Floats, i: int) -> Any:
    """Constants of the line as the flow wants them."""
    return Taut(
        f[r.K + i], f[r.K_TAU + i], f[r.ABOVE_M + i], f[r.GRAVITY + i], f[r.PER_MASS + i],
        f[r.WEIGHT + i], f[r.FULL + i], f[r.PER_RANGE + i], f[r.CAP + i], 0.0,
        f[r.COLD + i], f[r.PER_SPEED + i], 0.0, f[r.GAIN + i], 0.0, 0.0,
    )  # fmt: skip


@inlined
def energy_of(f: Floats, i: int, y: float, v: float, s0: float, s1: float) -> Any:
    """Energy of rope, body spring, motion and height [J], as `balance.stored`."""
    kink0 = f[r.ABOVE_M + i]
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
def _begin(f: Floats, i: int) -> None:
    """Length of the step."""
    phase_tick = f[r.PHASE_TICK + i]
    whole = min(f[r.STEP_TICKS + i], f[r.PHASE_END + i] - phase_tick)
    guess = f[r.GUESS + i]
    ticks = guess if guess > 0.0 else whole
    h = ticks * TICK_S
    f[r.TICKS + i], f[r.TRIED + i] = ticks, ticks
    sixth = h / 6.0
    f[r.H + i], f[r.HALF + i], f[r.SIXTH + i], f[r.THIRD + i] = h, 0.5 * h, sixth, 2.0 * sixth
    f[r.TIME + i] = phase_tick * TICK_S


@inlined
def _onto(f: Floats, place: int, first: bool, more: float) -> None:
    """Add to a sum that begins with the first stage."""
    f[place] = (0.0 if first else f[place]) + more


@inlined
def _stage(
    f: Floats, i: int, weight: float, early: float, share: float, reach: float, kept: int,
    first: bool, last: bool,
) -> None:  # fmt: skip
    """All rates at one stage onto the sums, and what the next begins with; as `_flow`.

    weight: of the stage [s]; early: of that in the sums of the first half, see `EARLY`; share: from
    the step's begin to the stage [s]; reach: to the next [s]. kept: row for the
    tensions and the slip rate; 0: nobody asks for them. What is told while compiling is no choice.
    """
    c = line_of(f, i)
    limited = f[r.LIMITED + i] != 0.0
    y0, v0, part0, d0 = f[r.Y + i], f[r.V + i], f[r.PART + i], f[r.S1 + i] + f[r.BODY + i]
    y, v, part_s, s0, d1, near = y0, v0, part0, f[r.S0 + i], d0, 0.0
    if not first:
        y, v, part_s = f[r.Y_I + i], f[r.V_I + i], f[r.PART_I + i]
        s0, d1, near = f[r.S0_I + i], f[r.D1_I + i], f[r.Q_I + i]
    passed = part_s if limited else f[r.TIME + i] + share
    take = f[r.RATE + i] * minimum_jerk(passed * f[r.PER_DURATION + i])
    down = y - f[r.POINT + i]
    e0, e1, a0, b0, a1, b1 = springs(down + f[r.EXTRA + i], 1.0, v, s0, d1, c)
    q, t0, t1, part, ok = slip_at(
        a0, b0, a1, b1, take, limited, f[r.RATIO + i], f[r.FALLS + i], near, c, first
    )
    a, drawn, speed, power, worn, viscous, mixing = flows(
        1.0, v, take, part, limited, e0, e1, q, t0, t1, c
    )
    fine = ok & (e0 > 0.0) & (e1 > 0.0) & (down > 0.0)
    if not first:
        fine = fine & (f[r.FINE + i] != 0.0)
    f[r.FINE + i] = 1.0 if fine else 0.0
    if kept > 0:
        f[kept + i], f[kept + LANES + i], f[kept + 2 * LANES + i] = t0, t1, q
    _onto(f, r.DY + i, first, weight * v)
    _onto(f, r.DV + i, first, weight * a)
    _onto(f, r.DP + i, first, weight * part)
    _onto(f, r.DQ + i, first, weight * q)
    _onto(f, r.DD + i, first, weight * drawn)
    _onto(f, r.PATH + i, first, weight * speed)
    _onto(f, r.RUBBED + i, first, weight * power)
    _onto(f, r.WORN + i, first, weight * worn)
    soon = weight * early
    _onto(f, r.EARLY_SLIP + i, first, soon * q)
    _onto(f, r.EARLY_WORN + i, first, soon * worn)
    _onto(f, r.D_DEVICE + i, first, weight * t1 * (1.0 + e1) * drawn)
    _onto(f, r.D_LEAVES + i, first, weight * 0.5 * c.k * e1 * e1 * drawn)
    _onto(f, r.D_VISCOUS + i, first, weight * viscous)
    _onto(f, r.D_MIXING + i, first, weight * mixing)
    if last:
        f[r.E0 + i], f[r.E1 + i] = e0, e1
    else:
        f[r.Y_I + i], f[r.V_I + i], f[r.PART_I + i] = (
            y0 + reach * v,
            v0 + reach * a,
            part0 + reach * part,
        )
        f[r.S0_I + i], f[r.D1_I + i] = f[r.S0 + i] - reach * q, d0 + reach * (q - drawn)
        f[r.Q_I + i] = q


@inlined
def _forget(f: Floats, i: int, stands: bool) -> None:
    """Nothing of a step that does not stand: then what is summed up needs no choice."""
    f[r.DQ + i] = f[r.DQ + i] if stands else 0.0
    f[r.DD + i] = f[r.DD + i] if stands else 0.0
    f[r.PATH + i] = f[r.PATH + i] if stands else 0.0
    f[r.RUBBED + i] = f[r.RUBBED + i] if stands else 0.0
    f[r.WORN + i] = f[r.WORN + i] if stands else 0.0
    f[r.D_DEVICE + i] = f[r.D_DEVICE + i] if stands else 0.0
    f[r.D_LEAVES + i] = f[r.D_LEAVES + i] if stands else 0.0
    f[r.D_VISCOUS + i] = f[r.D_VISCOUS + i] if stands else 0.0
    f[r.D_MIXING + i] = f[r.D_MIXING + i] if stands else 0.0
    f[r.TICKS + i] = f[r.TICKS + i] if stands else 0.0
    high = max(max(f[r.T0_1 + i], f[r.T1_1 + i]), max(f[r.T0_3 + i], f[r.T1_3 + i]))
    f[r.HIGH + i] = high if stands else 0.0


@inlined
def _judge(f: Floats, i: int) -> None:
    """What the step comes to, and whether it stands, as `whole_step` and `too_open`."""
    y, v, s0, s1 = f[r.Y + i], f[r.V + i], f[r.S0 + i], f[r.S1 + i]
    new_y, new_v, new_part = y + f[r.DY + i], v + f[r.DV + i], f[r.PART + i] + f[r.DP + i]
    dq, ticks = f[r.DQ + i], f[r.TICKS + i]
    new_s0, new_s1 = s0 - dq, s1 + (dq - f[r.DD + i])
    after = energy_of(f, i, new_y, new_v, new_s0, new_s1)
    given = (f[r.D_DEVICE + i] - f[r.D_LEAVES + i]) - f[r.D_VISCOUS + i] - f[r.RUBBED + i]
    given -= f[r.D_MIXING + i]
    weight_n, before_n, after_n = f[r.WEIGHT + i], f[r.T1_1 + i], f[r.T1_4 + i]
    open_j = abs(given - after + f[r.STORED + i])
    q1, q4 = f[r.Q_1 + i], f[r.Q_4 + i]
    jumps = (abs(after_n - before_n) > EVEN * weight_n) | (after_n >= f[r.CAP + i])
    turns = (q1 * q4 <= 0.0) & (q1 != q4)
    even = (not (jumps | turns)) | (ticks < 2.0)
    shut = even | (open_j <= OPEN_M * weight_n)
    fine = (f[r.FINE + i] != 0.0) & shut & (ticks >= 1.0)
    fine = fine & (f[r.PHASE_TICK + i] + ticks <= GIVES_UP_TICKS)
    fine = fine & (f[r.LOW_M + i] <= new_y) & (new_y <= f[r.HIGH_M + i]) & (abs(new_v) < 1e9)
    ends = f[r.PART + i] + f[r.H + i] > f[r.RISE_S + i] - 2.0 * END_S
    searched = (f[r.GUESS + i] > 0.0) | (ends & (new_part - f[r.RISE_S + i] + END_S >= 0.0))
    again = searched & (f[r.LAST + i] == 0.0)
    stands = fine & (not again) & (f[r.ACTIVE + i] != 0.0)
    event = SEARCHES if again else GOES_ON
    f[r.EVENT + i] = event if fine else REFUSED
    solved = f[r.FINE + i] != 0.0  # the general step begins its search with what was solved last
    f[r.LAST_T0 + i] = f[r.T0_4 + i] if solved else f[r.LAST_T0 + i]
    f[r.LAST_T1 + i] = f[r.T1_4 + i] if solved else f[r.LAST_T1 + i]
    f[r.LAST_Q + i] = f[r.Q_4 + i] if solved else f[r.LAST_Q + i]
    f[r.GUESS + i] = f[r.GUESS + i] if again else 0.0
    f[r.LAST + i] = f[r.LAST + i] if again else 0.0
    f[r.STANDS + i] = 1.0 if stands else 0.0
    _forget(f, i, stands)
    f[r.NEW_Y + i], f[r.NEW_V + i], f[r.NEW_PART + i] = new_y, new_v, new_part
    f[r.NEW_S0 + i], f[r.NEW_S1 + i], f[r.AFTER + i] = new_s0, new_s1, after


@inlined
def _book_load(f: Floats, i: int) -> None:
    """Peaks and times under load, as `booking._book_load`."""
    high, bend, ticks = f[r.HIGH + i], f[r.BEND + i], f[r.TICKS + i]
    carries = high > CARRIES_N
    bare = (high > LOADED_N) & (f[r.BARE_BEND + i] != 0.0)
    f[r.EDGE_PEAK + i] = max(f[r.EDGE_PEAK + i], high)
    f[r.CYCLE_PEAK + i] = max(f[r.CYCLE_PEAK + i], high)
    f[r.WRAP + i] = max(f[r.WRAP + i], bend if carries else 0.0)
    f[r.CYCLE_TICKS + i] += ticks if carries else 0.0
    first = f[r.BARE_TICK + i]
    f[r.BARE_TICK + i] = f[r.TICK + i] if bare & (first < 0.0) else first
    f[r.BARE_TICKS + i] += ticks if bare else 0.0


@inlined
def _book_slip(f: Floats, i: int) -> None:
    """Sliding at the edge, as `booking._book_slip`."""
    path, dq, bend = f[r.PATH + i], f[r.DQ + i], f[r.BEND + i]
    stands = f[r.STANDS + i] != 0.0
    slides = path > 0.0
    toward = 1.0 if dq > 0.0 else -1.0
    way = toward if slides else 0.0
    f[r.SLIPS + i] += 1.0 if slides & (way != f[r.MODE + i]) else 0.0
    f[r.MODE + i] = way if stands else f[r.MODE + i]
    f[r.SLIP + i] += path
    f[r.CYCLE_SLIP + i] += path
    f[r.ENERGY + i] += f[r.RUBBED + i]
    f[r.EXPOSURE + i] += f[r.WORN + i]
    travel = f[r.TRAVEL + i] + dq
    f[r.TRAVEL + i] = travel
    f[r.CYCLE_LOW + i] = min(f[r.CYCLE_LOW + i], travel)
    f[r.CYCLE_HIGH + i] = max(f[r.CYCLE_HIGH + i], travel)
    rub1, rub3 = f[r.T1_1 + i] - f[r.T0_1 + i], f[r.T1_3 + i] - f[r.T0_3 + i]
    rub = max(f[r.RUBBING + i], abs(rub1))
    f[r.RUBBING + i] = rub if stands else f[r.RUBBING + i]
    longer = 1.0 + f[r.E1 + i]
    speed1, speed3 = abs(f[r.Q_1 + i]) * longer, abs(f[r.Q_3 + i]) * longer
    flash1, flash3 = rub1 * rub1 * speed1, rub3 * rub3 * speed3
    flash = f[r.FLASH + i]
    flashes1 = slides & (flash1 > flash)
    flash = flash1 if flashes1 else flash
    flashes3 = slides & (flash3 > flash)
    f[r.FLASH + i] = flash3 if flashes3 else flash
    force = abs(rub1) if flashes1 else f[r.FLASH_N + i]
    f[r.FLASH_N + i] = abs(rub3) if flashes3 else force
    pace = speed1 if flashes1 else f[r.FLASH_SPEED + i]
    f[r.FLASH_SPEED + i] = speed3 if flashes3 else pace
    f[r.FLASH_WRAP + i] = bend if flashes1 | flashes3 else f[r.FLASH_WRAP + i]


@inlined
def _book_line(f: Floats, i: int) -> None:
    """Spans, peaks and energies of the line, as `booking._book_line`, and its clock."""
    stands = f[r.STANDS + i] != 0.0
    y, v, part, stored = f[r.Y + i], f[r.V + i], f[r.PART + i], f[r.STORED + i]
    s0, s1 = f[r.S0 + i], f[r.S1 + i]
    new_y, new_v, new_part = f[r.NEW_Y + i], f[r.NEW_V + i], f[r.NEW_PART + i]
    new_s0, new_s1, after = f[r.NEW_S0 + i], f[r.NEW_S1 + i], f[r.AFTER + i]
    f[r.Y + i] = new_y if stands else y
    f[r.V + i] = new_v if stands else v
    f[r.PART + i] = new_part if stands else part
    s0 = new_s0 if stands else s0
    s1 = new_s1 if stands else s1
    f[r.S0 + i], f[r.S1 + i] = s0, s1
    f[r.STORED + i] = after if stands else stored
    ticks = f[r.TICKS + i]
    f[r.PHASE_TICK + i] += ticks
    f[r.TICK + i] += ticks
    f[r.STEPS + i] += f[r.STANDS + i]
    f[r.DRAWN + i] += f[r.DD + i]
    f[r.PEAK + i] = max(f[r.PEAK + i], f[r.HIGH + i])
    longest = max(f[r.STRETCH + i], f[r.E0 + i] * s0 + f[r.E1 + i] * s1)
    f[r.STRETCH + i] = longest if stands else f[r.STRETCH + i]
    anchor = max(f[r.ANCHOR_PEAK + i], max(f[r.T0_1 + i], f[r.T0_3 + i]))
    f[r.ANCHOR_PEAK + i] = anchor if stands else f[r.ANCHOR_PEAK + i]
    device, leaves, viscous = f[r.D_DEVICE + i], f[r.D_LEAVES + i], f[r.D_VISCOUS + i]
    friction, mixing = f[r.RUBBED + i], f[r.D_MIXING + i]
    f[r.FLOWS + i] += abs(device) + abs(leaves) + abs(viscous) + abs(friction) + abs(mixing)
    f[r.DEVICE + i] += device
    f[r.LEAVES + i] += leaves
    f[r.VISCOUS + i] += viscous
    f[r.FRICTION + i] += friction
    f[r.MIXING + i] += mixing


@inlined
def _tell(f: Floats, i: int) -> None:
    """What comes next: a look, the next phase, or a step more."""
    stands = f[r.STANDS + i] != 0.0
    used = f[r.ANCHOR_AT + i] + f[r.S0 + i] + f[r.S1 + i] > f[r.ROOM + i]
    looks = (f[r.BOUND + i] >= f[r.RESCAN + i]) | (f[r.PEAK + i] > f[r.HOLDS + i])
    looks = stands & (
        looks | used | (f[r.DEPOSITS + i] == OUTSIDE) | (f[r.DEPOSITS + r.LATER + i] == OUTSIDE)
    )
    risen = f[r.PART + i] >= f[r.RISE_S + i] - END_S
    over = stands & (risen | (f[r.PHASE_TICK + i] >= f[r.PHASE_END + i]))
    event = TURNS if over else f[r.EVENT + i]
    event = LOOKS if looks else event
    f[r.EVENT + i] = event if f[r.ACTIVE + i] != 0.0 else GOES_ON


@wide
def step_all(f: Floats) -> None:
    """Take a step in every lane; what happened in it goes to the rows EVENT and DEPOSITS.

    A loop a part, so that while the first lanes wait for a division the next go on. How many lanes
    there are is not told while compiling: short loops would be written out, lane by lane.
    """
    lanes = f.shape[0] // r.ROWS
    for i in range(lanes):
        _begin(f, i)
    for i in range(lanes):
        _stage(f, i, f[r.SIXTH + i], EARLY[0], 0.0, f[r.HALF + i], r.T0_1, True, False)
    for i in range(lanes):
        _stage(f, i, f[r.THIRD + i], EARLY[1], f[r.HALF + i], f[r.HALF + i], 0, False, False)
    for i in range(lanes):
        _stage(f, i, f[r.THIRD + i], EARLY[2], f[r.HALF + i], f[r.H + i], r.T0_3, False, False)
    for i in range(lanes):
        _stage(f, i, f[r.SIXTH + i], EARLY[3], f[r.H + i], 0.0, r.T0_4, False, True)
    for i in range(lanes):
        _judge(f, i)
    for i in range(lanes):
        _book_load(f, i)
    for i in range(lanes):
        _book_slip(f, i)
    for i in range(lanes):
        book_wear(f, i)
    for i in range(lanes):
        _book_line(f, i)
    for i in range(lanes):
        _tell(f, i)
