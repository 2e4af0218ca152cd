"""A part of a rigging that can fail, with the share of it that is used."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any

from edgewear import spelt

NEAR_LIMIT = 0.5
"""Parts that use less than this share of what they hold or last are told once for all options."""


@dataclass(frozen=True)
class Part:
    """Something that can fail beside the sheath of a working line."""

    kind: str  # anchor, re-anchor, deviation, rope, bypass sling, protection, backup device ...
    name: str
    lines: tuple[str, ...]
    people: tuple[str, ...]  # whose lines bear on it, where people share it
    how: str  # load, drop, wear, used up, dragged off
    case: str  # in work, rescue or catch
    used: float  # share of what it holds or lasts, at the careful end
    load: float
    most: float
    unit: str = "1"
    one_of_several: bool = False  # another line has one of this name

    @property
    def over(self) -> bool:
        """Whether it is asked for more than it may be."""
        return not self.used <= 1.0

    @property
    def near(self) -> bool:
        """Whether it is asked for so much that it is told with its option."""
        return self.used >= NEAR_LIMIT

    @property
    def counts(self) -> bool:
        """Whether a share above 1 costs the option its target; of a catch it is told beside it."""
        return self.over and self.kind != "backup device"

    @property
    def words(self) -> str:
        """What it is asked for, in a few words."""
        return f"{self._what}: {self._asked}{self._whose}"

    @property
    def _what(self) -> str:
        what = f"{self.name} ({self.kind})" if self.unit == "N" else self.name
        return f"{what} of {' and '.join(self.lines)}" if self.one_of_several else what

    @property
    def _asked(self) -> str:
        if not isfinite(self.load):
            return f"nothing ends a {self.how} in a {self.case}, {self.most:g} {self.unit} allowed"
        share = spelt.percent(self.used)
        if self.how == "wear":
            return self._worn(share)
        if self.how == "used up":
            return f"{share} of what wears it through"
        if self.how == "dragged off":
            slid = spelt.metres(self.load)
            return (
                f"{share} of what drags it off the edge: {slid} of rope slid over it at the "
                "careful end"
            )
        if self.how == "drop":
            return f"drop of {spelt.tenths(self.load)} in a catch, {self.most:g} m allowed"
        when = "in work" if self.case == "in work" else f"in a {self.case}"
        return f"{spelt.kilonewtons(self.load)} {when}, holds {spelt.kilonewtons(self.most)}"

    def _worn(self, share: str) -> str:
        """Say what becomes of a sling: one that is through holds nothing until the job is over."""
        if self.over:
            return f"worn through before the job is over, {share} of what it lasts"
        return f"worn {share}, retire it after the job" if self.used > 0 else "not worn"

    @property
    def _whose(self) -> str:
        if len(self.people) < 2 or self.kind in ("rope", "backup device"):
            return ""
        return f", the lines of {' and '.join(self.people)} together"

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object; a load without end is null, and over its limit."""
        told = {"over": self.over, "counts": self.counts, "words": self.words}
        found = {**vars(self), "lines": list(self.lines), "people": list(self.people), **told}
        return {**found, **{key: None for key in ("used", "load") if not isfinite(found[key])}}
