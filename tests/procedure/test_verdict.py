"""The list that stands first: complete, gravest first, and what removes most is found by trying."""

from __future__ import annotations

import io
from functools import cache

import pytest
from typer.testing import CliRunner

from edgewear.cli.commands import app
from edgewear.findings.verdict import GRAVEST_FIRST, Held
from edgewear.procedure.faults import faults
from edgewear.procedure.judged.remedy import changes_for, looked_at
from edgewear.report import print_faults
from edgewear.report.procedure.verdict_words import NOTHING
from edgewear.scenario import load_text
from support.planted.found import SHARED, troubles
from support.planted.sound import text_of

SOUND: dict = {}
NO_SLING = {"kit/rescue sling": None}
WEAK = {"anchors/mid west/strength": "1 kN"}
TIGHT = {"limits/drop": "10 cm"}
LATE = {"limits/ground": "1 min", "limits/release": None, "limits/reach": None}


@cache
def found(*changes):
    change = {key: value for some in changes for key, value in some}
    return faults(load_text(text_of("pick-off", change), "made.yaml"), replicates=1, workers=1)


def of(change):
    return found(tuple(change.items()))


@pytest.mark.parametrize("change", [SOUND, NO_SLING, WEAK, TIGHT, LATE])
def test_the_list_is_empty_exactly_where_nothing_is_held_against_the_document(change) -> None:
    verdict = of(change).verdict
    held = {one for one in troubles(of(change).as_json()) if one.kind != SHARED}
    assert bool(verdict.points) == bool(held)
    assert verdict.fails == any(not point.usual for point in verdict.points)
    order = [GRAVEST_FIRST.index(point.held) for point in verdict.points]
    assert order == sorted(order)


@pytest.mark.parametrize(
    ("change", "held"), [(NO_SLING, Held.HANGS), (WEAK, Held.NO), (TIGHT, Held.ABOVE),
                         (LATE, Held.ABOVE)]
)  # fmt: skip
def test_what_is_planted_stands_in_the_list_and_first_on_the_terminal(change, held) -> None:
    points = of(change).verdict.points
    assert held in {point.held for point in points}
    told = io.StringIO()
    print_faults(of(change), told, 80)
    text = " ".join(told.getvalue().split())
    first, people = points[0], text.index("What becomes of people")
    assert text.index(" ".join(first.where.split())) < people


def test_nothing_held_is_said_as_what_was_tried_and_no_more() -> None:
    told = io.StringIO()
    print_faults(of(SOUND), told, 80)
    assert NOTHING in " ".join(told.getvalue().split())


def test_the_change_that_is_told_leaves_what_it_says_and_no_change_leaves_less() -> None:
    scenario = load_text(text_of("pick-off", NO_SLING), "made.yaml")
    verdict = faults(scenario, replicates=1, workers=1, remedy=True).verdict
    assert verdict.remedy is not None
    assert (verdict.remedy.address, verdict.remedy.typed) == ("kit/rescue sling", "1")
    before = looked_at(scenario, "as written")
    assert verdict.remedy.of == sum(point.times for point in before)
    repaired = load_text(text_of("pick-off", SOUND), "made.yaml")
    assert looked_at(repaired, "as written") == ()  # what was taken away is all there was
    assert verdict.remedy.left == 0
    assert 0 < verdict.tried <= len(changes_for(scenario, "as written"))


@pytest.mark.parametrize(("change", "code"), [(SOUND, 0), (NO_SLING, 3)])
def test_the_exit_code_gates_a_process(change, code, tmp_path) -> None:
    path = tmp_path / "made.yaml"
    path.write_text(text_of("pick-off", change))
    done = CliRunner().invoke(
        app, ["faults", str(path), "--replicates", "1", "--no-remedy", "--quiet"]
    )
    assert done.exit_code == code
