"""The library holds what its sources say, with a range and a pedigree for every value."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from edgewear.scenario.models.gear import Edge
from edgewear.scenario.read.libraries import accuracies, built_in, stamped
from edgewear.scenario.text.units import DIMENSIONS, to_si
from support.scenario_files import bench


def values(found: Any, path: str = "") -> Iterator[tuple[str, dict[str, str]]]:
    """Go through every value of the library."""
    for key, value in found.items():
        here = f"{path}/{key}"
        if isinstance(value, dict):
            if "value" in value:
                yield here, value
            else:
                yield from values(value, here)


VALUES = dict(values(built_in()))


@pytest.mark.parametrize("address", VALUES)
def test_value_has_a_range_and_a_pedigree(address: str) -> None:
    assert VALUES[address].get("pedigree"), "a pedigree is due"
    assert {"low", "high"} <= set(VALUES[address]), "a range is due"


def test_every_section_can_be_built() -> None:
    scenario = bench()
    assert set(scenario.techniques) == set(built_in()["techniques"])
    assert set(scenario.systems) == set(built_in()["systems"])
    assert set(scenario.protections) == set(built_in()["protection"])
    assert set(scenario.edge_classes) == set(built_in()["edge classes"])
    for name in built_in()["surfaces"]:
        surface = bench(("surface: steel", f"surface: {name}")).edges["arris"].surface
        assert surface.name == name


@pytest.mark.parametrize(
    ("surface", "measured"),
    # Delaney, Physics for Roping Technicians (2022), p. 88 (measured)
    [
        ("aluminium", (0.21, 0.15, 0.19, 0.18, 0.14, 0.18)),
        ("galvanised steel", (0.25, 0.19, 0.21)),
        ("steel", (0.24, 0.24)),
        ("wood", (0.37, 0.36)),
        ("concrete", (0.44,)),
    ],
)
def test_measured_friction_lies_in_the_range(surface: str, measured: tuple[float, ...]) -> None:
    friction = built_in()["surfaces"][surface]["friction"]
    assert all(float(friction["low"]) <= mu <= float(friction["high"]) for mu in measured)


@pytest.mark.parametrize(
    ("word", "low_mm", "high_mm"),
    # edge classes by radius, from memory
    [
        ("chamfered concrete", 10, 20),
        ("worn masonry arris", 3, 8),
        ("rolled-section steel arris", 1, 3),
        ("broken concrete", 0.5, 5),
        ("flashing or sheet", 0.3, 0.8),
    ],
)
def test_edge_class_has_its_radii(word: str, low_mm: float, high_mm: float) -> None:
    edge = bench(("{radius: 1 mm, surface: steel}", f"{{is: {word}}}")).edges["arris"]
    assert (edge.radius.low, edge.radius.high) == pytest.approx(
        (low_mm * 1e-3, high_mm * 1e-3), rel=1e-12
    )
    assert edge.radius.low <= edge.radius.value <= edge.radius.high


def test_pipe_is_at_least_25_mm_and_a_plate_below_0_3() -> None:
    classes: dict[str, Edge] = bench().edge_classes
    assert classes["pipe or rolled"].radius.low >= 0.025
    for word in ("sheared plate", "burr", "glass edge"):
        assert classes[word].radius.high <= 0.0003
        assert classes[word].is_cutting


def test_order_of_protection_and_techniques() -> None:
    scenario = bench()
    severity = {name: p.severity.value for name, p in scenario.protections.items()}
    assert severity["roller"] < severity["edge plate"] < severity["pad"] < 1
    assert severity["sleeve"] < 1
    techniques = scenario.techniques
    order = [techniques[name] for name in ("smooth", "normal", "jerky")]
    assert sorted(order, key=lambda t: t.sit_back.value) == order
    cycle = [t.rise_time.value + t.drop_time.value + t.pause_time.value for t in order]
    assert 2.3 <= cycle[0] <= 6 + 1e-9  # 2.5 to 6 s, tried at 2.3 s
    assert 2 - 1e-9 <= cycle[1] <= 4
    assert 0.8 - 1e-9 <= cycle[2] <= 2


def test_softening_lies_below_melting() -> None:
    for entry in built_in()["sheaths"].values():
        softens = to_si(entry["softens"]["value"], DIMENSIONS["temperature"])
        assert softens < to_si(entry["melts"]["value"], DIMENSIONS["temperature"])


def test_stamp_keeps_what_is_there() -> None:
    entry = {"value": "1 mm", "basis": "class", "typed": "own"}
    assert stamped(entry, "word") == entry


def test_an_accuracy_has_a_share_and_a_least_where_one_is_given() -> None:
    entry = {"share": "5 %", "distribution": "normal"}
    found = accuracies({"accuracy": {"distance/eyed": entry,
                                     "distance/taped": {**entry, "least": "1 cm"},
                                     "mass/weighed": {**entry, "least": "500 g",
                                                      "pedigree": "assumed"}}})  # fmt: skip
    assert {kind: tuple(one) for kind, one in found.items()} == {
        "distance/eyed": (0.05, 0.0, "normal", ""),
        "distance/taped": (0.05, 0.01, "normal", ""),
        "mass/weighed": (0.05, 0.5, "normal", "assumed"),
    }
