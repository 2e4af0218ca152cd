"""One component of a person's lines taken to have failed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from math import inf, sqrt
from typing import Any

from edgewear import spelt
from edgewear.findings.limits import AboveLimit, Beyond, Figure, NoRoom
from edgewear.findings.plain import APART, plain
from edgewear.terms import GRAVITY_M_S2


class Cause(Enum):
    """Why a line holds or does not, or why nobody can tell."""

    HOLDS = "holds"
    NO_LINE = "there is no other line"
    SHARED = "both lines depend on it"
    WEAK = "something bears less than the peak"
    NO_ROOM = "something is in the way"
    CUTS = "an edge can part a rope in one pass"


@dataclass(frozen=True)
class Met:
    """Something that a swing comes to."""

    name: str
    aside_m: float  # from where the swing began
    speed_m_s: float

    @property
    def words(self) -> str:
        """The finding in words."""
        return (
            f"would swing into {self.name}, {spelt.tenths(self.aside_m)} aside, at "
            f"{spelt.significant(self.speed_m_s)} m/s"
        )


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
    room: NoRoom | None = field(default=None, metadata=APART)  # what is in the way below
    into: Met | None = field(default=None, metadata=APART)  # on the way of the swing

    @property
    def above(self) -> tuple[AboveLimit, ...]:
        """What of its drop and its peak is above a limit."""
        return tuple(one for one in self.beyond if isinstance(one, AboveLimit))

    @property
    def longest_drop_m(self) -> float | None:
        """The careful end of the drop; inf: nothing may end it, None: no line is to end it."""
        return (
            inf if self.drop_careful_m is None and self.drop_m is not None else self.drop_careful_m
        )

    @property
    def hits_m_s(self) -> float:
        """How fast somebody meets what is in the way; inf: no line holds, 0: nothing is met.

        A missing metre of room counts as a free fall of a metre, so that what is below and what
        is beside can be told apart by how bad they are.
        """
        if self.holds is not False:
            return 0.0
        if self.cause is not Cause.NO_ROOM:
            return inf
        beside = 0.0 if self.into is None else self.into.speed_m_s
        short_m = 0.0 if self.room is None else self.room.short_m
        return max(beside, sqrt(2.0 * GRAVITY_M_S2 * short_m))

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
    room: NoRoom | None = None  # what is in the way below; the worst of all components

    @property
    def words(self) -> str:
        """The finding in words."""
        failed = f"if {' or '.join(self.components)} failed"
        if self.cause is Cause.NO_ROOM:
            return f"{failed}, {self.person} {self.why}"
        if self.holds is None:
            return f"{failed}, not known whether {self.person} is held: {self.why}"
        return f"{failed}, nothing would hold {self.person}: {self.why}"


def doubts_of(rows: Iterable[Failure]) -> tuple[Doubt, ...]:
    """Gather single failures that leave a doubt: those that read alike, once.

    Of those that end on one thing below, the one with least room is told; of those that swing
    into one thing beside, the fastest.
    """
    found: dict[tuple[str, bool | None, str, Cause], list[Failure]] = {}
    for row in rows:
        if row.in_doubt:
            found.setdefault((row.person, row.holds, _alike(row), row.cause), []).append(row)
    return tuple(_doubt(some) for some in found.values())


def _alike(row: Failure) -> str:
    """Give what failures must have in common to be told as one."""
    if row.room is not None:
        return f"room above {row.room.name}"
    if row.cause is Cause.NO_ROOM and row.into is not None:
        return f"swing into {row.into.name}"
    return row.why


def with_doubts(rigged: Mapping[str, Any], doubts: Sequence[Doubt]) -> dict[str, Any]:
    """Put what nobody can say is survived into what rigging says of an option, before all else."""
    mind = [*(doubt.words for doubt in doubts), *rigged.get("mind", ())]
    return {**rigged, "doubts": plain(doubts), "mind": mind}


def without_room(doubts: Iterable[Mapping[str, object]]) -> bool:
    """Tell whether a catch would end on something in the way, by doubts as a dataset holds them.

    Older datasets say nothing of it.
    """
    return any(doubt.get("cause") == Cause.NO_ROOM.value for doubt in doubts)


def _fastest(alike: Sequence[Failure]) -> Failure:
    """Give the one that swings fastest; the first where nobody swings into anything."""
    return max(alike, key=lambda row: 0.0 if row.into is None else row.into.speed_m_s)


def _doubt(alike: Sequence[Failure]) -> Doubt:
    room = least_room(row.room for row in alike)
    first = alike[0]
    return Doubt(
        first.person,
        _components(alike),
        tuple(sorted({row.step for row in alike})),
        first.holds,
        _fastest(alike).why if room is None else room.words,
        first.cause,
        room,
    )


def _components(alike: Sequence[Failure]) -> tuple[str, ...]:
    """Name what failed; a line cut at an edge only where nothing else fails so."""
    others = [row for row in alike if row.kind != "edge"]
    return tuple(dict.fromkeys(row.called for row in others or alike))


def least_room(found: Iterable[NoRoom | None]) -> NoRoom | None:
    """Join what is said of one thing below: the most that is missing at each end of the drops."""
    rooms = [one for one in found if one is not None]
    if not rooms:
        return None
    middle_m = max((one.middle_m for one in rooms if one.middle_m is not None), default=None)
    return NoRoom(
        rooms[0].name,
        max(one.short_m for one in rooms),
        all(one.careful for one in rooms),
        middle_m,
    )
