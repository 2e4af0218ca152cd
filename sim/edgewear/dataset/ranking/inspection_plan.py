"""When to look at the rope during a job: where the careful trial has worn a third of the sheath.

Every trial says for itself when a third, two thirds and all of the sheath are worn somewhere, with
all work, repeats and waits in it. The careful end is the 5th percentile of these moments, so a
look never comes later than the core at the careful end.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.ranking.looks import Looks, WearsThrough, WornAt
from edgewear.dataset.ranking.model import EdgeSummary
from edgewear.dataset.ranking.statistics import never_is_late, quantile

Columns = Mapping[str, NDArray[Any]]

THIRDS = (("third_worn", 1 / 3), ("two_thirds_worn", 2 / 3), ("core_visible", 1.0))
"""A look for every third of the way to where the core shows: three before it, assumed."""

CAREFUL = 0.05
"""Share of the trials that get there sooner."""

SOONEST_S = 60.0
"""Looks that follow each other sooner than this cannot be kept: stop instead; assumed [s]."""

AT_ONCE_S = 10.0
"""Nobody stops the work in less; assumed [s]."""

BEFORE_AND_AFTER = "look at the rope before and after the job, at every edge it lay over"
WHICHEVER = "whichever comes first; a look at every edge the rope lay over"


def worn_at(columns: Columns, ok: NDArray[np.bool_] | None = None) -> tuple[WornAt, ...]:
    """When each third of the sheath is worn at the careful end, each by itself.

    Parameters:
        columns: of `records.RUN` or of `records.EDGE`, (n,) trials.
        ok: (n,) which of them could be computed; all if left out.
    """
    counted = np.ones(len(columns["third_worn_time_s"]), bool) if ok is None else ok

    def careful(name: str) -> float | None:
        return quantile(never_is_late(columns[name], counted), CAREFUL)

    return tuple(
        WornAt(share, careful(f"{what}_time_s"), careful(f"{what}_ascended_m"))
        for what, share in THIRDS
    )


def looks_of(
    runs: Columns, ok: NDArray[np.bool_], edges: Sequence[EdgeSummary] = ()
) -> Looks | None:
    """Plan the looks of an option from the moments at which its trials wear the sheath.

    The first look comes where a third is worn; further ones as far apart as the closest two of
    the moments. Strokes are shared out in proportion to the metres climbed.

    Parameters:
        runs: columns of `records.RUN` of its trials.
        ok: (n,) trials that could be computed.
        edges: what wears it, for where no look is soon enough.

    Returns:
        None when nothing wears the rope or no trial could be computed.
    """
    if not ok.any() or not np.max(runs["sheath_demand_max"][ok]) > 0:
        return None
    moments = worn_at(runs, ok)
    first = moments[0]
    if first.time_s is None:
        return Looks(None, None, None, None, None, None, BEFORE_AND_AFTER, moments)
    climbed_m = float(np.median(runs["ascended_m"][ok]))
    strokes = float(np.median(runs["strokes"][ok]))
    first_m = first.ascended_m or None
    every_m = _closest([moment.ascended_m for moment in moments])
    every_s = _closest_in_time([moment.time_s for moment in moments])
    looks = Looks(
        first_ascended_m=first_m,
        first_time_s=first.time_s,
        first_strokes=_strokes(strokes, first_m, climbed_m),
        every_ascended_m=every_m,
        every_time_s=every_s,
        every_strokes=_strokes(strokes, every_m, climbed_m),
        words=WHICHEVER,
        worn_at=moments,
    )
    if every_s is None or every_s >= SOONEST_S:
        return looks
    stop = _wears_through(looks, edges, strokes / climbed_m if climbed_m else 0.0)
    return replace(looks, every_ascended_m=None, every_time_s=None, every_strokes=None, stop=stop)


def _wears_through(
    looks: Looks, edges: Sequence[EdgeSummary], strokes_a_metre: float
) -> WearsThrough:
    """Say which edge wears through, and how soon after the first look, or after the start.

    Where the core does not show at the careful end, because the job ends first, the wear between
    the last two thirds is taken to go on; where the job ends before the second third too, nothing
    is known of the rest: how soon the first third goes is told as that.
    """
    third, two_thirds, core = looks.worn_at
    first_alone = two_thirds.time_s is None and core.time_s is None
    begin_s = third.time_s or 0.0
    # where the core shows at once with the third, the first look is too late as well
    sudden = begin_s >= SOONEST_S and (core.time_s or math.inf) - begin_s < AT_ONCE_S
    from_start = sudden or begin_s < SOONEST_S
    worst = min(edges, key=_soonest, default=None)

    def left(what: str) -> float:
        begin, second, end = (getattr(worn, what) for worn in (third, two_thirds, core))
        if end is None:
            end = begin + 2.0 * (second - begin) if second is not None else begin
        return float(end if from_start else end - begin)

    climbs = left("ascended_m") > 0.0 and strokes_a_metre > 0.0 and not sudden
    many = math.floor(left("ascended_m") * strokes_a_metre) if climbs else 0
    return WearsThrough(
        line=worst.line if worst is not None else "the line",
        edge=worst.edge if worst is not None else "an edge",
        time_s=left("time_s"),
        strokes=max(many, 1) if climbs else None,
        from_start=from_start,
        sudden=sudden,
        share=third.share if first_alone else 1.0,
    )


def _soonest(edge: EdgeSummary) -> float:
    """When an edge has worn the most thirds, the most first."""
    when = [worn.time_s for worn in edge.worn_at]
    known = [time_s for time_s in when if time_s is not None]
    return known[-1] - 1e9 * len(known) if known else math.inf


def _closest(moments: list[float | None]) -> float | None:
    """The least way from one moment to the next, the start being the first; None: there is none."""
    known = [0.0, *(moment for moment in moments if moment is not None)]
    ways = [after - before for before, after in pairwise(known)]
    return min((way for way in ways if way > 0), default=None)


def _closest_in_time(moments: list[float | None]) -> float | None:
    """As `_closest` [s], but thirds that go at the same moment are no time apart.

    What a rope has worn before, at the start, is no such moment.
    """
    known = [moment for moment in moments if moment is not None and moment > 0.0]
    if any(after == before for before, after in pairwise(known)):
        return 0.0
    return _closest(moments)


def _strokes(strokes: float, ascended_m: float | None, climbed_m: float) -> int | None:
    if not strokes or not climbed_m or not ascended_m:
        return None
    return max(math.floor(strokes * ascended_m / climbed_m), 1)
