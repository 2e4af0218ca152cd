"""How far a study is, and how long it will still take."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Progress:
    """A study under way."""

    done: int  # rows
    rows: int  # in all
    failed: int
    rate_per_s: float | None  # rows, since this start; None: nothing yet
    eta_s: float | None  # time left at that rate
    of: str = "runs"  # what is counted


Told = Callable[[Progress], None]
"""Called with how far a study is."""


class Clock:
    """Measures the rate of this start alone: rows kept from an earlier one cost nothing.

    Parameters:
        rows: in all.
        kept: finished before.
        now: seconds of any clock.
        of: what is counted, in the plural.
    """

    def __init__(
        self, rows: int, kept: int, now: Callable[[], float] = time.monotonic, of: str = "runs"
    ) -> None:
        """Start the clock."""
        self._of = of
        self._rows = rows
        self._kept = kept
        self._now = now
        self._began = now()

    def at(self, done: int, failed: int) -> Progress:
        """Say how far a study is."""
        elapsed = self._now() - self._began
        new = done - self._kept
        if new <= 0 or elapsed <= 0:
            return Progress(done, self._rows, failed, None, None, self._of)
        rate = new / elapsed
        return Progress(done, self._rows, failed, rate, (self._rows - done) / rate, self._of)
