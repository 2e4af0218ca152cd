"""Why the kernel gave a movement up."""

from __future__ import annotations

import numpy as np

from edgewear import codes, mechanics
from edgewear.case import Case, Records

LEAST_BUDGET = 1_000_000
"""Steps below which a movement that was given up did not run out of its budget."""


def given_up(case: Case, row: int, buffers: mechanics.Buffers, movement: Records) -> str:
    """Say why a movement on a section came to no end, alike in all trials where it is alike.

    Parameters:
        row: of the section.
        buffers: of the section, as the kernel left them.
        movement: MOVEMENT (1,).
    """
    state = buffers.state[0]
    if not (np.isfinite(state["depth_m"]) and np.isfinite(state["tension_n"]).all()):
        return "the line's state is no longer a number"
    if movement["kind"][0] == codes.LOAD and state["span_m"][state["count"]] <= 0.0:
        return (
            f"hangs so close below {_touched_last(case, row, buffers)} that harness and body give "
            "by more than the rope between is long: none would be left there"
        )
    if state["steps"] < LEAST_BUDGET:
        return "a movement cannot be made with these numbers of person, rope and edge"
    return f"a movement came to no end within its budget of steps ({int(state['steps'])} made)"


def _touched_last(case: Case, row: int, buffers: mechanics.Buffers) -> str:
    """The edge that a section touches last before the load; without any its fixed point."""
    state = buffers.state[0]
    count = int(state["count"])
    if not count:
        return case.rigged.sections[row].anchor
    touched = buffers.regimes["edge"][int(state["regime"])]
    return case.edge_names[row][int(touched[count - 1])]
