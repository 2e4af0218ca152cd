"""What somebody swings into who is caught by a line that hangs elsewhere."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.findings.failure import Cause, Failure, Met, doubts_of
from edgewear.rigging import single_failures
from edgewear.rigging.beside import ABOVE_HARNESS_M, HALF_BODY_M, Swung, hits, speed_m_s
from edgewear.rigging.lengths import BODY_M
from edgewear.scenario import load_text
from support.planted.sound import text_of


def scenario(along: str, ends: dict[str, str] | None = None):
    pillar = {"along": along, **(ends or {})}
    return load_text(text_of("pick-off", {"beside": {"pillar": pillar}}), "pillar.yaml")


def swung(**more) -> Swung:
    return Swung(**{"from_m": 0.0, "plumb_m": 3.0, "rope_m": 10.0, "depth_m": 9.0, "drop_m": 1.0,
                    **more})  # fmt: skip


@pytest.mark.parametrize(
    ("along", "hit"),
    [
        ("2 m", True),  # on the way
        ("4 m", True),  # beyond the plumb line, as far as a pendulum swings
        ("6.2 m", True),  # its side comes so far as half a body beyond
        ("6.4 m", False),
        ("0.2 m", False),  # touched before the swing
        ("-1 m", False),  # behind
    ],
)
def test_a_swing_comes_to_what_lies_within_it(along, hit) -> None:
    assert [one.name for one in hits(scenario(along), swung())] == ["pillar"] * hit


def test_a_swing_to_the_left_is_the_mirror_of_one_to_the_right() -> None:
    right = list(hits(scenario("2 m"), swung()))
    left = list(hits(scenario("-2 m"), swung(plumb_m=-3.0)))
    assert right == left


@pytest.mark.parametrize(
    ("ends", "hit"),
    [
        ({"from": "-5 m"}, True),  # reaches up past the head, down without end
        ({"from": "-11 m"}, True),  # feet come to 9 + 1 + 1.2 m
        ({"from": "-11.3 m"}, False),
        ({"to": "-8.4 m"}, True),  # the head is 0.7 m above the harness
        ({"to": "-8.2 m"}, False),
    ],
)
def test_what_ends_above_the_head_or_begins_below_the_feet_is_not_met(ends, hit) -> None:
    assert (BODY_M, ABOVE_HARNESS_M) == (1.2, 0.7)  # what the heights above are chosen by
    assert bool(list(hits(scenario("2 m", ends), swung()))) is hit


def test_the_speed_is_that_of_a_pendulum() -> None:
    """At the plumb line v^2 = 2*g*h, h the height it started from; at the start it is nothing."""
    height_m = 10.0 - sqrt(10.0**2 - 3.0**2)
    assert speed_m_s(swung(), 0.0) == pytest.approx(sqrt(2 * 9.81 * height_m), rel=1e-12)
    assert speed_m_s(swung(), 3.0) == 0.0
    (one,) = hits(scenario(f"{3.0 + HALF_BODY_M} m"), swung())
    assert one.speed_m_s == pytest.approx(speed_m_s(swung(), 0.0), rel=1e-12)  # side at the plumb


def failures(along: str) -> list[Failure]:
    made = scenario(along)
    return single_failures(made, "as written", "technician", {3: 9.5})


def test_a_catch_that_swings_into_something_does_not_hold() -> None:
    """The technician hangs below west, at 0 m; the safety line's anchor is 0.8 m along."""
    hit = {row.component: row for row in failures("1 m")}
    free = {row.component: row for row in failures("5 m")}
    assert free["west"].holds is True
    assert hit["west"].holds is False
    assert "would swing into pillar, 1.0 m aside" in hit["west"].why
    assert hit["mid west"].holds is True  # nobody swings when the safety line's anchor goes


STEPS = st.lists(
    st.tuples(st.sampled_from(["pillar", "duct"]), st.integers(1, 60)), min_size=1, max_size=9
)


@given(STEPS)
def test_each_thing_that_somebody_swings_into_is_told_once_at_its_fastest(met) -> None:
    """Whatever the steps and drops: one thing, one doubt, with the highest of its speeds."""
    rows = []
    for step, (name, tenths) in enumerate(met, start=1):
        hit = Met(name, 0.8, tenths / 10)
        rows.append(
            Failure("west", "anchor", "line", step, "ann", 9.5, False, None, 1.0, 1.0, 1e3, True,
                    True, hit.words, called="west", cause=Cause.NO_ROOM, into=hit)
        )  # fmt: skip
    found = doubts_of(rows)
    assert len(found) == len({name for name, _ in met})
    for doubt in found:
        (name,) = {n for n, _ in met if n in doubt.why}
        steps = tuple(k for k, (n, _) in enumerate(met, start=1) if n == name)
        fastest = max(tenths for n, tenths in met if n == name) / 10
        assert doubt.steps == steps
        assert doubt.why == Met(name, 0.8, fastest).words


def test_a_failure_knows_what_its_catch_swings_into() -> None:
    hit = {row.component: row.into for row in failures("1 m")}
    assert hit["west"] is not None
    assert hit["west"].name == "pillar"
    assert hit["mid west"] is None
    assert all(row.into is None for row in failures("5 m"))
