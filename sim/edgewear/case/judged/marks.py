"""What is said of the inputs of each run: outside the observations, unlike any standard's rope."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from edgewear.case.filling.following import lower_m
from edgewear.case.filling.numbers import Numbers
from edgewear.case.filling.recipe import Arrays, Recipe
from edgewear.case.judged.domain import graded, outside
from edgewear.case.judged.lying import Lies
from edgewear.case.judged.named import named
from edgewear.case.model import Batch, Marks
from edgewear.findings.outside import Outside
from edgewear.scenario.checks.standards import Number, unlike_each
from edgewear.scenario.checks.standards import Numbers as Standards
from edgewear.scenario.models.gear import Rope
from edgewear.scenario.text.stiffness import stiffness_n as stiffness_of_share
from edgewear.terms import GRAVITY_M_S2


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
        _unlike(recipe, values, runs),
    )


def graded_of(recipe: Recipe, batch: Batch) -> tuple[Outside, ...]:
    """Grade how far the scenario's own inputs lie outside the observations, the furthest first.

    Parameters:
        recipe: of the case.
        batch: of one run, filled with the scenario's numbers.
    """
    arrays: Arrays = {"lines": batch.lines, "edges": batch.edges}
    return graded(recipe, Numbers(), Lies(recipe, arrays, False, {}))


def _unlike(
    recipe: Recipe, values: Mapping[str, NDArray[np.float64]], runs: int
) -> NDArray[np.object_]:
    """What the ropes' standards would not pass, a text a run."""
    return named(
        [
            (f"ropes/{name}: {subject}", where)
            for name in dict.fromkeys(section.rope for section in recipe.rigged.sections)
            for subject, where in _of_rope(name, recipe.scenario.ropes[name], values)
        ],
        runs,
    )


def _of_rope(
    name: str, rope: Rope, values: Mapping[str, NDArray[np.float64]]
) -> list[tuple[str, bool | NDArray[np.bool_]]]:
    """What a rope's standard may not pass, and in which runs it does not."""
    own = Standards.of(rope)

    def of(word: str, otherwise: Number) -> Number:
        column = values.get(f"ropes/{name}/{word}")
        return otherwise if column is None else np.where(np.isnan(column), otherwise, column)

    stiffness_n, elongation = of("stiffness", own.stiffness_n), own.elongation
    if rope.elongation is None:
        elongation = 100 * GRAVITY_M_S2 / stiffness_n
    elif (drawn := values.get(f"ropes/{name}/elongation")) is not None:
        elongation = of("elongation", elongation)  # and the stiffness follows from it
        stiffness_n = np.where(np.isnan(drawn), stiffness_n, stiffness_of_share(elongation))
    return unlike_each(
        rope,
        Standards(
            of("diameter", own.diameter_m),
            of("strength", own.strength_n),
            of("termination", own.termination),
            elongation,
            of("sheath share", own.sheath_share),
            stiffness_n,
        ),
    )
