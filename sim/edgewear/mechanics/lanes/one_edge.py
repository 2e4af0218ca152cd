"""A step of all lanes at once: taut, over one edge, booked but for the deposit."""

from __future__ import annotations

from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, njit
from edgewear.mechanics.lanes import rows as a
from edgewear.mechanics.movement.limits import END_S, GIVES_UP_TICKS
from edgewear.mechanics.step.balance import EVEN
from edgewear.mechanics.step.booking import CARRIES_N
from edgewear.mechanics.step.flow import Taut
from edgewear.mechanics.step.taut_step import Hung, Moved, Taken, taut_step
from edgewear.mechanics.wear.exposure_bound import Slide, grown
from edgewear.terms import LOADED_BEND_RAD, LOADED_N

LANES = a.LANES


@inlined
def _tried(x: Floats, i: int, ticks: float) -> Any:
    """Try the step of lane i, see `taut_step`."""
    c = Taut(
        x[LANES * a.K + i], x[LANES * a.K_TAU + i], x[LANES * a.ABOVE + i],
        x[LANES * a.GRAVITY + i], x[LANES * a.PER_MASS + i], x[LANES * a.WEIGHT_N + i],
        x[LANES * a.FULL_N + i], x[LANES * a.PER_RANGE + i], x[LANES * a.CAP_N + i],
        x[LANES * a.LAW + i], x[LANES * a.COLD + i], x[LANES * a.PER_SPEED + i],
        x[LANES * a.THRESHOLD + i], x[LANES * a.GAIN + i], x[LANES * a.SEVERITY + i],
        x[LANES * a.AREA + i],
    )  # fmt: skip
    moved = Moved(
        x[LANES * a.LIMITED + i] != 0.0, x[LANES * a.RAMPS + i] != 0.0, x[LANES * a.RATE + i],
        x[LANES * a.PER_DURATION + i], x[LANES * a.DURATION + i], x[LANES * a.RAMP + i],
    )  # fmt: skip
    hung = Hung(x[LANES * a.POINT + i], x[LANES * a.EXTRA + i], x[LANES * a.RATIO + i])
    start = Taken(
        x[LANES * a.Y + i], x[LANES * a.V + i], x[LANES * a.PART + i], x[LANES * a.SPAN_0 + i],
        x[LANES * a.SPAN_1 + i] + x[LANES * a.BODY_M + i],
    )  # fmt: skip
    return taut_step(start, x[LANES * a.PHASE_TICK + i] * TICK_S, ticks * TICK_S, moved, hung, c)


@inlined
def _uneven(x: Floats, i: int, ticks: float, q0: float, t0: float, q1: float, t1: float) -> Any:
    """Whether the step's balance should be looked at, as `balance.uneven`; t: at the load."""
    jumps = abs(t1 - t0) > EVEN * x[LANES * a.WEIGHT_N + i]
    slack = (t0 <= 0.0) | (t1 <= 0.0) | (t1 >= x[LANES * a.CAP_N + i])
    turns = (q0 * q1 <= 0.0) & (q0 != q1)
    long = ticks * TICK_S >= 2.0 * TICK_S
    return long & (jumps | slack | turns)


@inlined
def _keep(x: Floats, at: int, taken: bool, value: float) -> None:
    """Write a number where the lane's step is taken."""
    old = x[at]
    x[at] = value if taken else old


@inlined
def _flash(
    x: Floats, i: int, taken: bool, q: float, before: float, after: float, e1: float
) -> None:
    """The largest flash measure, as `booking.book`."""
    tension = after - before
    speed = abs(q) * (1.0 + e1)
    measure = tension * tension * speed
    more = taken & (measure > x[LANES * a.FLASH + i])
    _keep(x, LANES * a.FLASH + i, more, measure)
    _keep(x, LANES * a.FLASH_N + i, more, abs(tension))
    _keep(x, LANES * a.FLASH_SPEED + i, more, speed)
    _keep(x, LANES * a.FLASH_WRAP + i, more, x[LANES * a.BEND + i])


@inlined
def _book_load(x: Floats, i: int, taken: bool, ticks: float, high: float, friction: float) -> None:
    """Peaks and times under load at the edge."""
    _keep(x, LANES * a.EDGE_PEAK + i, taken, max(x[LANES * a.EDGE_PEAK + i], high))
    _keep(x, LANES * a.CYCLE_PEAK + i, taken, max(x[LANES * a.CYCLE_PEAK + i], high))
    bend = x[LANES * a.BEND + i]
    carries = taken & (high > CARRIES_N)
    _keep(x, LANES * a.WRAP + i, carries, max(x[LANES * a.WRAP + i], bend))
    _keep(x, LANES * a.CYCLE_TICKS + i, carries, x[LANES * a.CYCLE_TICKS + i] + ticks)
    loaded = taken & (high > LOADED_N) & (bend > LOADED_BEND_RAD)
    first = loaded & (x[LANES * a.BARE_TICK + i] < 0.0)
    _keep(x, LANES * a.BARE_TICK + i, first, x[LANES * a.TICK + i])
    _keep(x, LANES * a.BARE_TICKS + i, loaded, x[LANES * a.BARE_TICKS + i] + ticks)
    _keep(x, LANES * a.CYCLE_FRICTION + i, taken, max(x[LANES * a.CYCLE_FRICTION + i], friction))


