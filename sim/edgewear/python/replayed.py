"""One row of many runs, played again with everything written down."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from edgewear import records
from edgewear.errors import UsageError
from edgewear.python.frames import frame_of
from edgewear.python.pictures import draw

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from edgewear.case import Records
    from edgewear.study.model import ScenarioModel
    from edgewear.study.task import PlayedRows


@dataclass(frozen=True, eq=False)
class Replayed:
    """A row of a comparison or a sweep with its own draws, played again."""

    run: int
    option: str
    same: bool
    """Whether the outcome is, to the last bit, the one in the row."""
    played: PlayedRows
    traces: dict[str, Records]

    def outcome(self) -> pd.Series[Any]:
        """Give the figures of the run by name, units in `attrs`."""
        frame = frame_of(self.played.runs, records.RUN)
        row: pd.Series[Any] = frame.iloc[0].rename(self.option)
        row.attrs.update(frame.attrs)
        return row

    def edges(self) -> pd.DataFrame:
        """Give what happened at every edge to every rope that was used."""
        return frame_of(self.played.edges, records.EDGE)

    def wear(self) -> pd.DataFrame:
        """Give the sheath demand along every rope that was used."""
        return frame_of(self.traces["wear"], records.WEAR)

    def timeline(self) -> pd.DataFrame:
        """Give depth, tensions, sliding path and demand over time."""
        return frame_of(self.traces["timeline"], records.TIMELINE)

    def events(self) -> pd.DataFrame:
        """Give what happened, in order; `tick` counts 0.1 ms."""
        return frame_of(self.traces["events"], records.EVENT)

    def plot(self, what: str = "profile", axes: Axes | None = None) -> Axes:
        """Draw the run.

        Parameters:
            what: `profile` (demand along the rope), `timeline` (tension), `edges`.
            axes: of matplotlib, to draw into; new ones if left out.

        Raises:
            UsageError: no such picture, or matplotlib is not installed.
        """
        return draw(self, what, f"{self.option}, run {self.run}", axes)


def replayed(
    model: ScenarioModel,
    runs: pd.DataFrame,
    inputs: tuple[str, ...],
    run: int,
    rate_hz: float | None,
) -> Replayed:
    """Play a row of a frame of runs again.

    Parameters:
        model: that played it.
        runs: with its inputs and its outcome.
        inputs: names of the columns that are inputs.
        run: number of the row in the plan.
        rate_hz: samples of the timeline a second; None: 10, a long course thinned.

    Raises:
        UsageError: no such row, or no such rate.
        RunFailed: it cannot be computed.
    """
    row = runs[runs["run"] == run]
    if row.empty:
        raise UsageError(f"run {run}: there are rows 0 to {int(runs['run'].max())}")
    names = ("run", "option", "replicate", *inputs)
    block = {name: _column(row[name]) for name in names}
    played = replace(model, edges=True).play(block)
    same = all(_equal(played.runs[c.name][0], row[c.name].iloc[0]) for c in records.RUN)
    traces = model.traced(block, rate_hz)
    return Replayed(run, str(row["option"].iloc[0]), same, played, traces)


def _column(values: pd.Series[Any]) -> np.ndarray:
    import pandas as pd

    number = pd.api.types.is_numeric_dtype(values)
    return values.to_numpy() if number else values.to_numpy(dtype=object)


def _equal(one: object, other: object) -> bool:
    return bool(one == other or (one != one and other != other))


__all__ = ["Replayed"]
