"""What a finished comparison says of the wear that one line's rope took, for the rope's record."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.files import sha256_of
from edgewear.dataset.manifest import NAME as MANIFEST
from edgewear.dataset.reading import Dataset
from edgewear.dataset.said import as_a_study_writes
from edgewear.dataset.schema import array_of
from edgewear.errors import UsageError
from edgewear.percentiles import HIGH, LOW, MIDDLE, between
from edgewear.terms import ROPE_SWAPPED

CELL_M = 1e-3
SHARES = (LOW, MIDDLE, HIGH)
ROUNDING = 1e-12
"""Demand below which a difference of two is nothing but rounding [1]."""


class LineWear(NamedTuple):
    """Sheath demand along one line's rope."""

    title: str
    dataset: str  # sha256 of its manifest
    option: str
    line: str
    first_m: float  # unstretched rope from the fixed point to the first cell's near end
    demand: NDArray[np.float64]  # (n,) nominal run, millimetre by millimetre [1]
    factors: tuple[float, float, float]  # 5th, 50th, 95th percentile of the trials over it


def line_wear(dataset: Dataset, option: str | None, line: str | None) -> LineWear:
    """Read the wear along a line of an option: the nominal run, and how the trials spread.

    Parameters:
        dataset: of a comparison.
        option: by default the first one.
        line: its section, as the report names it; by default a swapped one, else the first worn.

    Raises:
        UsageError: no such option or line, or one whose rope was swapped during the job.
        DatasetError: damaged, or it says what no study writes.
    """
    with as_a_study_writes(dataset.root):
        return _line_wear(dataset, option, line)


def _line_wear(dataset: Dataset, option: str | None, line: str | None) -> LineWear:
    wear = dataset.wear()
    chosen = _one_of("option", option, list(dataset.resolved["options"]))
    mine = array_of(wear.column("option")) == chosen
    names = array_of(wear.column("line"))[mine]
    swapped = _swapped(dataset, chosen)
    name = _one_of("line", line, list(dict.fromkeys([*swapped, *names])))
    if name in swapped:
        raise UsageError(
            f"the rope of {name!r} was swapped during this job, and the wear of each of its ropes "
            "is not kept apart: enter the job for each rope by hand, with --job instead of "
            "--dataset, and what a look at it finds"
        )
    along, total, before = (
        array_of(wear.column(column))[mine][names == name]
        for column in ("along_m", "demand", "before")
    )
    demand = np.where(total - before > ROUNDING, total - before, 0.0)
    first_m = float(along[0]) - CELL_M / 2 if len(along) else 0.0
    factors = _factors(dataset, chosen, name, float(demand.max(initial=0.0)))
    title = str(dataset.manifest.about["title"])
    digest = sha256_of(dataset.root / MANIFEST)
    return LineWear(title, digest, chosen, name, first_m, np.asarray(demand), factors)


def _swapped(dataset: Dataset, option: str) -> list[str]:
    """Name the lines of which the nominal run used more than one rope; all but the last unknown."""
    rows = dataset.events().select(["option", "who", "what", "detail"]).to_pylist()
    sections = dataset.resolved["options"][option]["sections"]
    role = {section["line"]: section["role"] for section in sections}
    fresh = {
        (row["who"], role[row["detail"]])
        for row in rows
        if row["option"] == option and row["what"] == ROPE_SWAPPED
    }
    return [one["line"] for one in sections if (one["person"], one["role"]) in fresh]


def _one_of(what: str, wanted: str | None, known: list[str]) -> str:
    if wanted is None and known:
        return known[0]
    if wanted not in known:
        raise UsageError(f"no {what} {wanted!r}: allowed are {', '.join(map(repr, known))}")
    return str(wanted)


def _factors(
    dataset: Dataset, option: str, line: str, nominal: float
) -> tuple[float, float, float]:
    """Percentiles over the trials of the line's largest demand, each over the nominal one."""
    if nominal <= 0.0:
        return 1.0, 1.0, 1.0
    plan, edges = dataset.plan(["run", "option"]), dataset.edges(["run", "line", "demand_max"])
    runs = array_of(plan.column("run"))
    chosen = runs[array_of(plan.column("option")) == option]
    row = array_of(edges.column("run"))
    here = np.isin(row, chosen)
    here &= array_of(edges.column("line")) == line
    here &= np.isfinite(array_of(edges.column("demand_max")))  # others could not be computed
    largest = np.zeros(int(runs.max()) + 1)
    np.maximum.at(largest, row[here], array_of(edges.column("demand_max"))[here])
    used = np.unique(row[here])
    if used.size == 0:
        return 1.0, 1.0, 1.0
    low, middle, high = (between(largest[used], share) / nominal for share in SHARES)
    return low, middle, high
