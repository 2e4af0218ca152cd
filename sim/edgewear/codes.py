"""Kinds of movement and statuses of `layout` as plain numbers.

For code that asks for them at every movement: an enumeration takes a microsecond to answer.
"""

from __future__ import annotations

from edgewear.layout import Kind, Status

HOLD, STROKES, PAYOUT, WORK, FEED = map(
    int, (Kind.HOLD, Kind.STROKES, Kind.PAYOUT, Kind.WORK, Kind.FEED)
)
LOAD, UNLOAD, DROP = map(int, (Kind.LOAD, Kind.UNLOAD, Kind.DROP))
EDIT, SWAP, IDLE = map(int, (Kind.EDIT, Kind.SWAP, Kind.IDLE))

DONE, UNTIL, FULL, DRAWS, FAILED = map(
    int, (Status.DONE, Status.UNTIL, Status.FULL, Status.DRAWS, Status.FAILED)
)
CORE_VISIBLE, PARTED = map(int, (Status.CORE_VISIBLE, Status.PARTED))
