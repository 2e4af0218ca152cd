"""Dividing a spread between what nobody knows and what differs each time."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear.dataset.ranking.variance_split import explained


def test_a_spread_is_divided_as_its_variances_are() -> None:
    rng = np.random.default_rng(1)
    known, other, each_time = rng.standard_normal((3, 4000))
    margins = 0.6 * known + 0.8 * each_time
    shares = explained(np.array([known, other]), margins)
    assert shares is not None
    # var(0.6*N)/(0.36 + 0.64) = 0.36; the sampling error of R^2 at n = 4000 is about 0.012
    assert shares.epistemic == pytest.approx(0.36, abs=0.05)
    assert shares.epistemic + shares.aleatory == pytest.approx(1.0, abs=1e-12)


def test_columns_that_explain_nothing_get_nothing_however_many() -> None:
    rng = np.random.default_rng(2)
    shares = explained(rng.standard_normal((60, 256)), rng.standard_normal(256))
    assert shares is not None
    # R^2 itself would be 60/255; adjusted it scatters about 0 with a deviation of about 0.06
    assert shares.epistemic < 0.2


def test_too_few_trials_or_none_that_differ_tell_nothing() -> None:
    rng = np.random.default_rng(3)
    assert explained(rng.standard_normal((20, 30)), rng.standard_normal(30)) is None
    assert explained(rng.standard_normal((2, 30)), np.ones(30)) is None


def test_a_trial_that_failed_counts_as_the_worst() -> None:
    rng = np.random.default_rng(4)
    known = rng.standard_normal(300)
    margins = known.copy()
    margins[np.argmin(known)] = -np.inf
    shares = explained(known[None], margins)
    assert shares is not None
    assert shares.epistemic > 0.999  # ranks agree exactly
