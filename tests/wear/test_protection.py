"""Protection wears through and is dragged along; then the edge is bare again."""

from __future__ import annotations

import pytest

from edgewear.case import compile_case
from edgewear.engine.results.outcome import outcome
from edgewear.engine.run_job import perform
from edgewear.layout import Kind
from edgewear.scenario import load_text
from edgewear.validation.trade_tests import T1


def padded(more: str = "") -> str:
    """T1 over a pad, some of its numbers changed."""
    text = T1.text.replace(
        "rope: rope, over:", f"rope: rope, protect: {{arris: {{is: pad{more}}}}}, over:"
    )
    return text.replace("title: T1", "title: padded T1")


def played(text: str):
    scenario = load_text(text, "padded")
    case = compile_case(scenario, "bare")
    done = perform(scenario, case)
    events = [entry.what for entry in done.log]
    return float(outcome(done.player, done.ticks).run["sheath_demand_max"][0]), events, done.tape


def test_soft_protection_is_better_than_none() -> None:
    # common practice, no published source
    bare, _, _ = played(T1.text)
    over_pad, events, tape = played(padded())
    assert over_pad < 0.5 * bare
    assert "protection used up" not in events
    assert Kind.EDIT not in tape["kind"]


def test_a_pad_that_is_worn_through_leaves_the_edge_bare() -> None:
    whole, _, _ = played(padded())
    worn, events, tape = played(padded(", capacity: 500 J/m"))
    assert "protection used up" in events
    assert Kind.EDIT in tape["kind"]
    assert worn > 2.0 * whole


def test_a_pad_that_creeps_comes_off_its_edge() -> None:
    whole, _, _ = played(padded())
    # 7 m of sliding an ascent: 10 % drag it by 0.7 m, more than half of the 0.6 m it covers
    off, events, _ = played(padded(", creep: 10 %"))
    assert "protection displaced" in events
    assert off > 2.0 * whole
    # 1 % drag it by 0.3 m only after more than four ascents
    assert "protection displaced" not in played(padded(", creep: 1 %"))[1]


def test_each_piece_is_drawn_for_itself() -> None:
    case = compile_case(load_text(padded(), "padded"), "bare")
    drawn = [u for u in case.uncertainties if u.name.startswith("protection/arris/pad/")]
    assert {u.name.rpartition("/")[2] for u in drawn} == {
        "friction",
        "severity",
        "radius",
        "thickness",
    }


@pytest.mark.parametrize("kind", ["roller", "edge plate", "pad", "sleeve"])
def test_every_kind_spares_the_rope(kind: str) -> None:
    bare, _, _ = played(T1.text)
    over, _, _ = played(padded().replace("is: pad", f"is: {kind}"))
    assert 0.0 < over < bare
