"""Scores against a general library and the standard library; shares against enumeration."""

from __future__ import annotations

import importlib
from itertools import pairwise
from math import comb, inf, log
from statistics import NormalDist
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.errors import UsageError
from edgewear.forecasts import coverage, scores
from edgewear.forecasts.quantities import Seen
from edgewear.report.learning.scores import figure, seen_words

CLOSE = 1e-9  # asked of the scores: far above rounding, far below anything that would matter

DRAWS = st.lists(st.floats(0.1, 50.0), min_size=2, max_size=40)
ENDS = st.tuples(st.floats(0.05, 60.0), st.floats(0.05, 60.0)).map(sorted)


@pytest.fixture(scope="module")
def scoringrules() -> ModuleType:
    """The library, loaded here alone: it compiles for ten seconds as it is imported."""
    return importlib.import_module("scoringrules")


@given(DRAWS, st.floats(0.05, 60.0))
def test_crps_of_a_figure_is_that_of_scoringrules(
    scoringrules: ModuleType, draws: list[float], seen: float
) -> None:
    found = scores.crps(np.array(draws), Seen(seen, seen))
    assert found == pytest.approx(scoringrules.crps_ensemble(seen, np.array(draws)), abs=CLOSE)


@given(DRAWS, ENDS)
def test_crps_of_an_interval_gives_what_lies_inside_no_weight(
    scoringrules: ModuleType, draws: list[float], ends: list[float]
) -> None:
    low, high = ends

    def folded(x: np.ndarray) -> np.ndarray:
        return np.asarray(x) - np.clip(np.asarray(x) - low, 0.0, high - low)

    there = scoringrules.twcrps_ensemble(low, np.array(draws), v_func=folded)
    assert scores.crps(np.array(draws), Seen(low, high)) == pytest.approx(there, abs=CLOSE)


@given(DRAWS, st.floats(0.1, 60.0))
def test_crps_of_a_test_stopped_early_judges_nothing_beyond(
    scoringrules: ModuleType, draws: list[float], stopped: float
) -> None:
    def capped(x: np.ndarray) -> np.ndarray:
        return np.minimum(x, stopped)

    there = scoringrules.twcrps_ensemble(stopped, np.array(draws), v_func=capped)
    assert scores.crps(np.array(draws), Seen(stopped, inf)) == pytest.approx(there, abs=CLOSE)


@given(DRAWS, ENDS)
def test_no_figure_inside_an_interval_scores_less_than_the_interval(
    draws: list[float], ends: list[float]
) -> None:
    whole, interval = np.array(draws), Seen(*ends)
    inside = np.linspace(*ends, 7)
    for score in (scores.crps, scores.interval_score):
        least = min(score(whole, Seen(one, one)) for one in inside)
        assert score(whole, interval) <= least + CLOSE


@given(DRAWS, st.floats(0.05, 60.0))
def test_interval_score_is_that_of_scoringrules(
    scoringrules: ModuleType, draws: list[float], seen: float
) -> None:
    low, high = np.quantile(draws, (0.05, 0.95))
    there = scoringrules.interval_score(seen, low, high, 0.1)
    assert scores.interval_score(np.array(draws), Seen(seen, seen)) == pytest.approx(
        float(there), abs=CLOSE
    )


@given(DRAWS, ENDS, st.integers(0, 3), st.booleans())
def test_log_score_is_the_mixture_summed_part_by_part(
    draws: list[float], ends: list[float], never: int, stopped: bool
) -> None:
    low, high = ends[0], inf if stopped else ends[1] + 0.5
    whole = np.array([*draws, *[inf] * never])
    centres, widths, gone = scores.mixture(whole, 100.0)
    assert gone == never
    assert len(centres) == len(draws) + 1
    share = sum(
        (1.0 if high == inf else NormalDist(c, w).cdf(log(high))) - NormalDist(c, w).cdf(log(low))
        for c, w in zip(centres, widths, strict=True)
    )
    expected = -log((share + (never if stopped else 0)) / (len(whole) + 1))
    found = scores.log_score(whole, Seen(low, high), 100.0)
    assert found == pytest.approx(expected, abs=CLOSE)


@given(st.lists(st.floats(0.1, 50.0), min_size=3, max_size=30))
def test_the_log_scores_of_all_that_can_be_seen_are_probabilities(draws: list[float]) -> None:
    whole = np.array([*draws, inf])
    looks = [0.0, 1.0, 5.0, 20.0, inf]
    chances = [np.exp(-scores.log_score(whole, Seen(a, b), 60.0)) for a, b in pairwise(looks)]
    assert sum(chances) == pytest.approx(1.0, abs=CLOSE)


def test_one_surprise_scores_finite() -> None:
    assert 5.0 < scores.log_score(np.full(256, 3.0), Seen(300.0, 310.0)) < 15.0


@given(DRAWS, st.floats(0.05, 60.0))
def test_a_place_is_the_share_of_draws_below(draws: list[float], seen: float) -> None:
    found = coverage.place(np.array([*draws, inf]), Seen(seen, seen), 100.0)
    count = len(draws) + 1
    assert found.low == pytest.approx(sum(d < seen for d in draws) / count, abs=CLOSE)
    assert found.high == pytest.approx(sum(d <= seen for d in draws) / count, abs=CLOSE)


def test_an_interval_counts_in_part() -> None:
    draws = np.arange(1.0, 101.0)
    one = coverage.place(draws, Seen(90.5, 100.5))  # above 90 and up to all of them
    assert (one.low, one.high) == (0.9, 1.0)
    assert one.inside(0.9) == pytest.approx(0.5)  # 0.9 to 0.95 of 0.9 to 1
    assert coverage.place(draws, Seen(20.5, inf)).high == 1.0


@pytest.mark.parametrize("inside", range(11))
def test_the_interval_of_a_share_ends_where_so_many_are_rare(inside: int) -> None:
    found = coverage.share_of([1.0] * inside + [0.0] * (10 - inside))

    def at_most(share: float, count: int) -> float:
        return sum(comb(10, k) * share**k * (1 - share) ** (10 - k) for k in range(count + 1))

    if inside < 10:
        assert at_most(found.high, inside) == pytest.approx(0.05, abs=1e-9)
    if inside:
        assert 1 - at_most(found.low, inside - 1) == pytest.approx(0.05, abs=1e-9)


@pytest.mark.parametrize("ends", [(3.0, 2.0), (-1.0, 2.0), (0.0, inf), (inf, inf)])
def test_what_tells_nothing_is_refused(ends: tuple[float, float]) -> None:
    with pytest.raises(UsageError):
        Seen(*ends)


@pytest.mark.parametrize("dimension", ["length", "time", "force"])
def test_what_no_draw_showed_is_not_said_to_come_never(dimension: str) -> None:
    """A draw ends with the job: nothing was tried beyond, so nothing is told of it."""
    said = figure(inf, dimension)
    assert "never" not in said
    assert "job" in said
    assert seen_words(3.0, inf, "length").startswith("at least 3")
