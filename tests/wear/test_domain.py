"""Inputs outside what observations reach are named by their address."""

from __future__ import annotations

import pytest

from edgewear.case.judged.domain import DOMAIN, domain_lines
from edgewear.validation.trade_tests import OBSERVED, T1
from edgewear.validation.trials import compiled
from support.one_edge import OneEdge


@pytest.mark.parametrize("one", OBSERVED, ids=lambda one: one.name)
def test_no_observation_is_outside(one) -> None:
    assert compiled(one.text)[0].extrapolated == ()


@pytest.mark.parametrize(
    ("changed", "address"),
    [
        ({"bend_deg": 75.0}, "edges/arris/bend"),
        ({"bend_deg": 10.0}, "edges/arris/bend"),
        ({"setback_m": 3.0}, "edges/arris/setback"),
        ({"setback_m": 60.0}, "edges/arris/setback"),
        ({"radius_mm": 5.0}, "edges/arris/radius"),
        ({"mass_kg": 130.0}, "people/climber/mass"),
        ({"rope": "low-stretch 12"}, "ropes/rope/diameter"),
    ],
)
def test_a_number_outside_is_named_and_nothing_else(changed, address: str) -> None:
    assert compiled(OneEdge().but(**changed).text)[0].extrapolated == (address,)


@pytest.mark.parametrize(
    ("old", "new", "address"),
    [
        ("surface: steel", "surface: concrete", "edges/arris/surface"),
        ("surface: steel", "surface: steel, state: wet", "edges/arris/state"),
        ("stopper: yes", "stopper: yes\n    condition: used", "ropes/rope/condition"),
        ("like: low-stretch 11", "like: low-stretch 11 polyester", "ropes/rope/sheath"),
        ("over: [", "protect: {arris: pad}, over: [", "protect/arris"),
        ("- repeat", "- descend: 3 m\n  - repeat", "job/climber/descend"),
        ("- repeat", "- work: 1 min\n  - repeat", "job/climber/work"),
    ],
)
def test_words_that_nobody_observed_are_named(old: str, new: str, address: str) -> None:
    assert address in compiled(T1.text.replace(old, new))[0].extrapolated


def test_an_edge_that_is_not_bent_over_does_not_count() -> None:
    assert compiled(OneEdge(bend_deg=1.0, radius_mm=9.0).text)[0].extrapolated == ()


def test_the_domain_can_be_said() -> None:
    said = dict(domain_lines())
    assert said["bend"] == "15 to 60 deg"
    assert set(DOMAIN) <= set(said)
