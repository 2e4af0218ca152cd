"""Books of the lanes: peaks, times, slides and energies of a step that stands.

f: rows of the line; g: of an edge and the free lengths beside it. They are one array: of the first
edge the same, of the others what lies so many rows further on, which the compiler, not knowing how
many, compares with f once a loop.
"""

from __future__ import annotations

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.rows import NEXT
from edgewear.mechanics.lanes.wear import OUTSIDE
from edgewear.mechanics.movement.limits import END_S
from edgewear.mechanics.step.booking import CARRIES_N
from edgewear.terms import LOADED_N

GOES_ON, REFUSED, LOOKS, TURNS, FRESH, SEARCHES, RESTS = 0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0


@inlined
def book_load(f: Floats, g: Floats, i: int) -> None:
    """Peaks and times under load, as `booking._book_load`."""
    high, bend, ticks = g[r.TOP + i], g[r.BEND + i], f[r.TICKS + i]
    carries = high > CARRIES_N
    bare = (high > LOADED_N) & (g[r.BARE_BEND + i] != 0.0)
    g[r.EDGE_PEAK + i] = max(g[r.EDGE_PEAK + i], high)
    g[r.CYCLE_PEAK + i] = max(g[r.CYCLE_PEAK + i], high)
    g[r.WRAP + i] = max(g[r.WRAP + i], bend if carries else 0.0)
    g[r.CYCLE_TICKS + i] += ticks if carries else 0.0
    first = g[r.BARE_TICK + i]
    g[r.BARE_TICK + i] = f[r.TICK + i] if bare & (first < 0.0) else first
    g[r.BARE_TICKS + i] += ticks if bare else 0.0
    f[r.HIGH + i] = max(f[r.HIGH + i], high)
    f[r.ANCHOR_N + i] += g[r.FIRST + i] * max(g[r.T_1 + i], g[r.T_3 + i])


@inlined
def book_slip(f: Floats, g: Floats, i: int) -> None:
    """Sliding at the edge, as `booking._book_slip`."""
    path, dq, bend = g[r.PATH + i], g[r.DQ + i], g[r.BEND + i]
    stands = f[r.STANDS + i] != 0.0
    slides = path > 0.0
    toward = 1.0 if dq > 0.0 else -1.0
    way = toward if slides else 0.0
    g[r.SLIPS + i] += 1.0 if slides & (way != g[r.MODE + i]) else 0.0
    g[r.MODE + i] = way if stands else g[r.MODE + i]
    g[r.SLIP + i] += path
    g[r.CYCLE_SLIP + i] += path
    g[r.ENERGY + i] += g[r.RUBBED + i]
    g[r.EXPOSURE + i] += g[r.WORN + i]
    travel = g[r.TRAVEL + i] + dq
    g[r.TRAVEL + i] = travel
    g[r.CYCLE_LOW + i] = min(g[r.CYCLE_LOW + i], travel)
    g[r.CYCLE_HIGH + i] = max(g[r.CYCLE_HIGH + i], travel)
    rub1 = g[r.T_1 + NEXT + i] - g[r.T_1 + i]
    rub3 = g[r.T_3 + NEXT + i] - g[r.T_3 + i]
    rub = max(g[r.RUBBING + i], abs(rub1))
    g[r.RUBBING + i] = rub if stands else g[r.RUBBING + i]
    longer = 1.0 + g[r.STRAIN + NEXT + i]
    speed1, speed3 = abs(g[r.Q_1 + i]) * longer, abs(g[r.Q_3 + i]) * longer
    flash1, flash3 = rub1 * rub1 * speed1, rub3 * rub3 * speed3
    flash = g[r.FLASH + i]
    flashes1 = slides & (flash1 > flash)
    flash = flash1 if flashes1 else flash
    flashes3 = slides & (flash3 > flash)
    g[r.FLASH + i] = flash3 if flashes3 else flash
    force = abs(rub1) if flashes1 else g[r.FLASH_N + i]
    g[r.FLASH_N + i] = abs(rub3) if flashes3 else force
    pace = speed1 if flashes1 else g[r.FLASH_SPEED + i]
    g[r.FLASH_SPEED + i] = speed3 if flashes3 else pace
    g[r.FLASH_WRAP + i] = bend if flashes1 | flashes3 else g[r.FLASH_WRAP + i]


