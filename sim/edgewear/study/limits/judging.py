"""Judge an option with another value of one input: the same trials, the same judge as `compare`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import lru_cache, partial
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from edgewear import terms
from edgewear.dataset.ranking.option_trials import Sample, statuses_of
from edgewear.dataset.ranking.statistics import quantile
from edgewear.errors import EdgewearError, ScenarioError
from edgewear.findings.inquiries.how_far import Place
from edgewear.percentiles import LOW, NORMAL_90
from edgewear.scenario import load_text
from edgewear.scenario.models.scenario import Scenario
from edgewear.study.limits.concerned import changed_for
from edgewear.study.limits.trials import melting_in, trials_of

Floats = NDArray[np.float64]

FEW = 64
"""Trials that decide where their interval lies wholly on one side of the target."""


@dataclass(frozen=True)
class Case:
    """An option of a scenario, as text so that it travels to workers, and the trials it meets."""

    text: str
    path: str
    library: str | None  # text of the user's own library
    option: str
    target: float
    replicates: int
    seed: int


Change = Callable[[Scenario, float], Scenario]
"""Puts a value (SI) into a scenario."""


def judged(case: Case, change: Change, value: float) -> Place:
    """Judge one value, with few trials where they decide.

    Parameters:
        case: what is judged; `change`: puts the value in.
        value: SI.
    """
    typed = _loaded(case.text, case.path, case.library)
    try:
        scenario = changed_for(case.option, typed, lambda one: change(one, value))
    except ScenarioError as error:
        return _refused(value, error.problems[0].message)
    except EdgewearError as error:
        return _refused(value, str(error))
    sample = None
    for count in _stages(case.replicates):
        try:
            sample = trials_of(scenario, case.option, count, case.seed, sample)
        except EdgewearError as error:
            return _refused(value, str(error))
        found = _place(scenario, sample, case.target, value, count)
        if _clear(found, case.target):
            break
    return found


def _stages(replicates: int) -> list[int]:
    """How many trials there are each time it is asked whether they decide: twice as many."""
    found, count = [], FEW
    while count < replicates:
        found.append(count)
        count *= 2
    return [*found, replicates]


def _clear(found: Place, target: float) -> bool:
    """Whether few trials decide: not where the sheath would do and something else does not."""
    if found.refused:
        return True
    if found.low is None or found.high is None:
        return False
    return found.high < target or (found.low > target and found.meets)


@lru_cache(maxsize=8)
def _loaded(text: str, path: str, library: str | None) -> Scenario:
    return load_text(text, path, library)


def judge_with(
    case: Case, change: Change, pool: Executor | None
) -> Callable[[Sequence[float]], list[Place]]:
    """Give a judge of many values, over the workers of a pool if there is one."""
    one = partial(judged, case, change)

    def judge(values: Sequence[float]) -> list[Place]:
        return list(map(one, values) if pool is None else pool.map(one, values))

    return judge


def _place(scenario: Scenario, sample: Sample, target: float, value: float, trials: int) -> Place:
    """Let the judge of a comparison say what trials come to."""
    status = statuses_of(sample, target)
    if terms.CUTTING in status:
        return Place(value, None, None, None, False, status, trials=trials)
    left = quantile(sample.margins, LOW)
    low, high = interval(sample.margins)
    melts = melting_in(scenario, sample)
    return Place(value, left, low, high, terms.MEETS in status, status, "", trials, melts)


def _refused(value: float, why: str) -> Place:
    return Place(value, None, None, None, False, refused=why)


def interval(margins: Floats) -> tuple[float | None, float | None]:
    """Give the 90 % interval of the careful end from the order statistics of the trials.

    The count of trials below the 5th percentile is binomial, n*p with n*p*(1 - p) as its variance,
    so order statistics that many places below and above bound it, whatever the distribution.
    """
    margins = np.sort(margins)
    count = margins.size
    spread = NORMAL_90 * sqrt(count * LOW * (1.0 - LOW))
    at = LOW * (count - 1)
    low, high = int(np.floor(at - spread)), int(np.ceil(at + spread))
    return _finite(margins[max(low, 0)]), _finite(margins[min(high, count - 1)])


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
