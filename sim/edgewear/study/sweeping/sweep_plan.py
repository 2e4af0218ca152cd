"""The plan of a sweep: grid outside, then table, then sample, then replicates."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.schema import with_aliases
from edgewear.errors import Problem
from edgewear.records import Column
from edgewear.study.plan import (
    Block,
    chunk_rows,
    chunk_rows_on_a_device,
    uncertainty_columns,
    values_of,
)
from edgewear.study.sweeping.design import Design
from edgewear.study.sweeping.levers import Lever

if TYPE_CHECKING:
    from edgewear.case import Uncertainty

Indices = NDArray[np.int64]

MOST_SHARES_KEPT = 65_536
"""Rows of a sample that are kept as a whole when the grid goes through them many times."""

Found = TypeVar("Found")


Rigging = tuple[str, tuple[tuple[str, str], ...]]
"""An option, and the words that levers type in it: (address, word)."""


class Axis(NamedTuple):
    """One dimension of the grid."""

    lever: Lever | None  # None: the options
    size: int


@dataclass(frozen=True)
class Table:
    """Rows that a study brings along; levers hold SI numbers or text."""

    levers: tuple[Lever, ...]
    columns: tuple[NDArray[Any], ...]  # (rows,) each, one a lever; NaN or "": the scenario's own
    options: NDArray[Any] | None  # (rows,) names, where the table chooses the option
    replicate: NDArray[np.int64] | None = None  # (rows,), where the table chooses it
    own: Mapping[str, NDArray[Any]] = field(default_factory=dict)  # columns that mean nothing here
    refused: tuple[Problem, ...] = ()  # cells that alone cannot be used

    @property
    def rows(self) -> int:
        """How many."""
        known = (*self.columns, *self.own.values(), self.options, self.replicate)
        return next(len(column) for column in known if column is not None)


@dataclass(frozen=True)
class SweepPlan:
    """Every run of a sweep."""

    options: tuple[str, ...]
    axes: tuple[Axis, ...]
    kept: Indices | None  # points of the grid that are not skipped; None: all
    table: Table | None
    design: Design | None
    sample_rows: int
    sampled: Mapping[Rigging, tuple[Uncertainty, ...]]  # what the design varies
    replicates: int
    steps_a_row: float
    on_device: bool = False  # whether a device plays every option

    @property
    def levers(self) -> tuple[Lever, ...]:
        """Every lever, grid before table."""
        grid = [axis.lever for axis in self.axes if axis.lever is not None]
        return (*grid, *(self.table.levers if self.table else ()))

    @property
    def columns(self) -> tuple[Column, ...]:
        """Levers, then sampled uncertainties."""
        levers = [_chosen(one) for one in self.levers]
        sampled: dict[str, tuple[Uncertainty, ...]] = {
            str(number): known for number, known in enumerate(self.sampled.values())
        }
        own = self.table.own if self.table is not None else {}
        kept = [
            Column(name, "str" if column.dtype == object else "float64", "", "of the table itself")
            for name, column in own.items()
        ]
        return with_aliases((*levers, *uncertainty_columns(sampled), *kept))

    @property
    def points(self) -> int:
        """Points of the grid that are run."""
        if self.kept is not None:
            return int(self.kept.size)
        return int(np.prod([axis.size for axis in self.axes], dtype=np.int64))

    @property
    def rows(self) -> int:
        """How many runs."""
        return self.points * self._inner

    @property
    def chunk_rows(self) -> int:
        """Rows a chunk."""
        if self.on_device:
            return chunk_rows_on_a_device(self.rows)
        return chunk_rows(self.rows, self.steps_a_row)

    @property
    def _inner(self) -> int:
        """Runs at each point of the grid."""
        table = self.table.rows if self.table else 1
        return table * self.sample_rows * self.replicates

    def block(self, first: int, count: int) -> Block:
        """Make some rows."""
        run = np.arange(first, first + count, dtype=np.int64)
        point, inner = np.divmod(run, self._inner)
        row, inner = np.divmod(inner, self.sample_rows * self.replicates)
        sample = inner // self.replicates
        replicate = row * (self.sample_rows * self.replicates) + inner
        if self.table is not None and self.table.replicate is not None:
            replicate = self.table.replicate[row]
        at = self._places(self.kept[point] if self.kept is not None else point)
        options = self._options(at, row)
        block: Block = {"run": run, "option": options, "replicate": replicate}
        for index, axis in enumerate(self.axes):
            if axis.lever is not None:
                block[axis.lever.address] = _column(axis.lever)[at[index]]
        if self.table is not None:
            for lever, column in zip(self.table.levers, self.table.columns, strict=True):
                block[lever.address] = column[row]
            block.update({name: column[row] for name, column in self.table.own.items()})
        return {**block, **self._draws(block, sample)}

    def _places(self, point: Indices) -> list[Indices]:
        """Index along every axis, the first one varying slowest."""
        places: list[Indices] = []
        for axis in reversed(self.axes):
            point, place = np.divmod(point, axis.size)
            places.append(place)
        return places[::-1]

    def _options(self, at: Sequence[Indices], row: Indices) -> NDArray[Any]:
        if self.table is not None and self.table.options is not None:
            return self.table.options[row]
        which = next(at[i] for i, axis in enumerate(self.axes) if axis.lever is None)
        return np.array(self.options, dtype=object)[which]

    def _draws(self, block: Block, sample: Indices) -> Block:
        names = dict.fromkeys(one.name for known in self.sampled.values() for one in known)
        drawn: Block = {name: np.full(sample.size, np.nan) for name in names}
        if self.design is None:
            return drawn
        shares = self._shares(self.design, sample)
        for rigging, at in riggings(block, [one for one in self.levers if one.dtype == "str"]):
            for one in self.sampled[rigging]:
                drawn[one.name][at] = values_of(one, shares[one.name][at])
        return drawn

    def _shares(self, design: Design, sample: Indices) -> Block:
        if self.sample_rows <= MOST_SHARES_KEPT:
            return {name: column[sample] for name, column in self._all_shares.items()}
        turns = np.flatnonzero(np.diff(sample) < 0) + 1
        parts = [
            {name: column[piece - piece[0]] for name, column in
             design.shares(int(piece[0]), int(piece[-1] - piece[0]) + 1).items()}
            for piece in np.split(sample, turns)
        ]  # fmt: skip
        return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}

    @cached_property
    def _all_shares(self) -> Block:
        return dict(_present(self.design).shares(0, self.sample_rows))


def riggings(block: Block, levers: Sequence[Lever]) -> Iterator[tuple[Rigging, Indices]]:
    """Find the rows of a block that are rigged alike: one option, the same words in it.

    Parameters:
        block: rows of a plan.
        levers: whose values are words.
    """
    names = [lever.address for lever in levers if lever.structural]
    columns = [block[name] for name in ("option", *names)]
    alike = np.zeros(len(columns[0]), np.int64)
    for column in columns:
        alike = _numbered(alike, column)
    order = np.argsort(alike, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(alike[order])) + 1):
        option, *words = (column[rows[0]] for column in columns)
        pairs = zip(names, words, strict=True)
        yield (option, tuple((name, word) for name, word in pairs if word != "")), rows


def _numbered(alike: Indices, column: NDArray[Any]) -> Indices:
    """Number rows by what they are numbered by already and a word of each, as few as there are."""
    words: list[str] = column.tolist()
    known = {word: place for place, word in enumerate(dict.fromkeys(words))}
    both = alike * len(known) + np.fromiter(map(known.__getitem__, words), np.int64, len(words))
    return np.unique(both, return_inverse=True)[1]


def kept_points(
    axes: Sequence[tuple[str, tuple[str, ...]]], skip: Sequence[Mapping[str, str]]
) -> Indices | None:
    """Find the points of a grid that no `skip` leaves out.

    Parameters:
        axes: address and values as typed, in the order of the grid.
        skip: combinations: address -> value as typed; a point is left out when it meets all.

    Returns:
        (points,) in order, or None when nothing is left out.
    """
    if not skip:
        return None
    shape = [len(values) for _, values in axes]
    out = np.zeros(shape, dtype=bool)
    for row in skip:
        meets: tuple[Any, ...] = tuple(
            values.index(row[address]) if address in row else slice(None)
            for address, values in axes
        )
        out[meets] = True
    return np.flatnonzero(~out.ravel())


def _chosen(lever: Lever) -> Column:
    """The column of a lever, with its least and largest value where they are numbers."""
    values, words = [v for v in lever.values if v == v and v != ""], lever.dtype == "str"
    ends = () if words or not values else (("low", min(values)), ("high", max(values)))
    more = (
        ("distribution", "chosen"),
        *((name, repr(float(value))) for name, value in ends),
        ("pedigree", "a value of the study"),
    )
    meaning = "lever, as typed" if words else "lever"
    return Column(lever.address, lever.dtype, lever.unit, meaning, more=more)


def _column(lever: Lever) -> NDArray[Any]:
    return np.array(lever.values, dtype=object if lever.dtype == "str" else np.float64)


def _present(found: Found | None) -> Found:
    """Narrow what is known not to be None."""
    assert found is not None
    return found
