"""What a finished comparison says of the wear that one rope took, for its record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear import spelt
from edgewear.dataset.files import sha256_of
from edgewear.dataset.manifest import NAME as MANIFEST
from edgewear.dataset.reading import Dataset
from edgewear.dataset.said import as_a_study_writes
from edgewear.dataset.schema import array_of
from edgewear.errors import UsageError
from edgewear.percentiles import HIGH, LOW, MIDDLE, between
from edgewear.scenario.read.libraries import RECORDS
from edgewear.scenario.text.tree import parse_tree
from edgewear.terms import ROPE_SWAPPED, WORKING

if TYPE_CHECKING:
    import pyarrow as pa

CELL_M = 1e-3
SHARES = (LOW, MIDDLE, HIGH)
ROUNDING = 1e-12
"""Demand below which a difference of two is nothing but rounding [1]."""


class LineWear(NamedTuple):
    """Sheath demand along one rope of a line."""

    title: str
    dataset: str  # sha256 of its manifest
    option: str
    line: str
    rope: int | None  # which of the line's ropes, from 1; None: it had one
    first_m: float  # unstretched rope from the fixed point to the first cell's near end
    demand: NDArray[np.float64]  # (n,) nominal run, millimetre by millimetre [1]
    factors: tuple[float, float, float]  # 5th, 50th, 95th percentile of the trials over it


def line_wear(
    dataset: Dataset, option: str | None, line: str | None, rope: int | None = None
) -> LineWear:
    """Read the wear along a rope of an option: the nominal run, and how the trials spread.

    Parameters:
        dataset: of a comparison.
        option: may be left out where there is one.
        line: its section, as the report names it; may be left out where there is one.
        rope: which of the ropes that the line had one after the other, from 1; may be left out
            where it was not swapped.

    Raises:
        UsageError: no such option, line or rope, or it is not said which of several; or the plan is
            not finished.
        DatasetError: damaged, or it says what no study writes.
    """
    with as_a_study_writes(dataset.root):
        return _line_wear(dataset, option, line, rope)


def _line_wear(
    dataset: Dataset, option: str | None, line: str | None, rope: int | None
) -> LineWear:
    chosen = _one_of("option", option, list(dataset.resolved["options"]))
    rigged = dataset.resolved["options"][chosen]
    _whole(chosen, rigged)
    sections = rigged["sections"]
    name = _one_of("line", line, [str(section["line"]) for section in sections])
    which = _which(dataset, chosen, name, rope)
    wear = dataset.wear()
    mine = _rows(wear, {"option": chosen, "line": name, "rope": which})
    along, total, before = (
        array_of(wear.column(column))[mine] for column in ("along_m", "demand", "before")
    )
    demand = np.where(total - before > ROUNDING, total - before, 0.0)
    first_m = float(along[0]) - CELL_M / 2 if len(along) else 0.0
    factors = _factors(dataset, chosen, name, which, float(demand.max(initial=0.0)))
    title = str(dataset.manifest.about["title"])
    digest = sha256_of(dataset.root / MANIFEST)
    return LineWear(title, digest, chosen, name, which, first_m, np.asarray(demand), factors)


class PlannedRope(NamedTuple):
    """The rope that a line was planned with, and how it lay."""

    rope: str  # its name in the scenario
    likes: tuple[str | None, ...]  # the library's ropes that it may be like; None: not said
    record: tuple[str, str] | None  # its name in a record, and the hash of its last entry then
    tail_m: float  # rope between its end and the line's anchor
    turned: bool  # whether end B was at the anchor
    below: str | None  # the re-anchor that this part of the line begins at; None: its anchor


def planned_rope(dataset: Dataset, wear: LineWear) -> PlannedRope:
    """Read which rope a line was planned with, and how it lay.

    Of a rope that was swapped in during the job only the kinds at hand are known.

    Parameters:
        dataset: of a comparison.
        wear: read from it.

    Raises:
        DatasetError: damaged, or it says what no study writes.
    """
    with as_a_study_writes(dataset.root):
        scenario, rigged = dataset.resolved["scenario"], dataset.resolved["options"][wear.option]
        (part,) = (one for one in rigged["sections"] if one["line"] == wear.line)
        lines = scenario["options"][wear.option]["lines"][part["person"]]
        line = lines["working" if part["role"] == WORKING else "safety"]
        ropes, name = scenario["ropes"], str(part["rope"])
        first = wear.rope in (None, 1)
        likes = tuple(ropes[one].get("like") for one in ([name] if first else ropes))
        anchor, above = part["anchor"], line["anchor"]
        return PlannedRope(
            name, likes, _recorded(dataset, name) if first and ropes[name].get("record") else None,
            _tail_m(line), bool(line.get("turned")) and first,
            None if above is None or anchor == above else str(anchor),
        )  # fmt: skip


def _tail_m(line: Mapping[str, Any]) -> float:
    """Give the tail of a line [m]; datasets of before had none."""
    tail = line.get("tail")
    return 0.0 if tail is None else float(tail["value"])


def _recorded(dataset: Dataset, name: str) -> tuple[str, str] | None:
    """Give a rope's name in its record, and the hash of its last entry as it was planned with."""
    kept = parse_tree(dataset.library_text or "", "library.yaml").data.get(RECORDS, {}).get(name)
    return None if kept is None else (str(kept["rope"]), str(kept["hash"]))


