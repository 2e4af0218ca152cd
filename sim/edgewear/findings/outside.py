"""What lies outside: inputs of what the wear law was observed for, a rope's past of all figures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from edgewear.findings.plain import Worded

NEAR_TIMES = 2.0
"""Up to so many times beyond the observed range counts as near; assumed."""


@dataclass(frozen=True)
class Outside:
    """An input outside the domain of the observations, and by how much."""

    address: str
    what: str
    of: str  # edge, rope or person
    edge: str | None  # that it concerns; None: all of the line
    times: float | None  # beyond the nearest end of what was observed; None: another kind
    far: bool

    @property
    def words(self) -> str:
        """The input in words, with its distance."""
        said = f"{self.what} of {self.of}"
        if self.times is None:
            return f"{said} (another kind)"
        shown = f"{self.times:.1f}" if self.times < 9.95 else f"{self.times:.0f}"
        return f"{said} ({shown} times)"

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {**vars(self), "words": self.words}


@dataclass(frozen=True)
class UnknownPast(Worded):
    """A rope that was cut from one of which nothing is known here."""

    line: str
    rope: str
    cut_from: str

    @property
    def words(self) -> str:
        """The finding in words."""
        return (
            f"{self.line}: {self.rope!r} was cut from {self.cut_from!r}, whose past is not known "
            "here: its age, and wear and falls from before that, are in no figure"
        )


def by_distance(found: Iterable[Outside]) -> tuple[Outside, ...]:
    """Put inputs in order, the furthest first."""
    return tuple(sorted(found, key=lambda one: (not one.far, -(one.times or 1.0))))
