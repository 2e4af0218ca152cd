"""From the wear of a line, counted from its fixed point, to the place on the rope it was."""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import UsageError
from edgewear.stock.past_wear import CELL_M

LEAST = 1e-12
"""Demand below which a cell was not touched [1]."""


class LineWear(Protocol):
    """Sheath demand along one line's rope, millimetre by millimetre from its fixed point."""

    title: str
    dataset: str
    option: str
    line: str
    rope: int | None
    first_m: float
    demand: NDArray[np.float64]
    factors: tuple[float, float, float]


def job_body(
    job: str | None, wear: LineWear | None, length_m: float, shift_m: float, turned: bool
) -> dict[str, Any]:
    """Give the body of an entry about a job.

    Parameters:
        job: what it was, where nothing was computed.
        wear: what was computed.
        length_m: of the rope.
        shift_m: rope between the end at the fixed point and the fixed point.
        turned: whether end B was at the fixed point.

    Raises:
        UsageError: the line was longer than the rope.
    """
    if wear is None:
        return {"job": job or "", "first_mm": 0, "demand": [], "low": 1.0, "middle": 1.0,
                "high": 1.0}  # fmt: skip
    first, demand = placed(wear.first_m, wear.demand, length_m, shift_m, turned)
    low, middle, high = wear.factors
    which = {} if wear.rope is None else {"rope_of_line": wear.rope}
    return {
        "job": wear.title, "dataset": wear.dataset, "option": wear.option, "line": wear.line,
        **which,
        "turned": turned, "shift_m": shift_m, "first_mm": first, "demand": demand.tolist(),
        "low": low, "middle": middle, "high": high,
    }  # fmt: skip


def placed(
    first_m: float, demand: NDArray[np.float64], length_m: float, shift_m: float, turned: bool
) -> tuple[int, NDArray[np.float64]]:
    """Lay wear where it is on the rope: first cell from end A, and the demand from there on.

    Raises:
        UsageError: it lies beyond an end of the rope.
    """
    touched = np.flatnonzero(demand > LEAST)
    if touched.size == 0:
        return 0, np.zeros(0)
    kept = demand[touched[0] : touched[-1] + 1]
    first = round((first_m + shift_m) / CELL_M) + int(touched[0])
    cells = round(length_m / CELL_M)
    if turned:
        first, kept = cells - first - len(kept), kept[::-1]
    if first < 0 or first + len(kept) > cells:
        raise UsageError(
            f"the line's wear reaches beyond an end of the rope, which is {length_m:g} m long"
        )
    return first, kept
