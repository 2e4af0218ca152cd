"""A step of many runs at once, each a taut line over several edges, in loops that are vectorised.

Contact sets whose lengths and bends are given, or affine in the depth. Every operation is that of
the scalar step (`step.stage`), made in its order, so that a run comes to the same bits. A loop over
edges holds loops over lanes; see `booking` for f and g.
"""

from __future__ import annotations

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.jit import inlined, wide
from edgewear.mechanics.lanes import rows as r
from edgewear.mechanics.lanes.booking import (
    REFUSED,
    begin_books,
    book_line,
    book_load,
    book_slip,
    book_span,
    tell,
)
from edgewear.mechanics.lanes.judging import begin_step, forget, forget_edge, judged
from edgewear.mechanics.lanes.rows import NEXT
from edgewear.mechanics.lanes.stages import length_aside, length_of, stage
from edgewear.mechanics.lanes.wear import book_wear
from edgewear.mechanics.movement.limits import REST, STILL_M
from edgewear.mechanics.step.flow import early
from edgewear.terms import LOADED_BEND_RAD


@inlined
def _begin(f: Floats, i: int) -> None:
    """What the first stage begins with."""
    f[r.Y_I + i], f[r.V_I + i], f[r.PART_I + i] = f[r.Y + i], f[r.V + i], f[r.PART + i]
    f[r.FALL + i] = f[r.Y + i] - f[r.POINT + i]
    f[r.FINE + i] = 1.0
    began, piece = f[r.PIECE_BEGAN + i], f[r.PIECE + i]
    f[r.PIECE_BEGAN + i] = began if f[r.GUESS + i] > 0.0 else piece


@inlined
def _begin_edge(f: Floats, g: Floats, i: int) -> None:
    """The rope above an edge, and what the search for its rate begins with."""
    g[r.STAGE + i] = g[r.S + i]
    began, guessed = g[r.BEGAN + i], g[r.GUESSED + i]
    g[r.BEGAN + i] = began if f[r.GUESS + i] > 0.0 else guessed


@inlined
def _begin_bend(f: Floats, g: Floats, i: int) -> None:
    """Bend of an edge as the step begins, and the length that it wears."""
    bend = g[r.START_BEND + i] + g[r.TURN + i] * f[r.FALL + i]
    window = max(g[r.RADIUS + i] * bend, f[r.DIAMETER + i])
    g[r.BEND + i] = bend
    g[r.BARE_BEND + i] = 1.0 if bend > LOADED_BEND_RAD else 0.0
    g[r.WINDOW + i] = window
    g[r.PER_WINDOW + i] = 1.0 / window
    g[r.WINDOW_CELLS + i] = window * f[r.PER_CELL + i]


@inlined
def _begin_balance(f: Floats, i: int) -> None:
    """What the sums over edges and spans begin with, by which a step is judged."""
    fall = f[r.NEW_Y + i] - f[r.POINT + i]
    f[r.FALL + i] = fall
    f[r.FINE + i] = f[r.FINE + i] if fall > f[r.LEAST_FALL + i] else 0.0
    f[r.STRETCHED + i], f[r.RUBBED_ALL + i], f[r.TURNS_ANY + i] = 0.0, 0.0, 0.0
    new_v = f[r.NEW_V + i]
    rests = (abs(new_v) <= REST) & (abs(new_v - f[r.V + i]) <= REST)
    f[r.REST + i] = f[r.HANGS + i] if rests else 0.0


@inlined
def _balance_span(f: Floats, g: Floats, i: int, length: float, extra: float) -> None:
    """Rope in a span after the step, and K*e^2*s of it, as `balance.stored`."""
    span = g[r.S + i] + (g[r.DQ - NEXT + i] - g[r.DQ + i])
    material = span + extra
    strain = (length - span) / material
    g[r.NEW_S + i] = span
    still = abs(g[r.DQ - NEXT + i] - g[r.DQ + i]) <= STILL_M
    f[r.REST + i] = f[r.REST + i] if still else 0.0
    f[r.STRETCHED + i] += strain * strain * material if strain > 0.0 else 0.0


@inlined
def _balance_edge(f: Floats, g: Floats, i: int) -> None:
    """Friction of an edge, and whether it starts, stops or turns."""
    q1, q4, h = g[r.Q_1 + i], g[r.Q_4 + i], f[r.H + i]
    g[r.EARLY_SLIP + i] = early(g[r.DQ + i], q1, q4, h)
    g[r.EARLY_WORN + i] = early(g[r.WORN + i], g[r.WORN_1 + i], g[r.WORN_4 + i], h)
    f[r.RUBBED_ALL + i] += g[r.RUBBED + i]
    turns = (q1 * q4 <= 0.0) & (q1 != q4)
    f[r.TURNS_ANY + i] = 1.0 if turns else f[r.TURNS_ANY + i]


