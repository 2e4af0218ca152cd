"""Words and numbers that several rooms share: levels of control, statuses, roles, limits, gravity.

Imports nothing of the package, so that any room may use it. Statuses are written into datasets
and documents as they stand here.
"""

from __future__ import annotations

from math import radians
from typing import Literal, get_args

GRAVITY_M_S2 = 9.81
"""Acceleration of free fall [m/s2], as the standards' arithmetic takes it."""

LOADED_N = 200.0
"""A line that carries more than this counts as loaded [N]; assumed."""

LOADED_BEND_RAD = radians(0.001)
"""A loaded line that turns by more than this over an edge counts as loaded there [rad].

Wear knows no least bend: a smaller one may be no more than how numbers round.
"""

STANDS_UP_S = 0.5
"""Time in which a machine or a haul reaches its speed [s]; assumed."""

HAUL_SPEED_M_S = 0.1
"""Speed of a haul or a lower where nothing is said [m/s]; assumed."""

Level = Literal[
    "edge avoided",
    "re-anchored or deviated",
    "rigid or rolling",
    "soft",
    "bypass",
    "bare",
]
LEVELS: tuple[str, ...] = get_args(Level)
"""The levels of control, best first."""

AVOIDED, FREED, RIGID, SOFT, BYPASS, BARE = LEVELS

WORKING, SAFETY = "working line", "safety line"
"""The roles of a line."""

ROPE_SWAPPED = "rope swapped"
"""What the events of a run say where fresh rope replaces all of a person's line of one role."""

STOPS, WAITS_IN_VAIN = "stops", "waits in vain"
"""What the events of a run say where somebody's plan ends before its last step."""

MEETS = "meets target"
MISSES = "misses target"
NOT_ACCEPTABLE = "not acceptable: protect the edge"
CUTTING = "cutting edge"
LINE_LOST = "line lost"
UNFINISHED = "plan not finished"
NOT_ALWAYS = "plan not finished in some trials"
OVER_LIMIT = "a part above its limit"
NO_ROOM = "no room for a catch"
NOT_INDEPENDENT = "not independent"
ONE_LINE = "one line"
EXTRAPOLATED = "extrapolated"
WINDOW_FULL = "window full"
FAILED = "failed"
"""Statuses of an option; a run is `OK` or `FAILED`."""

OK = "ok"
