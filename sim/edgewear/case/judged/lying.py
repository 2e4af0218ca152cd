"""How the sections of runs lie over their edges where they are first used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from edgewear.case.filling.numbers import Column
from edgewear.case.judged.domain import Met
from edgewear.geometry.points import Point
from edgewear.rigging.laying import Laid, lay
from edgewear.rigging.model import Section

if TYPE_CHECKING:
    from edgewear.case.filling.recipe import Arrays, Recipe
    from edgewear.case.model import Records


@dataclass(frozen=True)
class Lies:
    """Sections of runs: bends and setbacks as given, or found from where everything is."""

    recipe: Recipe
    arrays: Arrays
    moved: bool  # whether places differ from run to run
    lower_m: Mapping[str, Column]  # person -> how much lower than by the survey they begin
    laid: dict[tuple[int, int], Laid | None] = field(default_factory=dict)  # (section, run)

    def __call__(self, row: int, column: int) -> Met:
        """Tell how an edge lies in each run."""
        section = self.recipe.rigged.sections[row]
        if section.direct:
            given = self.arrays["edges"][:, row]
            setback_m = given["after_m"][:, : column + 1].sum(axis=1)
            whole = np.full(len(given), isfinite(self._depth_m(section)))
            return Met(whole, setback_m, given["bend_rad"][:, column])
        runs = len(self.arrays["lines"])
        each = [self._met(row, column, run) for run in (range(runs) if self.moved else [0])]
        touched, setback_m, bend_rad = (np.array(part) for part in zip(*each, strict=True))
        many = 1 if self.moved else runs
        return Met(np.repeat(touched, many), np.repeat(setback_m, many), np.repeat(bend_rad, many))

    def _met(self, row: int, column: int, run: int) -> tuple[bool, float, float]:
        """Whether an edge is touched, its setback and its bend in one run."""
        if (row, run) not in self.laid:
            self.laid[row, run] = self._lay(row, run)
        laid = self.laid[row, run]
        if laid is None or column not in laid.edges:
            return False, 0.0, 0.0
        place = laid.edges.index(column)
        return True, laid.setback_m(place), laid.bends_rad[place]

    def _lay(self, row: int, run: int) -> Laid | None:
        section = self.recipe.rigged.sections[row]
        lower = np.ravel(self.lower_m.get(section.person, 0.0))
        depth_m = self._depth_m(section, float(lower[min(run, lower.size - 1)]))
        if not isfinite(depth_m):
            return None
        if self.moved:
            line, edges = self.arrays["lines"][run, row], self.arrays["edges"][run, row]
            section = moved_to(section, line, edges)
        return lay(section, depth_m)

    def _depth_m(self, section: Section, lower_m: float = 0.0) -> float:
        rigged = self.recipe.rigged
        begins = rigged.starts_m.get(section.person, rigged.start_depth_m) + lower_m
        return max(section.top_m, begins)


def _point(found: Records) -> Point:
    out, along, up = map(float, found)
    return out, along, up


def moved_to(section: Section, line: Records, edges: Records) -> Section:
    """Give a section with the places that a run has for it.

    Parameters:
        line: LINE () of the run.
        edges: EDGE (MAX_EDGES,).
    """
    placed = tuple(
        replace(edge, start_m=_point(at["start_m"]), end_m=_point(at["end_m"]))
        for edge, at in zip(section.edges, edges, strict=False)
    )
    track_m = tuple(map(_point, line["track_m"][: int(line["track_count"])]))
    return replace(
        section,
        anchor_m=_point(line["anchor_m"]),
        edges=placed,
        load_m=(float(line["load_out_m"]), float(line["load_along_m"])),
        track_m=track_m,
    )
