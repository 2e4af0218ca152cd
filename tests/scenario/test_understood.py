"""What was understood is said word by word, and the resolved document holds it in SI."""

from __future__ import annotations

import json
import re
from math import pi
from pathlib import Path

import pytest

from edgewear.scenario import (
    load_scenario,
    load_text,
    resolved_document,
    summary,
    summary_document,
)
from edgewear.scenario.summaries import brief
from edgewear.scenario.text.spelling import spell
from support.planted.sound import text_of
from support.scenario_files import BENCH, EXAMPLES, HERE, ROOT, SHIPPED, bench

CHOICES = load_scenario(HERE / "examples" / "choices.txt")


def test_every_name_is_said() -> None:
    text = "\n".join(summary(CHOICES))
    for section in (CHOICES.anchors, CHOICES.edges, CHOICES.ropes, CHOICES.people, CHOICES.options):
        assert all(name in text for name in section)


def test_word_is_said_with_what_it_was_taken_to_mean() -> None:
    text = "\n".join(summary(CHOICES))
    # 15 % of 22 m, the accuracy of pacing
    assert "out -22 m (-25.3 m to -18.7 m), paced" in text
    assert "worn masonry arris, masonry, radius 4.9 mm (3 mm to 8 mm)" in text


@pytest.mark.parametrize("unit", ["m", "s", "N", "N/m", "kg", "kg/m", "rad", "1/s", "1", "m/s"])
@pytest.mark.parametrize("power", range(-9, 7))
@pytest.mark.parametrize("digits", [1.0, 2.345, 9.996])
def test_what_is_not_nothing_is_not_spelled_as_nothing(unit, power, digits) -> None:
    value = digits * 10.0**power
    number, _, word = spell(value, unit).partition(" ")
    assert "e" not in number or power > 1  # a million and more
    back = {"mm": 1e-3, "kN": 1e3, "kN/m": 1e3, "g/m": 1e-3, "min": 60.0, "deg": pi / 180,
            "per h": 1 / 3600}.get(word, 1.0)  # fmt: skip
    assert float(number) * back == pytest.approx(value, rel=6e-4)  # four figures
    assert spell(-value, unit) == "-" + spell(value, unit)


@pytest.mark.parametrize("per_hour", [0.001, 0.2, 2, 30])
def test_a_rate_of_faults_is_said_by_the_hour(per_hour) -> None:
    assert spell(per_hour / 3600, "1/s") == f"{per_hour:g} per h"


def test_cutting_edge_is_said() -> None:
    scenario = bench(("radius: 1 mm", "radius: 0.5 mm"))
    assert any("cutting edge" in line for line in summary(scenario))


def test_warning_is_said() -> None:
    scenario = bench(("like: low-stretch 11", "like: low-stretch 11, strength: 21 kN"))
    assert any("EN 1891, static strength" in line for line in summary(scenario))


def test_taken_lists_words_and_measurements() -> None:
    taken = {row["address"]: row for row in summary_document(CHOICES)["taken"]}
    paced = taken["anchors/far bollards/out"]
    assert (paced["typed"], paced["meant"], paced["unit"]) == ("paced 22 m back", "-22 m", "m")
    assert (paced["low"], paced["high"]) == pytest.approx((-25.3, -18.7), rel=1e-12)
    assert paced["basis"].startswith("paced")
    assert taken["edges/kerb/radius"]["typed"] == "worn masonry arris"
    assert "wear/cold share" not in taken


def test_parameters_have_a_pedigree() -> None:
    rows = summary_document(CHOICES)["parameters"]
    assert {row["pedigree"] for row in rows} <= {
        "assumed", "from memory", "fitted", "source", "fixed",
    }  # fmt: skip
    addresses = {row["address"] for row in rows}
    assert {"wear/sheath energy", "people/lead/body stiffness", "times/cross edge"} <= addresses


@pytest.mark.parametrize("file", [*SHIPPED, *EXAMPLES], ids=lambda file: file.stem)
def test_resolved_document_is_plain_json(file: Path) -> None:
    scenario = load_scenario(file)
    document = json.loads(json.dumps(resolved_document(scenario), allow_nan=False))
    assert document["title"] == scenario.title
    assert document["options"].keys() == scenario.options.keys()
    assert "source" not in document


