"""Where people hang in a run, step by step."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from edgewear.job.log import Kind

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance

Depths = dict[str, dict[int, float]]
"""Person -> step -> the depth at which they hang at its end [m]."""


def depths_by_step(done: Performance) -> Depths:
    """Where each person hangs at the end of each step; steps without hanging are left out."""
    found: Depths = {name: {} for name in done.times}
    for entry in done.log:
        if entry.kind is Kind.ENDS and entry.who in found and isfinite(entry.value):
            found[entry.who][entry.step] = entry.value
    return found
