"""Draws depend on seed, replicate and name, and on nothing else."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgewear.engine.draws import (
    quantile,
    stroke_block,
    stroke_columns,
    uniforms,
)
from edgewear.errors import UsageError

SEEDS = st.integers(0, 2**64 - 1)


@given(seed=SEEDS, first=st.integers(0, 10**12), count=st.integers(1, 40))
def test_an_entry_does_not_depend_on_where_its_stretch_starts(seed, first, count):
    whole = uniforms(seed, "friction", first, count)
    single = [uniforms(seed, "friction", first + i, 1)[0] for i in range(count)]
    assert whole.tolist() == single


def test_another_process_draws_the_same():
    code = "from edgewear.engine.draws import uniforms; print(uniforms(7, 'tau', 5, 3).tolist())"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == str(uniforms(7, "tau", 5, 3).tolist())


def test_names_and_seeds_give_columns_without_correlation():
    columns = [uniforms(s, n, 0, 20_000) for s in (1, 2) for n in ("friction", "friction ", "mass")]
    correlation = np.corrcoef(columns) - np.eye(6)
    # 5 standard errors of a correlation of 20,000 independent pairs
    assert np.abs(correlation).max() < 5 / np.sqrt(20_000)


def test_a_column_is_uniform():
    # Kolmogorov-Smirnov at a level of 1e-4 for a fixed seed
    assert stats.kstest(uniforms(11, "friction", 0, 50_000), "uniform").pvalue > 1e-4


@pytest.mark.parametrize(
    ("distribution", "oracle"),
    [
        ("normal", stats.norm(5.0, 2.0 / 1.6448536269514722)),
        ("lognormal", stats.lognorm(s=np.log(1.5) / 1.6448536269514722, scale=5.0)),
        ("uniform", stats.uniform(3.0, 4.0)),
        ("triangular", stats.triang(c=0.5, loc=3.0, scale=4.0)),
    ],
)
def test_quantiles_agree_with_scipy_stats(distribution, oracle):
    low, high = (5 / 1.5, 7.5) if distribution == "lognormal" else (3.0, 7.0)
    share = np.linspace(0.001, 0.999, 57)
    ours = quantile(distribution, 5.0, low, high, share)
    # both are closed forms in float64: a few units in the last place
    np.testing.assert_allclose(ours, oracle.ppf(share), rtol=1e-12)


@given(
    low=st.floats(0.01, 1.0),
    up=st.floats(1.0, 3.0),
    more=st.floats(1.0, 3.0),
    distribution=st.sampled_from(["normal", "lognormal"]),
)
def test_a_lopsided_interval_is_met_at_all_three_figures(low, up, more, distribution):
    median, high = low * up, low * up * more
    values = quantile(distribution, median, low, high, np.array([0.05, 0.5, 0.95]))
    # the constant 1.645 and its inverse are good to 1e-15 each, exp and log add a few more
    np.testing.assert_allclose(values, [low, median, high], rtol=1e-12)


def test_values_rise_with_the_share():
    share = np.linspace(0.0005, 0.9995, 999)
    for distribution in ("normal", "lognormal", "uniform", "triangular"):
        assert (np.diff(quantile(distribution, 2.0, 1.5, 5.0, share)) > 0).all()


def test_a_normal_above_zero_has_no_tail_below_it():
    far = quantile("normal", 0.05, 0.02, 0.08, np.array([1e-9, 0.05]))
    assert far[0] == 0.002
    assert far[1] == pytest.approx(0.02, rel=1e-12)  # the interval itself is kept
    assert quantile("normal", 0.0, -1.0, 1.0, np.array([1e-9]))[0] < -3


def test_a_triangle_without_width_and_a_fixed_value_are_points():
    assert quantile("triangular", 2.0, 2.0, 2.0, np.array([0.3])).tolist() == [2.0]
    assert quantile("fixed", 4.0, 0.0, 0.0, np.array([0.1, 0.9])).tolist() == [4.0, 4.0]


@pytest.mark.parametrize(
    "figures", [("normal", 1, 2, 3), ("lognormal", 1, 0, 3), ("cauchy", 1, 0, 2)]
)
def test_figures_that_cannot_be_meant_are_refused(figures):
    with pytest.raises(UsageError):
        quantile(*figures, np.array([0.5]))


def test_a_negative_seed_is_refused():
    with pytest.raises(UsageError, match="seed -1"):
        uniforms(-1, "friction", 0, 1)


def test_strokes_vary_by_person_replicate_block_and_seed():
    blocks = [
        stroke_block(*where)
        for where in [
            (1, 0, "ada", 0),
            (2, 0, "ada", 0),
            (1, 1, "ada", 0),
            (1, 0, "bo", 0),
            (1, 0, "ada", 1),
        ]
    ]
    flat = [block.ravel()[:20].tolist() for block in blocks]
    assert all(a != b for i, a in enumerate(flat) for b in flat[:i])
    assert (stroke_block(1, 0, "ada", 0) == blocks[0]).all()


@given(
    seed=SEEDS,
    replicates=st.lists(st.integers(0, 2**63 - 1), max_size=5),
    strokes=st.integers(1, 150),
)
def test_many_replicates_draw_what_each_draws_alone(seed, replicates, strokes):
    many = stroke_columns(seed, np.array(replicates, np.int64), "ada", strokes)
    alone = [
        np.concatenate([stroke_block(seed, r, "ada", block) for block in range(3)])[:strokes]
        for r in replicates
    ]
    np.testing.assert_array_equal(many, np.array(alone).reshape(many.shape))


def test_the_tail_of_many_replicates_is_that_which_each_draws_alone():
    many = stroke_columns(3, np.arange(2000), "ada", 20)
    alone = np.array([stroke_block(3, r, "ada", 0)[:20] for r in range(2000)])
    # G. Marsaglia and W. W. Tsang, 2000: beyond this 256 layers leave the tail, which numpy draws
    assert np.abs(alone).max() > 3.6541528853610088
    np.testing.assert_array_equal(many, alone)


def test_strokes_are_standard_normal():
    values = np.concatenate(
        [stroke_block(5, r, "ada", b).ravel() for r in range(40) for b in range(5)]
    )
    # Kolmogorov-Smirnov at a level of 1e-4 for a fixed seed
    assert stats.kstest(values, "norm").pvalue > 1e-4
