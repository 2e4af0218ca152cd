"""When to look at a rope during a job, and when to stop instead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from edgewear import spelt
from edgewear.terms import WORKING


@dataclass(frozen=True)
class WornAt:
    """When a share of the sheath is worn, at the careful end: 5th percentile over the trials."""

    share: float  # 1: the core shows
    time_s: float | None  # None: in fewer than one trial in twenty
    ascended_m: float | None

    def as_json(self) -> dict[str, float | None]:
        """All of it as a JSON object."""
        return dict(vars(self))


@dataclass(frozen=True)
class WearsThrough:
    """An edge that wears through sooner than anybody can look again, at the careful end."""

    line: str
    edge: str
    time_s: float  # until the core shows: from the first look, or from the start
    strokes: int | None  # the same; None: not by climbing
    from_start: bool
    share: float = 1.0  # of the sheath that is gone by then; below 1: all that is known
    sudden: bool = False  # from the start, for the first look comes too late

    @property
    def words(self) -> str:
        """What it means on site."""
        through = f"about {self.strokes} strokes" if self.strokes else spelt.duration(self.time_s)
        line = "the line" if self.line == WORKING else self.line  # named after a person of several
        if self.share < 1.0:
            return f"stop: {self.edge} wears a third of the sheath of {line} in {through}"
        if self.sudden:
            return (
                f"stop: no look comes in time, {self.edge} wears {line} through at once, "
                f"{through} from the start"
            )
        if self.from_start:
            return f"stop: {self.edge} wears {line} through in {through}"
        return f"stop at the first look: from there {self.edge} wears {line} through in {through}"

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {**vars(self), "words": self.words}


@dataclass(frozen=True)
class Looks:
    """When to look at the rope: at the careful end, whichever comes first."""

    first_ascended_m: float | None
    first_time_s: float | None
    first_strokes: int | None
    every_ascended_m: float | None
    every_time_s: float | None
    every_strokes: int | None
    words: str
    worn_at: tuple[WornAt, ...] = ()  # a third, two thirds, core visible, wherever on the rope
    stop: WearsThrough | None = None  # instead of further looks, where none would be soon enough

    @property
    def first_is_due(self) -> bool:
        """Whether the first look tells anything: else there is only to stop."""
        return self.stop is None or not self.stop.from_start

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        worn = [worn.as_json() for worn in self.worn_at]
        return {
            **vars(self),
            "worn_at": worn,
            "stop": None if self.stop is None else self.stop.as_json(),
        }
