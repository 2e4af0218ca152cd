"""The likelihood of what was seen: closed forms, and shares that sum to one."""

from __future__ import annotations

from math import inf, log

import numpy as np
import pytest
from scipy.stats import norm

from edgewear.programme.likelihood import FLOOR, log_likelihood_of
from edgewear.programme.model import Event, Figure, Progress, Reading

AT = [Progress(f"{m} m", float(m)) for m in (1, 2, 3)]


def event(not_by: Progress | None, by: Progress | None, spread: float = 0.2) -> Event:
    return Event("core visible", "demand", 1.0, not_by, by, spread)


def demands(*values: float) -> dict[Figure, np.ndarray]:
    return {Figure("demand", at): np.array([v]) for at, v in zip(AT, values, strict=True)}


def test_looks_share_the_chance_of_an_event_between_them() -> None:
    figures = demands(0.7, 0.95, 1.3)
    parts = [event(None, AT[0]), event(AT[0], AT[1]), event(AT[1], AT[2]), event(AT[2], None)]
    shares = [np.exp(log_likelihood_of(one, figures))[0] for one in parts]
    assert sum(shares) == pytest.approx(1.0, abs=1e-12)  # four disjoint outcomes; rounding
    assert shares[2] == pytest.approx(
        norm.cdf(log(1.3) / 0.2) - norm.cdf(log(0.95) / 0.2), rel=1e-12
    )


def test_tails_do_not_cancel() -> None:
    # both looks far above the level: the share is that of the far tail
    figures = {Figure("demand", AT[0]): np.array([4.0]), Figure("demand", AT[1]): np.array([5.0])}
    found = log_likelihood_of(event(AT[0], AT[1]), figures)[0]
    wanted = norm.sf(log(4.0) / 0.2) - norm.sf(log(5.0) / 0.2)
    assert found == pytest.approx(log(wanted), rel=1e-9)
    mild = log_likelihood_of(event(AT[0], AT[1], 0.5), figures)[0]
    assert mild == pytest.approx(log(norm.sf(log(4) / 0.5) - norm.sf(log(5) / 0.5)), rel=1e-9)


def test_a_value_read_has_a_normal_density() -> None:
    reading = Reading("anchor peak", "anchor peak", None, 1000.0, 1000.0, 50.0)
    column = np.array([900.0, 1000.0, np.nan])
    found = log_likelihood_of(reading, {Figure("anchor peak", None): column})
    assert found[:2] == pytest.approx(norm.logpdf(1000.0, column[:2], 50.0), rel=1e-12)
    assert found[2] == FLOOR


def test_bounds_of_a_reading_hold_their_share() -> None:
    column = {Figure("strength lost", None): np.array([0.2])}
    at_least = Reading("strength lost", "strength lost", None, 0.25, inf, 0.05)
    at_most = Reading("strength lost", "strength lost", None, -inf, 0.25, 0.05)
    shares = [np.exp(log_likelihood_of(one, column))[0] for one in (at_least, at_most)]
    assert shares == pytest.approx([norm.sf(1.0), norm.cdf(1.0)], rel=1e-12)
