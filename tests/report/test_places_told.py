"""Places of work are told apart where a repeat comes to several with one step."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.findings.rescue import ANY, PlaceRescue, Rescue
from edgewear.report.procedure import fate_words

TENTHS = st.integers(0, 999).map(lambda tenths: tenths / 10)


def row(depth_m: float, missing: str) -> PlaceRescue:
    way = Rescue("tech", ANY, depth_m, missing=(missing,))
    return PlaceRescue("tech", 3, "work 20 min", (way,))


@given(st.lists(TENTHS.filter(lambda deep: deep >= 0.5), min_size=2, max_size=6, unique=True))
def test_rounds_at_other_depths_are_told_apart(depths: list[float]) -> None:
    said = fate_words.not_shown([row(depth_m, "nobody comes") for depth_m in depths])
    assert len(set(said)) == len(depths)
    for depth_m, text in zip(depths, said, strict=True):
        assert text.startswith(f"tech, step 3 (work 20 min, {depth_m:.1f} m deep): ")


@pytest.mark.parametrize("number", [1, 4])
def test_a_place_without_any_way_is_named_all_the_same(number: int) -> None:
    assert fate_words.at(PlaceRescue("tech", number, "rest 3 min", ())) == (
        f"tech, step {number} (rest 3 min)"
    )
