"""Getting a casualty from where they hang to the ground."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class WornAt:
    """What a rescue does to one line at one edge."""

    line: str
    edge: str
    demand: float
    peak_n: float


@dataclass(frozen=True)
class Within:
    """Whether times keep to the scenario's limits; None: no limit, or no time."""

    reach: bool | None = None
    release: bool | None = None
    ground: bool | None = None


@dataclass(frozen=True)
class Rescue:
    """One way of getting one person from one place of work."""

    person: str
    step: int
    depth_m: float
    method: str
    possible: bool = False
    why: str = ""
    load_kg: float | None = None
    hands_n: float | None = None
    reach_s: float | None = None  # since the call
    release_s: float | None = None
    ground_s: float | None = None
    reach_p95_s: float | None = None  # 19 of 20 are quicker
    release_p95_s: float | None = None
    ground_p95_s: float | None = None
    advantage: float = 1.0
    wear: tuple[WornAt, ...] = ()
    within: Within = Within()
    step_words: str = ""

    def middle_s(self, stage: str) -> float | None:
        """The middle time until a stage: reach, release or ground."""
        return {"reach": self.reach_s, "release": self.release_s, "ground": self.ground_s}[stage]

    def careful_s(self, stage: str) -> float | None:
        """The time until a stage that 19 of 20 keep to."""
        times = {
            "reach": self.reach_p95_s,
            "release": self.release_p95_s,
            "ground": self.ground_p95_s,
        }
        return times[stage]

    def keeps(self, stage: str) -> bool | None:
        """Whether a stage keeps to its limit."""
        kept = {
            "reach": self.within.reach,
            "release": self.within.release,
            "ground": self.within.ground,
        }
        return kept[stage]


STAGES = ("reach", "release", "ground")
