"""How much of a live job's time passes outside the step kernel.

`python tests/bench/job.py --json` prints one object with two jobs of about an hour, performed by
people on a clock, reactions and attendant included: `two_people` works and climbs on the site of
`scenarios/procedure.yaml`, its rescue at the end; `one_person` is the hour of the comparison. Of
each: `outside_kernel_share`, the compiled call alone counts as kernel; `outside_advance_share`,
the Python around that call counts as kernel too; `job_ms`, `calls` of the kernel and `job_min`.

What is counted is `perform` and reading its outcome, from laying out the site to the last event,
as a study performs each trial: option compiled, lines' buffers there from the trial before.
Processor time; medians of the turns after a warm-up.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import Any

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TURNS = 31

ONE = """\
edgewear: 1
title: One hour at work on three edges
setting: test
target: 50 %
anchors: {post: {out: -6 m, up: 0.5 m}}
edges:
  kerb:   {out: -0.5 m, up: 0.2 m, is: worn masonry arris}
  flange: {out: 0.3 m, up: -1 m, radius: 2 mm, surface: steel}
  ledge:  {out: 0.6 m, up: -3.5 m, is: chamfered concrete}
ropes: {rope: {like: low-stretch 11, length: 60 m}}
people: {climber: {mass: 95 kg, technique: normal, start: 6 m}}
options:
  padded: {anchor: post, rope: rope, protect: {kerb: pad, flange: sleeve, ledge: pad}}
job:
  - descend: 12 m
  - work: {for: 50 min, sway: 5 cm}
  - ascend: {height: 12 m, technique: jerky}
  - inspect: {by: edge attendant}
"""
"""One hour of one person."""

TWO = """\
job:
  technician:
    - place protection: parapet
    - place protection: gutter
    - cross edge: gutter
    - descend: 8 m
    - repeat:
        times: 2
        steps:
          - work: {for: 16 min, sway: 10 cm, tool: 80 N}
          - ascend: {height: 2 m}
          - work: {for: 5 min}
          - descend: 2 m
    - event: hanging
    - wait for: taken over
    - wait for: grounded
  rescuer:
    - place protection: parapet
    - place protection: gutter
    - rest: 20 min
    - inspect: {by: edge attendant, protection: lifted}
    - rest: 5 min
    - wait for: hanging
    - cross edge: gutter
    - descend: 6 m
    - take over: technician
    - event: taken over
    - descend: 9 m
    - rest: 1 min
    - event: grounded
"""
"""One hour of two people on the procedure's site."""


def two_people() -> str:
    """The procedure's site, kit, lines and reactions with an hour's job; faults left out."""
    text = (SCENARIOS / "procedure.yaml").read_text("utf-8")
    site, rest = text[: text.index("\njob:") + 1], text[text.index("\nwhen:") + 1 :]
    return site + TWO + rest


class Watch:
    """Processor time spent in a function since it was last asked [s]."""

    def __init__(self, owner: Any, name: str) -> None:
        self.owner, self.name, self.true = owner, name, getattr(owner, name)
        self.spent_s, self.calls = 0.0, 0

    def __call__(self, *given: Any, **named: Any) -> Any:
        begin = time.process_time()
        found = self.true(*given, **named)
        self.spent_s += time.process_time() - begin
        self.calls += 1
        return found

    def taken(self) -> tuple[float, int]:
        """Time [s] and calls since the last time."""
        found = self.spent_s, self.calls
        self.spent_s, self.calls = 0.0, 0
        return found


@contextmanager
def watching(owner: Any, name: str) -> Iterator[Watch]:
    """Put a watch in the place of a module's function."""
    watch = Watch(owner, name)
    setattr(owner, name, watch)
    try:
        yield watch
    finally:
        setattr(owner, name, watch.true)


def shares(turn: Callable[[], Any], turns: int) -> dict[str, float]:
    """Shares of a turn's processor time that pass outside the kernel call and outside `advance`.

    Each is measured in turns of its own, so that no watch's cost is another one's time.
    """
    from edgewear import mechanics
    from edgewear.mechanics import results

    turn()
    found = {"job_ms": 1e3 * median(_timed(turn) for _ in range(turns))}
    for key, owner, name in (
        ("outside_kernel_share", results, "play"),
        ("outside_advance_share", mechanics, "advance"),
    ):
        with watching(owner, name) as watch:
            outside = []
            for _ in range(turns):
                watch.taken()
                whole_s = _timed(turn)
                inside_s, calls = watch.taken()
                outside.append(1.0 - inside_s / whole_s)
        found[key], found["calls"] = median(outside), calls
    return found


def _timed(turn: Callable[[], Any]) -> float:
    begin = time.process_time()
    turn()
    return time.process_time() - begin


def performed(text: str, option: str, turns: int) -> dict[str, float]:
    """Figures of one scenario's job, its first option, in the world of a first replicate."""
    import numpy as np

    from edgewear.case import compile_case
    from edgewear.engine.batch import varied
    from edgewear.engine.player import Player
    from edgewear.engine.results.outcome import outcome
    from edgewear.engine.run_job import RunInputs, perform
    from edgewear.engine.trial_chance import Drawn
    from edgewear.layout import MOVEMENT, TICK_S
    from edgewear.scenario import load_text

    scenario = load_text(text, "job")
    case = compile_case(scenario, option)
    batch, player = case.batch(np.zeros(0, MOVEMENT), {}, 1), Player(case)
    world = RunInputs(batch, 0, varied(case, 1, 0), Drawn(1, 0))

    def turn() -> int:
        done = perform(scenario, case, scenario.when, world=world, strict=True, player=player)
        outcome(done.player, done.ticks)
        return done.ticks

    return {"job_min": turn() * TICK_S / 60.0, **shares(turn, turns)}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--turns", type=int, default=TURNS)
    given = parser.parse_args()
    figures = {
        "two_people": performed(two_people(), "as written", given.turns),
        "one_person": performed(ONE, "padded", given.turns),
    }
    if given.json:
        print(json.dumps(figures))
        return
    for job, found in figures.items():
        print(job, *(f"{name} {value:.4g}" for name, value in found.items()), sep="\n  ")


if __name__ == "__main__":
    sys.exit(main())
