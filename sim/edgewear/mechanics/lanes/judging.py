"""Whether a step of the lanes stands, and what it counts for if it does not."""

from __future__ import annotations

from typing import Any

from edgewear.layout import TICK_S
from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.booking import GOES_ON, REFUSED, SEARCHES
from edgewear.mechanics.lanes.rows import NEXT
from edgewear.mechanics.movement.limits import END_S, GIVES_UP_TICKS
from edgewear.mechanics.step.balance import EVEN, OPEN_M
from edgewear.mechanics.step.flow import SIXTH


@inlined
def begin_step(f: Floats, i: int) -> None:
    """Length of the step."""
    phase_tick = f[r.PHASE_TICK + i]
    whole = min(f[r.STEP_TICKS + i], f[r.PHASE_END + i] - phase_tick)
    guess = f[r.GUESS + i]
    ticks = guess if guess > 0.0 else whole
    h = ticks * TICK_S
    f[r.TICKS + i], f[r.TRIED + i] = ticks, ticks
    sixth = h * SIXTH
    f[r.H + i], f[r.HALF + i], f[r.SIXTH + i], f[r.THIRD + i] = h, 0.5 * h, sixth, 2.0 * sixth
    f[r.TIME + i] = phase_tick * TICK_S


@inlined
def onto(f: Floats, place: int, first: bool, more: float) -> None:
    """Add to a sum of the step that begins with its first stage."""
    f[place] = (0.0 if first else f[place]) + more


@inlined
def judged(f: Floats, i: int, turns: bool, before_n: float, after_n: float) -> Any:
    """Whether a step stands, as `whole_step` and `too_open`; what comes of it goes to EVENT.

    turns: whether an edge starts, stops or turns in it; before_n, after_n: tension at the load.
    """
    ticks, new_y = f[r.TICKS + i], f[r.NEW_Y + i]
    given = (f[r.D_DEVICE + i] - f[r.D_LEAVES + i]) + f[r.D_MOVER + i]
    given = given - f[r.D_VISCOUS + i] - f[r.RUBBED_ALL + i] - f[r.D_MIXING + i]
    weight_n = f[r.WEIGHT + i]
    open_j = abs(given - f[r.AFTER + i] + f[r.STORED + i])
    jumps = (abs(after_n - before_n) > EVEN * weight_n) | (after_n >= f[r.CAP + i])
    even = (not (jumps | turns)) | (ticks < 2.0)
    shut = even | (open_j <= OPEN_M * weight_n)
    fine = (f[r.FINE + i] != 0.0) & shut & (ticks >= 1.0)
    rises = f[r.LIMITED + i] != 0.0
    fine = fine & ((not rises) | (f[r.PHASE_TICK + i] + ticks <= GIVES_UP_TICKS))
    fine = fine & (f[r.LOW_M + i] <= new_y) & (new_y <= f[r.HIGH_M + i])
    fine = fine & (abs(f[r.NEW_V + i]) < 1e9)
    ends = f[r.PART + i] + f[r.H + i] > f[r.RISE_S + i] - 2.0 * END_S
    over = ends & (f[r.NEW_PART + i] - f[r.RISE_S + i] + END_S >= 0.0)
    again = ((f[r.GUESS + i] > 0.0) | over) & (f[r.LAST + i] == 0.0)
    stands = fine & (not again) & (f[r.ACTIVE + i] != 0.0)
    event = SEARCHES if again else GOES_ON
    f[r.EVENT + i] = event if fine else REFUSED
    f[r.GUESS + i] = f[r.GUESS + i] if again else 0.0
    f[r.LAST + i] = f[r.LAST + i] if again else 0.0
    f[r.STANDS + i] = 1.0 if stands else 0.0
    return stands


@inlined
def forget(f: Floats, i: int, stands: bool) -> None:
    """Nothing of a step that does not stand: then what is summed up needs no choice."""
    f[r.DD + i] = f[r.DD + i] if stands else 0.0
    f[r.RUBBED_ALL + i] = f[r.RUBBED_ALL + i] if stands else 0.0
    f[r.D_DEVICE + i] = f[r.D_DEVICE + i] if stands else 0.0
    f[r.D_LEAVES + i] = f[r.D_LEAVES + i] if stands else 0.0
    f[r.D_MOVER + i] = f[r.D_MOVER + i] if stands else 0.0
    f[r.D_VISCOUS + i] = f[r.D_VISCOUS + i] if stands else 0.0
    f[r.D_MIXING + i] = f[r.D_MIXING + i] if stands else 0.0
    f[r.TICKS + i] = f[r.TICKS + i] if stands else 0.0


@inlined
def forget_edge(f: Floats, g: Floats, i: int, stands: bool) -> None:
    """The same of an edge; see `booking` for f and g."""
    g[r.DQ + i] = g[r.DQ + i] if stands else 0.0
    g[r.PATH + i] = g[r.PATH + i] if stands else 0.0
    g[r.RUBBED + i] = g[r.RUBBED + i] if stands else 0.0
    g[r.WORN + i] = g[r.WORN + i] if stands else 0.0
    low = max(g[r.T_1 + i], g[r.T_1 + NEXT + i])
    high = max(low, max(g[r.T_3 + i], g[r.T_3 + NEXT + i]))
    g[r.TOP + i] = high if stands else 0.0
