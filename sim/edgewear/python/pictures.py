"""Pictures of a run with matplotlib: the rope, the time, the edges."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Protocol

from edgewear import spelt
from edgewear.errors import UsageError
from edgewear.python.extras import needed

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes


class HasFrames(Protocol):
    """A run whose frames can be drawn."""

    def wear(self) -> pd.DataFrame:
        """Demand along the rope."""

    def timeline(self) -> pd.DataFrame:
        """Course over time."""

    def edges(self) -> pd.DataFrame:
        """What happened at every edge."""


def draw(run: HasFrames, what: str, title: str, axes: Axes | None) -> Axes:
    """Draw one picture of a run.

    Parameters:
        run: with its frames.
        what: `profile`, `timeline` or `edges`.
        title: over the picture.
        axes: of matplotlib, to draw into; new ones if left out.

    Raises:
        UsageError: no such picture, or matplotlib is not installed.
    """
    if what not in KINDS:
        raise UsageError(f"no picture is called {what!r}; there are {', '.join(KINDS)}")
    pyplot = needed("matplotlib.pyplot", "plot")
    axes = pyplot.subplots()[1] if axes is None else axes
    KINDS[what](run, axes)
    axes.set_title(f"{title}: a projection, not permission")
    return axes


def _names(rows: pd.DataFrame) -> list[str]:
    """Name the line of each row, and which of its ropes where it had several."""
    several = rows.groupby("line")["rope"].transform("max") > 1
    told = zip(rows["line"], rows["rope"], several, strict=True)
    return [spelt.one_rope(line, rope) if more else str(line) for line, rope, more in told]


def _by_rope(rows: pd.DataFrame) -> Iterator[tuple[str, pd.DataFrame]]:
    """Take a table apart, rope by rope."""
    for name, mine in rows.groupby(_names(rows), sort=False):
        yield str(name), mine


def _profile(run: HasFrames, axes: Axes) -> None:
    for name, rows in _by_rope(run.wear()):
        axes.plot(rows["along_m"], rows["demand"], label=name)
    axes.axhline(1.0, color="black", linewidth=0.8, linestyle="--")
    axes.set_xlabel("unstretched rope from the fixed point, m")
    axes.set_ylabel("sheath demand (1: the core shows)")
    axes.legend()


def _timeline(run: HasFrames, axes: Axes) -> None:
    for name, rows in _by_rope(run.timeline()):
        axes.plot(rows["time_s"], rows["tension_n"], label=name)
    axes.set_xlabel("time, s")
    axes.set_ylabel("tension at the person, N")
    axes.legend()


def _edges(run: HasFrames, axes: Axes) -> None:
    rows = run.edges()
    ropes = zip(rows["edge"], _names(rows), strict=True)
    axes.barh([f"{edge}, {name}" for edge, name in ropes], rows["demand_max"])
    axes.axvline(1.0, color="black", linewidth=0.8, linestyle="--")
    axes.invert_yaxis()
    axes.set_xlabel("largest sheath demand (1: the core shows)")


KINDS: dict[str, Callable[[HasFrames, Axes], None]] = {
    "profile": _profile,
    "timeline": _timeline,
    "edges": _edges,
}
"""Name of a picture -> what draws it."""
