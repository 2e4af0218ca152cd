"""What of a catch is more than it should be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from math import ceil, floor, inf, isfinite, isnan, nan
from typing import Any

from edgewear import spelt
from edgewear.findings.plain import Worded


class Figure(Enum):
    """A figure of a catch that has a limit."""

    DROP = "drop"  # [m]
    PEAK = "peak"  # [N]
    TEAR = "tear"  # peak [N], at which teeth may tear the sheath


@dataclass(frozen=True)
class Drop:
    """What a drop is made of [m]; the parts add up to it."""

    slack_m: float
    device_m: float  # rope that passes the backup device before it grips, and as it slips
    stretch_m: float
    sunk_m: float  # by swinging to the plumb line

    @property
    def whole_m(self) -> float:
        """All of it [m]."""
        return self.slack_m + self.device_m + self.stretch_m + self.sunk_m

    @property
    def words(self) -> str:
        """The parts that count, the largest first."""
        parts = [
            (self.slack_m, "slack"),
            (self.device_m, "device"),
            (self.stretch_m, "stretch"),
            (self.sunk_m, "swing"),
        ]
        shown = sorted((part for part in parts if part[0] >= LEAST_PART_M), reverse=True)
        return ", ".join(f"{length_m:.1f} m {what}" for length_m, what in shown)


LEAST_PART_M = 0.05
"""A part of a drop below this is not told [m]."""


@dataclass(frozen=True)
class AboveLimit(Worded):
    """A drop or a peak that is larger than it may be."""

    figure: Figure
    found: float  # [m] or [N]
    most: float  # the same
    source: str  # of the limit
    usual: bool = False  # taken because the scenario sets none
    careful: bool = False  # found at its careful end

    @property
    def words(self) -> str:
        """The finding in words."""
        return self.told()

    def told(self, made_of: str = "") -> str:
        """The finding in words, with what it is made of where that is known."""
        if not isfinite(self.found):
            may = "may be" if self.careful else "is"
            return f"{self.figure.value} {may} without end, more than {self._most} {self._where}"
        made = " at its careful end" * self.careful + (f" ({made_of})" if made_of else "")
        if self.figure is Figure.DROP:
            return (
                f"drop of {spelt.tenths(self.found)}{made}, more than {self.most:g} m {self._where}"
            )
        peak, most_kn = spelt.kilonewtons(self.found), self.most / 1000
        if self.figure is Figure.TEAR:
            return (
                f"peak of {peak}{made}: from {most_kn:g} kN on the backup's teeth may "
                f"tear the sheath {self._where}"
            )
        return f"peak of {peak}{made}, more than {most_kn:g} kN {self._where}"

    @property
    def short(self) -> str:
        """How much was found, alone."""
        if not isfinite(self.found):
            return "without end"
        if self.figure is Figure.DROP:
            return spelt.tenths(self.found)
        return spelt.kilonewtons(self.found)

    @property
    def _most(self) -> str:
        if self.figure is Figure.DROP:
            return f"{self.most:g} m"
        return f"{self.most / 1000:g} kN"

    @property
    def _where(self) -> str:
        """Say where the limit stands, and that nobody looked it up where it is the usual one."""
        if not self.usual:
            return f"({self.source})"
        return f"({self.source} from memory: check the current standard)"


@dataclass(frozen=True)
class Travel:
    """A line that travels along an edge, off the piece of protection that lies there."""

    travel_m: float
    edge: str
    piece: str


@dataclass(frozen=True)
class OffProtection(Worded):
    """A person swings, and takes the line off what protects it."""

    travels: tuple[Travel, ...]

    @property
    def places(self) -> str:
        """How far along which edge, off what."""
        return ", ".join(
            f"{spelt.tenths(one.travel_m)} along {one.edge} ({one.piece})" for one in self.travels
        )

    @property
    def words(self) -> str:
        """The finding in words."""
        return f"swings off its protection: {self.places}"


@dataclass(frozen=True)
class HardHaul(Worded):
    """A haul of the plan that one person alone cannot keep up."""

    person: str  # whose step it is
    step: int
    hauled: str
    pull_n: float
    most_n: float
    typed: bool  # whether the scenario says what one person may pull

    @property
    def words(self) -> str:
        """The finding in words."""
        source = "limits/hands" if self.typed else "assumed, 150-400 N"
        return (
            f"{self.person}, step {self.step}: to haul {self.hauled} one person alone would pull "
            f"{ceil(self.pull_n):.0f} N, more than {self.most_n:g} N ({source})"
        )


LEAST_TOLD_M = 0.1
"""Room, left or missing, is told in steps of this [m]: no drop is known more finely."""

HAIR_M = 0.001
"""Less room than that is none [m]."""


def short_of(length_m: float) -> str:
    """Say how much room is missing: rounded up, so that a little never reads as nothing."""
    if not isfinite(length_m):
        return "nothing stops the fall"
    return f"{_missing(length_m)} too little room"


def _missing(length_m: float) -> str:
    """Spell how much room is missing, rounded up."""
    if length_m < LEAST_TOLD_M:
        return f"less than {LEAST_TOLD_M:g} m"
    # what floating point adds to a whole tenth, as in 0.1 + 0.2, is no further tenth
    up_m = ceil(length_m / LEAST_TOLD_M - 1e-6) * LEAST_TOLD_M
    return f"{up_m:.1f} m"


def room_of(gap_m: float, name: str) -> str:
    """Say how much room is left above something below, or missing."""
    if gap_m < 0.0:
        return f"{short_of(-gap_m)} above {name}"
    if gap_m < HAIR_M:
        return f"just touches {name}"
    return f"{_left(gap_m)} clear of {name}"


def _left(gap_m: float) -> str:
    """Say how much room is left: rounded down, so that it never reads as more than there is."""
    down_m = floor(gap_m / LEAST_TOLD_M + 1e-6) * LEAST_TOLD_M  # 0.3 - 0.1 is two whole tenths
    return f"{down_m:.1f} m" if down_m > 0.0 else f"less than {LEAST_TOLD_M:g} m"


@dataclass(frozen=True)
class NoRoom:
    """Something below that somebody comes to before the catch has ended.

    How much room is missing is told at the careful end of the drop first: room is made by it.
    """

    name: str
    short_m: float  # how far below it the feet would come, at the careful end of the drop
    careful: bool = False  # at the careful end of the drop alone
    middle_m: float | None = None  # the same by the middle of the drop; None: not kept, or clear

    @classmethod
    def kept(cls, said: Mapping[str, Any]) -> NoRoom:
        """Make it of what a dataset holds; null: all of it is missing.

        Older datasets hold one length alone, of the middle where that is not clear.
        """
        short_m = inf if said["short_m"] is None else float(said["short_m"])
        careful, middle_m = bool(said["careful"]), said.get("middle_m", nan)
        if middle_m is None and not careful:
            middle_m = inf
        elif middle_m is not None and isnan(middle_m):  # not kept
            middle_m = None
        return cls(str(said["name"]), short_m, careful, middle_m)

    @property
    def words(self) -> str:
        """The finding in words, the person left out."""
        return f"{self.what} ({self.short})"

    @property
    def what(self) -> str:
        """What happens, without how much is missing."""
        if self.careful:
            return f"may reach {self.name} at the careful end of the drop"
        if not isfinite(self.short_m) and not self._ends_in_the_middle:
            return f"would reach {self.name}"
        return f"would reach {self.name} before the line stops the fall"

    @property
    def short(self) -> str:
        """How much room is missing, by the middle beside it where that reads otherwise."""
        if self.careful or self.middle_m is None or not self._ends_in_the_middle:
            return short_of(self.short_m)
        if not isfinite(self.short_m):
            return f"nothing may stop the fall, {short_of(self.middle_m)} in the middle"
        careful, middle = _missing(self.short_m), _missing(self.middle_m)
        beside = "" if careful == middle else f", {middle} in the middle"
        return f"{short_of(self.short_m)}{beside}"

    @property
    def _ends_in_the_middle(self) -> bool:
        return self.middle_m is not None and isfinite(self.middle_m)


Beyond = AboveLimit | OffProtection
"""What of a drop, a peak and a swing is more than it should be."""
