"""How much a scenario asks for: steps, movements, runs; what is accepted comes to an end."""

from __future__ import annotations

from collections.abc import Iterator
from math import prod
from typing import NamedTuple

from edgewear.scenario.models.people import MOST_BOUNCE_M, MOST_KG, MOST_SWAY_M
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.steps import (
    MOST_DEAD_WEIGHT_KG,
    Reciprocate,
    Repeat,
    Rest,
    Step,
    Swing,
    Work,
)
from edgewear.scenario.read.sections import Sections
from edgewear.scenario.text.grid import MAX_POINTS
from edgewear.scenario.text.tree import Path_

MOST_TITLE = 200
MOST_STEPS = 10_000
MOST_MOVEMENT_S = 10 * 3600.0
MOST_WORK_S = 24 * 3600.0
MOST_JOB_S = 30 * 24 * 3600.0
MOST_ROWS = 1_000_000_000

SWING_S = 10.0
"""A swing to one side and back on a long line [s]; a pendulum of 25 m."""

LIMITS = (
    ("characters of a title, on one line", f"{MOST_TITLE}"),
    ("kilograms of a person, or of two and a stretcher on one rope", f"{MOST_KG:g}"),
    ("kilograms of a machine's dead weight", f"{MOST_DEAD_WEIGHT_KG:,.0f}"),
    ("metres of a bounce at work in place, up and down each", f"{MOST_BOUNCE_M:g}"),
    ("metres of a sway at work in place, to either side", f"{MOST_SWAY_M:g}"),
    ("steps of one person, every round of a repeat counted", f"{MOST_STEPS:,}"),
    ("hours of one movement of a machine, or of swinging", f"{MOST_MOVEMENT_S / 3600:g}"),
    ("hours of one step of work in place", f"{MOST_WORK_S / 3600:g}"),
    ("days of one person's job", f"{MOST_JOB_S / 86400:g}"),
    ("values of all axes of a grid together", f"{MAX_POINTS:,}"),
    ("rows of a study", f"{MOST_ROWS:,}"),
)
"""What is limited, and to how much, for the reference page."""


class _Asked(NamedTuple):
    """What some steps ask for."""

    steps: int
    time_s: float


def check_amounts(sections: Sections, scenario: Scenario) -> None:
    """Report where a scenario asks for more than can be played or written."""
    _title(sections, scenario)
    alone = isinstance(sections.data.get("job"), list)
    for person, steps in scenario.job.items():
        for path, message in _job(steps, ("job",) if alone else ("job", person)):
            sections.report(path, message)
    study = scenario.study
    if study is not None:
        rows = prod(len(values) for values in study.grid.values()) * study.replicates
        rows *= study.sample.rows if study.sample is not None else 1
        rows *= len(scenario.options) if "options" not in study.grid else 1
        if rows > MOST_ROWS:
            sections.report(("study",), f"{rows:.3g} rows: at most {MOST_ROWS:,}")


def _title(sections: Sections, scenario: Scenario) -> None:
    title = scenario.title
    if len(title) > MOST_TITLE or "\n" in title or "\t" in title:
        said = f"a title of {len(title):,} characters: one line of at most {MOST_TITLE} is due"
        sections.report(("title",), said)


def _job(steps: tuple[Step, ...], path: Path_) -> Iterator[tuple[Path_, str]]:
    """Give the first place where one person's steps come to too much."""
    try:
        _asked(steps, path)
    except _TooMuch as found:
        yield found.path, found.message


class _TooMuch(Exception):
    def __init__(self, path: Path_, message: str) -> None:
        super().__init__(message)
        self.path, self.message = path, message


def _asked(steps: tuple[Step, ...], path: Path_) -> _Asked:
    """Add up what steps ask for.

    Raises:
        _TooMuch: at the step with which it becomes too much.
    """
    made, time_s = 0, 0.0
    for index, step in enumerate(steps):
        here: Path_ = (*path, index, step.step)
        if isinstance(step, Repeat):
            inner = _asked(step.steps, (*here, "steps"))
            own = _Asked(inner.steps * step.times, inner.time_s * step.times)
        else:
            own = _Asked(1, _lasts_s(step, here))
        made, time_s = made + own.steps, time_s + own.time_s
        if made > MOST_STEPS:
            raise _TooMuch(here, f"{made:,} steps by one person: at most {MOST_STEPS:,}")
        if time_s > MOST_JOB_S:
            said = f"{time_s / 3600:.4g} h of one person's job: at most {MOST_JOB_S / 3600:g} h"
            raise _TooMuch(here, said)
    return _Asked(made, time_s)


def _lasts_s(step: Step, here: Path_) -> float:
    """How long a step takes at least [s], where it says so."""
    if isinstance(step, Reciprocate):
        lasts_s = step.cycles * 2.0 * step.travel.high / step.speed.low
        most_s = MOST_MOVEMENT_S
    elif isinstance(step, Swing):
        lasts_s, most_s = step.times * SWING_S, MOST_MOVEMENT_S
    elif isinstance(step, Work):
        lasts_s, most_s = step.for_.high, MOST_WORK_S
    elif isinstance(step, Rest):
        lasts_s, most_s = step.for_.high, MOST_JOB_S
    else:
        return 0.0
    if not lasts_s <= most_s:
        said = f"one movement of {lasts_s / 3600:.4g} h: at most {most_s / 3600:g} h"
        raise _TooMuch(here, said)
    return lasts_s
