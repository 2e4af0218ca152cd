"""Movements that were made before, by all that went before them: made again by copying.

Runs that differ only from some moment on (a fault comes) are alike up to it, bit for bit. What a
section has become after a movement follows from the numbers it began with and from every movement
and edit since; a digest of those is its history, and names what it became.
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import blake2b
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.engine.snapshot import stretches
from edgewear.mechanics import Buffers

ROOM_BYTES = 200_000_000
"""Bytes kept at most; when they are full, everything is forgotten."""


class Made(NamedTuple):
    """A section after a movement: its records, the cells that are not zero, what was returned."""

    status: int
    records: tuple[NDArray[np.uint8], ...]
    fields: tuple[tuple[tuple[tuple[int, slice], NDArray[np.float64]], ...], ...]


class Memory:
    """What movements came to, by the history that ends with them."""

    def __init__(self, room_bytes: int = ROOM_BYTES) -> None:
        self._made: dict[bytes, Made] = {}
        self._room, self._full = room_bytes, 0

    def forget(self) -> None:
        """Keep nothing."""
        self._made.clear()
        self._full = 0

    def recall(self, history: bytes, buffers: Buffers) -> int | None:
        """Make a section what it became by a history; gives what was returned, None: not known."""
        found = self._made.get(history)
        if found is None:
            return None
        # first: where the fields are not zero stands in the records
        for field, low, high in _fields(buffers):
            for place in stretches(low, high):
                field[place] = 0.0
        for live, kept in zip(_records(buffers), found.records, strict=True):
            live[...] = kept
        for (field, _, _), cells in zip(_fields(buffers), found.fields, strict=True):
            for place, values in cells:
                field[place] = values
        return found.status

    def keep(self, history: bytes, buffers: Buffers, status: int) -> None:
        """Remember what a section has become by a history."""
        made = Made(
            status,
            tuple(live.copy() for live in _records(buffers)),
            tuple(
                tuple((place, field[place].copy()) for place in stretches(low, high))
                for field, low, high in _fields(buffers)
            ),
        )
        self._full += sum(kept.nbytes for kept in made.records)
        self._full += sum(values.nbytes for cells in made.fields for _, values in cells)
        if self._full > self._room:
            self.forget()
        self._made[history] = made


def followed(history: bytes, parts: Sequence[Any]) -> bytes:
    """History that follows when something more happened."""
    digest = blake2b(history, digest_size=16)
    for part in parts:
        digest.update(part.tobytes() if hasattr(part, "tobytes") else repr(part).encode())
        digest.update(b"|")
    return digest.digest()


def _records(buffers: Buffers) -> list[NDArray[np.uint8]]:
    """As bytes: numpy copies records with vectors in them field by field."""
    records = (buffers.state, buffers.sums, buffers.mark_state, buffers.mark_sums)
    return [array.view(np.uint8) for array in records]


def _fields(buffers: Buffers) -> list[tuple[NDArray[np.float64], Any, Any]]:
    sums = buffers.sums
    return [
        (buffers.pending, sums["pending_low"], sums["pending_high"]),
        (buffers.exposure, sums["worn_low"], sums["worn_high"]),
    ]
