"""Survey errors of a deviation and a frame move what a run computes with, as a new survey would."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.layout import MOVEMENT
from edgewear.scenario import load_scenario

FILE = Path(__file__).parents[2] / "scenarios" / "two-lines-re-anchored.yaml"
DEVIATED, LIFTED = "deviated from a boom", "lifted by the frame"
MOVED_M = 0.05


@cache
def scenario():
    return load_scenario(FILE)


def surveyed_anew(option: str, address: str, value_m: float):
    return compile_case(scenario().with_values({address: value_m}), option)


def drawn(option: str, address: str, value_m: float):
    case = compile_case(scenario(), option)
    return case.batch(np.zeros(0, MOVEMENT), {address: np.array([value_m])}, 1)


@pytest.mark.parametrize(("word", "value_m"), [("out", 1.2), ("up", -0.6)])
@pytest.mark.parametrize("moved_m", [MOVED_M, -MOVED_M])
def test_a_deviation_moves_its_ring_and_the_track_of_the_load(word, value_m, moved_m) -> None:
    address = f"anchors/boom tip/{word}"
    anew = surveyed_anew(DEVIATED, address, value_m + moved_m)
    found = drawn(DEVIATED, address, value_m + moved_m)
    np.testing.assert_allclose(found.edges["start_m"][0], anew.edges["start_m"], atol=1e-12)
    # First order: a ring on a sling of 0.3 m, 2.6 m from where the line comes from, turns by a
    # ninth of what it is moved; a quarter leaves room for the angle.
    track, new = found.lines["track_m"][0], anew.lines["track_m"]
    np.testing.assert_allclose(track, new, atol=0.25 * MOVED_M)
    assert np.abs(new - compile_case(scenario(), DEVIATED).lines["track_m"]).max() > 0.7 * MOVED_M
    if word == "up":
        np.testing.assert_allclose(track[..., 0], new[..., 0], atol=1e-12)


def test_a_frame_moves_its_pulley() -> None:
    address = "anchors/walkway frame/up"
    anew = surveyed_anew(LIFTED, address, 1.9)
    found = drawn(LIFTED, address, 1.9)
    np.testing.assert_allclose(found.edges["start_m"][0], anew.edges["start_m"], atol=1e-12)


def test_what_another_deviation_does_stays() -> None:
    address = "anchors/boom tip two/out"  # of the safety line: the load follows the working line
    found = drawn(DEVIATED, address, 1.3)
    np.testing.assert_array_equal(
        found.lines["track_m"][0], compile_case(scenario(), DEVIATED).lines["track_m"]
    )
