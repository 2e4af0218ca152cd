"""Where people hang in a run, step by step."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from edgewear.job.log import Kind

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance

Depths = dict[str, dict[int, tuple[float, ...]]]
"""Person -> step -> the depth at which they hang at its end [m].

Of a repeat the depth at the end of each step inside it, round by round; NaN where they do not hang.
"""


def depths_by_step(done: Performance) -> Depths:
    """Where each person hangs at the end of each step; steps without hanging are left out."""
    found: Depths = {name: {} for name in done.times}
    for entry in done.log:
        if entry.who not in found:
            continue
        mine = found[entry.who]
        if entry.kind is Kind.MADE:
            mine[entry.step] = (*mine.get(entry.step, ()), entry.value)
        elif entry.kind is Kind.ENDS and isfinite(entry.value):
            mine.setdefault(entry.step, (entry.value,))  # a repeat ends where its last step did
    return found
