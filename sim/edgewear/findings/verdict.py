"""What is held against a procedure, in one list, and the one change that removes most of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Any


class Held(Enum):
    """What is held against a procedure; the gravest first."""

    FALLS = "falls"
    NO = "does not hold"
    HANGS = "left hanging, no rescue shown"
    NOT_KNOWN = "not known whether it holds"
    LOST = "goes on with a lost line"
    ABOVE = "above a limit"
    SWINGS_OFF = "swings off its protection"


GRAVEST_FIRST = tuple(Held)


@dataclass(frozen=True)
class Point:
    """One thing that is held against a procedure."""

    held: Held
    where: str  # who, or what, and in which case
    words: str  # why
    usual: bool = False  # the scenario sets no limit that this passes
    times: int = 1  # components or cases that it stands for
    rescue: bool = False  # it is a rescue that is missing, or late

    def as_json(self) -> dict[str, Any]:
        """The point as documents have it."""
        return {**vars(self), "held": self.held.value}


@dataclass(frozen=True)
class Remedy:
    """The change that removed most, of those that were tried."""

    address: str  # where it would be typed
    typed: str
    left: int  # components and cases that stay, of what was looked at again
    of: int  # the same without it
    also: tuple[tuple[str, str], ...] = ()  # what is typed with it: address and text

    @property
    def words(self) -> str:
        """What would be typed, where."""
        every = ((self.address, self.typed), *self.also)
        return " and ".join(f"{address}: {typed}" for address, typed in every)


@dataclass(frozen=True)
class Verdict:
    """What stands first in every output."""

    points: tuple[Point, ...]  # the gravest first
    tried: int = 0  # changes
    known: int = 0  # changes that there were to choose from
    remedy: Remedy | None = None  # None: no change that was tried removes any

    @property
    def fails(self) -> bool:
        """Whether something falls, hangs, does not hold, is not known, or passes a set limit.

        A limit that the scenario does not set is told, and decides nothing here.
        """
        return any(not point.usual for point in self.points)

    def as_json(self) -> dict[str, Any]:
        """The verdict as documents have it."""
        remedy = None if self.remedy is None else {**vars(self.remedy), "words": self.remedy.words}
        points = [point.as_json() for point in self.points]
        return {"fails": self.fails, "points": points, "tried": self.tried,
                "known": self.known, "remedy": remedy}  # fmt: skip
