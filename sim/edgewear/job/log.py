"""The job's log: what happened, when and to whom, in typed columns."""

from __future__ import annotations

from enum import Enum
from math import nan
from typing import NamedTuple

from edgewear import terms


class Kind(Enum):
    """What an entry tells; its value is the word for it, but where two kinds share a word."""

    BEGINS = "begins"
    ENDS = "ends"
    PASS_BEGINS = "pass begins"  # a fixed point passed in the midst of a step
    PASS_ENDS = "pass ends"
    MADE = "made"  # a step inside a repeat, which goes on
    PAUSES = "pauses"
    GOES_ON = "goes on"
    HUNG_STILL = "hung still"  # for so many seconds, and can go on now
    STOPS = terms.STOPS
    WAITS_IN_VAIN = terms.WAITS_IN_VAIN
    EVENT = "event"
    FAULT = "fault"
    SEES = "sees"
    UNSEEN = "unseen"  # nobody sees what would have to be seen
    CALLS = "calls"
    UNHEARD = "is not heard"
    RETREATED = "retreated"
    RIGGED_AGAIN = "rigged again"
    CORE_VISIBLE = "core visible"
    PARTED = "parted"
    LINE_LOST = "line lost"
    FALLS = "falls"
    CAUGHT = "caught"
    STOPPED = "stopped"  # by the stopper at the rope's end
    HANGS_ON = "hangs on"
    PASSES = "passes"
    HAS_PASSED = "has passed"
    SWUNG = "swung"
    TAKES_OVER = "takes over"
    OUT_OF_REACH = "out of reach"
    HAULED = "hauled"
    LOWERED = "lowered"
    ROPE_SHIFTED = "rope shifted"
    ROPE_SWAPPED = terms.ROPE_SWAPPED
    TAKES_THE_LINE = "takes the line"
    INSPECTED = "inspected"
    INSPECTION_SKIPPED = "inspection skipped"
    SLING_FIXED = "bypass sling fixed"
    SLING_REMOVED = "bypass sling removed"
    PROTECTION_PLACED = "protection placed"
    PROTECTION_REMOVED = "protection removed"
    PROTECTION_CHECKED = "protection checked"
    PROTECTION_LIFTED = "protection lifted"
    PROTECTION_REFITTED = "protection refitted"
    PROTECTION_NOT_REFITTED = "protection not refitted"
    PROTECTION_USED_UP = "protection used up"
    PROTECTION_DISPLACED = "protection displaced"

    @property
    def word(self) -> str:
        """The word for it in tables."""
        return _SHARED.get(self, self.value)


_SHARED = {
    Kind.PASS_BEGINS: Kind.BEGINS.value,
    Kind.PASS_ENDS: Kind.ENDS.value,
    Kind.UNSEEN: Kind.SEES.value,
}


class Entry(NamedTuple):
    """One line of the log."""

    tick: int
    who: str
    kind: Kind
    step: int = 0
    detail: str = ""
    value: float = nan

    @property
    def what(self) -> str:
        """The word for its kind."""
        return self.kind.word


COLUMNS = ("tick", "who", "what", "step", "detail", "value")
"""Fields of an entry as columns of `records.EVENT`."""


class Log:
    """Entries in the order they happened; equal times keep the order of their causes."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    def add(
        self,
        tick: int,
        who: str,
        kind: Kind,
        step: int = 0,
        detail: str = "",
        value: float = nan,
    ) -> None:
        """Write one entry down."""
        self.entries.append(Entry(tick, who, kind, step, detail, value))
