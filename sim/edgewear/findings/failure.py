"""One component of a person's lines taken to have failed."""

from __future__ import annotations

from dataclasses import dataclass, field

from edgewear.findings.limits import AboveLimit, Beyond, Figure
from edgewear.findings.plain import APART


@dataclass(frozen=True)
class Failure:
    """One component failed while a person hangs at one place."""

    component: str
    kind: str  # anchor, re-anchor, deviation, device, rope, edge or protection
    line: str
    step: int
    person: str
    depth_m: float
    holds: bool | None  # whether a line holds; None: nobody can tell
    over_edge: str | None  # the sharpest edge that line then runs over
    drop_m: float | None  # None: nothing ends the fall
    swing_m: float | None
    peak_n: float | None
    reachable: bool
    independent: bool  # False: the same failure concerns both lines
    why: str
    beyond: tuple[Beyond, ...] = ()
    step_words: str = ""
    called: str = field(default="", metadata=APART)  # the component, where its person is named

    @property
    def above(self) -> tuple[AboveLimit, ...]:
        """What of its drop and its peak is above a limit."""
        return tuple(one for one in self.beyond if isinstance(one, AboveLimit))

    def is_above(self, figure: Figure) -> bool:
        """Tell whether its drop or its peak is above its limit."""
        return any(one.figure is figure for one in self.above)
