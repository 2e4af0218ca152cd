"""Ropes against EN 1891, EN 892 and what was measured; the library against its own rules."""

from __future__ import annotations

import pytest

from edgewear.scenario.checks.standards import (
    impact_force_n,
    least_sheath_share,
    most_stiffness_n,
    rope_warnings,
)
from edgewear.scenario.models.gear import Rope
from edgewear.scenario.read.libraries import built_in
from edgewear.scenario.text.stiffness import stiffness_n
from support.scenario_files import bench

ROPES = list(built_in()["ropes"])


def rope(**values: str) -> Rope:
    """Read a rope like the library's 11 mm with some values replaced."""
    like = values.pop("like", "low-stretch 11")
    own = "".join(f", {key.replace('_', ' ')}: {value}" for key, value in values.items())
    return bench(("like: low-stretch 11", f"like: {like}{own}")).ropes["rope"]


@pytest.mark.parametrize(
    ("elongation", "kilonewton"),
    # EN 1891: elongation between 50 kg and 150 kg; K = 100 kg * g / e derived, g 9.81
    [(0.02, 49.05), (0.03, 32.70), (0.032, 30.66), (0.04, 24.53), (0.05, 19.62)],
)
def test_stiffness_of_an_elongation(elongation: float, kilonewton: float) -> None:
    assert stiffness_n(elongation) / 1e3 == pytest.approx(kilonewton, abs=0.00501)  # as printed


@pytest.mark.parametrize(
    ("millimetres", "per_cent"),
    # EN 1891: (4*D - 4)/D^2
    [(8.5, 41.52), (9, 39.51), (10, 36.00), (10.5, 34.47), (11, 33.06), (12, 30.56)],
)
def test_least_sheath_share(millimetres: float, per_cent: float) -> None:
    found = 100 * least_sheath_share(millimetres * 1e-3)
    assert found == pytest.approx(per_cent, abs=0.005)  # as printed


def test_stiffness_that_just_reaches_the_peak() -> None:
    # EN 1891: below 6 kN at fall factor 0.3 with 100 kg; derived: K at most 41.16 kN
    found = most_stiffness_n(100.0, 6000.0, 0.3)
    assert found / 1e3 == pytest.approx(41.16, abs=0.005)  # as printed
    assert impact_force_n(100.0, found, 0.3) == pytest.approx(6000.0, rel=1e-12)  # round-off


@pytest.mark.parametrize(
    ("fall_factor", "newton"),
    # impact-force equation, 100 kg, K 19.62 kN, g 9.81 (derived)
    [(0.0, 1962.0), (0.3, 4518.0), (1.0, 7262.5)],
)
def test_impact_force(fall_factor: float, newton: float) -> None:
    assert impact_force_n(100.0, 19_620.0, fall_factor) == pytest.approx(newton, rel=1e-4)


@pytest.mark.parametrize("name", ROPES)
def test_library_rope_keeps_its_standard(name: str) -> None:
    assert rope_warnings(rope(like=name)) == []


@pytest.mark.parametrize("name", ROPES)
def test_library_rope_cannot_beat_its_fibre(name: str) -> None:
    # nylon fibre: modulus at most 4 N/tex, strength 0.84 N/tex (fibre property tables, Tension
    # Technology); a rope of 65 g/m has K at most 260 kN and holds at most 54.6 kN
    found = rope(like=name)
    tex = found.mass.value * 1e6
    assert found.stiffness.high <= 4 * tex
    assert found.strength.high <= 0.84 * tex


def test_two_measured_ropes_lie_in_the_library() -> None:
    # Long, Lyon & Lyon, HSE Contract Research Report 364/2001, table 1: two ropes of 10.5 mm
    found = rope(like="low-stretch 10.5")
    for mass, strength, sheath in ((0.065, 27.0e3, 0.38), (0.067, 29.9e3, 0.41)):
        assert found.mass.low <= mass <= found.mass.high
        assert found.strength.low <= strength <= found.strength.high
        assert found.sheath_share.low <= sheath <= found.sheath_share.high


@pytest.mark.parametrize(
    ("values", "clause"),
    [
        ({"strength": "21 kN"}, "EN 1891, static strength"),
        ({"like": "low-stretch 9", "strength": "17 kN"}, "EN 1891, static strength"),
        ({"termination": "0.45"}, "EN 1891, static strength with terminations"),
        ({"like": "low-stretch 9", "termination": "0.59"}, "EN 1891, static strength with term"),
        ({"elongation": "5.5 %"}, "EN 1891, elongation"),
        ({"stiffness": "19 kN"}, "EN 1891, elongation"),
        ({"sheath_share": "32 %"}, "EN 1891, proportion of sheath"),
        ({"diameter": "17 mm"}, "EN 1891, diameter"),
        ({"diameter": "8 mm"}, "EN 1891, diameter"),
        ({"peak_force": "6.1 kN"}, "EN 1891, peak force"),
        ({"elongation": "2 %"}, "EN 1891, peak force"),
        ({"like": "dynamic single 9.8", "peak_force": "12.5 kN"}, "EN 892, peak force"),
        ({"like": "dynamic single 9.8", "static_elongation": "11 %"}, "EN 892, static"),
        ({"like": "dynamic single 9.8", "dynamic_elongation": "41 %"}, "EN 892, dynamic"),
    ],
)
def test_warning_names_the_clause(values: dict[str, str], clause: str) -> None:
    assert any(warning.startswith(clause) for warning in rope_warnings(rope(**values)))


def test_warning_reaches_the_scenario_with_its_address() -> None:
    scenario = bench(("like: low-stretch 11", "like: low-stretch 11, strength: 21 kN"))
    assert scenario.warnings[0].startswith("ropes/rope: EN 1891, static strength: 21 kN")


@pytest.mark.parametrize("word", built_in()["slings"])
def test_slings_keep_their_standard(word: str) -> None:
    # EN 566 (from memory): at least 22 kN
    assert built_in()["slings"][word]["strength"]["value"] == "22 kN"
