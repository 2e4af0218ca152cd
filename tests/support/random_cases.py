"""Random small jobs on one line over up to three edges, for tests of the clock and of tapes."""

from __future__ import annotations

import numpy as np

from edgewear.case import Case, compile_case
from edgewear.job.moves import Move, climb, hold, let_out, load, ticks, unload
from edgewear.layout import Kind
from edgewear.scenario import load_text

TEXT = """
edgewear: 1
title: random line
setting: test
edges: {{{edges}}}
ropes: {{rope: {{like: {rope}, length: 100 m, stopper: yes}}}}
people:
  climber: {{mass: {mass:.1f} kg, technique: {technique}, system: pre-threaded, start: 12 m}}
options: {{bare: {{rope: rope, over: [{over}]}}}}
job: [ascend: 5 m]
"""

ROPES = ("low-stretch 9", "low-stretch 10.5", "low-stretch 11")


def random_case(rng: np.random.Generator) -> Case:
    """A case with one to three edges whose bends and lengths are random."""
    names = [f"edge {i}" for i in range(rng.integers(1, 4))]
    surfaces = rng.choice(["steel", "concrete"], size=len(names))
    edges = ", ".join(
        f"{n}: {{radius: {rng.uniform(1, 20):.2f} mm, surface: {surface}}}"
        for n, surface in zip(names, surfaces, strict=True)
    )
    over = ", ".join(
        f"{{edge: {n}, after: {rng.uniform(1, 30):.2f} m, bend: {rng.uniform(2, 80):.1f} deg}}"
        for n in names
    )
    text = TEXT.format(
        edges=edges,
        over=over,
        rope=rng.choice(ROPES),
        mass=rng.uniform(75, 130),
        technique=rng.choice(["smooth", "normal", "jerky"]),
    )
    return compile_case(load_text(text, "random.yaml"), "bare")


def random_moves(case: Case, rng: np.random.Generator) -> list[Move]:
    """A few movements of every kind that a person makes, on the case's one line."""
    own = int(rng.integers(0, len(case.patterns)))
    bounce = {"bounce_m": 0.02, "bounce_hz": 0.5, "sway_m": 0.05, "sway_hz": 0.2, "tool_n": 80.0}
    makers = (
        lambda: climb(case, own, 0, float(rng.uniform(0.5, 3.0))),
        lambda: let_out(case, own, 0, float(rng.uniform(0.5, 4.0))),
        lambda: hold(0, float(rng.uniform(0.2, 4.0))),
        lambda: Move(Kind.WORK, 0, duration_ticks=ticks(float(rng.uniform(5, 120))), **bounce),
        # whole periods of five bounces and two sways
        lambda: Move(Kind.WORK, 0, duration_ticks=ticks(10.0 * rng.integers(3, 12)), **bounce),
    )
    some = [makers[i]() for i in rng.integers(0, len(makers), size=4)]
    return [load(0, 12.0), *some, unload(0), load(0, 15.0), makers[0]()]
