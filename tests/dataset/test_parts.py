"""How much of each part is used, at the careful end of the trials."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np
import pytest

from edgewear import records
from edgewear.dataset.ranking.option_trials import samples_of, statuses_of
from edgewear.dataset.ranking.part import Part
from edgewear.dataset.ranking.parts import parts_of
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.terms import (
    CUTTING,
    EXTRAPOLATED,
    FAILED,
    MEETS,
    MISSES,
    NOT_ACCEPTABLE,
    NOT_INDEPENDENT,
    ONE_LINE,
    OVER_LIMIT,
)
from support.comparisons import Comparison, Way

TRIALS = 40
SPREAD = np.linspace(0.5, 1.5, TRIALS)
HIGH = float(np.quantile(SPREAD, 0.95))  # numpy's own
FAILS = [*range(3)]


def trials(**columns):
    """Runs of which some failed, and one edge whose columns are the spread times a figure."""
    runs = {c.name: np.zeros(TRIALS) for c in records.RUN}
    edges = {c.name: np.full(TRIALS, np.nan) for c in records.EDGE}
    runs["run"] = edges["run"] = np.arange(TRIALS)
    runs["status"] = np.full(TRIALS, "ok", object)
    runs["anchor_peak_name"] = runs["worst_line"] = np.full(TRIALS, "", object)
    edges["line"], edges["edge"] = np.full(TRIALS, "w", object), np.full(TRIALS, "lip", object)
    for name, figure in columns.items():
        table = edges if name in edges and name != "anchor_peak_n" else runs
        table[name] = np.full(TRIALS, figure, object) if figure == "bolt" else SPREAD * figure
    return runs, edges


def bears(load, case="in work", others=0.0, most=4e3, kind="anchor", unit="N"):
    return {
        "kind": kind, "name": "bolt", "lines": ["w"], "people": ["ann"], "case": case,
        "load": load, "others": others, "most": most, "unit": unit,
    }  # fmt: skip


SLING = {"line": "w", "edge": "lip", "name": "sling at lip", "wears": 2.0, "holds_n": 4e3}
PAD = {"line": "w", "edge": "lip", "name": "pad at lip", "energy_j": 50.0, "slip_m": 2.0}


def test_a_sling_is_as_worn_as_the_rope_would_be_times_what_it_wears():
    runs, edges = trials(bypassed_demand=0.4, peak_tension_n=1000.0)
    [part] = parts_of(runs, edges, {"slings": [SLING]})
    assert (part.how, part.over) == ("wear", True)
    assert part.used == pytest.approx(0.4 * 2.0 * HIGH, rel=1e-12)
    runs, edges = trials(bypassed_demand=0.0, peak_tension_n=3000.0)
    [part] = parts_of(runs, edges, {"slings": [SLING]})
    assert (part.how, part.over) == ("load", True)
    assert part.used == pytest.approx(3000.0 * HIGH / 4e3, rel=1e-12)


@pytest.mark.parametrize(("line", "edge"), [("w", "kerb"), ("v", "lip"), ("v", "kerb")])
def test_a_piece_bears_what_its_own_line_does_at_its_own_edge(line, edge):
    """Beside it ten times as much on another line, or at another edge."""
    runs, edges = trials(bypassed_demand=0.4, peak_tension_n=100.0, cover_energy_j=60.0)
    more = {name: 10.0 * column if column.dtype == float else column
            for name, column in edges.items()}  # fmt: skip
    more |= {"run": edges["run"], "line": np.full(TRIALS, line, object),
             "edge": np.full(TRIALS, edge, object)}  # fmt: skip
    both = {name: np.concatenate([column, more[name]]) for name, column in edges.items()}
    for rigged in ({"slings": [SLING]}, {"covers_hold": [PAD]}):
        assert parts_of(runs, both, rigged) == parts_of(runs, edges, rigged)


def test_protection_is_used_up_or_dragged_off_whichever_is_nearer():
    runs, edges = trials(cover_energy_j=60.0, cover_slip_m=1.0)
    [part] = parts_of(runs, edges, {"covers_hold": [PAD]})
    assert (part.how, part.over) == ("used up", True)
    assert part.used == pytest.approx(60.0 * HIGH / 50.0, rel=1e-12)
    runs, edges = trials(cover_energy_j=5.0, cover_slip_m=1.0)
    [part] = parts_of(runs, edges, {"covers_hold": [{**PAD, "slip_m": 2.0}]})
    assert part.how == "dragged off"
    [part] = parts_of(runs, edges, {"covers_hold": [{**PAD, "slip_m": None}]})
    assert part.how == "used up"


def test_an_anchor_bears_the_trials_peak_and_what_others_add():
    runs, edges = trials(anchor_peak_n=2000.0, anchor_peak_name="bolt")
    [part] = parts_of(runs, edges, {"bears": [bears(1500.0, others=500.0)]})
    assert part.load == pytest.approx(2000.0 * HIGH + 500.0, rel=1e-12)
    [part] = parts_of(runs, edges, {"bears": [bears(9e3, "catch"), bears(1e3)]})
    assert (part.case, part.load, part.over) == ("catch", 9e3, True)
    assert parts_of(runs, edges, {"bears": [bears(9e3, most=None)]}) == ()


def test_the_nearest_to_its_limit_comes_first_and_failed_trials_say_nothing():
    runs, edges = trials(bypassed_demand=0.1, cover_energy_j=60.0, peak_tension_n=1.0)
    whole = {"slings": [SLING], "covers_hold": [PAD]}
    assert [part.kind for part in parts_of(runs, edges, whole)] == ["protection", "bypass sling"]
    edges["bypassed_demand"][FAILS] = 1e9
    runs["status"][FAILS] = FAILED
    assert parts_of(runs, edges, whole)[0].kind == "protection"
    runs["status"][:] = FAILED
    assert parts_of(runs, edges, whole) == ()


def test_a_part_above_its_limit_costs_the_target():
    ranked = ranking_of(Comparison({"a": Way([0.1] * TRIALS)}))
    assert ranked.options[0].status[0] == MEETS
    part = Part("protection", "pad", ("w",), (), "used up", "in work", 1.01, 1.01, 1.0, "J")
    comparison = Comparison({"a": Way([0.1] * TRIALS)})
    [sample] = samples_of(comparison)
    assert statuses_of(sample, 0.7, (part,))[:2] == (MISSES, OVER_LIMIT)


@pytest.mark.parametrize("rigged", [
    (), (NOT_INDEPENDENT,), (ONE_LINE, EXTRAPOLATED), (CUTTING, NOT_INDEPENDENT),
    (NOT_ACCEPTABLE, CUTTING, ONE_LINE),
])  # fmt: skip
def test_what_the_rigging_has_against_it_is_always_said_and_said_once(rigged):
    """Whatever decides the group: what is cut or not acceptable in this order, else the target."""
    [sample] = samples_of(Comparison({"a": Way([0.1] * TRIALS)}))
    statuses = statuses_of(replace(sample, rigged={**sample.rigged, "status": rigged}), 0.7, ())
    first = [one for one in (CUTTING, NOT_ACCEPTABLE) if one in rigged] or [MEETS]
    assert list(statuses[: len(first)]) == first
    assert set(statuses) == {*first, *rigged}
    assert len(set(statuses)) == len(statuses)


def part(**changes):
    made = {"kind": "anchor", "name": "bolt", "lines": ("w",), "people": ("ann",), "how": "load",
            "case": "catch", "used": 0.5, "load": 1e3, "most": 2e3, "unit": "N"}  # fmt: skip
    return Part(**{**made, **changes})


def test_what_a_part_is_asked_for_is_said_in_words():
    endless = part(how="drop", used=inf, load=inf, most=2.0, unit="m", kind="backup device")
    assert endless.words == "bolt: nothing ends a drop in a catch, 2 m allowed"
    assert part(load=inf, used=inf).words.startswith(
        "bolt (anchor): nothing ends a load in a catch"
    )
    for used, said in (
        (0.0, "not worn"),
        (0.5, "worn 50 %, retire it after the job"),
        (1.5, "worn through before the job is over, 150 % of what it lasts"),
    ):
        assert part(how="wear", used=used, unit="1").words == f"bolt: {said}"


def test_parts_stand_with_those_over_their_limit_first_and_then_as_they_are_used():
    runs, edges = trials(bypassed_demand=0.4, peak_tension_n=1000.0)
    slings = [{**SLING, "name": f"sling {wears}", "wears": wears} for wears in (0.5, 4.0, 1.0, 2.0)]
    found = parts_of(runs, edges, {"bears": [bears(1e3)], "slings": slings, "sections": []})
    used = [one.used for one in found]
    assert len(found) > 3
    assert used == sorted(used, reverse=True)
    assert [one.over for one in found] == sorted((one.over for one in found), reverse=True)
