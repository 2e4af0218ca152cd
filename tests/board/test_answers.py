"""Answers in stages: the same trials, the same judge, and at the end what `compare` says."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgewear.board import trials
from edgewear.board.answers import STAGES, Answer, Answers, early, joined
from edgewear.board.drawn import drawn
from edgewear.board.results import between, fragment, how_far
from edgewear.board.trials import Overtaken, Part, Question, place, play, posed, sample_of, settle
from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.report.parts import decided, words
from edgewear.scenario import load_scenario, load_text
from edgewear.scenario.text.tree import parse_tree
from edgewear.study.compare import compare
from edgewear.study.limits import limit as limits
from edgewear.study.limits.trials import trials_of
from edgewear.study.model import ScenarioModel
from support import rankings
from support.boards import DEMO, SMALL


def question(text: str = SMALL, number: int = 0) -> Question:
    return Question(number, text, "job.yaml", None)


def part(option: str, first: int, count: int) -> Part:
    return play(question(), option, first, count)


def test_trials_in_pieces_are_the_trials_of_a_comparison() -> None:
    whole = trials_of(load_text(SMALL, "job.yaml"), "padded", 12, 0)
    pieces = sample_of([part("padded", 8, 4), part("padded", 0, 8)])
    for name, column in whole.runs.items():
        np.testing.assert_array_equal(column, pieces.runs[name], err_msg=name)
    assert whole.rigged == pieces.rigged


def test_what_is_overtaken_is_played_no_further(monkeypatch: pytest.MonkeyPatch) -> None:
    class Latest:
        value = 1

    monkeypatch.setattr(trials, "_latest", Latest())
    with pytest.raises(Overtaken):
        play(question(number=0), "padded", 0, 8)


OPTIONS = ("padded", "bare")


@pytest.fixture(scope="module")
def first() -> Answer:
    """The first answer to the small scenario."""
    samples = [sample_of([part(option, 0, STAGES[0])]) for option in OPTIONS]
    return early(1, load_text(SMALL, "job.yaml"), samples, STAGES[0])


def test_few_trials_give_the_upper_end_of_the_careful_end_alone(first: Answer) -> None:
    low, high = first.between["padded"]
    assert low is None
    assert high is not None
    assert "not above" in between(first, "padded")


def test_an_answer_says_that_it_moves_and_carries_its_cautions(first: Answer) -> None:
    told = fragment(first)
    assert how_far(first).startswith("8 of 256 trials")
    assert "still move" in told
    for caution in decided.cautions(first.ranking, (PROJECTION, LAW_FIRST)):
        assert caution in told
    for option in first.ranking.options:
        for status in option.status[:1]:
            assert status in told


def answered(path: Path) -> list[Any]:
    """Everything that is told of a scenario until it has settled, and its last report."""

    async def run() -> list[Any]:
        told: asyncio.Queue[Any] = asyncio.Queue()
        answers, found = Answers(told.put, workers=1), []
        try:
            answers.ask(load_scenario(path))
            while not found or not (isinstance(found[-1], str) or found[-1].settled):
                found.append(await told.get())
            folder = Path(found[-1].folder)
            found.append({name: (folder / name).read_bytes() for name in FILES})
        finally:
            answers.close()
        return found

    return asyncio.run(run())


@pytest.mark.long
@pytest.mark.parametrize("deaths", [1, 2, 3])
def test_a_worker_that_dies_is_replaced_and_the_answer_is_the_same(
    tmp_path: Path, deaths: int
) -> None:
    """Killed after so many stages, as a machine short of memory does; each task is begun anew."""
    path = tmp_path / "job.yaml"
    path.write_text(SMALL)

    async def run() -> list[Answer]:
        told: asyncio.Queue[Any] = asyncio.Queue()
        answers, found = Answers(told.put, workers=2), []
        try:
            answers.ask(load_scenario(path))
            while not found or not found[-1].settled:
                found.append(await told.get())
                assert isinstance(found[-1], Answer), found[-1]
                if len(found) <= deaths:
                    for process in answers._pool._processes.values():  # of this board alone
                        process.kill()
        finally:
            answers.close()
        return found

    found = asyncio.run(run())
    told = compare(load_scenario(path), workers=1, out=tmp_path / "out")
    assert {**found[-1].ranking.as_json(), "dataset": ""} == {**told.as_json(), "dataset": ""}


FILES = ("manifest.json", "report.html", "table.csv")


def held_together(path: Path, out: Path) -> None:
    """What the board settles on is what `compare` says of the same file, to the byte."""
    *stages, settled, files = answered(path)
    assert [one.trials for one in stages] == list(STAGES)
    told = compare(load_scenario(path), workers=1, out=out)
    mine, other = settled.ranking.as_json(), told.as_json()
    assert {**mine, "dataset": ""} == {**other, "dataset": ""}
    assert files["manifest.json"] == (out / "manifest.json").read_bytes()
    last = {option.name: option.margin for option in stages[-1].ranking.options}
    assert last == {option.name: option.margin for option in told.options}


def test_what_settles_is_what_the_command_says(tmp_path: Path) -> None:
    path, mine, other = tmp_path / "job.yaml", tmp_path / "mine", tmp_path / "other"
    path.write_text(SMALL)
    asked = Question(0, SMALL, str(path), None)
    parts = {name: [play(asked, name, 8, 8), play(asked, name, 0, 8)] for name in OPTIONS}
    settled = settle(asked, {name: joined(one) for name, one in parts.items()}, str(mine))
    told = compare(load_scenario(path), replicates=16, workers=1, out=other)
    assert {**settled.as_json(), "dataset": ""} == {**told.as_json(), "dataset": ""}
    assert (mine / "manifest.json").read_bytes() == (other / "manifest.json").read_bytes()


@pytest.mark.long
@pytest.mark.parametrize("text", [SMALL, DEMO.read_text()], ids=["small", "demo"])
def test_what_settles_through_workers_is_what_the_command_says(tmp_path: Path, text: str) -> None:
    (tmp_path / "job.yaml").write_text(text)
    held_together(tmp_path / "job.yaml", tmp_path / "out")


@pytest.mark.long
def test_a_limit_is_the_one_of_the_command() -> None:
    span, address = "-8 m..-4 m", "anchors/bollard/out"
    scenario = load_text(SMALL, "job.yaml")
    told = limits.how_far(scenario, [f"{address}={span}"], ["bare"], replicates=64, workers=1)
    case, asked = posed(question(), "bare", address, span)

    def judge(values):
        return [place(question(), "bare", address, span, value) for value in values]

    assert limits.limit_of(case, asked, judge) == told.limits[0]


@pytest.mark.parametrize("share", [0.5, 1.0, 1.3])
def test_loads_beside_an_answer_are_those_that_the_answer_tells(share: float) -> None:
    """Whatever a run makes of a catch from where it has people hang."""
    scenario, name = load_scenario(DEMO), "posts, rollers"
    data = parse_tree(scenario.source, "job.yaml").data
    facts = ScenarioModel.of(scenario, 0).rigged(name)
    loads = [row | {"peak_n": share * row["peak_n"]} for row in facts["loads"]]
    found = rankings.option(name, facts=facts | {"loads": loads})
    shown = drawn(scenario, name, data, found).document["loads"]
    assert any(row["case"] == "catch" for row in loads)
    for point, _, case, load, _ in shown:
        alike = [row["peak_n"] for row in loads if (row["name"], row["case"]) == (point, case)]
        assert load == words.kilonewtons(max(alike))
    before = drawn(scenario, name, data).document["loads"]
    assert [row[:3] for row in before] == [row[:3] for row in shown]
