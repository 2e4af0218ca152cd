"""One component of a person's lines taken to have failed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum

from edgewear.findings.limits import AboveLimit, Beyond, Figure
from edgewear.findings.plain import APART


class Cause(Enum):
    """Why a line holds or does not, or why nobody can tell."""

    HOLDS = "holds"
    NO_LINE = "there is no other line"
    SHARED = "both lines depend on it"
    WEAK = "something bears less than the peak"
    NO_ROOM = "something is in the way"
    CUTS = "an edge can part a rope in one pass"


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
    cause: Cause = field(default=Cause.HOLDS, metadata=APART)
    drop_careful_m: float | None = None  # the careful end of the drop; None: none ends it
    peak_careful_n: float | None = None
    clearance_m: Mapping[str, float] = field(default_factory=dict)  # thing below -> way from feet

    @property
    def above(self) -> tuple[AboveLimit, ...]:
        """What of its drop and its peak is above a limit."""
        return tuple(one for one in self.beyond if isinstance(one, AboveLimit))

    @property
    def in_doubt(self) -> bool:
        """Whether what is left does not hold, or nobody can tell, for a reason no status tells."""
        return self.holds is not True and self.cause in (Cause.WEAK, Cause.CUTS, Cause.NO_ROOM)

    def is_above(self, figure: Figure) -> bool:
        """Tell whether its drop or its peak is above its limit."""
        return any(one.figure is figure for one in self.above)


@dataclass(frozen=True)
class Doubt:
    """Components whose failure nobody can say that their person survives."""

    person: str
    components: tuple[str, ...]
    steps: tuple[int, ...]
    holds: bool | None  # None: nobody can tell
    why: str
    cause: Cause = Cause.WEAK

    @property
    def words(self) -> str:
        """The finding in words."""
        failed = f"if {' or '.join(self.components)} failed"
        if self.holds is None:
            return f"{failed}, not known whether {self.person} is held: {self.why}"
        return f"{failed}, nothing would hold {self.person}: {self.why}"


def doubts_of(rows: Iterable[Failure]) -> tuple[Doubt, ...]:
    """Gather single failures that leave a doubt: those that read alike, once."""
    found: dict[tuple[str, bool | None, str, Cause], list[Failure]] = {}
    for row in rows:
        if row.in_doubt:
            found.setdefault((row.person, row.holds, row.why, row.cause), []).append(row)
    return tuple(
        Doubt(
            person,
            tuple(dict.fromkeys(row.called for row in some)),
            tuple(sorted({row.step for row in some})),
            holds,
            why,
            cause,
        )
        for (person, holds, why, cause), some in found.items()
    )
