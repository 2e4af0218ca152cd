"""Dividing a spread between what nobody knows and what differs each time."""

from __future__ import annotations

from typing import cast

import numpy as np
import pyarrow as pa
import pytest
from scipy.stats import norm, rankdata

from edgewear.dataset.ranking.variance_split import explained, spread_shares
from edgewear.dataset.reading import Dataset


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


def plain(columns: np.ndarray, margins: np.ndarray) -> float:
    """Adjusted R^2 of normal scores (Blom's 1958 family, offset a half), by least squares."""

    def scores(values: np.ndarray) -> np.ndarray:
        return np.asarray(norm.ppf((rankdata(values) - 0.5) / values.size))

    count, many = columns.shape
    y = scores(np.where(np.isfinite(margins), margins, -1e300))
    x = np.column_stack([np.ones(many), *map(scores, columns)])
    left = y - x @ np.linalg.lstsq(x, y, rcond=None)[0]
    return float(1 - np.var(left) / np.var(y) * (many - 1) / (many - count - 1))


@pytest.mark.parametrize(("count", "many"), [(1, 12), (2, 6), (3, 40), (10, 30)])
def test_a_share_is_the_adjusted_r_squared_of_normal_scores(count: int, many: int) -> None:
    rng = np.random.default_rng(many)
    columns = rng.integers(0, 9, (count, many)).astype(float)  # with ties
    margins = np.round(columns.sum(axis=0) + 4 * rng.standard_normal(many), 0)
    margins[0] = -np.inf
    shares = explained(columns, margins)
    assert shares is not None
    wanted = min(max(plain(columns, margins), 0.0), 1.0)
    # two ways of solving small, well-conditioned least squares
    assert shares.epistemic == pytest.approx(wanted, abs=1e-9)
    assert shares.aleatory == pytest.approx(1.0 - wanted, abs=1e-9)


def test_three_trials_a_column_are_enough_and_no_fewer() -> None:
    rng = np.random.default_rng(5)
    for many, told in ((30, True), (29, False)):
        shares = explained(rng.standard_normal((10, many)), rng.standard_normal(many))
        assert (shares is not None) == told
    assert explained(np.empty((0, 30)), rng.standard_normal(30)) is None


class Worlds:
    """A dataset of two options by its plan alone."""

    def __init__(self, kinds: dict[str, bytes], columns: dict[str, np.ndarray]) -> None:
        """Lay out columns of both options, the kind of each beside it."""
        self.reads = 0
        fields = [
            pa.field(name, pa.float64(), metadata={b"kind": kind}) for name, kind in kinds.items()
        ]
        half = len(next(iter(columns.values()))) // 2
        names = pa.array(["one"] * half + ["two"] * half)
        self.table = pa.table(
            [names, *columns.values()], pa.schema([("option", pa.string()), *fields])
        )

    def plan(self) -> pa.Table:
        """All of it."""
        self.reads += 1
        return self.table


def test_an_option_s_spread_is_explained_by_what_nobody_knows_and_varies_in_it() -> None:
    rng = np.random.default_rng(6)
    shared, each_time, of_one = rng.standard_normal((3, 40))
    still, none = np.full(40, 2.0), np.full(40, np.nan)
    columns = {
        "shared": np.tile(shared, 2), "each": np.tile(each_time, 2),
        "own": np.concatenate([of_one, still]), "lacking": np.concatenate([of_one**2, none]),
    }  # fmt: skip
    kinds = dict.fromkeys(columns, b"epistemic") | {"each": b"aleatory"}
    worlds = cast(Dataset, Worlds(kinds, columns))
    for margins in (shared + each_time, shared + 0.1 * of_one):
        one = spread_shares(worlds, "one", margins)
        assert one == explained(np.array([shared, of_one, of_one**2]), margins)
        two = spread_shares(worlds, "two", margins)
        assert two == explained(shared[None], margins)
        assert None not in (one, two)
        assert one != two
    assert spread_shares(worlds, "one", np.ones(40)) is None  # nothing spreads
    assert cast(Worlds, worlds).reads == 1  # read once for all options
