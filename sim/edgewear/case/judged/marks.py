"""What is said of the inputs of each run: outside the observations, unlike any standard's rope."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from edgewear.case.filling.following import lower_m
from edgewear.case.filling.numbers import Numbers
from edgewear.case.filling.recipe import Arrays, Recipe, attribute
from edgewear.case.judged.domain import graded, outside
from edgewear.case.judged.lying import Lies
from edgewear.case.model import Batch, Marks
from edgewear.findings.outside import Outside
from edgewear.scenario.checks.standards import unlike
from edgewear.scenario.models.gear import Rope
from edgewear.scenario.text.quantities import Measured
from edgewear.scenario.text.stiffness import stiffness_of

STANDARD = ("diameter", "strength", "termination", "elongation", "stiffness", "sheath share")
"""Numbers of a rope that its standard speaks of."""


def marks_of(
    recipe: Recipe,
    batch: Batch,
    values: Mapping[str, NDArray[np.float64]],
    moved: bool,
) -> Marks:
    """Judge the inputs of every run of a batch.

    Parameters:
        recipe: of the case.
        batch: filled with the values.
        values: name -> (runs,).
        moved: whether places of the survey differ from run to run.
    """
    numbers, runs = Numbers(values), len(batch.lines)
    arrays: Arrays = {"lines": batch.lines, "edges": batch.edges}
    people = dict.fromkeys(s.person for s in recipe.rigged.sections)
    lower = {who: lower_m(recipe, who, numbers) for who in people} if moved else {}
    lying = Lies(recipe, arrays, moved, lower)
    return Marks(
        outside(recipe, numbers, lying, runs),
        tuple(", ".join(_unlike(recipe, values, run)) for run in _each(recipe, values, runs)),
    )


def graded_of(recipe: Recipe, batch: Batch) -> tuple[Outside, ...]:
    """Grade how far the scenario's own inputs lie outside the observations, the furthest first.

    Parameters:
        recipe: of the case.
        batch: of one run, filled with the scenario's numbers.
    """
    arrays: Arrays = {"lines": batch.lines, "edges": batch.edges}
    return graded(recipe, Numbers(), Lies(recipe, arrays, False, {}))


def _each(recipe: Recipe, values: Mapping[str, NDArray[np.float64]], runs: int) -> list[int | None]:
    """Runs whose ropes differ; None for every run where none does."""
    vary = any(f"ropes/{name}/{w}" in values for name in _ropes(recipe) for w in STANDARD)
    return list(range(runs)) if vary else [None] * runs


def _ropes(recipe: Recipe) -> list[str]:
    """Ropes that the option uses."""
    return list(dict.fromkeys(section.rope for section in recipe.rigged.sections))


def _unlike(
    recipe: Recipe, values: Mapping[str, NDArray[np.float64]], run: int | None
) -> list[str]:
    found = []
    for name in _ropes(recipe):
        rope = recipe.scenario.ropes[name]
        if run is not None:
            rope = _rope(name, rope, values, run)
        found += [f"ropes/{name}: {subject}" for subject in unlike(rope)]
    return found


def _rope(name: str, rope: Rope, values: Mapping[str, NDArray[np.float64]], run: int) -> Rope:
    """A rope with the numbers of a run."""
    changed: dict[str, Measured] = {}
    for word in STANDARD:
        column = values.get(f"ropes/{name}/{word}")
        own: Measured | None = getattr(rope, attribute(word))
        if column is not None and own is not None and not np.isnan(column[run]):
            changed[attribute(word)] = Measured.exact(float(column[run]), own.unit)
    if "elongation" in changed:
        changed["stiffness"] = stiffness_of(changed["elongation"])
    return rope.model_copy(update=changed) if changed else rope
