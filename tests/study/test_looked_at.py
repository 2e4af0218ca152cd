"""When somebody looked at a rope: at which of a line's ropes, and how much of its wear was done."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import edgewear
from edgewear.scenario.models.observations import Inspection
from edgewear.scenario.text.measured import Measured
from edgewear.study.correction.looked_at import BACK_M, LEAST, climbed_m, looked_at
from study.test_swapped_in_the_record import START_M, WORKING, written


@given(
    st.lists(st.tuples(st.floats(1.0, 9.0), st.booleans()), min_size=1, max_size=6),
    st.floats(0.0, BACK_M / 3),
    st.integers(3, 40),
)
def test_rope_climbed_is_all_ways_up_whatever_bounces_on_the_way(ways, bounce_m, samples):
    """Expected: the sum of the ways up; a bounce is lost or won at each of their ends at most."""
    depth, at, climbed = [20.0], 20.0, 0.0
    for way, up in ways:
        end = at - way if up else at + way
        depth += np.linspace(at, end, samples + 1)[1:].tolist()
        at, climbed = end, climbed + way * up
    swing = bounce_m * (np.arange(len(depth)) % 2)
    found = climbed_m(np.array(depth) + swing)
    assert np.all(np.diff(found) >= -1e-9)  # rounding of a sum of metres
    assert found[-1] == pytest.approx(climbed, abs=1e-9 + (len(ways) + 1) * (bounce_m + BACK_M / 2))
    if bounce_m == 0.0:
        assert found[-1] == pytest.approx(climbed, abs=1e-9)


@pytest.mark.parametrize("way_m", [4.0, 8.0, 12.0])
@pytest.mark.parametrize("technique", ["smooth", "normal", "jerky"])
def test_it_counts_what_a_person_climbs_and_not_how_they_bounce(way_m, technique):
    """Within what the rope above stretches less as it becomes shorter: a tenth is ample."""
    text = written(START_M, way_m).replace("technique: jerky", f"technique: {technique}")
    course = edgewear.load(text).run().timeline()
    depth_m = course[course["line"] == WORKING]["depth_m"].to_numpy()
    assert climbed_m(depth_m)[-1] == pytest.approx(way_m, rel=0.1)


class Table:
    """As much of a table as is read."""

    def __init__(self, columns):
        self.columns, self.column_names = columns, list(columns)

    def column(self, name):
        """One of its columns."""
        return SimpleNamespace(to_numpy=lambda: np.array(self.columns[name]))


def dataset(ropes, before=False):
    """A line climbed 10 m on each rope in 100 s, worn evenly up to the demand given.

    before: as a dataset of before keeps it, with the last rope alone.
    """
    columns = {name: [] for name in ("option", "line", "rope", "time_s", "depth_m", "demand")}
    for rope, worn in enumerate(ropes, 1):
        for k in range(101):
            if before and rope < len(ropes):
                continue
            told = ("a", "w", 0 if before else rope, 100 * rope - 100 + k, 99 - 10 * rope - k / 10)
            for name, value in zip(columns, (*told, worn * k / 100), strict=True):
                columns[name].append(value)
        for name, value in (("option", "a"), ("line", "other's"), ("rope", 1), ("depth_m", 0.0)):
            columns[name].append(value)
        columns["time_s"].append(100 * rope)
        columns["demand"].append(9.0)  # of a line that nobody asks about
    return SimpleNamespace(timeline=lambda: Table(columns))


def look(**when):
    """An inspection at a time [s] or after so much rope climbed [m]."""
    told = {n: Measured.exact(v, "s" if n == "at" else "m") for n, v in when.items()}
    return Inspection(edge="kerb", seen="fuzz", **told)


ROPES = [(0.5,), (0.5, 0.2), (0.1, 0.8, 0.4)]


@pytest.mark.parametrize("ropes", ROPES)
@pytest.mark.parametrize("share", [0.25, 0.5, 0.99])
@pytest.mark.parametrize("by", ["at", "after"])
def test_the_rope_that_lay_there_is_the_one_that_was_looked_at(ropes, share, by):
    for rope in range(1, len(ropes) + 1):
        each = {"at": 100, "after": 10}[by]
        found = looked_at(
            look(**{by: (rope - 1 + share) * each + 1e-6}), dataset(ropes), "a", ["w"]
        )
        # 100 samples a rope
        assert (found.rope, found.share) == (rope, pytest.approx(share, abs=0.011))


@pytest.mark.parametrize("ropes", ROPES)
def test_without_a_time_it_is_after_the_job_and_of_before_the_only_rope_known(ropes):
    assert looked_at(look(), dataset(ropes), "a", ["w"]) == (len(ropes), 1.0)
    assert looked_at(look(), dataset(ropes, before=True), "a", ["w"]) == (0, 1.0)
    assert looked_at(look(at=0.0), dataset(ropes), "a", ["w"]) == (1, LEAST)
    assert looked_at(look(), dataset(ropes), "a", ["nobody's"]) == (None, 1.0)
