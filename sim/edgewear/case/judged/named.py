"""Texts of many runs, of the same few names."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray


def named(found: Iterable[tuple[str, bool | NDArray[np.bool_]]], runs: int) -> NDArray[np.object_]:
    """Join what holds of each run, comma separated.

    Parameters:
        found: names in order, and of which runs each holds: of all or none, or (runs,).
        runs: how many.

    Returns:
        (runs,) texts; runs of which the same holds share one.
    """
    which = np.zeros(runs, np.int64)  # each run's place among the texts so far
    known: list[tuple[str, ...]] = [()]
    for name, where in found:
        if not np.any(where):
            continue
        both = 2 * which + where  # each text so far, without and with this name
        kept = np.flatnonzero(np.bincount(both, minlength=2 * len(known)))
        place = np.zeros(2 * len(known), np.int64)
        place[kept] = np.arange(len(kept))
        which = place[both]
        known = [_with(known[k // 2], name) if k % 2 else known[k // 2] for k in kept.tolist()]
    texts = np.array([", ".join(names) for names in known], dtype=object)
    return texts[which]


def _with(names: tuple[str, ...], name: str) -> tuple[str, ...]:
    return names if name in names else (*names, name)