def _whole(option: str, rigged: Mapping[str, Any]) -> None:
    """Refuse wear of a part of the plan: a record would take it for that of the job.

    Raises:
        UsageError: somebody does not finish the plan with middle values.
    """
    if rigged.get("ended_early"):
        raise UsageError(
            f"with middle values the plan is not finished in {option!r}, and its wear is of a part "
            "of the job: compare what was done, or enter the job by hand, with --job instead of "
            "--dataset, and what a look at the rope finds"
        )


def _rows(table: pa.Table, wanted: Mapping[str, Any]) -> NDArray[np.bool_]:
    """Tell the rows whose columns are as wanted; None: whichever."""
    found = np.ones(table.num_rows, bool)
    for name, value in wanted.items():
        if value is not None:
            found &= array_of(table.column(name)) == value
    return found


def _which(dataset: Dataset, option: str, line: str, wanted: int | None) -> int | None:
    """Say which of a line's ropes is meant; None: it had one."""
    count = 1 + _swaps(dataset, option, line)
    if count > 1 and (array_of(dataset.timeline().column("rope")) == 0).any():
        raise UsageError(
            f"the rope of {line!r} was swapped during this job, and this dataset of before does "
            "not keep the wear of each of its ropes apart: compare anew, or enter the job for each "
            "rope by hand, with --job instead of --dataset, and what a look at it finds"
        )
    if wanted is not None and not 1 <= wanted <= count:
        raise UsageError(f"no rope {wanted} of {line!r}: it had {spelt.counted(count, 'rope')}")
    if count > 1 and wanted is None:
        raise UsageError(
            f"the rope of {line!r} was swapped during this job: say with --which whether it was "
            f"its rope {', '.join(map(str, range(1, count)))} or {count}"
        )
    return wanted if count > 1 else None


def _swaps(dataset: Dataset, option: str, line: str) -> int:
    """Count how often the nominal run swapped the rope of a line."""
    sections = dataset.resolved["options"][option]["sections"]
    owner = {one["line"]: (one["person"], one["role"]) for one in sections}
    rows = dataset.events().select(["option", "what", "detail"]).to_pylist()
    mine = [one for one in rows if one["option"] == option and one["what"] == ROPE_SWAPPED]
    return sum(owner[one["detail"]] == owner[line] for one in mine)


def _one_of(what: str, wanted: str | None, known: list[str]) -> str:
    if wanted is None and len(known) == 1:
        return known[0]
    listed = ", ".join(map(repr, known))
    if wanted is None:
        raise UsageError(f"several {what}s: say with --{what} which of {listed}")
    if wanted not in known:
        raise UsageError(f"no {what} {wanted!r}: allowed are {listed}")
    return wanted


def _factors(
    dataset: Dataset, option: str, line: str, rope: int | None, nominal: float
) -> tuple[float, float, float]:
    """Percentiles over the trials of the rope's largest demand, each over the nominal one."""
    if nominal <= 0.0:
        return 1.0, 1.0, 1.0
    plan = dataset.plan(["run", "option"])
    edges = dataset.edges(["run", "line", "rope", "demand_max"])
    runs = array_of(plan.column("run"))
    chosen = runs[array_of(plan.column("option")) == option]
    row = array_of(edges.column("run"))
    here = np.isin(row, chosen) & _rows(edges, {"line": line, "rope": rope})
    here &= np.isfinite(array_of(edges.column("demand_max")))  # others could not be computed
    largest = np.zeros(int(runs.max()) + 1)
    np.maximum.at(largest, row[here], array_of(edges.column("demand_max"))[here])
    used = np.unique(row[here])
    if used.size == 0:
        return 1.0, 1.0, 1.0
    low, middle, high = (between(largest[used], share) / nominal for share in SHARES)
    return low, middle, high
