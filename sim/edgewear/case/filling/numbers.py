"""The numbers of some runs: what a run gives by name, and the scenario's own for the rest.

A case is filled once with the scenario's numbers and again with those of a run, by the same
functions. So a run is what its numbers, typed into the scenario's file, would be.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from edgewear.scenario.text.quantities import Measured

Column = float | NDArray[np.float64]
"""One number, or one a run (n,)."""


class Numbers:
    """Looks numbers up by name and keeps which names were asked for."""

    def __init__(self, values: Mapping[str, NDArray[np.float64]] | None = None) -> None:
        """Use the values of some runs.

        Parameters:
            values: name -> (n,) in SI; NaN leaves the scenario's own number.
        """
        self._values = values or {}
        blank = ((name, np.isnan(column)) for name, column in self._values.items())
        self._gaps = {name: where for name, where in blank if where.any()}
        self.asked: set[str] = set()

    def __call__(self, name: str, measured: Measured) -> Column:
        """Give the number of that name in SI: a scalar, or (n,) where runs differ."""
        self.asked.add(name)
        column = self._values.get(name)
        if column is None:
            return measured.value
        if name not in self._gaps:
            return column
        return np.where(self._gaps[name], measured.value, column)

    def moves(self, name: str) -> bool:
        """Tell whether the runs give a number of that name."""
        return name in self._values
