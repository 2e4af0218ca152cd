"""What of a single failure counts as better or worse between two revisions, row by row."""

from __future__ import annotations

from dataclasses import replace

import pytest

from edgewear.findings.failure import Failure
from edgewear.findings.limits import AboveLimit, Figure
from edgewear.procedure.difference import _clock, _failures, _grown, _levels, _status, _way
from edgewear.procedure.fault_rates import Stratum, combined, happens, weight_of

ROW = Failure(
    component="bolt", kind="anchor", line="west", step=3, person="ann", depth_m=8.0, holds=True,
    over_edge=None, drop_m=1.0, swing_m=1.0, peak_n=3e3, reachable=True, independent=True, why="",
)  # fmt: skip


def changed(old: dict, new: dict) -> tuple[str, tuple[str, ...]]:
    [found] = _failures([replace(ROW, **old)], [replace(ROW, **new)])
    return found.change, found.words


@pytest.mark.parametrize(
    ("old", "new", "change", "said"),
    [
        ({}, {}, "alike", ""),
        ({"holds": True}, {"holds": None, "why": "x"}, "worse", "nobody can tell"),
        ({"holds": None}, {"holds": False, "why": "x"}, "worse", "does not hold now: x"),
        ({"holds": False}, {"holds": True}, "better", "holds now"),
        ({}, {"independent": False}, "worse", "shared by both lines now"),
        ({"independent": False}, {}, "better", "no longer shared"),
        ({}, {"drop_m": 1.11}, "worse", "drop 1.0 m before, 1.1 m now"),
        ({}, {"drop_m": 1.09}, "alike", ""),  # a hand's breadth
        ({}, {"drop_m": 0.5}, "better", "drop 1.0 m before, 0.5 m now"),
        ({}, {"swing_m": 1.31}, "worse", "swing"),
        ({}, {"swing_m": 1.29}, "alike", ""),
        ({}, {"swing_m": 1.5}, "worse", "swing 1.0 m before, 1.5 m now"),
        ({"swing_m": 3.0}, {"swing_m": 2.0}, "better", "swing 3.0 m before, 2.0 m now"),
        ({}, {"peak_n": 3.2e3}, "worse", "peak 3.0 kN before, 3.2 kN now"),
        ({}, {"peak_n": 3.11e3}, "worse", "peak 3.0 kN before, 3.1 kN now"),
        ({}, {"peak_n": 3.09e3}, "alike", ""),
        ({"holds": None}, {"holds": True}, "better", "nobody can tell whether it holds before"),
        ({"holds": False}, {"holds": None, "why": "x"}, "better", "does not hold before, nobody"),
        ({"holds": True}, {"holds": False, "why": "x"}, "worse", "holds before, does not hold now"),
        ({}, {"drop_m": None}, "alike", ""),
        ({}, {"drop_m": 2.0, "peak_n": 2e3}, "mixed", "drop"),
    ],
)
def test_a_failure_is_worse_or_better_by_what_holds_and_how_far_it_goes(
    old: dict, new: dict, change: str, said: str
) -> None:
    found, words = changed(old, new)
    assert found == change
    assert said in "; ".join(words)


def test_a_figure_that_is_above_its_limit_now_is_worse_though_it_hardly_changed() -> None:
    above = AboveLimit(Figure.DROP, 1.02, 1.0, "limits/drop", usual=False)
    found, words = changed({}, {"drop_m": 1.02, "beyond": (above,)})
    assert found == "worse"
    assert words == (f"above its limit: {above.words}",)
    assert changed({"beyond": (above,)}, {"beyond": (above,)}) == ("alike", ())


def test_statuses_and_levels_are_worse_where_they_are_new_or_lower() -> None:
    assert [(s.status, s.change) for s in _status(["a", "b"], ["b", "c"])] == [
        ("c", "worse"), ("a", "better"),
    ]  # fmt: skip
    levels = _levels({"lip": "soft", "kerb": "bare", "sill": "soft"},
                     {"lip": "bare", "kerb": "soft", "sill": "soft", "new": "bare"})  # fmt: skip
    assert [(one.edge, one.change) for one in levels] == [("lip", "worse"), ("kerb", "better")]


def test_what_grows_by_the_least_that_counts_has_changed() -> None:
    assert [_grown(1.0, now, 0.5) for now in (1.5, 1.25, 0.5, 0.75)] == [1, 0, -1, 0]
    assert _grown(None, 1.0, 0.5) == _grown(1.0, None, 0.5) == 0
    assert _grown(-2.0, -1.0, 0.5) == 0  # both less than nothing: sheath that was not lost
    assert [_way(signs) for signs in ([], [0], [1, 0], [-1], [1, -1])] == [
        "alike", "alike", "worse", "better", "mixed",
    ]  # fmt: skip
    assert [_clock(s) for s in (0.0, 59.4, 59.6, 605.0)] == ["0:00", "0:59", "1:00", "10:05"]


def test_faults_that_happen_by_chance_and_a_stratum_that_could_not_be_played() -> None:
    assert happens(0.0, 9.0) == 0.0
    # 1 - exp(-0.01) by its series
    assert happens(1e-3, 10.0) == pytest.approx(0.01 - 0.01**2 / 2 + 0.01**3 / 6, rel=1e-6)
    assert weight_of([0.5, 0.25], [0.25]) == pytest.approx(0.5 * 0.25 * 0.75)
    none = combined([Stratum(0.25, 0, 0)])  # nothing is known of it: nothing below, certain above
    assert (none.low, none.estimate, none.high) == (0.0, 0.25, 0.25)
    never, always = combined([Stratum(1.0, 0, 10)]), combined([Stratum(1.0, 10, 10)])
    # exact limits of none of ten: 1 - 0.025**(1/10)
    assert never.high == pytest.approx(1.0 - 0.025**0.1, rel=1e-9)
    assert (never.low, always.high) == (0.0, 1.0)
    assert always.low == pytest.approx(0.025**0.1, rel=1e-9)
    assert combined([], 0.25).high == 0.25
    assert combined([Stratum(1.0, 0, 10)], 0.9).high == 1.0
