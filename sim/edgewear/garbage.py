"""How often Python looks for garbage in our own processes."""

from __future__ import annotations

import gc

EVERY = 100_000
"""New objects between two looks; Python's own 700 (2,000 from 3.12 on) cost a comparison 6 % of its
time, for hardly anything of ours is in a circle."""


def seldom_collect() -> None:
    """Look for garbage less often, in a process that is ours alone."""
    gc.set_threshold(EVERY, 20, 50)
