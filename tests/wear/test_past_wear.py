"""A job that starts from a worn rope: wear adds up where it lies, and nothing else changes."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.case import compile_case
from edgewear.case.past_wear import Z95
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.engine.results.outcome import outcome
from edgewear.engine.run_job import record_tape
from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from edgewear.scenario.read.rope_rules import built_in_rules
from edgewear.stock.entries import Draft
from edgewear.stock.job_entry import placed
from edgewear.stock.store import open_stock
from support.one_edge import OneEdge

ROUNDING = 1e-9
"""The record's promise where the law adds up."""
ONE = OneEdge(technique="jerky", setback_m=4.0, roughness=0.05)
"""Jerky has no way left to tire: every ascent is like the one before."""


def played(text: str, **values: float) -> Player:
    """A scenario's nominal run, with some numbers of a trial."""
    scenario = load_text(text, "past")
    case = compile_case(scenario, "bare")
    tape = record_tape(scenario, case)
    player = Player(case)
    batch = case.batch(tape, {name: np.array([value]) for name, value in values.items()}, 1)
    play(player, batch)
    return player


def worn(player: Player) -> np.ndarray:
    """Sheath demand from end A on, millimetre by millimetre; the line begins at end A."""
    buffers = player.buffers(0)
    along = mechanics.along_m(buffers)
    return mechanics.demand(buffers)[np.searchsorted(along, 0.0) :]


@cache
def alone(ascents: int = 1) -> np.ndarray:
    return worn(played(ONE.but(ascents=ascents).text))


def with_past(parts: str, line: str = "") -> str:
    text = ONE.text.replace("stopper: yes", f"stopper: yes, worn: [{parts}]")
    return text.replace("rope: rope, over", f"rope: rope, {line}over")


def test_twenty_jobs_in_the_record_are_one_long_job(tmp_path: Path) -> None:
    demand = alone()
    first, profile = placed(0.0, demand, 150.0, 0.0, turned=False)
    body = {"job": "an ascent", "first_mm": first, "demand": profile.tolist(),
            "low": 1.0, "middle": 1.0, "high": 1.0}  # fmt: skip
    with open_stock(tmp_path / "s.ropes", built_in_rules(), make=True) as stock:
        stock.append(Draft("R1", "register", "2026-01-01", "A", {"length_m": 150.0}))
        stock.append_all([Draft("R1", "job", "2026-01-02", "A", body)] * 20)
        found = stock.standing("R1").wear.along(0.0)
    long = alone(20)[: len(found)]
    assert long.max() > 10 * demand.max()
    assert np.abs(found[: len(long)] - long).max() < ROUNDING * long.max()


def test_fatigue_is_the_exception_since_every_job_begins_fresh() -> None:
    normal = ONE.but(technique="normal")
    one, four = (worn(played(normal.but(ascents=n).text)) for n in (1, 4))
    assert np.abs(4 * one - four).max() > 1e3 * ROUNDING * four.max()


@pytest.mark.parametrize(
    ("line", "begins_m"), [("", 4.0), ("tail: 3 m, ", 1.0), ("turned: yes, ", 145.5)]
)
def test_worn_parts_lie_where_they_are_and_wear_adds_up(line: str, begins_m: float) -> None:
    before = played(ONE.text)
    after = played(with_past("{from: 4 m, to: 4.5 m, sheath: 0.3}", line))
    laid = worn(after)
    wanted = worn(before)[: len(laid)].copy()
    first = round(begins_m * 1000)
    wanted[first : first + 500] += 0.3
    assert np.abs(laid - wanted).max() < 1e-12  # one sum a cell
    old, new = (outcome(player, 0) for player in (before, after))
    for column in ("slip_m", "energy_j", "demand_max", "strokes", "peak_tension_n"):
        assert new.edges[column].tolist() == old.edges[column].tolist()
    assert new.run["sheath_margin"][0] == pytest.approx(1.0 - wanted.max(), abs=1e-12)


@pytest.mark.parametrize(("z", "share"), [(-Z95, 0.1), (0.0, 0.2), (Z95, 0.5)])
def test_a_trial_draws_how_worn_the_rope_is(z: float, share: float) -> None:
    part = "{from: 100 m, to: 101 m, sheath: {value: 0.2, low: 0.1, high: 0.5}}"
    player = played(with_past(part), **{"ropes/rope/past wear": z})
    assert worn(player)[100_500] == pytest.approx(share, rel=1e-12)


def test_buffers_are_cleared_of_the_wear_of_another_trial() -> None:
    part = "{from: 100 m, to: 101 m, sheath: {value: 0.2, low: 0.1, high: 0.5}}"
    scenario = load_text(with_past(part), "past")
    case = compile_case(scenario, "bare")
    tape = record_tape(scenario, case)
    player = Player(case)
    batch = case.batch(tape, {"ropes/rope/past wear": np.array([Z95, -Z95])}, 2)
    play(player, batch, 0)
    play(player, batch, 1)
    assert worn(player)[100_500] == pytest.approx(0.1, rel=1e-12)


def test_the_core_shows_as_soon_as_both_wears_make_it_one() -> None:
    most = float(alone().max())
    place = int(alone().argmax()) / 1000
    part = f"{{from: {place - 0.2:.3f} m, to: {place + 0.2:.3f} m, sheath: {1 - most / 2:.6f}}}"
    assert outcome(played(ONE.text), 0).run["core_visible_step"][0] == 0
    assert outcome(played(with_past(part)), 0).run["core_visible_step"][0] == 1


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ("{from: 5 m, to: 4 m, sheath: 0.3}", "ropes/rope/worn/1: from 5 m to 4 m is no part"),
        ("{from: 149 m, to: 151 m, sheath: 0.3}", "is no part of a rope of 150 m"),
        ("{from: 1 m, sheath: 0.3}", "ropes/rope/worn/1"),
    ],
)
def test_parts_that_cannot_be_are_refused(parts: str, said: str) -> None:
    with pytest.raises(ScenarioError) as error:
        load_text(with_past(parts), "past")
    assert said in str(error.value)


def test_a_tail_leaves_some_rope() -> None:
    part = "{from: 1 m, to: 2 m, sheath: 0.3}"
    with pytest.raises(ScenarioError, match="a tail of 150 m leaves nothing of 150 m of rope"):
        load_text(with_past(part, "tail: 150 m, "), "past")
