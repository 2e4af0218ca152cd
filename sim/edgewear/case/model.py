"""What a compiled option is made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.case.past_wear import PAST, Past
from edgewear.layout import EDGE, Kind
from edgewear.rigging.model import Rigged

Records = NDArray[np.void]
"""A structured array with one of the dtypes of `layout`."""


ArrayName = Literal["people", "lines", "edges", "wear", "variants", "past", "tape"]
How = Literal["set", "scale", "shift", "exponent"]


class Target(NamedTuple):
    """A place in a case that an uncertain quantity writes to.

    set: the value itself; scale: times (value / median) ** power; shift: plus
    power * (value - median); exponent: times power ** (value - median).
    """

    array: ArrayName
    where: tuple[Any, ...]  # index into it; for the tape, see `_rows`
    field: str
    component: int | tuple[int, ...] | None = None  # of a vector field
    how: How = "set"
    power: float = 1.0


@dataclass(frozen=True)
class Uncertainty:
    """A number of the scenario that may vary, and the places its value goes to.

    The name is its address, the same in every option, so that all options meet the same world.
    `low` and `high` bound the central 90 %; a distribution "fixed" is never drawn, but a study
    may set it. `kind` is "epistemic" (nobody knows) or "aleatory" (this stroke, this rope).
    `leans` correlates it: (name, loading) on the standard normals of other names' own draws, the
    rest on its own; the squares of the loadings sum to less than 1.
    """

    name: str
    group: str  # friction, wear, body, rope, technique, survey, protection
    distribution: str  # fixed, normal, lognormal, uniform, triangular
    median: float
    low: float
    high: float
    unit: str
    kind: str
    source: str
    targets: tuple[Target, ...]
    leans: tuple[tuple[str, float], ...] = ()


class Pattern(NamedTuple):
    """How a person moves with one technique: the numbers of a stroke and a descent."""

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
    system: str = ""  # of a step that names one; empty: the person's own


@dataclass(frozen=True)
class Batch:
    """The arrays of n runs side by side; the leading axis is the run."""

    people: Records  # (n, people)
    lines: Records  # (n, lines)
    edges: Records  # (n, lines, MAX_EDGES)
    wear: Records  # (n, lines)
    tape: Records  # (n, movements)
    variants: Records  # (n, variants) EDGE
    past: Records  # (n, lines) PAST

    def row(self, run: int, **changed: Records) -> Batch:
        """One of the runs by itself, with other arrays in the place of some."""
        alone = {
            name: changed.get(name, array[run : run + 1]) for name, array in vars(self).items()
        }
        return Batch(**alone)


@dataclass(frozen=True)
class Case:
    """One option of a scenario, ready to run."""

    option: str
    people: Records
    lines: Records
    edges: Records
    wear: Records
    person_names: tuple[str, ...]
    line_names: tuple[str, ...]  # as reported; the sections of one line share a name
    edge_names: tuple[tuple[str, ...], ...]
    patterns: tuple[Pattern, ...]
    uncertainties: tuple[Uncertainty, ...]
    rigged: Rigged
    extrapolated: tuple[str, ...] = ()
    variants: Records = field(default_factory=lambda: np.zeros(0, EDGE))
    conditions: tuple[tuple[int, int, str | None, str], ...] = ()  # of the variants
    let_out_m: float = 0.0  # rope behind the fixed points that the job may let out
    fallbacks: tuple[tuple[str, int, int], ...] = ()  # deviation, section, section without it
    past: Records = field(default_factory=lambda: np.zeros(0, PAST))  # (lines,)
    pasts: tuple[Past | None, ...] = ()  # worn parts of each section; empty: no rope has any
    heat: Records | None = None  # case.heat.HEAT (lines, MAX_EDGES); None: no temperatures

    def pattern(self, person: int, technique: str, system: str = "") -> int:
        """Index of a person's pattern for a technique and an ascent system [row of `patterns`]."""
        wanted = (person, technique, system)
        return next(
            i for i, p in enumerate(self.patterns) if (p.person, p.technique, p.system) == wanted
        )

    def batch(self, tape: Records, values: Mapping[str, NDArray[np.float64]], runs: int) -> Batch:
        """Copies for `runs` runs, patched with one column of values per uncertainty.

        Names in `values` that this case does not know concern other options and are passed over.
        """
        arrays = {
            name: np.repeat(getattr(self, name)[None], runs, axis=0)
            for name in ("people", "lines", "edges", "wear", "variants", "past")
        }
        arrays["tape"] = np.repeat(tape[None], runs, axis=0)
        for uncertainty in self.uncertainties:
            if uncertainty.name in values:
                _patch(arrays, uncertainty, np.asarray(values[uncertainty.name]))
        return Batch(**arrays)


def _patch(
    arrays: dict[str, Records], uncertainty: Uncertainty, values: NDArray[np.float64]
) -> None:
    """Write one column of values to every place the uncertainty reaches."""
    for target in uncertainty.targets:
        field = arrays[target.array][target.field]
        place = _place(arrays, target)
        column = values.reshape(-1, *([1] * (field[place].ndim - 1)))
        if target.how == "set":
            field[place] = column
        elif target.how == "scale":
            _scale(field, place, (column / uncertainty.median) ** target.power)
        elif target.how == "exponent":
            field[place] *= target.power ** (column - uncertainty.median)
        else:
            _set(field, place, field[place] + target.power * (column - uncertainty.median))


def _scale(field: NDArray[Any], place: tuple[Any, ...], factor: NDArray[np.float64]) -> None:
    """Multiply in place; what is counted in ticks stays whole."""
    _set(field, place, field[place] * factor)


def _set(field: NDArray[Any], place: tuple[Any, ...], values: NDArray[np.float64]) -> None:
    """Write values; ticks stay whole and do not fall below 0."""
    whole = np.issubdtype(field.dtype, np.integer)
    field[place] = np.maximum(np.rint(values), 0.0) if whole else values


def _rows(tape: Records, where: tuple[Any, ...]) -> NDArray[np.int64]:
    """Rows of a tape: of a pattern (index,), or of work in place (person, step of their list).

    A third entry names the kind of the movements, else WORK: what is still of work is HOLD.
    """
    if len(where) == 1:
        return np.flatnonzero(tape["pattern"] == where[0])
    person, step, kind = where if len(where) == 3 else (*where, Kind.WORK)
    mine = (tape["person"] == person) & (tape["step"] == step)
    return np.flatnonzero(mine & (tape["kind"] == kind))


def _place(arrays: dict[str, Records], target: Target) -> tuple[Any, ...]:
    """Index of a target below the run axis."""
    if target.array == "tape":
        return (slice(None), _rows(arrays["tape"][0], target.where))
    place: tuple[Any, ...] = (slice(None), *target.where)
    if target.component is None:
        return place
    inner = target.component if isinstance(target.component, tuple) else (target.component,)
    return (*place, *inner)
