"""What was asked already goes on: a look at a change, and then the change, play each trial once."""

from __future__ import annotations

import asyncio
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from edgewear.board import answers as module
from edgewear.board import trials
from edgewear.board.answers import Answers
from edgewear.board.editing import session as sessions
from edgewear.board.editing.changes import Move
from edgewear.scenario import Scenario, load_text
from support.boards import SMALL, opened

OURS = """\
ropes:
  store rope:
    family: low-stretch
    type: A
    diameter: 10.2 mm
    strength: 27 kN
    elongation: {value: 3 %, low: 2.5 %, high: 3.5 %, pedigree: own pull tests}
    sheath share: 40 %
    mass: 64 g/m
    sheath: polyester
"""

FEW = (1, 2, 3, 4)
"""Trials of each stage here: the order of what is asked does not depend on how many they are."""


class Watched(Answers):
    """Plays in this process, and remembers what was played for which question."""

    def __init__(self, falls: int = 0) -> None:
        self.heard: list[Any] = []
        self.played: list[tuple[int, str, int]] = []
        self.falls = falls
        super().__init__(self._hear, workers=1)

    async def _hear(self, one: Any) -> None:
        self.heard.append(one)

    async def _do(self, task: Any, *given: Any) -> Any:
        await asyncio.sleep(0)
        if task is trials.settle:
            return self.heard[-1].ranking
        question, option, first, many = given
        if self.falls:
            self.falls -= 1
            raise RuntimeError("made to fall")
        self.played += [(question.number, option, first + k) for k in range(many)]
        return trials.play(*given)

    async def until(self, done: Any) -> None:
        while not done():
            await asyncio.sleep(0.001)


@pytest.fixture(autouse=True)
def _few(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "STAGES", FEW)


def scenario(target: str = "40 %") -> Scenario:
    return load_text(SMALL.replace("40 %", target), "job.yaml")


def ended(watched: Watched) -> bool:
    return watched._asked is not None and watched._asked.done()


MOMENTS = {
    "at once": lambda w: True,
    "after a step": lambda w: bool(w.played),
    "after the first order": lambda w: bool(w.heard),
    "when the look has ended": ended,
}


@pytest.mark.parametrize("moment", MOMENTS)
def test_a_change_after_a_look_at_it_plays_no_trial_twice(moment: str) -> None:
    async def run() -> Watched:
        watched = Watched()
        number = watched.ask(scenario(), settles=False)
        await watched.until(lambda: MOMENTS[moment](watched))
        assert watched.ask(scenario()) == number
        await watched.until(lambda: bool(watched.heard) and ended(watched))
        watched.close()
        return watched

    watched = asyncio.run(run())
    assert [one.trials for one in watched.heard[:-1]] == list(FEW)
    assert watched.heard[-1].settled
    assert set(Counter(watched.played).values()) == {1}
    assert len(watched.played) == FEW[-1] * 2


def test_a_look_alone_ends_after_its_stages_and_a_look_back_takes_no_wish_away() -> None:
    async def run(*settles: bool) -> list[int]:
        watched = Watched()
        for one in settles:
            watched.ask(scenario(), settles=one)
        await watched.until(lambda: ended(watched))
        watched.close()
        return [one.trials for one in watched.heard]

    assert asyncio.run(run(False)) == list(FEW[:2])
    assert asyncio.run(run(True, False))[:4] == list(FEW)


def test_another_text_drops_what_was_asked() -> None:
    async def run() -> tuple[int, int, Watched]:
        watched = Watched()
        first = watched.ask(scenario(), settles=False)
        await watched.until(lambda: bool(watched.played))
        second = watched.ask(scenario("50 %"), settles=False)
        await watched.until(lambda: ended(watched))
        watched.close()
        return first, second, watched

    first, second, watched = asyncio.run(run())
    assert first != second
    assert {one.number for one in watched.heard} == {second}
    assert {one.ranking.target for one in watched.heard} == {0.5}


def test_what_fell_is_asked_anew() -> None:
    async def run() -> Watched:
        watched = Watched(falls=1)
        first = watched.ask(scenario(), settles=False)
        await watched.until(lambda: ended(watched))
        assert watched.ask(scenario(), settles=False) != first
        await watched.until(lambda: ended(watched))
        watched.close()
        return watched

    told, *answered = asyncio.run(run()).heard
    assert told == "no answer: RuntimeError: made to fall"
    assert [one.trials for one in answered] == list(FEW[:2])


def test_what_takes_longest_is_played_first_the_next_time() -> None:
    async def run() -> Watched:
        watched = Watched()
        watched._took_s = {"bare": 2.0, "padded": 1.0}
        watched.ask(scenario(), settles=False)
        await watched.until(lambda: ended(watched))
        watched.close()
        return watched

    watched = asyncio.run(run())
    assert watched.played[0][1] == "bare"
    options = [one.name for one in watched.heard[0].ranking.options]
    assert sorted(options) == ["bare", "padded"]
    assert 0.0 < watched._took_s["padded"] != 1.0  # measured anew


@pytest.mark.parametrize("library", [False, True])
def test_a_change_that_was_looked_at_is_read_once_unless_another_file_has_a_say(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, library: bool
) -> None:
    text = SMALL
    if library:
        (tmp_path / "ours.yaml").write_text(OURS)
        text = text.replace("setting: test\n", "setting: test\nlibrary: ours.yaml\n")
    session = opened(tmp_path, text)
    assert session.now.scenario is not None, session.now.problems
    count, read = [], sessions.read
    monkeypatch.setattr(sessions, "read", lambda *given: count.append(1) or read(*given))
    move = Move.model_validate({"do": "move", "section": "anchors", "name": "bollard", "out": -5.0})
    looked = session.with_changes([move])
    session.change(0, [move])
    assert session.now == looked
    assert len(count) == (2 if library else 1)
