"""Bare edges without a status, long drops and hard catches stand beside an option everywhere."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

import pytest

from edgewear.dataset.ranking.model import OptionResult, Ranking
from edgewear.dataset.ranking.why import why_of
from edgewear.findings.limits import AboveLimit, Drop, Figure
from edgewear.findings.plain import plain
from edgewear.findings.rigging import LongCatch
from edgewear.report.formats import table_csv
from edgewear.report.terminal.single_run import print_run
from support import outputs, rankings

BARE = "bare edge: the loaded working line runs over lip without protection"
BARE_EDGE = {"line": "working line", "edges": ["lip"], "works": True, "words": BARE}
CATCH = LongCatch(
    "lead",
    AboveLimit(Figure.DROP, 3.4, 2.0, "EN 12841", usual=True),
    Drop(slack_m=0.2, device_m=0.6, stretch_m=2.6, sunk_m=0.0),
)
LONG = (
    "if the working line is lost, lead: drop of 3.4 m (2.6 m stretch, 0.6 m device, 0.2 m slack), "
    "more than 2 m (EN 12841 from memory: check the current standard)"
)


def told() -> tuple[Ranking, OptionResult]:
    """A ranking whose first option has something to mind."""
    ranking = rankings.ordinary()
    first = ranking.options[0]
    minded = {"mind": [BARE, plain(CATCH)], "bare_edges": [BARE_EDGE]}
    first = replace(first, facts={**first.facts, **minded})
    return replace(ranking, options=(first, *ranking.options[1:])), first


OUTPUTS = outputs.READ


def bare_text(text: str) -> str:
    return " ".join(re.sub("<[^>]+>", "", text).replace("\\", "").split())


@pytest.mark.parametrize("output", OUTPUTS)
def test_it_is_said_in_every_output(output: str) -> None:
    ranking, _ = told()
    found = bare_text(OUTPUTS[output](ranking))
    assert BARE in found
    assert LONG in found
    assert "3.4 m" not in bare_text(OUTPUTS[output](rankings.ordinary()))


def test_it_stands_in_the_options_row_of_the_table() -> None:
    ranking, first = told()
    rows = csv.DictReader(io.StringIO(table_csv.table(ranking)))
    found = {row["option"]: row["mind"] for row in rows}
    assert found.pop(first.name) == f"{BARE}; {LONG}"
    assert set(found.values()) == {""}
    assert ranking.as_json()["options"][0]["mind"] == [BARE, LONG]


def test_a_bare_edge_without_a_status_is_part_of_the_why() -> None:
    _, first = told()
    assert why_of(first).startswith(f"B{BARE[1:]}. ")
    assert not why_of(rankings.ordinary().options[0]).startswith("Bare edge")


def test_a_run_says_it_under_its_status() -> None:
    stream = io.StringIO()
    document = {"option": "o", "status": [], "lines": [], "cautions": [], "mind": [BARE]}
    print_run(document, stream)
    assert BARE in " ".join(stream.getvalue().split())
