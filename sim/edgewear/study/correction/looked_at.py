"""Which rope somebody looked at, and how much of its wear in the plan was done by then."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Collection

    from edgewear.dataset.reading import Dataset
    from edgewear.scenario.models.observations import Inspection

Floats = NDArray[np.float64]

BACK_M = 0.6
"""A way down longer than this is no sitting back within a stroke [m]; assumed."""

LEAST = 1e-3
"""Share of the wear that is done at least when somebody looks [1]."""


class Looked(NamedTuple):
    """The rope that was looked at."""

    rope: int | None  # which of the line's, from 1; None: whichever
    share: float  # of its wear in the nominal run, done by then [1]


def looked_at(one: Inspection, dataset: Dataset, option: str, lines: Collection[str]) -> Looked:
    """Find the rope that lay there when somebody looked, in the nominal run.

    Parameters:
        one: when it was.
        dataset: a comparison.
        option: what was rigged.
        lines: sections of the working line of the person whose rope it was.
    """
    course = _course(dataset, option, lines)
    demand, ropes = course["demand"], course["rope"]
    if demand.max(initial=0.0) <= 0:
        return Looked(None, 1.0)
    done = np.ones(demand.shape, bool)
    if one.at is not None:
        done &= course["time_s"] <= one.at.value
    if one.after is not None:
        done &= climbed_m(course["depth_m"]) <= one.after.value
    rope = int(ropes[done][-1] if done.any() else ropes[0])
    mine = ropes == rope
    whole = demand[mine].max()
    share = float(max(demand[mine & done].max(initial=0.0) / whole, LEAST)) if whole > 0 else 1.0
    return Looked(rope, share)


def _course(dataset: Dataset, option: str, lines: Collection[str]) -> dict[str, NDArray[Any]]:
    """Samples of some sections of the nominal run, in the order of time."""
    timeline = dataset.timeline()
    columns = {name: timeline.column(name).to_numpy() for name in timeline.column_names}
    mine = (columns["option"] == option) & np.isin(columns["line"].astype(str), list(lines))
    order = np.argsort(columns["time_s"][mine], kind="stable")
    return {name: column[mine][order] for name, column in columns.items()}


def climbed_m(depth_m: Floats) -> Floats:
    """Rope climbed by each sample [m]: all ways up, without sitting back and bouncing in a stroke.

    Parameters:
        depth_m: (n,) depth of the person, in the order of time.

    Returns: (n,)
    """
    found, before = np.zeros(depth_m.shape), 0.0
    base = top = float(depth_m[0]) if depth_m.size else 0.0  # of the way up that is under way
    for at, depth in enumerate(depth_m.tolist()):
        if depth < top:
            top = depth
        elif base == top or depth > top + BACK_M:  # a way down: the next way up begins here
            before, base, top = before + base - top, depth, depth
        found[at] = before + base - top
    return found
