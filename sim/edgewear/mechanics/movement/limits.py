"""How far a movement may go, and when a rise counts as over."""

from __future__ import annotations

BUDGET = 5_000_000
"""Steps one movement may take."""
GIVES_UP_TICKS = 200_000
"""A rise that is not over after so long is given up: the rope holds more than the person lifts."""
END_S = 1e-9
"""A rise is over when its progress is this close to its duration [s]."""
REST = 1e-7
"""Speed [m/s] and change of speed in a step below which a line that nobody moves is at rest."""
STILL_M = 1e-14
"""Rope [m] that a free length of a line at rest takes or gives in a step at most: rounding."""
