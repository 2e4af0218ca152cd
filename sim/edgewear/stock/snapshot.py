"""What a scenario takes from a rope's record: length, worn parts, why it may not be used."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.stock.past_wear import CELL_M
from edgewear.stock.standing import IN_USE, summary, with_time
from edgewear.stock.store import Stock

CELLS = 10
"""Cells that one part stands for: the largest wear of each centimetre."""

LEAST = 1e-6
"""Wear below which a part is left out [1]."""


def snapshot(stock: Stock, rope: str, today: str) -> dict[str, Any]:
    """Give a rope as its record has it today, JSON-able.

    Parameters:
        stock: the record.
        rope: its name.
        today: ISO.

    Raises:
        UsageError: no such rope.
    """
    entries, rules = stock.entries(rope), stock.rules()
    standing = stock.standing(rope)
    found = with_time(summary(standing), rules, today)
    why = [_why(one) for one in found["reasons"]]
    return {
        "rope": rope,
        "entry": entries[-1].number,
        "hash": entries[-1].hash,
        "length m": standing.length_m,
        "like": standing.like,
        "cut from": "" if found["past_known"] else found["cut_from"],  # of an unknown past
        "refused": "" if found["word"] == IN_USE else f"{found['word']}: {'; '.join(why)}",
        "worn": [list(part) for part in _parts(standing.wear.interval())],
    }


def _why(reason: dict[str, Any]) -> str:
    source = f", {reason['pedigree']}" if reason["pedigree"] else ""
    part = f", of {reason['rope']!r}, which it was cut from" if reason["rope"] else ""
    return f"{reason['rule']} ({reason['on']}{source}{part})"


Part = tuple[float, float, float, float, float]
"""From, to [m], and the 5th, 50th and 95th percentile of the sheath demand there [1]."""


def _parts(ends: tuple[NDArray[np.float64], ...]) -> Iterator[Part]:
    """Cut a rope into parts that are worn alike; what is not worn is left out."""
    coarse = np.array([_largest(one) for one in ends])
    changes = np.flatnonzero((np.diff(coarse, axis=1) != 0.0).any(axis=0)) + 1
    bounds = [0, *changes.tolist(), coarse.shape[1]]
    most = len(ends[0])
    for first, last in pairwise(bounds):
        low, middle, high = (float(one) for one in coarse[:, first])
        if high > LEAST:
            begin, end = first * CELLS, min(last * CELLS, most)
            yield begin * CELL_M, end * CELL_M, low, middle, high


def _largest(field: NDArray[np.float64]) -> NDArray[np.float64]:
    groups = -(-len(field) // CELLS)
    padded = np.zeros(groups * CELLS)
    padded[: len(field)] = field
    return np.asarray(padded.reshape(groups, CELLS).max(axis=1))
