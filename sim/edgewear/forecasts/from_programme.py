"""Tests of a file of tests as something to forecast, to score and to plan."""

from __future__ import annotations

from math import inf
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from edgewear.errors import UsageError
from edgewear.forecasts.candidates import SetUp
from edgewear.forecasts.freeze import DISCREPANCY
from edgewear.forecasts.quantities import Seen, looked_for
from edgewear.percentiles import NORMAL_90
from edgewear.programme.model import Event, Progress, Reading, RopeTest

if TYPE_CHECKING:
    from edgewear.forecasts.looking import Looking
    from edgewear.programme.model import Programme

TOP_KEY = "edgewear tests"
"""Key by which a file of tests is told from a scenario."""

HARDLY = 1e-6
"""Factor on the exposure with which no rope parts, so that a test goes as far as it is typed."""


def programme_at(path: Path) -> Programme | None:
    """Read a file of tests; None where it is something else, such as a scenario.

    Raises:
        ScenarioError: a file of tests that cannot be used.
    """
    from edgewear.programme.reading import programme_of
    from edgewear.scenario.text.tree import read_tree

    tree = read_tree(path)
    return programme_of(tree) if TOP_KEY in tree.data else None


def named_test(path: Path, name: str) -> RopeTest:
    """Give a test of a file of tests.

    Raises:
        UsageError: it is no file of tests, or has no such test.
        ScenarioError: it cannot be used.
    """
    found = programme_at(path)
    if found is None:
        raise UsageError(f"{path}: a file of tests is due, with `edgewear tests: 1` at its top")
    return found.named(name)


def candidates_in(programme: Programme, looking: Looking, cost: float) -> list[SetUp]:
    """Give the tests still to be made as candidates, each with its own cost where it has one."""
    return [
        SetUp(one.name, one.scenario, one.option, *looking.at(one.scenario), one.cost or cost)
        for one in programme.planned()
    ]


def seen_in(test: RopeTest, looked: str) -> Seen:
    """Give what came out of a test as what a forecast looks for.

    How far a test was is turned into metres climbed, or time, by playing it that far.

    Raises:
        UsageError: nothing that was seen tells it.
    """
    asked = looked_for(looked)
    time = asked.dimension == "time"
    events = [one for one in test.seen if isinstance(one, Event) and one.word in asked.events]
    if events:
        found = events[0]
        low = 0.0 if found.not_by is None else _extent(test, found.not_by, time)
        return Seen(low, inf if found.by is None else _extent(test, found.by, time))
    for one in test.seen:
        told = isinstance(one, Reading) and one.what == asked.reading
        if isinstance(one, Reading) and told and _at_the_end(test, one.after):
            return _read(one)
    raise UsageError(f"{test.name}: nothing was seen there of {looked!r}; type it with --seen")


def _read(found: Reading) -> Seen:
    """Give a reading as the interval that holds it: a value with its error to 90 %."""
    if found.low < found.high:
        return Seen(max(found.low, 0.0), found.high)
    half = NORMAL_90 * found.spread
    if found.logarithmic:
        return Seen(found.low * float(np.exp(-half)), found.low * float(np.exp(half)))
    return Seen(max(found.low - half, 0.0), found.low + half)


def _at_the_end(test: RopeTest, after: Progress | None) -> bool:
    """Tell whether a test was over when it was so far on: it takes as long as all of it."""
    return after is None or _extent(test, after, True) == _extent(test, None, True)


def _extent(test: RopeTest, after: Progress | None, time: bool) -> float:
    """Metres climbed, or seconds, when a test was so far on."""
    from edgewear.study.model import ScenarioModel
    from edgewear.study.plan import ComparePlan
    from edgewear.study.task import playing

    scenario = test.at(after)
    model = ScenarioModel.of(scenario, 0)
    known = model.uncertainties(test.option)
    rows = ComparePlan({test.option: known}, 1, 0, 1.0).block(0, 1)
    for one in known:
        rows[one.name] = np.full(1, HARDLY if one.name == DISCREPANCY else float(one.median))
    run = playing(model, rows).runs[0]
    return float(run["duration_s" if time else "ascended_m"])
