"""An option as numbers: record arrays in SI, and what may vary resolved to places in them.

A run is a patched copy of a case; no file, model or unit code is touched per run.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.rigging.model import Rigged

Records = NDArray[np.void]
"""A structured array with one of the dtypes of `layout`."""


class Target(NamedTuple):
    """A place in a case that an uncertain quantity sets or scales."""

    array: str  # people, lines, edges, wear or tape
    where: tuple[Any, ...]  # index into it
    field: str
    component: int | None = None  # of a vector field
    power: float | None = None  # None: set; else multiply by (value / median) ** power


@dataclass(frozen=True)
class Uncertainty:
    """Something nobody chooses: a distribution, and the places its value goes to.

    `low` and `high` bound the central 90 %; `kind` is "epistemic" (nobody knows) or
    "aleatory" (this stroke, this rope).
    """

    name: str
    distribution: str  # normal, lognormal, uniform, triangular or fixed
    median: float
    low: float
    high: float
    unit: str
    kind: str
    source: str
    targets: tuple[Target, ...]


class Pattern(NamedTuple):
    """How a person moves with one technique and system: the numbers of a stroke and a descent."""

    person: int  # row of `people`
    technique: str
    rise_m: float
    sit_back_m: float
    rise_s: float
    drop_s: float
    pause_s: float
    descent_m_s: float
    stop_s: float
    stop_every_m: float


@dataclass(frozen=True)
class Batch:
    """The arrays of n runs side by side; the leading axis is the run."""

    people: Records  # (n, people)
    lines: Records  # (n, lines)
    edges: Records  # (n, lines, MAX_EDGES)
    wear: Records  # (n, lines)
    tape: Records  # (n, movements)


@dataclass(frozen=True)
class Case:
    """One option of a scenario, ready to run."""

    option: str
    people: Records
    lines: Records
    edges: Records
    wear: Records
    person_names: tuple[str, ...]
    line_names: tuple[str, ...]  # one a section, in the order of `lines`
    edge_names: tuple[tuple[str, ...], ...]
    patterns: tuple[Pattern, ...]
    uncertainties: tuple[Uncertainty, ...]
    rigged: Rigged
    extrapolated: tuple[str, ...] = ()

    def pattern(self, person: int, technique: str) -> int:
        """Index of a person's pattern for a technique [row of `patterns`]."""
        wanted = (person, technique)
        return next(i for i, p in enumerate(self.patterns) if (p.person, p.technique) == wanted)

    def batch(self, tape: Records, values: Mapping[str, NDArray[np.float64]], runs: int) -> Batch:
        """Copies for `runs` runs, patched with one column of values per uncertainty.

        Names in `values` that this case does not know concern other options and are passed over.
        """
        arrays = {
            name: np.repeat(getattr(self, name)[None], runs, axis=0)
            for name in ("people", "lines", "edges", "wear")
        }
        arrays["tape"] = np.repeat(tape[None], runs, axis=0)
        for uncertainty in self.uncertainties:
            if uncertainty.name in values:
                _patch(arrays, uncertainty, values[uncertainty.name])
        return Batch(**arrays)


def _patch(
    arrays: dict[str, Records], uncertainty: Uncertainty, values: NDArray[np.float64]
) -> None:
    """Write one column of values to every place the uncertainty reaches."""
    for target in uncertainty.targets:
        field = arrays[target.array][target.field]
        place: tuple[Any, ...] = (slice(None), *target.where)
        if target.component is not None:
            place = (*place, target.component)
        column = values.reshape(-1, *([1] * (field[place].ndim - 1)))
        if target.power is None:
            field[place] = column
        else:
            field[place] *= (column / uncertainty.median) ** target.power
