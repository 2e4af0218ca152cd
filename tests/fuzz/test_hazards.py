"""No output improves when an input gets worse, what is infinite or not known included."""

from __future__ import annotations

import json
import random
from itertools import pairwise
from math import inf, isfinite, nan

import pytest

from edgewear.dataset.ranking.part import Part
from edgewear.dataset.ranking.parts import parts_of
from edgewear.findings.limits import AboveLimit, Figure, NoRoom
from edgewear.rigging import rig
from edgewear.rigging.findings.limits import beyond_limits
from edgewear.study.single import simulate
from fuzz.hazards import badness, scenario
from support.scenario_files import bench

SAFETY = "options/covered/safety line"

WORSE = {
    f"{SAFETY}/backup/slips": [
        "6 kN", "2 kN", "1 kN", "0.981 kN", "0.98 kN", "1 N",
    ],
    f"{SAFETY}/backup/arrest": ["0.1 m", "1.5 m", "10 m", "40 m"],
    f"{SAFETY}/slack": ["0 m", "0.2 m", "1 m", "20 m"],
    "people/worker/mass": [
        "60 kg", "140 kg", "250 kg", "399 kg", "400 kg",
    ],
    "below/ground": ["60 m down", "24 m down", "22 m down"],
    "anchors/beam/strength": ["30 kN", "5 kN", "1 N"],
    "ropes/rope/strength": ["40 kN", "3 kN", "10 N"],
    "ropes/rope/termination": ["1", "0.2", "0.01"],
    "edges/kerb/radius": ["20 mm", "1 mm", "0.1 mm"],
}  # fmt: skip
"""Address -> values from good to bad."""

ONLY_PULLS_LESS = ("careful peak", "N catch")
"""A device that slips sooner does pull less: the force at which it slips is the peak."""


def grows(address: str, values: list[str]) -> None:
    """Hold everything that is found of each value against the value before."""
    found = [badness(scenario({address: value})) for value in values]
    for (before, after), value in zip(pairwise(found), values[1:], strict=True):
        for key, bad in before.items():
            if address.endswith("slips") and key.endswith(ONLY_PULLS_LESS):
                continue
            # roots of halved intervals come to within 1e-9 of the drop
            least = bad - 1e-9 * max(1.0, abs(bad)) if isfinite(bad) else bad
            assert after.get(key, -inf) >= least, (address, value, key)


@pytest.mark.parametrize("address", WORSE)
def test_nothing_of_a_catch_improves_when_an_input_gets_worse(address: str) -> None:
    grows(address, WORSE[address])


@pytest.mark.long
@pytest.mark.parametrize("seed", range(64))
def test_nothing_of_a_catch_improves_between_any_two_values(seed: int) -> None:
    rng = random.Random(seed)
    kilos = sorted(rng.uniform(40.0, 500.0) for _ in range(12))
    slips = sorted((rng.uniform(1.0, 6_000.0) for _ in range(12)), reverse=True)
    slack = sorted(rng.uniform(0.0, 10.0) for _ in range(12))
    grows("people/worker/mass", [f"{kg:.6f} kg" for kg in kilos])
    grows(f"{SAFETY}/backup/slips", [f"{n:.6f} N" for n in slips])
    grows(f"{SAFETY}/slack", [f"{m:.6f} m" for m in slack])


@pytest.mark.parametrize("slips", ["0.9 kN", "0.9 kN to 5 kN"])
def test_a_backup_that_slips_below_body_weight_is_told_everywhere(slips: str) -> None:
    """100 kg weigh 0.981 kN: below that no friction of the device stops the fall."""
    found = scenario({f"{SAFETY}/backup/slips": slips})
    bad = badness(found)
    assert bad["careful drop"] == inf
    assert bad["room above ground"] == inf
    assert bad["slipping backup m catch"] == inf
    assert bad["catches above a limit"] >= 1
    worst = max(bad[key] for key in bad if key.endswith(" at 3"))
    assert worst >= 1.0  # nobody can tell that it holds
    said = [text for text in rig(found, "covered").warnings if "less than the weight" in text]
    assert len(said) == 1


@pytest.mark.parametrize("endless", [inf, nan])
def test_what_is_no_number_is_above_every_limit(endless: float) -> None:
    found = beyond_limits(scenario({}), endless, endless)
    assert [one.figure for one in found] == [Figure.DROP, Figure.PEAK]
    assert all("without end" in one.words for one in found)
    assert "nan" not in str([one.words + one.short for one in found])


def test_a_limit_that_is_met_is_not_passed() -> None:
    assert beyond_limits(scenario({}), 2.0, 6e3) == ()


def test_a_load_without_end_is_over_its_limit_and_null_in_a_document() -> None:
    part = Part("backup device", "x", ("line",), (), "drop", "catch", inf, inf, 2.0, "m")
    assert part.over
    document = json.loads(json.dumps(part.as_json(), allow_nan=False))
    assert document["over"] is True
    assert document["load"] is None
    assert "nothing ends" in document["words"]


def test_a_load_that_a_dataset_holds_as_null_is_over_its_limit() -> None:
    import numpy as np

    runs = {"status": np.array([0]), "run": np.array([0])}
    row = {
        "kind": "backup device", "name": "x", "lines": ["safety line"], "people": ["w"],
        "case": "catch", "load": None, "others": 0.0, "most": 2.0, "unit": "m",
    }  # fmt: skip
    (part,) = parts_of(runs, {"run": np.array([0])}, {"bears": [row]})
    assert part.over


def test_words_of_what_has_no_end() -> None:
    assert AboveLimit(Figure.DROP, inf, 2.0, "x").short == "without end"
    assert "inf" not in NoRoom("ground", inf).words


MACHINE = (
    ("people:\n  climber: {mass: 90 kg, technique: jerky, start: 8 m}\n", ""),
    ("  - ascend: 5 m", "  - reciprocate: {load: 80 kg, travel: 0.2 m, speed: 0.5 m/s, cycles: 3}"),
    ("surface: steel}", "surface: steel, roughness: 1}"),
)
"""A bench on which the drive alone says how far the rope moves: nobody's strokes change with it."""

WORN_BY = {
    "edges/arris/radius": ["20 mm", "5 mm", "1 mm", "0.5 mm"],
    "edges/arris/roughness": ["0.1", "1", "5", "1000"],
    "job/1/reciprocate/load": ["20 kg", "80 kg", "200 kg"],
    "job/1/reciprocate/cycles": ["1", "3", "9"],
    "job/1/reciprocate/travel": ["0.05 m", "0.2 m", "0.8 m"],
    "wear/sheath energy": ["3e9 J/m3", "3e8 J/m3", "3e6 J/m3", "10 J/m3"],
    "ropes/rope/sheath share": ["60 %", "40 %", "5 %"],
}


@pytest.mark.parametrize("address", WORN_BY)
def test_no_sheath_is_gained_when_an_input_gets_worse(address: str) -> None:
    left = []
    for value in WORN_BY[address]:
        (line,) = simulate(bench(*MACHINE).with_values({address: value}), None)["lines"]
        left.append(-inf if line["sheath_margin"] is None else line["sheath_margin"])
    assert left == sorted(left, reverse=True)
