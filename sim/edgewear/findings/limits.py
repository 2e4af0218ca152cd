"""What of a catch is more than it should be."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Figure(Enum):
    """A figure of a catch that has a limit."""

    DROP = "drop"  # [m]
    PEAK = "peak"  # [N]


@dataclass(frozen=True)
class AboveLimit:
    """A drop or a peak that is larger than it may be."""

    figure: Figure
    found: float  # [m] or [N]
    most: float  # the same
    source: str  # of the limit

    @property
    def words(self) -> str:
        """The finding in words."""
        if self.figure is Figure.DROP:
            return f"drop of {self.found:.1f} m, more than {self.most:g} m ({self.source})"
        return (
            f"peak of {self.found / 1000:.1f} kN, more than {self.most / 1000:g} kN ({self.source})"
        )

    def as_json(self) -> str:
        """The finding as documents have it."""
        return self.words


@dataclass(frozen=True)
class Travel:
    """A line that travels along an edge, off the piece of protection that lies there."""

    travel_m: float
    edge: str
    piece: str


@dataclass(frozen=True)
class OffProtection:
    """A person swings, and takes the line off what protects it."""

    travels: tuple[Travel, ...]

    @property
    def words(self) -> str:
        """The finding in words."""
        places = [f"{one.travel_m:.1f} m along {one.edge} ({one.piece})" for one in self.travels]
        return "swings off its protection: " + ", ".join(places)

    def as_json(self) -> str:
        """The finding as documents have it."""
        return self.words


Beyond = AboveLimit | OffProtection
"""What of a drop, a peak and a swing is more than it should be."""
