"""Two series of tests side by side."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from edgewear.cautions import CAUTIONS
from edgewear.findings.plain import plain

SCHEMA = "edgewear.two-series/1"


@dataclass(frozen=True)
class Sides:
    """Whether one rope lasts longer than another on the same edge."""

    names: tuple[str, str]
    counts: tuple[int, int]
    verdict: str  # "first lasts longer", "second lasts longer", "not told"
    chance: float
    """Share of all ways to deal these outcomes that part the two at least so far [1]."""
    least_chance: float
    """The smallest such share that series of these sizes can ever come to [1]."""
    ratio: tuple[float, float, float] | None
    """How many times as long the first lasts: middle, central 90 %; None: only one side came."""
    first_longer: float | None  # chance that the first lasts longer [1]
    needed: int | None
    """Samples of each that would tell in eight of ten series, were the ratio the middle one."""

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {"schema": SCHEMA, **plain(asdict(self)), "cautions": list(CAUTIONS)}
