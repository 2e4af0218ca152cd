"""The writer of RUN rows: one for runs played alone and for those played many at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgewear.case import Records
from edgewear.layout import TICK_S
from edgewear.records import RUN, numpy_dtype
from edgewear.terms import OK

RUN_DTYPE = numpy_dtype(RUN)


class FirstTimes(NamedTuple):
    """When something first came about in each of n runs."""

    ticks: ArrayLike  # (n,) since the start; negative: never
    ascended_m: ArrayLike  # (n,) climbed by then
    steps: ArrayLike = 0  # (n,) of the job, from 1


class RunFigures(NamedTuple):
    """What n runs came to, over all working lines; one value stands for all of them."""

    demand: ArrayLike  # largest sheath demand [1]
    worst_line: str
    worst_edge: str | Sequence[str] | NDArray[np.object_]
    core_loss: ArrayLike
    residual_strength_n: ArrayLike
    peak_tension_n: ArrayLike
    anchor_peak_n: ArrayLike
    anchor_peak_name: str
    stretch_m: ArrayLike
    core_visible: FirstTimes
    parted: FirstTimes
    third_worn: FirstTimes
    two_thirds_worn: FirstTimes
    frequency_sliding_hz: ArrayLike
    frequency_stuck_hz: ArrayLike
    slip_m: ArrayLike
    energy_j: ArrayLike
    energy_residual: ArrayLike
    strokes: ArrayLike
    climbing_ticks: ArrayLike
    ascended_m: ArrayLike
    ticks: ArrayLike  # how long the run took
    used_up_step: ArrayLike = 0  # at which a rope was used up, from 1; 0: never


AS_THEY_ARE = (
    "worst_line",
    "worst_edge",
    "core_loss",
    "residual_strength_n",
    "peak_tension_n",
    "anchor_peak_n",
    "anchor_peak_name",
    "stretch_m",
    "frequency_sliding_hz",
    "frequency_stuck_hz",
    "slip_m",
    "energy_j",
    "energy_residual",
    "strokes",
    "ascended_m",
)


def run_rows(figures: RunFigures, count: int, extrapolated: Sequence[str]) -> Records:
    """RUN (count,) of runs that were computed; their numbers are the caller's to fill in.

    Parameters:
        extrapolated: inputs outside the domain of the observations.
    """
    rows = np.zeros(count, RUN_DTYPE)
    rows["status"], rows["reason"], rows["extrapolated"] = OK, "", ", ".join(extrapolated)
    rows["unlike_standard"], rows["short_m"], rows["times_allowed"] = "", np.nan, np.nan
    for name in AS_THEY_ARE:
        rows[name] = getattr(figures, name)
    demand = np.asarray(figures.demand)
    rows["sheath_margin"], rows["sheath_demand_max"] = 1.0 - demand, demand
    _write_first(rows, "core_visible", figures.core_visible)
    _write_first(rows, "parted", figures.parted)
    rows["unfinished_step"] = earliest(rows["parted_step"], figures.used_up_step)
    write_moment(rows, "third_worn", figures.third_worn)
    write_moment(rows, "two_thirds_worn", figures.two_thirds_worn)
    climbing_s = np.asarray(figures.climbing_ticks) * TICK_S
    still = climbing_s <= 0
    rows["stroke_hz"] = np.where(still, np.nan, rows["strokes"] / np.where(still, 1.0, climbing_s))
    rows["duration_s"] = np.asarray(figures.ticks) * TICK_S
    return rows


def earliest(steps: ArrayLike, others: ArrayLike) -> NDArray[Any]:
    """The earlier one of two steps of each run; 0 is never, and NaN stays NaN."""
    one, other = np.asarray(steps), np.asarray(others)
    both = (one > 0) & (other > 0)
    return np.asarray(np.where(both, np.minimum(one, other), np.maximum(one, other)))


def _write_first(rows: Records, what: str, first: FirstTimes) -> None:
    write_moment(rows, what, first)
    rows[f"{what}_step"] = np.where(np.asarray(first.ticks) >= 0, first.steps, 0)


def write_moment(rows: Records, what: str, first: FirstTimes) -> None:
    """Write when something first came about into the columns named after it."""
    ticks = np.asarray(first.ticks)
    seen = ticks >= 0
    rows[f"{what}_time_s"] = np.where(seen, ticks * TICK_S, np.nan)
    rows[f"{what}_ascended_m"] = np.where(seen, first.ascended_m, np.nan)
