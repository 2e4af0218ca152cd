"""A section as it was before a movement, so that the movement can be taken back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.case import Records
from edgewear.mechanics import Buffers

SPILL_CELLS = 4
"""Cells by which the stretch that is cleared exceeds the last one that was written to."""


class Snapshot(NamedTuple):
    """What belongs to a section's person and job as it was before a movement."""

    row: int
    ascended_m: float
    strokes: int
    core_step: int | None
    parted_step: int | None
    used_up_step: int | None
    history: bytes | None  # None: not told


class SectionSnapshot:
    """Room for what a movement changes on one section, used again for every movement on it.

    Of the fields only the cells that are not zero are copied. Of the log of travel a row that is
    past its count is blank, of the trace it is nobody's.
    """

    def __init__(self, buffers: Buffers) -> None:
        self._travel, self._travels = buffers.travel, buffers.state["travels"]  # a view
        records = (buffers.state, buffers.sums, buffers.mark_state, buffers.mark_sums)
        # as bytes: numpy copies records with vectors in them field by field
        self._live = [array.view(np.uint8) for array in records]
        self._records = [np.empty_like(array) for array in self._live]
        self._fields = (
            _Field(buffers.pending, buffers.sums, "pending"),
            _Field(buffers.exposure, buffers.sums, "worn"),
        )

    def take(self) -> None:
        """Keep the section as it is now."""
        for kept, live in zip(self._records, self._live, strict=True):
            kept[...] = live
        for field in self._fields:
            field.take()

    def put_back(self) -> None:
        """Make the section again what it was."""
        for field in self._fields:  # first: where it is not zero stands in the records
            field.put_back()
        written = int(self._travels[0])
        for kept, live in zip(self._records, self._live, strict=True):
            live[...] = kept
        self._travel[:, int(self._travels[0]) : written] = np.nan


class _Field:
    """Cells of each edge, zero outside of one stretch."""

    def __init__(self, field: NDArray[np.float64], sums: Records, what: str) -> None:
        self._field, self._room = field, np.empty_like(field)
        self._low, self._high = sums[f"{what}_low"], sums[f"{what}_high"]  # views
        self._places: list[tuple[int, slice]] = []

    def take(self) -> None:
        self._places = list(stretches(self._low, self._high))
        for place in self._places:
            self._room[place] = self._field[place]

    def put_back(self) -> None:
        for place in stretches(self._low, self._high):
            self._field[place] = 0.0
        for place in self._places:
            self._field[place] = self._room[place]


def stretches(low: NDArray[np.int64], high: NDArray[np.int64]) -> Iterator[tuple[int, slice]]:
    """Cells of each edge that may not be zero, (n,) first and last ones given."""
    for edge, (first, last) in enumerate(zip(low.tolist(), high.tolist(), strict=True)):
        if last >= first:
            yield edge, slice(first, last + SPILL_CELLS)
