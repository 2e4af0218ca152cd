"""Fills the arrays of runs from their numbers, and judges their inputs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.case.filling.following import follow, hang_on
from edgewear.case.filling.numbers import Numbers
from edgewear.case.filling.recipe import Recipe
from edgewear.case.judged.marks import graded_of, marks_of
from edgewear.case.model import ARRAYS, Batch, Case, Marks, Records, Shift, Uncertainty
from edgewear.findings.outside import Outside
from edgewear.scenario.models.scenario import Scenario


@dataclass(frozen=True)
class Filler:
    """Makes runs of a case by its recipe."""

    recipe: Recipe

    @property
    def scenario(self) -> Scenario:
        """The scenario that the case was compiled from."""
        return self.recipe.scenario

    def batch(
        self, case: Case, tape: Records, values: Mapping[str, NDArray[np.float64]], runs: int
    ) -> Batch:
        """Fill the arrays of runs; names that the case does not know are passed over.

        Parameters:
            case: of the recipe.
            tape: MOVEMENT (m,) with the scenario's numbers.
            values: name -> (runs,) in SI; NaN leaves the case's own number.
            runs: how many.
        """
        names = {one.name for one in case.uncertainties}
        known = {n: np.asarray(c, np.float64) for n, c in values.items() if n in names}
        found = self._filled(case, known, runs)
        found["past"] = self._past(case, known, runs)
        moved = [one for one in case.uncertainties if one.name in known and one.shifts]
        for one in moved:
            _shift(found, one, known[one.name])
        if moved:
            follow(self.recipe, found["lines"], Numbers(known))
        found["tape"] = np.repeat(tape[None], runs, axis=0)
        self._write(found["tape"], Numbers(known), bool(moved))
        return Batch(**found)

    def written(
        self, case: Case, tape: Records, values: Mapping[str, NDArray[np.float64]]
    ) -> Records:
        """Write the numbers of one run into a tape that was made with the scenario's.

        Parameters:
            case: of the recipe.
            tape: MOVEMENT (m,); left as it is.
            values: name -> (1,) in SI; NaN leaves the case's own number.

        Returns:
            MOVEMENT (m,).
        """
        known = {one.name: values[one.name] for one in case.uncertainties if one.name in values}
        found: Records = np.repeat(tape[None], 1, axis=0)
        moved = any(one.shifts for one in case.uncertainties if one.name in known)
        self._write(found, Numbers(known), moved)
        one: Records = found[0]
        return one

    def moving(self, case: Case, values: Mapping[str, NDArray[np.float64]]) -> Case:
        """Give the case with the strokes of one run, so that whoever waits for it waits as long.

        Parameters:
            case: of the recipe.
            values: name -> (1,) in SI; NaN leaves the case's own number.
        """
        names = {one.name for one in case.uncertainties}
        numbers = Numbers({name: column for name, column in values.items() if name in names})
        patterns = tuple(self.recipe.stroke(pattern, numbers) for pattern in case.patterns)
        return replace(case, patterns=patterns)

    def _write(self, tape: Records, numbers: Numbers, moved: bool) -> None:
        if not tape.shape[1]:
            return
        self.recipe.write_tape(tape, numbers)
        if moved:
            hang_on(self.recipe, tape, numbers)

    def marks(self, case: Case, batch: Batch, values: Mapping[str, NDArray[np.float64]]) -> Marks:
        """Judge the inputs of every run of a batch that was filled with these values."""
        places = {one.name for one in case.uncertainties if one.shifts}
        return marks_of(self.recipe, batch, values, bool(places & set(values)))

    def graded(self, batch: Batch) -> tuple[Outside, ...]:
        """Grade how far inputs lie outside the observations; of one run as the scenario has it."""
        return graded_of(self.recipe, batch)

    def _past(self, case: Case, known: Mapping[str, NDArray[np.float64]], runs: int) -> Records:
        """How worn each section's rope was before the job: one world a rope."""
        found = np.repeat(case.past[None], runs, axis=0)
        for row, section in enumerate(self.recipe.rigged.sections):
            column = known.get(f"ropes/{section.rope}/past wear")
            if column is not None:
                found["z"][:, row] = np.where(np.isnan(column), case.past["z"][row], column)
        return found

    def _filled(
        self, case: Case, known: Mapping[str, NDArray[np.float64]], runs: int
    ) -> dict[str, Records]:
        before = self.recipe.arrays(Numbers())
        after = self.recipe.arrays(Numbers(known), runs)
        return {name: patched(getattr(case, name), before[name], after[name]) for name in ARRAYS}


def _shift(
    arrays: dict[str, Records], uncertainty: Uncertainty, values: NDArray[np.float64]
) -> None:
    """Move every coordinate that goes with a place."""
    moved = np.where(np.isnan(values), 0.0, values - uncertainty.median)
    for shift in uncertainty.shifts:
        field = arrays[shift.array][shift.field]
        place = _place(shift)
        field[place] += shift.sign * moved.reshape(-1, *([1] * (field[place].ndim - 1)))


def _place(shift: Shift) -> tuple[Any, ...]:
    """Index of a coordinate below the run axis."""
    place: tuple[Any, ...] = (slice(None), *shift.where)
    if shift.component is None:
        return place
    inner = shift.component if isinstance(shift.component, tuple) else (shift.component,)
    return (*place, *inner)


def patched(own: Records, before: Records, after: Records) -> Records:
    """Take over what runs change, in arrays that somebody may have changed before.

    Parameters:
        own: the case's (k ...).
        before: filled with the scenario's numbers (1, k ...).
        after: filled with those of the runs (n, k ...).

    Returns:
        (n, k ...): after; where `own` is not `before`, `own` times after over before.
    """
    if own.tobytes() == before.tobytes():  # nobody changed them: what comes after holds as it is
        return after
    found = np.repeat(own[None], len(after), axis=0)
    for name in own.dtype.names or ():
        was, now = before[name], after[name]
        changed = (now != was) & ~(np.isnan(was) & np.isnan(now))
        if not changed.any():
            continue
        mine = np.broadcast_to(own[name], now.shape)
        with np.errstate(divide="ignore", invalid="ignore"):
            scaled = mine * (now / was)
        found[name] = np.where(changed, np.where(mine == was, now, scaled), mine)
    return found
