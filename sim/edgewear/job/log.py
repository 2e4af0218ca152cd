"""The job's log: what happened, when and to whom, in typed columns."""

from __future__ import annotations

from math import nan
from typing import NamedTuple


class Entry(NamedTuple):
    """One line of the log; fields are those of `records.EVENT` without the option."""

    tick: int
    who: str
    what: str
    step: int = 0
    detail: str = ""
    value: float = nan


class Log:
    """Entries in the order they happened; equal times keep the order of their causes."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    def add(
        self, tick: int, who: str, what: str, step: int = 0, detail: str = "", value: float = nan
    ) -> None:
        """Write one entry down."""
        self.entries.append(Entry(tick, who, what, step, detail, value))
