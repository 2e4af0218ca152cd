"""How far may it go: the limits of some inputs of some options, from the same trials."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from functools import partial

from edgewear.engine.draws import check_seed
from edgewear.errors import Problem, ScenarioError, UsageError
from edgewear.findings.inquiries.how_far import Given, HowFar, Limit, Place
from edgewear.scenario.models.scenario import Scenario
from edgewear.study.compare import DEFAULT_SEED, REPLICATES, available_workers
from edgewear.study.limits.asked import Asked, asked
from edgewear.study.limits.concerned import changed_for
from edgewear.study.limits.judging import Case, judge_with, judged
from edgewear.study.limits.searching import Axis, Judge, search
from edgewear.study.progress import Clock, Told
from edgewear.study.workers.processes import Workers

STEPS = 5
"""Values of a second input."""

PLACES = 40
"""A limit takes as long as so many places with few trials, about."""

WORTH_WORKERS_S = 20.0
"""Below this, workers cost more to start than they save."""

WARMING = 4
"""Trials that are played before one is timed."""

SIDE_BY_SIDE = 4
"""Limits looked for at once where there are workers."""


def how_far(
    scenario: Scenario,
    inputs: Sequence[str],
    options: Sequence[str] = (),
    target: float | None = None,
    replicates: int = REPLICATES,
    seed: int = DEFAULT_SEED,
    workers: int | None = None,
    progress: Told | None = None,
    changes: Sequence[str] = (),
    over: str | None = None,
) -> HowFar:
    """Find how far each input may go before each option misses the target.

    Parameters:
        scenario: the scenario.
        inputs: `ADDRESS` or `ADDRESS=LOW..HIGH`; without a range, a quarter to four times the
            present value is tried. `job/times`: how often the whole job is done.
        options: names; all of them if left out.
        target: sheath left at the careful end [1]; the scenario's if left out.
        replicates: trials; every value meets the same ones.
        seed: of all draws.
        workers: processes; no result depends on it.
        progress: called after each limit.
        changes: what was set beside the file, as typed; kept with the result.
        over: a second input, `ADDRESS=LOW..HIGH`; the limits are looked for at five values of it.

    Raises:
        UsageError: an input or option that is not there, or a number out of range.
        ScenarioError: no target is known.
    """
    if replicates < 20:
        raise UsageError(f"replicates: {replicates}; at least 20: the careful end is one in twenty")
    check_seed(seed)
    wanted = _target(scenario, target)
    names = tuple(options) or tuple(scenario.options)
    unknown = [name for name in names if name not in scenario.options]
    if unknown:
        listed = ", ".join(map(repr, scenario.options))
        raise UsageError(f"no option is called {unknown[0]!r}; there are {listed}")
    questions = [one for typed in inputs for one in asked(scenario, typed, names)]
    if not questions:
        raise UsageError("nothing is asked: name an input, such as edges/lip/radius")
    posed = [one for question in questions for one in _posed(scenario, question, over)]
    cases = [
        Case(s.source, s.path, s.library_source, one.option, wanted, replicates, seed)
        for one, _, s in posed
    ]
    found = _all(cases, [one for one, _, _ in posed], workers, progress)
    found = [replace(one, given=given) for one, (_, given, _) in zip(found, posed, strict=True)]
    order = {name: at for at, name in enumerate(names)}
    found.sort(key=lambda one: order[one.option])
    return HowFar(scenario.title, wanted, replicates, seed, tuple(found), tuple(changes))


def _posed(
    scenario: Scenario, question: Asked, over: str | None
) -> Iterator[tuple[Asked, Given | None, Scenario]]:
    """Pose a question once, or at values of a second input.

    Raises:
        UsageError: the second input leads nowhere or is the first.
        ScenarioError: the scenario cannot be used with one of its values.
    """
    if over is None:
        yield question, None, scenario
        return
    for second in asked(scenario, over, (question.option,)):
        if second.address == question.address:
            raise UsageError(f"{over}: is what is asked; a second input is due")
        axis = Axis(second.low, second.high, second.whole)
        for value in axis.values([step / (STEPS - 1) for step in range(STEPS)]):
            given = Given(second.address, value, second.dimension)
            put = partial(second.put, value=value)
            yield question, given, changed_for(question.option, scenario, put)


def _all(
    cases: Sequence[Case], questions: Sequence[Asked], workers: int | None, told: Told | None
) -> list[Limit]:
    """Look for all limits, several side by side: while one closes in, others use the workers."""
    if workers is None and _seconds(cases, questions) < WORTH_WORKERS_S:
        workers = 1
    clock, found = Clock(len(cases), 0, of="limits"), []
    with ThreadPoolExecutor(SIDE_BY_SIDE) as threads, workers_of(workers) as pool:
        side_by_side = map if pool is None else threads.map
        if told is not None:
            told(clock.at(0, 0))
        for one in side_by_side(lambda case, asked: _limit(case, asked, pool), cases, questions):
            found.append(one)
            if told is not None:
                told(clock.at(len(found), 0))
    return found


def _seconds(cases: Sequence[Case], questions: Sequence[Asked]) -> float:
    """Guess how long all limits take one after the other, from what the scenario says now."""
    first = questions[0]
    value = first.low if first.present is None else first.present
    judged(replace(cases[0], replicates=WARMING), first.put, value)  # loads the kernels
    began = time.monotonic()
    judged(cases[0], first.put, value)
    return (time.monotonic() - began) * PLACES * len(cases)


def _limit(case: Case, question: Asked, pool: Executor | None) -> Limit:
    return limit_of(case, question, judge_with(case, question.put, pool))


def limit_of(case: Case, question: Asked, judge: Judge) -> Limit:
    """Look for one limit of one option.

    Parameters:
        case: what is judged; question: which input; judge: judges values of it.
    """
    axis = Axis(question.low, question.high, question.whole)
    places, stretches = search(judge, axis, case.target)
    return Limit(
        option=question.option,
        address=question.address,
        unit=question.unit,
        dimension=question.dimension,
        present=question.present,
        tried=(places[0].value, places[-1].value),
        stretches=stretches,
        places=tuple(places),
        closest=None if stretches else _closest(places),
    )


def _closest(places: Sequence[Place]) -> Place | None:
    """The place that leaves most sheath where none meets the target."""
    counted = [place for place in places if place.left is not None]
    return max(counted, key=lambda place: place.left or 0.0) if counted else None


def _target(scenario: Scenario, target: float | None) -> float:
    found = scenario.target if target is None else target
    if found is None:
        message = "missing; a limit needs one, for example `target: 70 %`"
        raise ScenarioError([Problem(scenario.path, 1, 1, "target", message)])
    if not 0.0 < found < 1.0:
        raise UsageError(f"target {found:g}: above 0 and below 1 is allowed")
    return found


@contextmanager
def workers_of(workers: int | None) -> Iterator[Executor | None]:
    """Worker processes for a while; None: this process does it all.

    Parameters:
        workers: how many; None takes every processor, 1 gives None.
    """
    if workers is not None and workers < 1:
        raise UsageError(f"workers: {workers}; at least 1 is allowed")
    many = available_workers() if workers is None else workers
    if many == 1:
        yield None
        return
    pool = Workers(many)
    try:
        yield pool
    except BaseException:  # Ctrl-C: nobody wants the rest
        pool.shutdown(wait=False)
        raise
    pool.shutdown()
