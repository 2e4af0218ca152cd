"""What options are placed and looked at by: who is not caught, marks, and what wears first."""

from __future__ import annotations

from dataclasses import replace
from math import exp, hypot, log
from types import SimpleNamespace

import numpy as np
import pytest

from edgewear.dataset.ranking.edge_summaries import _mark_stop
from edgewear.dataset.ranking.inspection_plan import _soonest
from edgewear.dataset.ranking.option_trials import samples_of
from edgewear.dataset.ranking.rank import in_order, ranking_of
from edgewear.findings.standing import UNCAUGHT
from edgewear.geometry.catch import stop_travel_m
from edgewear.terms import CUTTING, MEETS, NO_ROOM, NOT_ACCEPTABLE
from support.comparisons import Comparison, Way
from support.rankings import edge, option


@pytest.mark.parametrize("group", [(MEETS,), (), (NOT_ACCEPTABLE,), (CUTTING,)])
@pytest.mark.parametrize("ways", [(), UNCAUGHT[:1], UNCAUGHT])
def test_who_is_not_caught_counts_among_those_that_meet_the_target_alone(group, ways) -> None:
    found = option("it", status=(*group, *ways)).behind
    surely = len(UNCAUGHT) * (NO_ROOM in ways)
    assert found == (len(ways) + surely if group == (MEETS,) else 0)


@pytest.mark.parametrize("stroke_m", [0.01, 0.025, 0.03, 0.04])
def test_a_mark_stops_where_the_spreads_of_worlds_and_of_strokes_together_say(stroke_m) -> None:
    """Of 21 worlds the eleventh is the middle, the twentieth the 19-of-20 end."""
    travels = np.geomspace(0.02, 0.03, 21)
    strokes = np.where(np.arange(21) == 20, 5.0, stroke_m)  # one wild world does not count
    found = _mark_stop({"mark_travel_p50_m": travels, "mark_travel_p95_m": strokes})
    worlds = log(travels[19] / travels[10])
    within = log(stroke_m / travels[10]) if stroke_m > travels[10] else 0.0
    high_m = travels[10] * exp(hypot(worlds, within))
    assert found == pytest.approx(stop_travel_m(travels[10], high_m), rel=1e-12)  # a few roundings


def test_where_an_edge_cuts_no_wear_is_told_of_any() -> None:
    lip = edge("lip")
    for status, wear in (((MEETS,), True), ((), True), ((NOT_ACCEPTABLE,), True),
                         ((CUTTING,), False)):  # fmt: skip
        told = option("it", status=status, edges=(lip,)).as_json()["edges"]
        assert told == [lip.as_json(wear=wear)]
    assert lip.as_json(wear=False) != lip.as_json(wear=True)


def test_the_edge_that_has_worn_most_thirds_comes_first_and_of_equals_the_soonest() -> None:
    """Three thirds in 900 s before two in 20 s before one in 5 s before none."""
    times = [(5.0, None, None), (100.0, 500.0, 900.0), (None, None, None), (10.0, 20.0, None),
             (1.0, 2.0, 901.0), (6.0, None, None)]  # fmt: skip
    edges = [
        SimpleNamespace(worn_at=[SimpleNamespace(time_s=time_s) for time_s in one]) for one in times
    ]
    order = [times[edges.index(one)] for one in sorted(edges, key=_soonest)]
    assert order == [times[1], times[4], times[3], times[0], times[5], times[2]]


def test_an_option_is_compared_with_the_next_by_trials_unless_that_one_cuts() -> None:
    ways = {"cuts": Way([0.1] * 24, status=(CUTTING,)), "too": Way([0.1] * 24, status=(CUTTING,)),
            "not acceptable": Way([0.2] * 24, status=(NOT_ACCEPTABLE,)),
            "meets": Way([0.2] * 24), "misses": Way([0.9] * 24)}  # fmt: skip
    told = {one.name: one.beats_next for one in ranking_of(Comparison(ways)).options}
    others = {name: next_one and next_one.other for name, next_one in told.items()}
    assert others == {"meets": "misses", "misses": "not acceptable", "not acceptable": None,
                      "cuts": None, "too": None}  # fmt: skip


def test_when_the_core_shows_is_told_by_the_fifth_and_the_middle_of_the_trials() -> None:
    """Demand grows evenly over 60 s and 10 m: a demand of 2 shows the core half-way."""
    demand = np.linspace(1.0, 3.0, 41)
    found = ranking_of(Comparison({"a": Way(demand.tolist())})).options[0].core_visible_at
    assert found is not None
    for told, whole in ((found.time_s, 60.0), (found.ascended_m, 10.0)):
        when = np.sort(whole / demand)
        assert told.p5 == pytest.approx(when[2], rel=1e-12)  # a few roundings
        assert told.p50 == pytest.approx(when[20], rel=1e-12)


def test_an_option_has_the_way_from_it_to_the_one_before_it_and_no_other() -> None:
    ways = {"poor": Way([0.28] * 24), "good": Way([0.1] * 24), "middle": Way([0.2] * 24)}
    comparison = Comparison(ways)
    steps = {
        (one, other): [{"change": f"{one} to {other}", "margin_before": 0.1, "margin_after": 0.2}]
        for one in ways for other in ways
    }  # fmt: skip
    comparison.bridges = lambda: {
        way: rows for way, rows in steps.items() if way != ("poor", "middle")
    }
    good, middle, poor = ranking_of(comparison).options
    assert (good.name, middle.name, poor.name) == ("good", "middle", "poor")
    assert [step.change for step in middle.bridge] == ["middle to good"]
    assert poor.bridge == ()
    assert good.bridge == ()


@pytest.mark.parametrize("most", [0.0, 0.25, 3.0])
def test_the_energy_that_is_left_over_is_the_most_of_the_trials_that_could_be_computed(
    most,
) -> None:
    [sample] = samples_of(Comparison({"a": Way([0.2] * 24, failed=frozenset({5}))}))
    residual = np.linspace(0.0, most, 24)
    residual[5] = 9.0  # of the one that failed
    changed = replace(sample, runs={**sample.runs, "energy_residual": residual})
    [found] = in_order([changed], 0.7, 1, lambda name, margins: None)
    assert found.energy_residual_max == most
