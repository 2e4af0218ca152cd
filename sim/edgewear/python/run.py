"""One run from Python, with everything it left behind as frames."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from edgewear import records
from edgewear.python.frames import STROKE, frame_of
from edgewear.python.pictures import draw

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from edgewear.engine.run_job import Performance


@dataclass(frozen=True, eq=False)
class Run:
    """One option played once with nominal values, and the scenario's own reactions."""

    option: str
    done: Performance

    def outcome(self) -> pd.Series[Any]:
        """Give the figures of the run by name, units in `attrs`."""
        from edgewear.engine.results.outcome import outcome

        frame = frame_of(outcome(self.done.player, self.done.ticks).run, records.RUN)
        row: pd.Series[Any] = frame.iloc[0].rename(self.option)
        row.attrs.update(frame.attrs)
        return row

    def wear(self) -> pd.DataFrame:
        """Give the sheath demand along every rope that was used: worn stretches, every cell.

        `rope` counts the ropes of a line, which are several where it was swapped.
        """
        from edgewear.engine.results.nominal_tables import wear_of

        return frame_of(wear_of(self.done, self.option), records.WEAR)

    def timeline(self) -> pd.DataFrame:
        """Give depth, tensions, sliding path and demand over time, at the rate asked of the run.

        `rope` counts the ropes of a line, which are several where it was swapped.
        """
        from edgewear.engine.results.nominal_tables import timeline_of

        return frame_of(timeline_of(self.done, self.option, None), records.TIMELINE)

    def edges(self) -> pd.DataFrame:
        """Give what happened at every edge to every rope that was used."""
        from edgewear.engine.results.outcome import edge_rows

        return frame_of(edge_rows(self.done.player), records.EDGE).drop(columns="run")

    def events(self) -> pd.DataFrame:
        """Give what happened, in order; `tick` counts 0.1 ms."""
        from edgewear.engine.results.nominal_tables import events_of

        return frame_of(events_of(self.done, self.option), records.EVENT)

    def strokes(self) -> pd.DataFrame:
        """Give how far a mark on the rope travelled at every edge in each stroke."""
        from edgewear.engine.results.traces import travel_of

        rows = travel_of(self.done.player)
        return frame_of(np.array(rows, records.numpy_dtype(STROKE)), STROKE)

    def plot(self, what: str = "profile", axes: Axes | None = None) -> Axes:
        """Draw the run.

        Parameters:
            what: `profile` (demand along the rope), `timeline` (tension), `edges`.
            axes: of matplotlib, to draw into; new ones if left out.

        Raises:
            UsageError: no such picture, or matplotlib is not installed.
        """
        return draw(self, what, self.option, axes)
