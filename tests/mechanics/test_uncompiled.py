"""The kernels run as plain Python as well, for a debugger, bounds checks and coverage."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import Kind
from support.lines import JERKY, direct, move

FIGURES = ("depth_m", "peak_n", "stretch_m", "friction_j", "viscous_j", "steps", "tick")


def figures(edges: int) -> list[float]:
    """What two runs side by side, and one alone, of a stroke, a descent and work come to."""
    base = direct([4.0] * edges, [30.0] * edges)
    tape = np.concatenate(
        [
            move(Kind.LOAD, depth_m=9.0),
            move(Kind.STROKES, length_m=0.4, **JERKY),
            move(Kind.PAYOUT, length_m=0.5, speed_m_s=0.5, stop_s=0.3),
            move(Kind.WORK, duration_ticks=5_000, bounce_m=0.02, bounce_hz=2.0),
        ]
    )
    lines, people, wears = (np.repeat(one, 2) for one in (base.line, base.person, base.wear))
    lines["stiffness_n"][1] *= 1.2
    many = mechanics.play_many(
        base, lines, np.repeat(base.edges[None], 2, 0), people, wears,
        np.repeat(tape[None], 2, 0), np.zeros((1, 9, 2)),
    )  # fmt: skip
    for at in range(tape.size):
        mechanics.advance(base, tape[at : at + 1])
    states = [*many.state, base.state[0]]
    worst = [*many.largest_j_m.tolist(), mechanics.worst(base)[0]]
    return [float(state[name]) for state in states for name in FIGURES] + worst


@pytest.mark.parametrize("edges", [1, 2])
def test_plain_python_comes_to_what_compiled_kernels_do(edges: int) -> None:
    code = f"import json, test_uncompiled as t; print(json.dumps(t.figures({edges})))"
    here = Path(__file__).parent
    path = os.pathsep.join([str(here), str(here.parent), *sys.path])
    made = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": path},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    # the C library's exp may differ in its last bit from the compiler's; a step multiplies that
    assert json.loads(made.stdout) == pytest.approx(figures(edges), rel=1e-9)
