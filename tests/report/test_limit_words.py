"""A limit in words: the figure that people copy is the one that holds."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.findings.inquiries.how_far import End, Limit, Stretch
from edgewear.report.how_far import words

TRIED = (1.0, 100.0)
OPEN_LOW, OPEN_HIGH = End(1.0, None, 1.0, None), End(100.0, None, 100.0, None)


def limit_of(least, most):
    return Limit("bare", "edges/arris/radius", "m", "length", 5.0, TRIED, (Stretch(least, most),),
                 (), None)  # fmt: skip


def first_figure(text):
    """First length of a sentence [m]."""
    figure, unit = re.search(r"([\d.]+) (mm|m)\b", text).groups()
    return float(figure) * (1e-3 if unit == "mm" else 1.0)


ordered = st.lists(st.floats(1.1, 99.0), min_size=4, max_size=4, unique=True).map(sorted)


@given(ordered)
def test_the_first_figure_of_at_most_holds_for_all_that_the_trials_tell(values):
    cautious, inside, outside, hopeful = values
    said = words.limit(limit_of(OPEN_LOW, End(inside, outside, cautious, hopeful)))
    assert said.startswith("at most ")
    assert 0.99 * cautious <= first_figure(said) <= cautious  # three digits, rounded inward


@given(ordered)
def test_the_first_figure_of_at_least_holds_for_all_that_the_trials_tell(values):
    hopeful, outside, inside, cautious = values
    said = words.limit(limit_of(End(inside, outside, cautious, hopeful), OPEN_HIGH))
    assert said.startswith("at least ")
    assert cautious * (1.0 - 1e-12) <= first_figure(said) <= 1.01 * cautious


@pytest.mark.parametrize("which", ["most", "least"])
def test_an_end_that_the_trials_do_not_bear_out_says_so_beside_its_figure(which):
    if which == "most":
        said = words.limit(limit_of(OPEN_LOW, End(5.0, 6.0, None, 8.0)))
    else:
        said = words.limit(limit_of(End(5.0, 4.0, None, 3.0), OPEN_HIGH))
    assert "5 m, as an estimate that so few trials do not bear out" in said


def test_an_end_without_doubt_is_one_figure():
    end = End(5.0, 5.001, 5.0, 5.0)
    assert words.limit(limit_of(OPEN_LOW, end)) == "at most 5 m"