@inlined
def book_span(f: Floats, g: Floats, i: int, k: int) -> None:
    """Rope in a free length; how far all are stretched, and what is used of the rope.

    k: place of the lane in g.
    """
    span, new = g[r.S + k], g[r.NEW_S + k]
    span = new if f[r.STANDS + i] != 0.0 else span
    g[r.S + k] = span
    f[r.STRETCHED + i] += g[r.STRAIN + k] * span
    f[r.USED + i] += span


@inlined
def book_line(f: Floats, i: int) -> None:
    """Peaks and energies of the line, as `booking._book_line`, and its clock."""
    stands = f[r.STANDS + i] != 0.0
    y, v, part, stored = f[r.Y + i], f[r.V + i], f[r.PART + i], f[r.STORED + i]
    new_y, new_v, new_part = f[r.NEW_Y + i], f[r.NEW_V + i], f[r.NEW_PART + i]
    after = f[r.AFTER + i]
    f[r.Y + i] = new_y if stands else y
    f[r.V + i] = new_v if stands else v
    f[r.PART + i] = new_part if stands else part
    f[r.STORED + i] = after if stands else stored
    ticks = f[r.TICKS + i]
    f[r.PHASE_TICK + i] += ticks
    f[r.TICK + i] += ticks
    f[r.STEPS + i] += f[r.STANDS + i]
    f[r.DRAWN + i] += f[r.DD + i]
    f[r.BOUND + i] += f[r.GROWTH + i]
    f[r.PEAK + i] = max(f[r.PEAK + i], f[r.HIGH + i])
    longest = max(f[r.STRETCH + i], f[r.STRETCHED + i])
    f[r.STRETCH + i] = longest if stands else f[r.STRETCH + i]
    anchor = max(f[r.ANCHOR_PEAK + i], f[r.ANCHOR_N + i])
    f[r.ANCHOR_PEAK + i] = anchor if stands else f[r.ANCHOR_PEAK + i]
    device, leaves, viscous = f[r.D_DEVICE + i], f[r.D_LEAVES + i], f[r.D_VISCOUS + i]
    friction, mixing, mover = f[r.RUBBED_ALL + i], f[r.D_MIXING + i], f[r.D_MOVER + i]
    given = abs(device) + abs(leaves) + abs(mover)
    f[r.FLOWS + i] += given + abs(viscous) + abs(friction) + abs(mixing)
    f[r.MOVER + i] += mover
    f[r.DEVICE + i] += device
    f[r.LEAVES + i] += leaves
    f[r.VISCOUS + i] += viscous
    f[r.FRICTION + i] += friction
    f[r.MIXING + i] += mixing


@inlined
def begin_books(f: Floats, i: int) -> None:
    """What the books of a step begin with."""
    f[r.HIGH + i], f[r.STRETCHED + i], f[r.GROWTH + i], f[r.OUT + i] = 0.0, 0.0, 0.0, 0.0
    f[r.USED + i], f[r.ANCHOR_N + i] = f[r.ANCHOR_AT + i], 0.0
    f[r.AT + i] = f[r.ANCHOR_AT + i]


@inlined
def tell(f: Floats, i: int) -> None:
    """What comes next: a look, the next phase, or a step more."""
    stands = f[r.STANDS + i] != 0.0
    looks = (f[r.BOUND + i] >= f[r.RESCAN + i]) | (f[r.PEAK + i] > f[r.HOLDS + i])
    looks = stands & (looks | (f[r.USED + i] > f[r.ROOM + i]) | (f[r.OUT + i] == OUTSIDE))
    risen = f[r.PART + i] >= f[r.RISE_S + i] - END_S
    over = stands & (risen | (f[r.PHASE_TICK + i] >= f[r.PHASE_END + i]))
    event = RESTS if stands & (f[r.REST + i] != 0.0) else f[r.EVENT + i]
    event = TURNS if over else event
    event = LOOKS if looks else event
    f[r.EVENT + i] = event if f[r.ACTIVE + i] != 0.0 else GOES_ON
