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
    assert compiled(OneEdge(bend_deg=0.0005, radius_mm=9.0).text)[0].extrapolated == ()


def test_the_domain_can_be_said() -> None:
    said = dict(domain_lines())
    assert said["bend"] == "15 to 60 deg"
    assert set(DOMAIN) <= set(said)


@pytest.mark.parametrize(
    ("changed", "what", "times", "far"),
    [
        ({"bend_deg": 75.0}, "bend", 75 / 60, False),
        ({"bend_deg": 5.0}, "bend", 15 / 5, True),
        ({"setback_m": 60.0}, "setback", 60 / 40, False),
        ({"radius_mm": 5.0}, "radius", 5 / 2, True),
        ({"mass_kg": 130.0}, "mass", 130 / 110, False),
    ],
)
def test_how_far_a_number_lies_outside_is_told_in_times(changed, what, times, far) -> None:
    [one] = compiled(OneEdge().but(**changed).text)[0].outside()
    assert (one.what, one.far) == (what, far)
    assert one.times == pytest.approx(times, rel=1e-12)


def test_the_furthest_comes_first_and_what_has_no_measure_is_said_to_be_another_kind() -> None:
    text = T1.text.replace("surface: steel", "surface: concrete").replace(
        "- repeat", "- descend: 3 m\n  - repeat"
    )
    case = compiled(text)[0]
    assert {one.address for one in case.outside()} == set(case.extrapolated)
    distances = [(one.far, one.times or 1.0) for one in case.outside()]
    assert distances == sorted(distances, reverse=True)
    assert case.outside()[-1].words == "the step descend of climber (another kind)"


def test_protection_is_as_far_as_it_spares_the_rope() -> None:
    case = compiled(T1.text.replace("over: [", "protect: {arris: pad}, over: ["))[0]
    furthest = case.outside()[0]
    assert (furthest.address, furthest.edge, furthest.far) == ("protect/arris", "arris", True)
