"""What tests are worth, against closed forms, all subsets, and random plans."""

from __future__ import annotations

from itertools import combinations, pairwise
from math import sqrt

import numpy as np
import pytest

from edgewear.forecasts.worth import Candidate, Known, plan

FINE = np.arange(-6.0, 6.01, 0.1)
COARSE = np.array([-0.5, 0.5])


def worlds(count: int, parameters: int, seed: int = 0) -> np.ndarray:
    """Draws of parameters that nobody knows: standard normal."""
    return np.random.default_rng(seed).standard_normal((count, parameters))


def of(name: str, draws: np.ndarray, weights: list[float], spread: float = 0.5, **more: object):
    """A test whose latent figure is linear in the parameters."""
    return Candidate(name, draws @ np.array(weights), spread, FINE, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("spread", [0.3, 1.0])
def test_a_normal_case_has_its_closed_form(spread: float) -> None:
    """Var(t | y) = a'(I - H'(HH' + s^2)^-1 H)a; 1500 worlds: five standard errors are 18 %."""
    draws = worlds(1500, 2)
    wanted, weights = np.array([1.0, 0.5]), np.array([0.8, -0.3])
    known = Known(draws @ wanted, 1)
    gain = wanted @ weights / (weights @ weights + spread**2)
    expected = wanted @ wanted - gain * (wanted @ weights)
    assert known.now().variance == pytest.approx(wanted @ wanted, rel=0.18)
    found = known.after(of("one", draws, list(weights), spread))
    assert found.variance == pytest.approx(expected, rel=0.18)


def test_two_tests_together_have_theirs() -> None:
    """As above; 300 and more of 1500 worlds count, so about twice the error of one."""
    draws = worlds(1500, 2)
    known = Known(draws[:, 0], 1)
    h = np.array([[1.0, 1.0], [1.0, -1.0]])
    for row in h:
        known.make(of(str(row), draws, list(row), 1.0))
    expected = 1.0 - h[:, 0] @ np.linalg.solve(h @ h.T + np.eye(2), h[:, 0])
    assert known.now().worlds > 300
    assert known.now().variance == pytest.approx(expected, rel=0.2)


def test_one_test_agrees_with_the_sum_over_its_classes() -> None:
    """Nothing drawn: every class by its probability. The two differ by the drawn spread alone."""
    draws = worlds(1200, 1)
    test = Candidate("coarse", draws[:, 0], 0.4, COARSE)
    likely = test.likelihood()
    wanted = draws[:, 0]
    total = 0.0
    for one in likely:
        share = one / one.sum()
        total += one.mean() * (share @ wanted**2 - (share @ wanted) ** 2)
    found = Known(wanted, 3).after(test)
    assert found.variance == pytest.approx(total, rel=0.05)  # 1200 draws of three classes: 1.5 %


def test_a_test_that_tells_nothing_leaves_what_was() -> None:
    draws = worlds(800, 2)
    known = Known(draws[:, 0], 0)
    before = known.now().variance
    left = known.after(of("other", draws, [0.0, 1.0]))
    assert left.variance == pytest.approx(before, rel=0.05)  # noise of the worlds that count
    blind = Candidate("blind", draws[:, 0], 0.1, np.array([50.0]))  # everything in one class
    assert known.after(blind).variance == pytest.approx(before, rel=1e-9)  # rounding


@pytest.mark.parametrize("problem", range(4))
def test_a_plan_of_two_is_hardly_worse_than_the_best_of_all_pairs(problem: int) -> None:
    """Brute force over all pairs of six tests. One after the other takes away at least 1 - 1/e of
    what the best set does where gains only shrink (Nemhauser and others 1978, from memory)."""
    draws = worlds(400, 3, problem)
    rng = np.random.default_rng(problem)
    tests = [of(f"t{i}", draws, list(rng.uniform(-1, 1, 3)), 0.6) for i in range(6)]
    wanted = draws @ np.array([1.0, 0.6, 0.2])

    def left(pair: tuple[Candidate, ...]) -> float:
        known = Known(wanted, 2)
        for one in pair:
            known.make(one)
        return known.now().variance

    found = plan(Known(wanted, 2), tests, 2)
    made = left(tuple(one.test for one in found))
    assert found[-1].left.variance == pytest.approx(made, rel=1e-9)  # the same sums
    before = Known(wanted, 2).now().variance
    assert before - made >= (1 - 1 / np.e) * (before - min(map(left, combinations(tests, 2))))
    first = min(tests, key=lambda one: Known(wanted, 2).after(one).variance)
    assert found[0].test is first


def test_cost_decides_between_tests_that_tell_alike() -> None:
    draws = worlds(400, 1)
    dear = of("dear", draws, [1.0], 0.5, cost=3.0)
    cheap = of("cheap", draws, [1.0], 0.7, cost=1.0)
    assert plan(Known(draws[:, 0], 0), [dear, cheap], 1)[0].test is cheap


def test_a_plan_ends_where_draws_cannot_tell_any_more() -> None:
    draws = worlds(200, 4)
    tests = [of(f"t{i}", draws, list(np.eye(4)[i % 4]), 0.4) for i in range(8)]
    found = plan(Known(draws.sum(axis=1), 0), tests, 8)
    assert 0 < len(found) < 8
    assert all(one.left.told for one in found)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("cost", [0.01, 1.0])
def test_no_test_is_planned_that_tells_less_than_is_printed(seed: int, cost: float) -> None:
    """However cheap: faint tests beside one that tells, and alone."""
    draws = worlds(400, 2, seed)
    clear = of("clear", draws, [1.0, 0.0], 0.5)
    faint = [of(f"faint {i}", draws, [0.0, 1.0], 0.8, cost=cost) for i in range(4)]
    wanted = draws @ np.array([1.0, 0.02])
    start = Known(wanted, 2).now().variance
    found = plan(Known(wanted, 2), [*faint, clear], 5)
    left = [start, *(one.left.variance for one in found)]
    assert all(before - after > 0.01 * start for before, after in pairwise(left))
    assert [one.test for one in found] == [clear]
    assert plan(Known(wanted, 2), faint, 4) == []


def programme(order: list[int], tests: list[Candidate], truth: int, wanted: np.ndarray) -> list:
    """Standard deviation of what is wanted after each test, outcomes as the truth shows them."""
    logs = np.zeros(wanted.size)
    logs[truth] = -np.inf
    found = []
    for number in order:
        shown = tests[number].shown(99)[truth]
        logs = logs + np.log(np.maximum(tests[number].likelihood()[shown], 1e-300))
        weights = np.exp(logs - logs.max())
        weights /= weights.sum()
        middle = weights @ wanted
        found.append(sqrt(max(weights @ wanted**2 - middle**2, 0.0)))
    return found


@pytest.mark.parametrize("truths", [12, pytest.param(50, marks=pytest.mark.long)])
def test_chosen_tests_need_at_most_six_of_ten(truths: int) -> None:
    """What random tests know after ten, chosen ones know after six, on average over truths.

    Twenty candidates, of which most tell of parameters that do not matter much: as on a bench.
    """
    draws = worlds(300, 5)
    rng = np.random.default_rng(8)
    tests = [
        of(f"t{i}", draws, list(rng.uniform(-1, 1, 5) * (rng.random(5) < 0.4)), 0.7)
        for i in range(20)
    ]
    wanted = draws @ np.array([1.0, 0.7, 0.0, 0.0, 0.0])
    chosen = [tests.index(one.test) for one in plan(Known(wanted, 4), tests, 10)]
    after_six = [programme(chosen[:6], tests, t, wanted)[-1] for t in range(truths)]
    after_ten = [
        programme(list(rng.permutation(20)[:10]), tests, t, wanted)[-1] for t in range(truths)
    ]
    assert np.mean(after_six) <= np.mean(after_ten)
