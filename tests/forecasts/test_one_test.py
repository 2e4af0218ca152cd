"""Several figures of one test count as one: of a rope pulled once nothing is learned five times."""

from __future__ import annotations

import json
import math
from collections import defaultdict
from dataclasses import replace
from pathlib import Path
from statistics import mean
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from edgewear.cli.commands import app
from edgewear.forecasts import folder as folders
from edgewear.forecasts.earned import FEWEST, Verdict, earned
from edgewear.forecasts.folder import means_of, score_folder
from edgewear.forecasts.freeze import enter
from edgewear.forecasts.frozen import read_came_out, write_once
from forecasts.test_earned import SHIPPED, programme
from forecasts.test_frozen import DAY, made

WORDS = st.sampled_from(["a", "b"])
FIGURES = st.lists(
    st.tuples(
        WORDS, st.sampled_from([(), ("x=1",)]), WORDS, WORDS, st.sampled_from(["", "r", "s"])
    ),
    min_size=1,
    max_size=12,
)


@given(FIGURES)
def test_figures_of_one_set_up_on_one_day_are_one_test_but_of_ropes_that_differ(figures) -> None:
    """By hand: as many tests as set-ups and days, and where ropes are named as many as names."""
    pairs = [
        (
            SimpleNamespace(scenario_sha256=sha, changes=changes, option=option),
            SimpleNamespace(on=on, rope=rope),
        )
        for sha, changes, option, on, rope in figures
    ]
    found = folders.tests_of(pairs)
    ropes = defaultdict(set)
    for *same, rope in figures:
        ropes[tuple(same)].add(rope)
    assert len(set(found)) == sum(max(len(names - {""}), 1) for names in ropes.values())
    for one, first in zip(figures, found, strict=True):
        for other, second in zip(figures, found, strict=True):
            apart = one[:-1] != other[:-1] or (one[-1] and other[-1] and one[-1] != other[-1])
            assert first != second or not apart
            assert first == second or one != other
    assert list(dict.fromkeys(found)) == list(range(1, len(set(found)) + 1))


@given(st.lists(st.lists(st.floats(0, 1), min_size=1, max_size=5), min_size=1, max_size=6))
def test_each_test_counts_by_the_mean_of_its_figures(tests) -> None:
    flat = [(value, number) for number, figures in enumerate(tests) for value in figures]
    found = means_of([value for value, _ in flat], [number for _, number in flat])
    assert found == pytest.approx([mean(figures) for figures in tests], abs=1e-12)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("times", [2, 5])
@pytest.mark.parametrize("count", [1, 3, FEWEST, 20])
def test_a_figure_told_again_tells_no_more(count: int, times: int, seed: int) -> None:
    figures = programme(np.random.default_rng(seed), 1.0, 0.1, count)
    once = earned(figures, SHIPPED)
    again = earned(figures * times, SHIPPED, list(range(count)) * times)
    assert again.count == once.count == count
    assert again.verdict is once.verdict
    for part in ("bias", "spread", "factor"):
        due = list(vars(getattr(once, part)).values())
        # sums of the same logarithms in parts
        assert list(vars(getattr(again, part)).values()) == pytest.approx(due, rel=1e-6)


@pytest.mark.parametrize("tests", range(1, FEWEST))
def test_fewer_tests_than_the_rule_asks_for_narrow_nothing_with_any_number_of_figures(
    tests: int,
) -> None:
    for seed in range(3):
        figures = programme(np.random.default_rng(seed), 1.0, 0.05, 10 * tests)
        found = earned(figures, SHIPPED, [k % tests for k in range(len(figures))])
        assert found.count == tests
        assert found.verdict is not Verdict.NARROWER
        assert "low: 0.333, high: 3" in found.entry()


def written(where: Path, tests: int, figures: int, rope: str = "") -> None:
    """Forecasts of tests of their own set-ups, several figures of each, all inside."""
    where.mkdir()
    for test in range(tests):
        for figure in range(figures):
            path = where / f"t{test} f{figure}.forecast.yaml"
            one = replace(made(f"t{test} f{figure}"), scenario_sha256=f"{test:064d}")
            write_once(path, one.body())
            enter(path, "3.9 m to 4.1 m", DAY, rope=rope.replace("N", str(figure)))


@pytest.mark.parametrize("figures", [2, 5])
@pytest.mark.parametrize("tests", [1, 4, 6])
def test_a_folder_says_of_several_figures_what_it_says_of_one(tests, figures, tmp_path) -> None:
    written(tmp_path / "one", tests, 1)
    written(tmp_path / "many", tests, figures)
    one, many = score_folder(tmp_path / "one"), score_folder(tmp_path / "many")
    assert (many.tests, many.blind_tests, len(many.scored)) == (tests, tests, tests * figures)
    assert (many.discrepancy.count, many.discrepancy.forecasts) == (tests, tests * figures)
    assert many.discrepancy.verdict == one.discrepancy.verdict
    assert many.coverage == one.coverage
    # of outcomes all inside, the chance of so many is 5 in 100 at the lower end (Clopper-Pearson)
    assert many.coverage.low == pytest.approx(math.pow(0.05, 1 / tests), abs=1e-9)
    for (_, a), (_, b) in zip(many.reliability, one.reliability, strict=True):
        assert vars(a) == pytest.approx(vars(b), abs=1e-9)
    assert many.mean_log_score == pytest.approx(one.mean_log_score, abs=1e-9)
    if tests < FEWEST:
        assert many.discrepancy.verdict != "narrower"


def test_ropes_that_are_named_are_tests_of_their_own(tmp_path: Path) -> None:
    written(tmp_path / "ropes", 1, 6, "rope N")
    found = score_folder(tmp_path / "ropes")
    assert found.tests == found.discrepancy.count == 6
    [first] = (tmp_path / "ropes").glob("t0 f0.seen.yaml")
    assert read_came_out(first).rope == "rope 0"
    written(tmp_path / "same", 1, 6, "rope")
    assert score_folder(tmp_path / "same").tests == 1


def test_the_command_says_of_how_many_tests_the_forecasts_are(tmp_path: Path) -> None:
    written(tmp_path / "one", 1, 5)
    done = CliRunner().invoke(app, ["forecast", "score", str(tmp_path / "one")])
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("5 forecasts of 1 test scored, 5 of them blind")
    assert "rests on 5 forecasts of 1 test" in done.stdout
    assert "the library's discrepancy stands" in done.stdout
    done = CliRunner().invoke(app, ["forecast", "score", str(tmp_path / "one"), "--json"])
    document = json.loads(done.stdout)
    assert (document["tests"], document["blind_tests"]) == (1, 1)
    assert {one["test"] for one in document["scored"]} == {1}
    made_too = tmp_path / "one" / "more.forecast.yaml"
    write_once(made_too, replace(made("more"), scenario_sha256=f"{0:064d}").body())
    words = ["forecast", "enter", str(made_too), "--seen", "4 m", "--on", DAY, "--rope", "another"]
    assert CliRunner().invoke(app, words).exit_code == 0
    # figures that name no rope go with the first that is named
    assert score_folder(tmp_path / "one").tests == 1
