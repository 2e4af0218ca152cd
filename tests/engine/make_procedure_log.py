"""Writes the pinned log of the shipped procedure anew: python tests/engine/make_procedure_log.py.

Done on purpose only: the pin says that something changed, never that the physics is right.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from edgewear.case import compile_case
from edgewear.engine.run_job import perform
from edgewear.job.log import Entry
from edgewear.scenario import load_scenario

FILE = Path(__file__).parents[2] / "scenarios" / "procedure.yaml"
PIN = Path(__file__).with_name("procedure_log.csv")
OPTION = "as written"

STEP_TICKS = 100
"""Kernel's step, 10 ms: where a float tips whether a stroke is over, its end moves by one step."""


def pinned(log: Iterable[Entry]) -> list[tuple[int, int, str, str, str]]:
    """Tick, by how much it may differ, who, what and detail of every entry.

    What follows from typed durations and speeds may not differ at all; what comes after a climb,
    or after waiting for somebody who climbed, by a step.
    """
    found, climbed = [], set()
    for e in log:
        after_climb = e.detail.startswith("ascend")
        waited = e.detail.startswith("wait for") and bool(climbed)
        if e.what == "ends" and (after_climb or waited):
            climbed.add(e.who)
        found.append((e.tick, STEP_TICKS * (e.who in climbed), e.who, e.what, e.detail))
    return found


def log_now() -> list[tuple[int, int, str, str, str]]:
    """The log of the nominal run as it is now."""
    scenario = load_scenario(FILE)
    return pinned(perform(scenario, compile_case(scenario, OPTION), scenario.when).log)


def read() -> list[tuple[int, int, str, str, str]]:
    """The log as it is pinned."""
    rows = [line.split(";") for line in PIN.read_text(encoding="utf-8").splitlines()[1:]]
    return [(int(tick), int(within), who, what, detail) for tick, within, who, what, detail in rows]


if __name__ == "__main__":
    rows = [";".join(map(str, row)) for row in log_now()]
    PIN.write_text("\n".join(["tick;within;who;what;detail", *rows, ""]), encoding="utf-8")
