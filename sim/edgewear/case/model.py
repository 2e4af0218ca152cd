"""What a compiled option is made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Literal, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from edgewear.case.past_wear import PAST, Past
from edgewear.findings.outside import Outside
from edgewear.layout import EDGE, MOVEMENT
from edgewear.rigging.model import Rigged
from edgewear.scenario.models.scenario import Scenario

Records = NDArray[np.void]
"""A structured array with one of the dtypes of `layout`."""


class Shift(NamedTuple):
    """A coordinate in a case that follows a place: plus sign * (value - median)."""

    array: Literal["lines", "edges", "variants"]
    where: tuple[int, ...]  # index into it
    field: str
    component: int | tuple[int, ...] | None = None  # of a vector field
    sign: float = 1.0


@dataclass(frozen=True)
class Uncertainty:
    """A number of the scenario that may vary.

    The name is its address, the same in every option, so that all options meet the same world.
    `low` and `high` bound the central 90 %; a distribution "fixed" is never drawn, but a study
    may set it. `kind` is "epistemic" (nobody knows) or "aleatory" (this stroke, this rope).
    `leans` correlates it: (name, loading) on the standard normals of other names' own draws, the
    rest on its own; the squares of the loadings sum to less than 1. No draw lies above `most`.
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
    leans: tuple[tuple[str, float], ...] = ()
    shifts: tuple[Shift, ...] = ()  # of a coordinate; every other number is filled in by name
    most: float = inf  # nothing above it is physically possible


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


class Marks(NamedTuple):
    """What is said of the inputs of runs, one text a run; empty: nothing to say."""

    extrapolated: NDArray[np.object_]  # addresses outside the observations, comma separated
    unlike_standard: NDArray[np.object_]  # what a rope's standard would not pass, comma separated


class Fills(Protocol):
    """Fills the arrays of runs, and judges their inputs."""

    @property
    def scenario(self) -> Scenario:
        """The scenario that the case was compiled from."""

    def batch(
        self, case: Case, tape: Records, values: Mapping[str, NDArray[np.float64]], runs: int
    ) -> Batch:
        """Fill the arrays of runs."""

    def written(
        self, case: Case, tape: Records, values: Mapping[str, NDArray[np.float64]]
    ) -> Records:
        """Write the numbers of one run into a tape that was made with the scenario's."""

    def moving(self, case: Case, values: Mapping[str, NDArray[np.float64]]) -> Case:
        """Give the case with the strokes of one run."""

    def marks(self, case: Case, batch: Batch, values: Mapping[str, NDArray[np.float64]]) -> Marks:
        """Judge the inputs of runs."""

    def graded(self, batch: Batch) -> tuple[Outside, ...]:
        """Grade how far the scenario's own inputs lie outside the observations."""


ARRAYS = ("people", "lines", "edges", "wear", "variants")
"""Arrays of a case that runs have copies of."""


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
    extrapolated: tuple[str, ...] = ()  # addresses outside the observations
    variants: Records = field(default_factory=lambda: np.zeros(0, EDGE))
    conditions: tuple[tuple[int, int, str | None, str], ...] = ()  # of the variants
    let_out_m: float = 0.0  # rope behind the fixed points that the job may let out
    fallbacks: tuple[tuple[str, int, int], ...] = ()  # deviation, section, section without it
    past: Records = field(default_factory=lambda: np.zeros(0, PAST))  # (lines,)
    pasts: tuple[Past | None, ...] = ()  # worn parts of each section; empty: no rope has any
    heat: Records | None = None  # case.heat.HEAT (lines, MAX_EDGES); None: no temperatures
    heat_of_conditions: Records | None = None  # the same of each condition
    filler: Fills | None = None  # fills the arrays; None: made by hand, nothing varies

    def pattern(self, person: int, technique: str, system: str = "") -> int:
        """Index of a person's pattern for a technique and an ascent system [row of `patterns`]."""
        wanted = (person, technique, system)
        return next(
            i for i, p in enumerate(self.patterns) if (p.person, p.technique, p.system) == wanted
        )

    def batch(self, tape: Records, values: Mapping[str, NDArray[np.float64]], runs: int) -> Batch:
        """Copies for `runs` runs, filled with one column of values per uncertainty.

        Names in `values` that this case does not know concern other options and are passed over.
        A NaN leaves the case's own number.
        """
        if self.filler is None or not values:
            arrays = {name: np.repeat(getattr(self, name)[None], runs, axis=0) for name in ARRAYS}
            arrays["past"] = np.repeat(self.past[None], runs, axis=0)
            return Batch(**arrays, tape=np.repeat(tape[None], runs, axis=0))
        return self.filler.batch(self, tape, values, runs)

    def marks(self, batch: Batch, values: Mapping[str, NDArray[np.float64]]) -> Marks:
        """Judge the inputs of every run of a batch that was filled with these values.

        Raises:
            ValueError: a case made by hand, which knows no inputs.
        """
        return self._fills().marks(self, batch, values)

    def outside(self) -> tuple[Outside, ...]:
        """Grade how far the scenario's own inputs lie outside the observations, furthest first.

        Raises:
            ValueError: a case made by hand, which knows no inputs.
        """
        return self._fills().graded(self.batch(np.zeros(0, MOVEMENT), {}, 1))

    def _fills(self) -> Fills:
        if self.filler is None:
            raise ValueError(f"{self.option}: made by hand, without inputs to judge")
        return self.filler
