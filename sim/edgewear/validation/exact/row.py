"""One exact answer beside what the code gives."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One answer: its error and the error allowed."""

    name: str
    source: str
    error: float
    tolerance: float

    @property
    def ok(self) -> bool:
        """Whether the error lies within the tolerance; what is not a number never does."""
        return self.error <= self.tolerance


def off(name: str, source: str, found: float, expected: float, tolerance: float) -> Row:
    """Make a row whose error is a difference."""
    return Row(name, source, abs(found - expected), tolerance)


def share(name: str, source: str, found: float, expected: float, tolerance: float) -> Row:
    """Make a row whose error is relative to what is expected, which is not 0."""
    return Row(name, source, abs(found / expected - 1.0), tolerance)
