"""When to look at the rope during a job: early, at the careful end, then at equal steps."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.ranking.model import Looks
from edgewear.dataset.ranking.statistics import quantile

if TYPE_CHECKING:
    import pyarrow as pa

Columns = dict[str, NDArray[Any]]

STEP_OF_DEMAND = 1 / 3
"""A look for every third of the way to where the core shows: three before it, assumed."""


def looks_of(option: str, runs: Columns, ok: NDArray[np.bool_], timeline: pa.Table) -> Looks | None:
    """Plan the looks of an option from its nominal course and the spread of its trials.

    The nominal demand over time is scaled to the trials' 95th percentile of demand. Rope climbed
    and strokes are shared out in proportion to the metres climbed.

    Parameters:
        option: its name.
        runs: columns of `records.RUN` of its trials.
        ok: (n,) trials that could be computed.
        timeline: `records.TIMELINE` of all options.

    Returns:
        None when nothing wears the rope or no trial could be computed.
    """
    demand = quantile(np.asarray(runs["sheath_demand_max"][ok]), 0.95)
    course = _course(option, timeline)
    if demand is None or demand <= 0 or course is None:
        return None
    time_s, ascended_m, wear = course
    careful = wear * (demand / wear[-1])
    strokes = float(np.median(runs["strokes"][ok]))
    if demand <= STEP_OF_DEMAND:
        words = "look at the rope before and after the job, at every edge it lay over"
        return Looks(None, None, None, None, None, None, words)
    at = int(np.searchsorted(careful, STEP_OF_DEMAND))
    climbed = float(ascended_m[-1])
    first = float(time_s[at]), float(ascended_m[at])
    every = float(time_s[-1]) * STEP_OF_DEMAND / demand, climbed * STEP_OF_DEMAND / demand
    return Looks(
        first_ascended_m=first[1] if climbed else None,
        first_time_s=first[0],
        first_strokes=_strokes(strokes, first[1], climbed),
        every_ascended_m=min(every[1], first[1]) if climbed else None,
        every_time_s=min(every[0], first[0]) if first[0] > 0 else every[0],
        every_strokes=_strokes(strokes, min(every[1], first[1]), climbed),
        words="whichever comes first; a look at every edge the rope lay over",
    )


def _course(
    option: str, timeline: pa.Table
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]] | None:
    """Time, rope climbed so far and demand of the line that wears most in the nominal run."""
    names = ("option", "line", "time_s", "depth_m", "demand")
    columns = {name: timeline.column(name).to_numpy() for name in names}
    mine = columns["option"] == option
    best: tuple[float, str] = (0.0, "")
    for line in dict.fromkeys(columns["line"][mine].tolist()):
        most = float(columns["demand"][mine & (columns["line"] == line)].max())
        best = max(best, (most, line))
    if best[0] <= 0:
        return None
    rows = mine & (columns["line"] == best[1])
    depth = columns["depth_m"][rows]
    climbed = np.concatenate([[0.0], np.cumsum(np.maximum(-np.diff(depth), 0.0))])
    return columns["time_s"][rows], climbed, np.maximum.accumulate(columns["demand"][rows])


def _strokes(strokes: float, ascended_m: float, climbed_m: float) -> int | None:
    if not strokes or not climbed_m:
        return None
    return max(math.floor(strokes * ascended_m / climbed_m), 1)
