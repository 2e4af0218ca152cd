"""Wear of one rope by the dates of its entries, whatever the order in which they were entered."""

from __future__ import annotations

import numpy as np

from edgewear.stock.entries import Entry
from edgewear.stock.past_wear import PastWear

Key = tuple[str, int]
"""Day and number of an entry: the order in which things happened."""


def key(entry: Entry) -> Key:
    """Give what entries are put in order by: their day, of one day their number."""
    return entry.on, entry.number


class DatedWear:
    """Jobs and looks of one rope; a look weighs the wear of up to its day.

    Parameters:
        cells: of the rope.
        before: wear that it brings from the rope it was cut from; None: none.
    """

    def __init__(self, cells: int, before: PastWear | None = None) -> None:
        """Begin with what it brings."""
        self.cells, self.before = cells, before
        self._entries: list[Entry] = []
        self._made: PastWear | None = self._begun()
        self._latest: Key = ("", 0)

    def _begun(self) -> PastWear:
        return PastWear(self.cells) if self.before is None else self.before.piece(0, self.cells)

    @property
    def now(self) -> PastWear:
        """Wear after all entries, in the order of their dates."""
        if self._made is None:
            self._made = self._begun()
            for entry in sorted(self._entries, key=key):
                _add(self._made, entry)
        return self._made

    def take(self, entry: Entry) -> None:
        """Take up a job or a look; one of an earlier day than others is put in before them."""
        self._entries.append(entry)
        if key(entry) < self._latest:
            self._made = None  # those of later days rest on it: worked out anew when asked for
            return
        self._latest = key(entry)
        if self._made is not None:
            _add(self._made, entry)

    def reaches(self, limit: float, job: Entry) -> str:
        """Give the day, from that of a job on, after whose job wear reached a limit; empty: none.

        A job entered late adds to those of later days too, before any look that came after them.

        Parameters:
            limit: of the largest wear at its careful end [1].
            job: taken up already.
        """
        if key(job) == self._latest:
            return job.on if self.now.largest()[2] >= limit else ""
        wear = self._begun()
        for entry in sorted(self._entries, key=key):
            _add(wear, entry)
            counts = entry.kind == "job" and key(entry) >= key(job)
            if counts and wear.largest()[2] >= limit:
                return entry.on
        return ""


def _add(wear: PastWear, entry: Entry) -> None:
    body = entry.body
    if entry.kind == "job":
        factors = body["low"], body["middle"], body["high"]
        wear.used(entry.number, body["first_mm"], np.array(body["demand"]), factors)
    else:
        wear.looked(entry.number, body["finding"], body["from_m"], body["to_m"])
