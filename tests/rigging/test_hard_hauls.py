"""A haul of the plan is held to what one person pulls, as a haul of a rescue is."""

from __future__ import annotations

from math import atan2, exp, pi

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from edgewear.findings.limits import HardHaul
from edgewear.rigging.findings.facts import facts
from edgewear.rigging.rig import rig
from edgewear.scenario import load_text
from edgewear.terms import GRAVITY_M_S2

TEXT = """edgewear: 1
title: a haul
setting: alpine
anchors: {{a: {{out: -{back} m, up: 0 m, kind: pair}}}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 60 mm, surface: steel, friction: {friction}}}}}
ropes: {{r: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people:
  diver: {{mass: {mass} kg, out: {out} m}}
  boss: {{mass: 80 kg}}
lines: {{diver: {{anchor: a, rope: r}}}}
options: {{only: {{protect: {{{protect}}}}}}}
job:
  diver: [{place}cross edge: lip, descend: {deep} m, event: call up, wait for: hauled]
  boss: [wait for: call up, {haul}, event: hauled]
limits: {{{limits}}}
"""
HAUL = "haul: {{height: {up} m, person: diver, advantage: {advantage}}}"


def found(
    mass: float = 90.0, advantage: float = 1.0, friction: float = 0.2, deep: float = 10.0,
    out: float = 0.5, back: float = 4.0, hands: float | None = None, protect: str = "",
    place: str = "", repeated: bool = False,
):  # fmt: skip
    """The scenario, read."""
    haul = HAUL.format(up=deep, advantage=advantage)
    if repeated:
        haul = f"repeat: {{times: 2, steps: [{haul.replace(str(deep), str(deep / 2))}]}}"
    return load_text(
        TEXT.format(
            mass=mass,
            friction=friction,
            deep=deep,
            out=out,
            back=back,
            haul=haul,
            protect=protect,
            place=place,
            limits="" if hands is None else f"hands: {hands} N",
        )
    )


def told(scenario) -> list[HardHaul]:
    hauls = [one for one in facts(scenario, "only").mind if isinstance(one, HardHaul)]
    assert [one.words for one in hauls] == [
        text for text in rig(scenario, "only").warnings if "to haul" in text
    ]
    return hauls


def pull_n(mass: float, advantage: float, friction: float, deep: float, out: float) -> float:
    """Eytelwein over the one bend: from level behind the lip to the person's slope below it."""
    bend = pi / 2 - atan2(out, deep + 1.5)  # whoever crossed an edge hangs 1.5 m below it
    return mass * GRAVITY_M_S2 * exp(friction * bend) / advantage


@settings(max_examples=50, deadline=None)  # each reads and rigs a scenario
@given(
    st.integers(50, 150), st.integers(1, 9), st.integers(0, 6), st.integers(2, 40),
    st.sampled_from([None, 150, 250, 400]),
)  # fmt: skip
def test_a_pull_above_the_limit_is_told_and_no_other(
    mass: int, advantage: int, tenths: int, deep: int, hands: int | None
) -> None:
    friction = 0.05 + tenths / 10
    wanted, most = pull_n(mass, advantage, friction, deep, 0.5), 250 if hands is None else hands
    assume(abs(wanted - most) > 0.5)  # the lip is a point here and round there: below 0.1 N
    hauls = told(found(mass, advantage, friction, deep, hands=hands))
    assert len(hauls) == (wanted > most)
    for one in hauls:
        assert one.pull_n == pytest.approx(wanted, rel=1e-3)  # as above
        assert (one.person, one.step, one.hauled, one.most_n) == ("boss", 2, "diver", most)
        assert ("limits/hands" in one.words) == (hands is not None)


@pytest.mark.parametrize("repeated", [False, True])
def test_a_haul_inside_a_repeat_is_told_with_its_step(repeated: bool) -> None:
    (one,) = told(found(repeated=repeated))
    assert one.step == 2


@pytest.mark.parametrize("piece", ["roller", "edge plate", "pad"])
@pytest.mark.parametrize("place", ["", "place protection: lip, "])
def test_what_lies_on_the_edge_when_it_is_loaded_counts(piece: str, place: str) -> None:
    """Placed before anybody loads the line or there from the start: the same pull."""
    scenario = found(friction=0.6, protect=f"lip: {piece}", place=place)
    friction = scenario.options["only"].lines["diver"].working.protect["lip"].friction.value
    (one,) = told(scenario)
    assert one.pull_n == pytest.approx(pull_n(90, 1, friction, 10, 0.5), rel=1e-3)  # as above
