"""What a design of independent draws tells, and what it must not be taken to tell."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest

import edgewear
from edgewear.report.what_matters.files import sheet
from edgewear.report.what_matters.terminal import print_what_matters
from edgewear.report.what_matters.words import TOGETHER, unexplained
from edgewear.study.sensitivity.designed import designed
from edgewear.study.sensitivity.matters import _worse, what_would_matter

SITE = """\
edgewear: 1
title: gutter
setting: test
target: 60 %
anchors: {post: {out: -6 m, up: 1 m, kind: pair}}
edges:
  lip: {out: 0 m, up: 0 m, radius: 4 mm, surface: steel}
ropes: {store: {like: low-stretch 11, length: 40 m, stopper: yes}}
people: {climber: {mass: 90 kg, technique: normal, system: pre-threaded}}
options: {bare: {rope: store, anchor: post}}
job: [{descend: 4 m}, {ascend: 4 m}]
"""


def sloped(slopes: np.ndarray):
    """An outcome that goes with each input by so much, and with nothing but them."""
    return lambda shares: slopes @ shares


@pytest.mark.parametrize("base", [16, 64])
@pytest.mark.parametrize("seed", range(5))
def test_the_way_of_an_input_is_the_sign_of_what_it_does(seed: int, base: int) -> None:
    chance = np.random.default_rng(seed)
    slopes = chance.choice([-1.0, 0.0, 1.0], 12) * np.exp(3.0 * chance.standard_normal(12))
    assert designed(sloped(slopes), 12, base, seed).ways == tuple(np.sign(slopes))


@pytest.mark.parametrize("count", [5, 30])
def test_inputs_that_go_neither_way_are_seldom_said_to(count: int) -> None:
    """The outcome falls, then rises by as much: of such inputs 1 in 200 at most is given a way."""
    said = total = 0
    for seed in range(20):
        found = designed(lambda u: ((u - 0.5) ** 2).sum(axis=0), count, 32, seed)
        said += np.count_nonzero(found.ways)
        total += count
    # of n at 1 in 200 more than n/200 + 4 sqrt(n/200) come once in thousands
    assert said <= total / 200 + 4 * np.sqrt(total / 200)


@pytest.mark.parametrize("base", [2, 4])
def test_too_few_points_give_no_way(base: int) -> None:
    """Of fewer than nine points all alike come by chance more often than 1 in 200."""
    assert designed(sloped(np.arange(-2.0, 3.0)), 5, base, 1).ways == (0.0,) * 5


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("base", [8, 64])
def test_the_same_seed_gives_the_same_to_the_last_bit(base: int, seed: int) -> None:
    def waves(u):
        return np.sin(6.0 * u[0]) + u[1] * u[2]

    one, again = (designed(waves, 3, base, seed) for _ in range(2))
    assert one == again
    assert one != designed(waves, 3, base, seed + 1)
    assert one.indices.unexplained is None


def test_an_outcome_that_does_not_vary_has_no_shares_and_no_ways() -> None:
    found = designed(lambda u: np.full(u.shape[1], 0.3), 3, 8, 0)
    assert found.ways == (0.0,) * 3
    assert [one.value for one in (*found.indices.alone, *found.indices.total)] == [0.0] * 6


@pytest.mark.parametrize("base", [4, 8, 16])
@pytest.mark.parametrize("seed", range(2))
def test_a_scenario_asked_twice_says_the_same_and_joins_no_inputs(base: int, seed: int) -> None:
    scenario = edgewear.load(SITE).scenario
    found = what_would_matter(scenario, base=base, seed=seed)
    again = what_would_matter(scenario, base=base, seed=seed)
    assert json.dumps(found.as_json()) == json.dumps(again.as_json())
    (option,) = found.options
    assert {one.along_with for one in option.inputs} == {""}
    assert option.as_json()["unexplained"] is None
    assert "not asked by a design" in unexplained(option)
    stream = io.StringIO()
    print_what_matters(found, stream)
    page = str(sheet(found))
    for told in (stream.getvalue(), page):
        assert "not asked by a design" in " ".join(told.split())
        assert "goes with" not in told
        assert TOGETHER not in " ".join(told.split())
        assert "0 % (0 % to 0 %) (single strokes" not in " ".join(told.split())


@pytest.mark.parametrize("times", [1, 5, 20])
def test_a_draw_that_is_played_many_times_shows_no_way_the_better(times: int) -> None:
    """Of draws that do nothing 1 in 20 is said to, however often each is played."""
    said = 0
    for seed in range(200):
        chance = np.random.default_rng(seed)
        x, y = (np.tile(np.argsort(chance.random(40)).astype(float), times) for _ in range(2))
        said += _worse(x, y, 40) != ""
    # of 200 at 1 in 20 (2 standard errors): 10 meant, 22 come once in 2000 (binomial)
    assert said <= 22
