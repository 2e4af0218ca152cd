"""Which tests to make next for what somebody wants to know."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp, sqrt
from typing import TYPE_CHECKING

from edgewear.errors import UsageError
from edgewear.findings.learning.plan import NextTest, NextTests
from edgewear.forecasts.candidates import Floats, SetUp, Worlds
from edgewear.forecasts.worth import Candidate, Known, Left, plan
from edgewear.percentiles import NORMAL_90

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Scenario
    from edgewear.study.progress import Told

WORLDS = 512
MOST = 10
MOST_CANDIDATES = 200

HARDLY = 1e-6
"""Variance of a logarithm below which there is nothing to know."""


def next_tests(
    job: Scenario,
    tests: Sequence[SetUp],
    option: str | None = None,
    know: str | None = None,
    most: int = MOST,
    worlds: int = WORLDS,
    seed: int = 0,
    told: Told | None = None,
    learned: Mapping[str, Floats] | None = None,
) -> NextTests:
    """Rank the next tests by what they tell for their cost.

    Parameters:
        job: whose option is wanted to be known.
        tests: those that could be made.
        option: of the job; the first one if left out.
        know: address of a number that nobody knows; by default the option's sheath demand.
        most: tests of the plan, 1 to 10.
        worlds: draws held common; seed: of all of them.
        told: called after each test was played.
        learned: address -> sample of its posterior (n,) in SI, as `posterior` reads it; drawn from
            in place of what is believed.

    Raises:
        UsageError: a name or number that cannot be meant, or nothing to know.
        RunFailed: a run that cannot be computed.
    """
    from edgewear.study.progress import Clock

    chosen = _checked(job, tests, option, most, worlds)
    drawn = Worlds(worlds, seed, learned or {})
    if know is None:
        wanted, own = drawn.demand(job, chosen)
    else:
        wanted, own = drawn.number(job, chosen, know), 0.0
    name = f"sheath worn in {chosen}" if know is None else know
    clock, candidates = Clock(len(tests), 0, of="tests"), list[Candidate]()
    for one in tests:
        candidates.append(drawn.candidate(one))
        if told is not None:
            told(clock.at(len(candidates), 0))
    known = Known(wanted, seed)
    now = known.now()
    if now.variance < HARDLY:
        raise UsageError(f"{name}: the same in every world; no test is needed to know it")
    alone = {one.name: known.after(one) for one in candidates}
    made = plan(known, candidates, most)
    planned = {one.test.name for one in made}
    return NextTests(
        wanted=name,
        factor=_factor(now.variance, own),
        floor=_factor(0.0, own),
        tests=tuple(_next(one.test, one.left, alone[one.test.name], now, own) for one in made),
        others=tuple(
            _next(one, alone[one.name], alone[one.name], now, own)
            for one in sorted(candidates, key=lambda c: alone[c.name].variance)
            if one.name not in planned
        ),
        worlds=worlds,
        seed=seed,
    )


def _checked(
    job: Scenario, tests: Sequence[SetUp], option: str | None, most: int, worlds: int
) -> str:
    """Give the option wanted, after looking at what was asked.

    Raises:
        UsageError: something that cannot be meant.
    """
    options = list(job.options)
    chosen = options[0] if option is None else option
    if chosen not in options:
        raise UsageError(f"no option is called {chosen!r}; there are {', '.join(options)}")
    if not 1 <= most <= MOST:
        raise UsageError(f"a plan of {most} tests: 1 to {MOST} are allowed")
    if not 50 <= worlds <= 4096:
        raise UsageError(f"{worlds} worlds: 50 to 4096 are allowed")
    if not 1 <= len(tests) <= MOST_CANDIDATES:
        raise UsageError(f"{len(tests)} tests that could be made: 1 to {MOST_CANDIDATES}")
    if any(one.cost <= 0.0 for one in tests):
        raise UsageError("a test costs more than 0")
    names = [one.name for one in tests]
    if twice := next((name for name in names if names.count(name) > 1), None):
        raise UsageError(f"two tests are called {twice!r}")
    return chosen


def _next(test: Candidate, left: Left, alone: Left, now: Left, own: float) -> NextTest:
    return NextTest(
        name=test.name,
        cost=test.cost,
        alone=_share(alone, now),
        factor=_factor(left.variance, own),
        factor_low=_factor(left.low, own),
        factor_high=_factor(left.high, own),
        told=_share(left, now),
        worlds=left.worlds,
    )


def _share(left: Left, now: Left) -> float:
    return min(max(1.0 - left.variance / now.variance, 0.0), 1.0)


def _factor(variance: float, own: float) -> float:
    """Give the factor within which a log-normal number lies to 90 %."""
    return exp(NORMAL_90 * sqrt(variance + own**2))
