"""What of a single failure counts as better or worse between two revisions, row by row."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from edgewear.findings.failure import Failure
from edgewear.findings.limits import AboveLimit, Figure
from edgewear.procedure.difference import _clock, _failures, _grown, _levels, _status, _way
from edgewear.procedure.fault_rates import Stratum, combined, happens, weight_of

ROW = Failure(
    component="bolt", kind="anchor", line="west", step=3, person="ann", depth_m=8.0, holds=True,
    over_edge=None, drop_m=1.0, swing_m=1.0, peak_n=3e3, reachable=True, independent=True, why="",
)  # fmt: skip


def row(**given: object) -> Failure:
    """A row whose careful ends are its middles, where they are not given."""
    one = replace(ROW, **given)
    middles = {"drop_careful_m": one.drop_m, "peak_careful_n": one.peak_n}
    return replace(one, **(middles | given))


def changed(old: dict, new: dict) -> tuple[str, tuple[str, ...]]:
    [found] = _failures([row(**old)], [row(**new)])
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
        ({}, {"drop_m": 1.11}, "worse", "drop at its careful end 1.0 m before, 1.1 m now"),
        ({}, {"drop_m": 1.09}, "alike", ""),  # a hand's breadth
        ({}, {"drop_m": 0.5}, "better", "drop at its careful end 1.0 m before, 0.5 m now"),
        ({}, {"swing_m": 1.31}, "worse", "swing"),
        ({}, {"swing_m": 1.29}, "alike", ""),
        ({}, {"swing_m": 1.5}, "worse", "swing 1.0 m before, 1.5 m now"),
        ({"swing_m": 3.0}, {"swing_m": 2.0}, "better", "swing 3.0 m before, 2.0 m now"),
        ({}, {"peak_n": 3.2e3}, "worse", "peak at its careful end 3.0 kN before, 3.2 kN now"),
        ({}, {"peak_n": 3.11e3}, "worse", "peak at its careful end 3.0 kN before, 3.1 kN now"),
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


CAREFUL_ENDS = [
    ({"drop_careful_m": 3.2}, {"drop_careful_m": 2.0}, "drop at its careful end 3.2 m before, 2.0"),
    ({"peak_careful_n": 6e3}, {"peak_careful_n": 5e3}, "peak at its careful end 6.0 kN before, 5"),
    ({"drop_careful_m": None}, {"drop_careful_m": 2.0}, "without end before, 2.0 m now"),
    ({"drop_careful_m": inf}, {"drop_careful_m": 2.0}, "without end before, 2.0 m now"),
]


@pytest.mark.parametrize(("more", "less", "said"), CAREFUL_ENDS)
@pytest.mark.parametrize("holds", [True, None, False])
def test_a_drop_and_a_peak_are_compared_at_their_careful_ends(
    more: dict, less: dict, said: str, holds: bool | None
) -> None:
    found, words = changed(more | {"holds": holds}, less | {"holds": holds})
    assert found == "better"
    assert said in "; ".join(words)
    assert changed(less, more)[0] == "worse"
    assert changed(more, more) == changed(less, less) == ("alike", ())


@pytest.mark.parametrize("middle", [{"drop_m": 0.4}, {"peak_n": 1e3}])
def test_a_middle_alone_that_changes_is_not_told_as_a_careful_end(middle: dict) -> None:
    ends = {"drop_careful_m": 1.5, "peak_careful_n": 4e3}
    assert changed(ends, ends | middle) == ("alike", ())


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
