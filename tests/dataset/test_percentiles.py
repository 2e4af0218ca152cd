"""One definition of what 19 of 20 keep to, and one of what lies between two values."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.percentiles import between, kept_to, known

SAMPLES = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=60)
SHARES = st.sampled_from([0.0, 0.05, 0.25, 0.5, 0.95, 1.0])


@given(SAMPLES, SHARES)
def test_what_is_kept_to_is_the_inverse_of_the_empirical_distribution(values, share):
    wanted = np.quantile(values, share, method="inverted_cdf")
    assert kept_to(values, share) == wanted


@given(SAMPLES, SHARES)
def test_at_least_so_many_do_not_pass_what_is_kept_to_and_no_lesser_value_does(values, share):
    found, ordered = kept_to(values, share), np.sort(values)
    # rounding aside, as the module says: 0.05 of 20 is one
    assert (ordered <= found).sum() >= share * ordered.size - 1e-9
    below = ordered[ordered < found]
    assert share == 0 or below.size < share * ordered.size + 1e-9


@pytest.mark.parametrize(("many", "place"), [(1, 1), (19, 1), (20, 1), (21, 2), (40, 2), (100, 5)])
def test_one_in_twenty_of_a_count_is_a_whole_place(many, place):
    assert kept_to(np.arange(1.0, many + 1), 0.05) == place


@given(SAMPLES, SHARES)
def test_between_is_numpys_and_known_where_it_is_a_number(values, share):
    found = between(np.array(values), share)
    # numpy weighs from the other end above a half: rounding of the largest value
    assert found == pytest.approx(float(np.quantile(values, share)), rel=1e-12, abs=1e-9)
    assert known(found) == found


@given(SAMPLES, st.lists(SHARES | st.floats(0.0, 1.0), min_size=1, max_size=5))
def test_several_of_one_sample_are_numpys_to_the_last_bit(values, shares):
    found = between(np.array(values), shares, 0)
    assert found.tolist() == np.quantile(values, shares).tolist()


def test_next_to_never_there_is_nothing_to_interpolate():
    assert known(between(np.array([1.0, inf]), 0.5)) is None
    assert known(between(np.array([-inf, 1.0]), 0.5)) is None
    assert known(kept_to([1.0, inf], 0.5)) == 1.0
