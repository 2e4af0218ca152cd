"""A limit in words: the figure that people copy is the one that holds."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from edgewear.findings.inquiries.how_far import End, Limit, Place, Stretch
from edgewear.report.how_far import words
from edgewear.study.limits.judging import interval

TRIED = (1.0, 100.0)
OPEN_LOW, OPEN_HIGH = End(1.0, None, 1.0, None), End(100.0, None, 100.0, None)


def limit_of(least, most):
    return Limit("bare", "edges/arris/radius", "m", "length", 5.0, TRIED, (Stretch(least, most),),
                 (), None)  # fmt: skip


STATUSES = ("no room for a catch", "extrapolated", "one line")


@given(st.lists(st.sets(st.sampled_from(STATUSES)), min_size=2, max_size=7), st.booleans())
def test_no_status_of_a_value_that_meets_it_is_left_out(statuses, ends):
    """Whether the stretch ends where the target is missed, or where nothing wider was tried."""
    values = np.linspace(1.0, 100.0, len(statuses)).tolist()
    places = [
        Place(value, 0.8, 0.7, 0.9, True, ("meets target", *sorted(status)))
        for value, status in zip(values, statuses, strict=True)
    ]
    least, most = (End(1.0, 0.5, 1.0, None), End(100.0, 101.0, 100.0, None)) if ends else (
        OPEN_LOW, OPEN_HIGH)  # fmt: skip
    found = replace(limit_of(least, most), places=tuple(places))
    said = words.doubts(found)
    told = {where: of for where, _, of in (one.partition(": ") for one in said)}
    assert set().union(*statuses) == {s for s in STATUSES if any(s in one for one in said)}
    for status in STATUSES:
        at_end = ends and status in statuses[0] | statuses[-1]
        assert (status in told.get("There", "")) == at_end
        throughout = not at_end and all(status in one for one in statuses)
        assert (status in told.get("At all of them", "")) == throughout
    assert not any("meets target" in one for one in said)


CAUSES = {
    ("plan not finished",): "The plan is not finished at any of them, so no number is given.",
    ("cutting edge",): "No number is given for any of them.",
    ("cutting edge", "plan not finished"): (
        "The plan is not finished where no edge cuts, so no number is given."
    ),
}


@given(
    st.lists(st.sampled_from(["plan not finished", "cutting edge"]), min_size=1, max_size=5),
    st.booleans(),
)
def test_why_there_is_no_number_is_said(causes, refused):
    """A value that cannot be rigged is a cause of its own, and told first."""
    places = [
        Place(5.0 + at, None, None, None, False, ("misses target", cause))
        for at, cause in enumerate(causes)
    ]
    places += [Place(90.0, None, None, None, False, refused="too far")] * refused
    found = replace(limit_of(OPEN_LOW, OPEN_HIGH), stretches=(), places=tuple(places))
    ending = "At 90 m it cannot be done: too far." if refused else CAUSES[tuple(sorted({*causes}))]
    assert words.limit(found) == f"tried from 1 m to 100 m: nowhere. {ending}"


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


@pytest.mark.parametrize("trials", [20, 21, 30, 44, 45, 46, 58, 59, 64, 90, 128, 256, 1000])
def test_the_first_figure_never_claims_to_hold_more_surely_than_its_trials_say(trials):
    # the figure rests on the value of `trials` ordered ones that the judge takes as a lower bound
    low, _ = interval(np.arange(float(trials)))
    holds = 1.0 - binom.cdf(int(low), trials, 0.05)  # more than so many lie below the careful end
    said = words.explained(trials)
    claimed = re.search(r"\((\d+) %\)|which holds with (\d+) of 100", said)
    assert int(claimed[1] or claimed[2]) / 100 <= holds
    assert ("no limit" in said) == (holds < 0.9)


@pytest.mark.parametrize("trials", [20, 30, 44])
def test_too_few_trials_are_told_how_many_would_do(trials):
    enough = int(re.search(r"(\d+) trials are the fewest", words.explained(trials))[1])
    assert "no limit" in words.explained(enough - 1)
    assert "no limit" not in words.explained(enough)
