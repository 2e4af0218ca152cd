"""From the wear of a line, counted from its fixed point, to the place on the rope it was."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import UsageError
from edgewear.stock.past_wear import CELL_M

LEAST = 1e-12
"""Demand below which a cell was not touched [1]."""


class LineWear(Protocol):
    """Sheath demand along one line's rope, millimetre by millimetre from its fixed point."""

    @property
    def title(self) -> str:
        """Of the comparison."""

    @property
    def dataset(self) -> str:
        """The sha256 of its manifest."""

    @property
    def option(self) -> str:
        """What was rigged."""

    @property
    def line(self) -> str:
        """The line the rope was."""

    @property
    def rope(self) -> int | None:
        """Which of the line's ropes, from 1; None: it had one."""

    @property
    def first_m(self) -> float:
        """Rope from the fixed point to the first cell's near end [m]."""

    @property
    def demand(self) -> NDArray[np.float64]:
        """Sheath demand of each cell, (n,) [1]."""

    @property
    def factors(self) -> tuple[float, float, float]:
        """Of the trials over it: 5th, 50th, 95th percentile [1]."""


class PlannedRope(Protocol):
    """The rope that a line was planned with, and how it lay."""

    @property
    def rope(self) -> str:
        """Its name in the scenario."""

    @property
    def likes(self) -> tuple[str | None, ...]:
        """The library's ropes that it may be like; None: not said."""

    @property
    def record(self) -> tuple[str, str] | None:
        """Its name in a record, and the hash of its last entry then; None: it was no record."""

    @property
    def tail_m(self) -> float:
        """Rope between its end and the line's anchor [m]."""

    @property
    def turned(self) -> bool:
        """Whether end B was at the anchor."""

    @property
    def below(self) -> str | None:
        """The re-anchor that this part of the line begins at; None: the line's anchor."""


HOW_ELSE = (
    "compare again with this one, or enter the job by hand, with --job instead of --dataset, and "
    "what a look at the rope finds"
)


def check_planned(planned: PlannedRope, rope: str, like: str, hashes: Collection[str]) -> None:
    """Refuse the wear of another rope than the one it is entered for.

    Parameters:
        planned: what the comparison was made with.
        rope: name in this record.
        like: the library's rope that it is like; empty: nobody said.
        hashes: of its entries.

    Raises:
        UsageError: it was planned with another rope of a record, or with another kind.
    """
    if planned.record is not None:
        name, last = planned.record
        if name != rope:
            raise UsageError(
                f"the dataset was planned with rope {name!r}, not {rope!r}: {HOW_ELSE}"
            )
        if last not in hashes:
            raise UsageError(
                f"the dataset was planned with a rope {name!r} of another record, whose entry of "
                f"hash {last[:16]} is none of this {rope!r}: {HOW_ELSE}"
            )
    known = [one for one in planned.likes if one is not None]
    if like and len(known) == len(planned.likes) and like not in known:
        raise UsageError(
            f"the dataset was planned with {' or '.join(map(repr, known))}, and {rope!r} is like "
            f"{like!r}: {HOW_ELSE}"
        )


def as_planned(
    planned: PlannedRope, shift_m: float | None, turned: bool | None
) -> tuple[float, bool]:
    """Say how the rope lay: as typed, else as planned.

    Parameters:
        planned: what the comparison was made with.
        shift_m: rope between the end at the fixed point and the fixed point; None: not typed.
        turned: whether end B was at the fixed point; None: not typed.

    Raises:
        UsageError: a rope of a record is said to have lain otherwise than it was planned, or it is
            not said where a part below a re-anchor was fixed.
    """
    if planned.below is not None and shift_m is None:
        raise UsageError(
            f"nobody plans which part of a rope lies below a re-anchor: say with --shift how much "
            f"rope there was from its end at the anchor to {planned.below!r}"
        )
    if planned.record is not None:
        _check_typed(planned, shift_m, turned)
    shift = planned.tail_m if shift_m is None else shift_m
    return shift, planned.turned if turned is None else turned


def _check_typed(planned: PlannedRope, shift_m: float | None, turned: bool | None) -> None:
    how = "compare what was done, or leave that out"
    moved = planned.below is None and shift_m is not None
    if moved and abs((shift_m or 0.0) - planned.tail_m) > CELL_M:
        raise UsageError(
            f"--shift {shift_m:g} m: the dataset was planned with a tail of {planned.tail_m:g} m, "
            f"and its figures are those of that: {how}"
        )
    if turned is not None and turned != planned.turned:
        words = {True: "turned round", False: "not turned round"}
        raise UsageError(
            f"the rope is said to have been {words[turned]}, and the dataset was planned with it "
            f"{words[planned.turned]}: {how}"
        )


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