@inlined
def _book_slip(
    x: Floats, i: int, taken: bool, slip: float, path: float, energy: float, worn: float
) -> Any:
    """Sliding of the step; returns whether something slid and is booked."""
    slid = taken & (path > 0.0)
    way = 1.0 if slip > 0.0 else -1.0
    way = way if path > 0.0 else 0.0
    _keep(x, LANES * a.SLIP + i, slid, x[LANES * a.SLIP + i] + path)
    _keep(x, LANES * a.CYCLE_SLIP + i, slid, x[LANES * a.CYCLE_SLIP + i] + path)
    _keep(x, LANES * a.ENERGY + i, slid, x[LANES * a.ENERGY + i] + energy)
    _keep(x, LANES * a.EXPOSURE + i, slid, x[LANES * a.EXPOSURE + i] + worn)
    travel = x[LANES * a.TRAVEL + i] + slip
    _keep(x, LANES * a.TRAVEL + i, slid, travel)
    _keep(x, LANES * a.CYCLE_LOW + i, slid, min(x[LANES * a.CYCLE_LOW + i], travel))
    _keep(x, LANES * a.CYCLE_HIGH + i, slid, max(x[LANES * a.CYCLE_HIGH + i], travel))
    fresh = slid & (way != x[LANES * a.MODE + i])
    _keep(x, LANES * a.SLIPS + i, fresh, x[LANES * a.SLIPS + i] + 1.0)
    _keep(x, LANES * a.MODE + i, taken, way)
    return slid


@inlined
def _book_deposit(
    x: Floats, i: int, slid: bool, slip: float, worn: float, left_m: float, per_cell: float
) -> None:
    """What is to be deposited, and what the worst place can have grown by."""
    at = x[LANES * a.ANCHOR_AT + i] + x[LANES * a.SPAN_0 + i]
    wears = slid & (worn > 0.0)
    x[LANES * a.FROM_CELL + i] = (at - left_m) * per_cell
    x[LANES * a.TO_CELL + i] = (at - slip - left_m) * per_cell
    x[LANES * a.AMOUNT + i] = worn if wears else 0.0
    slide = Slide(
        x[LANES * a.RUN_WAY + i], x[LANES * a.RUN_AT + i], x[LANES * a.RUN_STEEP + i],
        x[LANES * a.RUN_WIDE + i], x[LANES * a.RUN_TOTAL + i],
    )  # fmt: skip
    growth, way, end, steep, wide, total = grown(slide, at, slip, worn, x[LANES * a.WINDOW + i])
    _keep(x, LANES * a.BOUND + i, wears, x[LANES * a.BOUND + i] + growth)
    _keep(x, LANES * a.RUN_WAY + i, wears, way)
    _keep(x, LANES * a.RUN_AT + i, wears, end)
    _keep(x, LANES * a.RUN_STEEP + i, wears, steep)
    _keep(x, LANES * a.RUN_WIDE + i, wears, wide)
    _keep(x, LANES * a.RUN_TOTAL + i, wears, total)


@inlined
def _book_energy(x: Floats, i: int, taken: bool, energies: Any) -> None:
    """Running energies, in the order of `booking.book`."""
    device, leaves, viscous, friction, mixing = energies
    _keep(x, LANES * a.DEVICE + i, taken, x[LANES * a.DEVICE + i] + device)
    _keep(x, LANES * a.LEAVES + i, taken, x[LANES * a.LEAVES + i] + leaves)
    _keep(x, LANES * a.VISCOUS + i, taken, x[LANES * a.VISCOUS + i] + viscous)
    _keep(x, LANES * a.FRICTION + i, taken, x[LANES * a.FRICTION + i] + friction)
    _keep(x, LANES * a.MIXING + i, taken, x[LANES * a.MIXING + i] + mixing)
    flows = abs(device) + abs(leaves) + abs(viscous) + abs(friction) + abs(mixing)
    _keep(x, LANES * a.FLOWS + i, taken, x[LANES * a.FLOWS + i] + flows)


