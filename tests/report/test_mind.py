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
from edgewear.report.parts.not_counted import HOT
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


def with_faults(count: int) -> Ranking:
    """A ranking of a scenario that tells of faults."""
    ranking = rankings.ordinary()
    faults = {f"fault {number}": {"fault": "weather"} for number in range(count)}
    return replace(ranking, scenario={**ranking.scenario, "faults": faults})


@pytest.mark.parametrize("count", [0, 1, 4, 5, 12])
@pytest.mark.parametrize("output", ["terminal", "page", "markdown"])
def test_that_faults_are_not_counted_is_said_with_how_many(output: str, count: int) -> None:
    found = bare_text(OUTPUTS[output](with_faults(count)))
    assert ("not in these numbers" in found) == (count > 0)
    named = set(re.findall(r"fault \d+", found.partition("not in these numbers")[2]))
    more = re.search(r" and (\d+) more\)", found)
    assert len(named) + (int(more[1]) if more else 0) == count
    assert output == "terminal" or not more


def test_a_run_says_that_faults_are_not_played() -> None:
    document = {"option": "o", "status": [], "lines": [], "cautions": []}
    document["faults_not_played"] = ["rain"]
    stream = io.StringIO()
    print_run(document, stream)
    assert "the faults of the scenario (rain)" in bare_text(stream.getvalue())


def melting(degrees_c: float | None, line: str = "working line") -> Ranking:
    """A ranking whose first option has an edge of that temperature, its sheath melting at 215."""
    ranking = rankings.ordinary()
    first = ranking.options[0]
    edges = (replace(first.edges[0], line=line, flash_temperature_c=degrees_c), *first.edges[1:])
    facts = {**first.facts, "ropes": ({**first.facts["ropes"][0], "line": line},)}
    rope = facts["ropes"][0]["rope"]
    first = replace(first, edges=edges, facts=facts)
    ropes = {rope: {"sheath": {"melts": {"low": 215.0}}}}
    scenario = {**ranking.scenario, "ropes": ropes}
    return replace(ranking, options=(first, *ranking.options[1:]), scenario=scenario)


@pytest.mark.parametrize(
    ("degrees_c", "said"),
    [(None, False), (20, False), (214.9, False), (215, True), (900, True)],
)
@pytest.mark.parametrize("output", ["terminal", "page", "markdown"])
def test_a_contact_that_melts_is_told_with_its_option(
    output: str, degrees_c: float | None, said: bool
) -> None:
    ranking = melting(degrees_c)
    found = bare_text(OUTPUTS[output](ranking))
    first = ranking.options[0]
    told = f"which is not in these numbers: {first.edges[0].edge} [{first.name}]"
    assert (told in found) == said


@pytest.mark.parametrize(("degrees_c", "said"), [(None, False), (214.9, False), (215, True)])
def test_a_contact_that_melts_stands_in_the_options_row(
    degrees_c: float | None, said: bool
) -> None:
    ranking = melting(degrees_c)
    rows = list(csv.DictReader(io.StringIO(table_csv.table(ranking))))
    found = {row["option"] for row in rows if HOT in row["mind"]}
    assert found == ({ranking.options[0].name} if said else set())


def test_a_row_names_the_edges_that_melt_of_its_own_option_alone() -> None:
    ranking = melting(900)
    first, second, *rest = ranking.options
    edge = replace(second.edges[0], edge="beam", line="working line", flash_temperature_c=900.0)
    second = replace(second, edges=(edge, *second.edges[1:]), facts=first.facts)
    both = replace(ranking, options=(first, second, *rest))
    rows = {
        row["option"]: row["mind"] for row in csv.DictReader(io.StringIO(table_csv.table(both)))
    }
    assert first.edges[0].edge != "beam"
    for option, own, other in (first, first.edges[0].edge, "beam"), (second, "beam", None):
        told = rows[option.name].partition(HOT)[2]
        assert own in told
        assert other is None or other not in told