def test_resolved_values_are_in_si() -> None:
    document = resolved_document(CHOICES)
    assert document["edges"]["flange"]["radius"]["value"] == 0.002
    assert document["edges"]["flange"]["radius"]["unit"] == "m"


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.002, "m", "2 mm"),
        (22.0, "m", "22 m"),
        (15_000.0, "N", "15 kN"),
        (100.0, "N", "100 N"),
        (1500.0, "s", "25 min"),
        (0.075, "kg/m", "75 g/m"),
        (10_000.0, "N/m", "10 kN/m"),
        (0.45, "1", "0.45"),
        (0.0, "m", "0 m"),
        (0.1, "m", "0.1 m"),
        (-0.0625, "m", "-62.5 mm"),
        (999.0, "N", "999 N"),
        (1000.0, "N", "1 kN"),
        (-1500.0, "N", "-1.5 kN"),
        (999.0, "N/m", "999 N/m"),
        (1000.0, "N/m", "1 kN/m"),
        (119.0, "s", "119 s"),
        (120.0, "s", "2 min"),
        (pi / 2, "rad", "90 deg"),
        (2.5, "1/s", "2.5 Hz"),
        (123_456.0, "kg", "123456 kg"),  # without an exponent below a million
        (-123_456.0, "kg", "-123456 kg"),
        (1e6, "kg", "1e+06 kg"),
    ],
)
def test_value_is_spelled_for_readers(value: float, unit: str, text: str) -> None:
    assert spell(value, unit) == text


BLOCKS = [
    (page, block)
    for page in sorted((ROOT / "docs").rglob("*.md"))
    for block in re.findall(r"```yaml\n(edgewear: .*?)```", page.read_text(), re.DOTALL)
]


@pytest.mark.parametrize(("page", "block"), BLOCKS, ids=lambda v: getattr(v, "stem", ""))
def test_scenario_in_the_documentation_is_read(page: Path, block: str) -> None:
    assert load_text(block, page.name).options


def test_library_in_the_documentation_is_read() -> None:
    page = (ROOT / "docs" / "how-to" / "own-library.md").read_text()
    found = re.search(r"```yaml\n# store.yaml\n(.*?)```", page, re.DOTALL)
    assert found is not None
    text = BENCH.replace("title: Bench", "title: Bench\nlibrary: store.yaml")
    text = text.replace("{like: low-stretch 11", '{like: "store 11, batch 7"')
    scenario = load_text(text.replace("surface: steel", "surface: glazed tile"), "x", found[1])
    assert scenario.edges["arris"].friction.value == 0.25
    assert scenario.warnings == ()


def test_same_site_by_coordinates_and_by_legs() -> None:
    page = ROOT / "docs" / "how-to" / "survey-a-site.md"
    blocks = [b for p, b in BLOCKS if p == page and "The same site" in b]
    by_coordinates, by_legs = (load_text(block, page.name) for block in blocks)
    for name, edge in by_coordinates.edges.items():
        assert by_legs.edges[name].start_m == pytest.approx(edge.start_m, abs=1e-12)
    for name, anchor in by_coordinates.anchors.items():
        other = by_legs.anchors[name]
        for mine, theirs in ((anchor.out, other.out), (anchor.up, other.up)):
            assert mine is not None
            assert theirs is not None
            assert theirs.value == pytest.approx(mine.value, abs=1e-12)


LIMITS = {"reach": "12 min", "release": "18 min", "ground": "30 min", "drop": "1.5 m",
          "peak": "4 kN", "hands": "200 N", "suspension": "25 min"}  # fmt: skip
ALL = {
    "beside/pillar": {"along": "1.5 m", "from": "-2 m", "to": "-30 m"},
    **{f"limits/{name}": said for name, said in LIMITS.items()},
}


@pytest.mark.parametrize("left_out", [None, *ALL])
def test_limits_and_what_stands_beside_are_said_and_only_those_that_are_typed(left_out):
    """Whoever checks a file must see by what a rescue and a swing will be judged."""
    kept = {key: value for key, value in ALL.items() if key != left_out}
    found = load_text(text_of("pick-off", {"limits": {}, "beside": {}, **kept}), "made.yaml")
    short = " ".join(brief(found))
    whole = " ".join(summary(found))
    for name, said in LIMITS.items():
        typed = f"limits/{name}" in kept
        assert (f"{name} {said}" in short) == (f"{name}: {said}" in whole) == typed
    for text in (short, whole):
        assert ("pillar" in text) == ("beside/pillar" in kept)


@pytest.mark.parametrize("step", [1, 2, 3, 5])
@pytest.mark.parametrize(
    "fault", [{"anchor fails": "west"}, {"casualty unresponsive": "technician"},
              {"protection displaced": "lip"}, {"weather": "icy"}, {"device jammed": "technician"}]
)  # fmt: skip
def test_the_step_that_a_fault_comes_with_is_said(fault, step):
    for typed in (fault, {**fault, "step": step}):
        found = load_text(text_of("pick-off", {"faults": {"it": typed}}), "made.yaml")
        for lines in (brief(found), summary(found)):
            [said] = [line for line in lines if line.strip().startswith("it:")]
            assert (f"step {step}" in said) == ("step" in typed)