@inlined
def _outcome(x: Floats, i: int, ticks: float) -> Any:
    """Whether a lane whose step was taken can take another without being looked at."""
    phase_tick = x[LANES * a.PHASE_TICK + i]
    part_s = x[LANES * a.PART + i]
    limited = x[LANES * a.LIMITED + i] != 0.0
    step_s = x[LANES * a.STEP_TICKS + i] * TICK_S
    rises = limited & (
        (part_s + step_s > x[LANES * a.RISE_S + i] - 2.0 * END_S)
        | (part_s >= x[LANES * a.RISE_S + i] - END_S)
        | (phase_tick > GIVES_UP_TICKS)
    )
    worn = (x[LANES * a.BOUND + i] >= x[LANES * a.RESCAN + i]) | (
        x[LANES * a.PEAK + i] > x[LANES * a.HOLDS_N + i]
    )
    used = (
        x[LANES * a.ANCHOR_AT + i] + x[LANES * a.SPAN_0 + i] + x[LANES * a.SPAN_1 + i]
        > x[LANES * a.ROPE_M + i]
    )
    over = phase_tick >= x[LANES * a.PHASE_END + i]
    many = x[LANES * a.STEPS + i] > x[LANES * a.MOST_STEPS + i]
    return rises | worn | used | over | many


@njit
def lane_step(x: Floats, left_m: float, per_cell: float) -> None:
    """Take the next step of every lane that can take it; what came of it is in OUTCOME.

    left_m: material at the left end of the cells [m]; per_cell: cells a metre.
    """
    for i in range(LANES):
        left = x[LANES * a.PHASE_END + i] - x[LANES * a.PHASE_TICK + i]
        ticks = min(x[LANES * a.STEP_TICKS + i], left)
        change, start, middle, end, fine = _tried(x, i, ticks)
        dy, dv, dp, slip, drawn, path, energy, worn, device, leaves, viscous, mixing = change
        q0, (t00, t01, _, _) = start
        q2, (t20, t21, _, _) = middle
        q3, (t30, t31, e0, e1) = end
        y1 = x[LANES * a.Y + i] + dy
        v1 = x[LANES * a.V + i] + dv
        within = (x[LANES * a.LOW + i] <= y1) & (y1 <= x[LANES * a.HIGH + i])
        sane = (abs(y1) < 1e9) & (abs(v1) < 1e9)
        taken = fine & within & sane & (not _uneven(x, i, ticks, q0, t01, q3, t31))
        high = max(max(t00, t01), max(t20, t21))
        _book_load(x, i, taken, ticks, high, abs(t01 - t00))
        slid = _book_slip(x, i, taken, slip, path, energy, worn)
        _flash(x, i, slid, q0, t00, t01, e1)
        _flash(x, i, slid, q2, t20, t21, e1)
        _book_deposit(x, i, slid, slip, worn, left_m, per_cell)
        span_0 = x[LANES * a.SPAN_0 + i] + -slip
        span_1 = x[LANES * a.SPAN_1 + i] + (slip - drawn)
        stretch = 0.0 + e0 * span_0 + e1 * span_1
        _keep(x, LANES * a.SPAN_0 + i, taken, span_0)
        _keep(x, LANES * a.SPAN_1 + i, taken, span_1)
        _keep(x, LANES * a.STRETCH + i, taken, max(x[LANES * a.STRETCH + i], stretch))
        _keep(x, LANES * a.PEAK + i, taken, max(x[LANES * a.PEAK + i], high))
        anchor = max(t00, t20)
        _keep(x, LANES * a.ANCHOR_PEAK + i, taken, max(x[LANES * a.ANCHOR_PEAK + i], anchor))
        _keep(x, LANES * a.DRAWN + i, taken, x[LANES * a.DRAWN + i] + drawn)
        _book_energy(x, i, taken, (device, leaves, viscous, energy, mixing))
        _keep(x, LANES * a.Y + i, taken, y1)
        _keep(x, LANES * a.V + i, taken, v1)
        _keep(x, LANES * a.PART + i, taken, x[LANES * a.PART + i] + dp)
        _keep(x, LANES * a.PHASE_TICK + i, taken, x[LANES * a.PHASE_TICK + i] + ticks)
        _keep(x, LANES * a.TICK + i, taken, x[LANES * a.TICK + i] + ticks)
        _keep(x, LANES * a.STEPS + i, taken, x[LANES * a.STEPS + i] + 1.0)
        _keep(x, LANES * a.START_0 + i, taken, t00)
        _keep(x, LANES * a.START_1 + i, taken, t01)
        _keep(x, LANES * a.START_Q + i, taken, q0)
        _keep(x, LANES * a.MIDDLE_0 + i, taken, t20)
        _keep(x, LANES * a.MIDDLE_1 + i, taken, t21)
        _keep(x, LANES * a.MIDDLE_Q + i, taken, q2)
        _keep(x, LANES * a.END_0 + i, taken, t30)
        _keep(x, LANES * a.END_1 + i, taken, t31)
        _keep(x, LANES * a.END_Q + i, taken, q3)
        _keep(x, LANES * a.STRAIN_0 + i, taken, e0)
        _keep(x, LANES * a.STRAIN_1 + i, taken, e1)
        looked = _outcome(x, i, ticks)
        outcome = a.BOOKED if looked else a.GOES_ON
        x[LANES * a.OUTCOME + i] = outcome if taken else a.LEFT