@inlined
def _judge(f: Floats, g: Floats, i: int) -> None:
    """Whether the step stands."""
    new_y, new_v = f[r.NEW_Y + i], f[r.NEW_V + i]
    moving = f[r.MASS + i] * new_v * new_v
    stretched = f[r.K + i] * f[r.STRETCHED + i]
    f[r.AFTER + i] = 0.5 * (stretched + moving) - f[r.WEIGHT + i] * new_y
    before_n, after_n = g[r.T_1 + i], g[r.T_4 + i]
    limp = (before_n <= 0.0) | (after_n <= 0.0)
    stands = judged(f, i, limp | (f[r.TURNS_ANY + i] != 0.0), before_n, after_n)
    forget(f, i, stands)


@inlined
def _restore(f: Floats, g: Floats, i: int) -> None:
    """What the search for rates began with, for the step alone that follows a refused one."""
    refused = f[r.EVENT + i] == REFUSED
    mode, began = g[r.GUESSED + i], g[r.BEGAN + i]
    g[r.GUESSED + i] = began if refused else mode
    piece, piece_began = f[r.PIECE + i], f[r.PIECE_BEGAN + i]
    f[r.PIECE + i] = piece_began if refused else piece


@inlined
def _keep_end(g: Floats, i: int) -> None:
    """Tensions and rates at the end, which a line keeps."""
    g[r.LAST_T + i], g[r.LAST_Q + i] = g[r.T_4 + i], g[r.Q_4 + i]


@inlined
def _balance(f: Floats, g: Floats, lanes: int, last: int, working: int) -> None:
    """What every step comes to, and whether it stands."""
    end = g[last:]
    for i in range(lanes):
        _begin_balance(f, i)
        end[r.DQ + i] = f[r.DD + i]
    for e in range(0, last, NEXT):
        edge = g[e:]
        for i in range(lanes):
            _balance_span(f, edge, i, length_of(f, edge, i), 0.0)
            _balance_edge(f, edge, i)
            _keep_end(edge, i)
    for i in range(lanes - working):
        _balance_span(f, end, i, length_of(f, end, i) - f[r.OFFSET + i], f[r.BODY + i])
    for i in range(working):
        length = length_aside(f, end, i) - (f[r.GONE + i] + f[r.OFFSET + i])
        _balance_span(f, end, i, length, f[r.BODY + i])
    for i in range(lanes):
        _keep_end(end, i)
        _judge(f, end, i)
    for e in range(0, last, NEXT):
        edge = g[e:]
        for i in range(lanes):
            forget_edge(f, edge, i, f[r.STANDS + i] != 0.0)
            _restore(f, edge, i)


@inlined
def _book(f: Floats, g: Floats, lanes: int, last: int) -> None:
    """Book the steps that stand."""
    for i in range(lanes):
        begin_books(f, i)
    for e in range(0, last, NEXT):
        edge = g[e:]
        for i in range(lanes):
            book_load(f, edge, i)
        for i in range(lanes):
            book_slip(f, edge, i)
        for i in range(lanes):
            book_wear(f, edge, i)
    for e in range(0, last + NEXT, NEXT):
        edge = g[e:]
        for i in range(lanes):
            book_span(f, edge, i, i)
    for i in range(lanes):
        book_line(f, i)
    for i in range(lanes):
        tell(f, i)


@wide
def step_several(f: Floats, g: Floats, edges: int) -> None:
    """Take a step in every lane; what happened in it goes to the rows EVENT and DEPOSITS.

    f and g are the same array; edges: that the lanes' contact sets have at most.
    """
    lanes, last = f.shape[0] // r.ROWS, edges * NEXT
    end = g[last:]
    working = 0  # lanes that the loops of work in place run over: none where nobody works
    turning = 0  # and those of bends that turn with the depth
    for i in range(lanes):
        working |= lanes if (f[r.SWAY + i] != 0.0) | (f[r.OMEGA + i] != 0.0) else 0
        turning |= lanes if f[r.TILTS + i] != 0.0 else 0
    for i in range(lanes):
        f[r.GONE + i], f[r.GONE_RATE + i], f[r.SWAY_M + i] = 0.0, 0.0, 0.0
        f[r.SWAY_RATE + i], f[r.TOOL_N + i] = 0.0, 0.0
    for i in range(lanes):
        begin_step(f, i)
        _begin(f, i)
    for e in range(0, last, NEXT):
        edge = g[e:]
        for i in range(lanes):
            _begin_edge(f, edge, i)
        for i in range(turning):
            _begin_bend(f, edge, i)
    for i in range(lanes):
        end[r.STAGE + i] = end[r.S + i]
    stage(f, g, lanes, last, 0, r.T_1, r.Q_1, working, turning)
    stage(f, g, lanes, last, 1, r.T_4, r.Q_4, working, turning)
    stage(f, g, lanes, last, 2, r.T_3, r.Q_3, working, turning)
    stage(f, g, lanes, last, 3, r.T_4, r.Q_4, working, turning)
    _balance(f, g, lanes, last, working)
    _book(f, g, lanes, last)
