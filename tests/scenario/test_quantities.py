"""How quantities are typed: words, directions, ranges, accuracies."""

from __future__ import annotations

import re

import pytest
import yaml

from edgewear.errors import ScenarioError
from edgewear.scenario.read.libraries import accuracies, built_in
from edgewear.scenario.read.reading import load_text
from edgewear.scenario.text.quantities import Measured, Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from support.tree import ROOT

OUT = Quantity("length", accuracy="distance", directions="out")
UP = Quantity("length", accuracy="distance", directions="up")
RADIUS = Quantity("length", accuracy="radius", low=0.0, above=True)
HEIGHT = Quantity("length", low=0.0, above=True)
CONTEXT = {"accuracy": accuracies(built_in()), "exact": False}
TEST = {**CONTEXT, "exact": True}


def read(text: object, quantity: Quantity = OUT, exact: bool = False) -> Measured:
    return read_quantity(text, quantity, TEST if exact else CONTEXT)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("22 m", 22.0),
        ("-3 m", -3.0),
        ("22 m back", -22.0),
        ("3 m out", 3.0),
        ("paced 22 m back", -22.0),
        ("taped 45 cm", 0.45),
    ],
)
def test_out_is_read_with_its_direction(text: str, value: float) -> None:
    assert read(text).value == value


WAYS = {"out": ("out", "back"), "up": ("up", "down"), "along": ("right", "left")}


@pytest.mark.parametrize("axis", WAYS)
def test_a_direction_after_a_distance_says_its_sign_and_no_other_axis_knows_it(axis: str) -> None:
    due = Quantity("length", accuracy="distance", directions=axis)
    for on, (there, back) in WAYS.items():
        if on == axis:
            assert [read(f"3 m {word}", due).value for word in (there, back)] == [3.0, -3.0]
            continue
        for word in (there, back):
            with pytest.raises(QuantityProblem, match=f"'{word}' is no direction"):
                read(f"3 m {word}", due)


@pytest.mark.parametrize("found", ["9e307 km", "1 m to 1e306 km", {"value": "1e308 km"}])
def test_what_no_number_can_hold_is_too_large(found: object) -> None:
    with pytest.raises(QuantityProblem, match="is too large"):
        read(found)


def test_each_way_of_measuring_is_wider_than_the_better_one() -> None:
    widths = [
        (found.high - found.low, found.basis)
        for found in (read("measured 20 m"), read("taped 20 m"), read("paced 20 m"))
    ]
    assert [basis for _, basis in widths] == ["measured", "taped", "paced"]
    assert widths == sorted(widths)
    assert widths[0][0] > 0


def test_words_and_measurements_share_their_value() -> None:
    assert {read(f"{word} 20 m").value for word in ("measured", "taped", "paced")} == {20.0}


def test_plain_text_is_exact_in_a_test() -> None:
    assert read("20 m", exact=True).is_exact
    assert read("20 m", exact=True).basis == "given"
    assert not read("paced 20 m", exact=True).is_exact


def test_step_quantity_is_exact() -> None:
    assert read("18 m", HEIGHT).is_exact


def test_radius_interval_is_a_factor_either_way() -> None:
    found = read("2 mm", RADIUS)
    assert found.low * found.high == pytest.approx(found.value**2, rel=1e-12)  # round-off
    assert found.distribution == "lognormal"


@pytest.mark.parametrize(
    ("text", "low", "value", "high"),
    [
        ("3 mm to 8 mm", 0.003, 0.0055, 0.008),
        ("3 to 8 mm", 0.003, 0.0055, 0.008),
        ("0.3 cm to 8 mm", 0.003, 0.0055, 0.008),
    ],
)
def test_range_is_read(text: str, low: float, value: float, high: float) -> None:
    found = read(text, RADIUS)
    assert (found.low, found.value, found.high) == pytest.approx((low, value, high), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "half"),
    [("30 m +- 0.5 m", 0.5), ("30 m ± 50 cm", 0.5), ("30 m +- 2 %", 0.6)],
)
def test_own_accuracy_wins(text: str, half: float) -> None:
    found = read(text)
    assert found.high - found.value == pytest.approx(half, rel=1e-12)


def test_entry_keeps_its_pedigree() -> None:
    entry = {"value": "2 mm", "low": "1 mm", "high": "3 mm", "pedigree": "own gauge"}
    found = read(entry, RADIUS)
    assert (found.low, found.high, found.pedigree) == (0.001, 0.003, "own gauge")


@pytest.mark.parametrize(
    ("text", "quantity", "said"),
    [
        ("-3 m back", OUT, "both a sign and a direction"),
        ("3 m down", OUT, "no direction of this distance"),
        ("3 m back", UP, "no direction of this distance"),
        ("paced 2 mm", RADIUS, "for distances of the survey"),
        ("pased 22 m", OUT, "did you mean 'paced'"),
        ("0 mm", RADIUS, "too small"),
        ("-5 m", HEIGHT, "too small"),
        ("5", HEIGHT, "has no unit"),
        ("5 kg", HEIGHT, "is a mass: a length is due"),
        ("5 m +- -1 m", HEIGHT, "never negative"),
        ({"value": "2 mm", "low": "3 mm"}, RADIUS, "must rise"),
        ({"vallue": "2 mm"}, RADIUS, "did you mean 'value'"),
        (True, HEIGHT, "a length is due"),
        (None, HEIGHT, "a length is due"),
        (["5 m"], HEIGHT, "a length is due"),
    ],
)
def test_wrong_text_is_refused_in_words(text: object, quantity: Quantity, said: str) -> None:
    with pytest.raises(QuantityProblem, match=said):
        read(text, quantity)


def test_number_is_taken_as_si() -> None:
    assert read(0.004, RADIUS).value == 0.004


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("2 m to 3 m", (2.0, 3.0)),
        ("2 m to 3 m out", (2.0, 3.0)),
        ("2 m to 3 m back", (-3.0, -2.0)),
        ("2 to 3 m back", (-3.0, -2.0)),
        ("50 cm to 3 m back", (-3.0, -0.5)),
    ],
)
def test_a_range_rises_whichever_way_it_goes(text: str, ends: tuple[float, float]) -> None:
    found = read(text)
    assert (found.low, found.high) == pytest.approx(ends)
    assert found.value == pytest.approx(sum(ends) / 2)


@pytest.mark.parametrize(
    ("dimension", "text", "most"),
    [("factor", "1e9", "is at most 1e+06 here"), ("length", "1e9 m", "is at most 10000 m here")],
)
def test_a_limit_is_said_with_its_unit_where_it_has_one(
    dimension: str, text: str, most: str
) -> None:
    with pytest.raises(QuantityProblem, match=re.escape(most)):
        read(text, Quantity(dimension))


@pytest.mark.parametrize("key", ["edgewear", "title", "setting", "options", "job"])
def test_a_part_that_every_scenario_has_is_missed_by_its_name(key: str) -> None:
    data = yaml.safe_load((ROOT / "scenarios" / "demo.yaml").read_text())
    del data[key]
    with pytest.raises(ScenarioError, match=f"'{key}' is missing"):
        load_text(yaml.safe_dump(data, sort_keys=False))
