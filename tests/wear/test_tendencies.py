"""What wears a rope more, for every technique; rules of thumb of the trade as laws.

Common practice, no published source: a sharper or rougher edge, more mass, a thinner rope, more
ascents wear more; so do a larger bend and a longer setback under a jerky climber.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from support.one_edge import OneEdge, demand

ROPES = ["low-stretch 12", "low-stretch 11", "low-stretch 10.5", "low-stretch 10", "low-stretch 9"]

EXACT = 1.0 - 1e-9
"""Rounding only: nothing in the law works against these."""

TIMED = 0.5
"""The exception: a climber who adapts to the bounce (smooth, normal) near the stick limit may meet
it a little earlier or later when mass or rope change its period, so that a stroke slips less or
not at all. Seen where a search looked for it: 33 % less for 15 % more mass, at a bend of 5
degrees. Physics gives no bound; half is a guard against a model that has come apart."""

PLATEAU = 0.96
"""Beyond about 25 m the body hardly follows the stroke any more: travel is bounded by the stroke
and tension swings less, so demand levels off; seen: up to 2 % less for 20 % more setback."""

STROKES = 0.95
"""A height takes a whole number of strokes and a part of one; what the last one does differs a
little with the setback. Seen where a search looked for it: 1.1 % less."""

SETUPS = st.builds(
    OneEdge,
    technique=st.sampled_from(["smooth", "normal", "jerky"]),
    rope=st.sampled_from(ROPES),
    mass_kg=st.integers(60, 120).map(float),
    radius_mm=st.integers(75, 800).map(lambda n: n / 100),
    roughness=st.integers(7, 40).map(lambda n: n / 10),
    setback_m=st.integers(10, 600).map(lambda n: n / 10),
    bend_deg=st.integers(5, 90).map(float),
)
JERKY = SETUPS.map(lambda s: s.but(technique="jerky"))

few = settings(max_examples=12, deadline=None, derandomize=True)
many = settings(max_examples=400, deadline=None)


def sharper(setup: OneEdge) -> None:
    assert demand(setup.but(radius_mm=0.85 * setup.radius_mm)) >= EXACT * demand(setup)


def rougher(setup: OneEdge) -> None:
    assert demand(setup.but(roughness=1.2 * setup.roughness)) >= EXACT * demand(setup)


def again(setup: OneEdge) -> None:
    assert demand(setup.but(ascents=2)) >= EXACT * demand(setup)


def heavier(setup: OneEdge) -> None:
    least = EXACT if setup.technique == "jerky" else TIMED
    assert demand(setup.but(mass_kg=1.15 * setup.mass_kg)) >= least * demand(setup)


def thinner(setup: OneEdge) -> None:
    least = EXACT if setup.technique == "jerky" else TIMED
    next_rope = ROPES[min(ROPES.index(setup.rope) + 1, len(ROPES) - 1)]
    assert demand(setup.but(rope=next_rope)) >= least * demand(setup)


def more_bent(setup: OneEdge) -> None:
    bend_deg = min(1.2 * setup.bend_deg, 90.0)
    assert demand(setup.but(bend_deg=bend_deg)) >= EXACT * demand(setup)


def further_back(setup: OneEdge) -> None:
    setback_m = min(1.2 * setup.setback_m, 60.0)
    least = PLATEAU if setback_m > 25.0 else STROKES
    assert demand(setup.but(setback_m=setback_m)) >= least * demand(setup)


EVERY_TECHNIQUE = [sharper, rougher, again, heavier, thinner]
JERKY_ONLY = [more_bent, further_back]


@few
@given(setup=SETUPS)
def test_a_worse_edge_or_load_never_wears_less(setup: OneEdge) -> None:
    for law in EVERY_TECHNIQUE:
        law(setup)


@few
@given(setup=JERKY)
def test_more_bend_and_setback_never_wear_less_under_a_jerky_climber(setup: OneEdge) -> None:
    for law in JERKY_ONLY:
        law(setup)


@pytest.mark.long
@many
@given(setup=SETUPS)
def test_a_worse_edge_or_load_never_wears_less_in_many_setups(setup: OneEdge) -> None:
    for law in EVERY_TECHNIQUE:
        law(setup)


@pytest.mark.long
@many
@given(setup=JERKY)
def test_more_bend_and_setback_never_wear_less_in_many_setups(setup: OneEdge) -> None:
    for law in JERKY_ONLY:
        law(setup)


def test_setback_from_1_to_60_m_at_the_observations_edge() -> None:
    setup = OneEdge()
    rising = [demand(setup.but(setback_m=m)) for m in (1, 2, 4, 7, 12, 20, 30)]
    assert rising == sorted(rising)
    for m in (45, 60):
        assert demand(setup.but(setback_m=m)) >= PLATEAU * rising[-1]


def test_a_smooth_climber_may_be_kept_still_by_more_bend() -> None:
    # physics, not an artefact: inside the stick band T_max/T_min < R^2 the rope does not slip
    smooth = OneEdge(technique="smooth")
    assert demand(smooth.but(bend_deg=90.0)) < 0.5 * demand(smooth)


def test_technique_matters_far_more_than_the_ascent_system() -> None:
    # common practice, no published source: the system matters little, technique matters most
    base = OneEdge()
    by_technique = demand(base) - demand(base.but(technique="smooth"))
    other = "chest and hand ascender"
    by_system = max(
        abs(demand(base.but(technique=t, system=other)) - demand(base.but(technique=t)))
        for t in ("smooth", "jerky")
    )
    assert by_technique >= 5.0 * by_system
