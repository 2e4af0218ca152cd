"""Of the changes that were tried the one is told that leaves least, and of trials the gravest."""

from __future__ import annotations

import random
from dataclasses import dataclass
from math import inf

import pytest

from edgewear.errors import EdgewearError
from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.verdict import Held, Point
from edgewear.procedure.fault_play import _graver, _of, play_all
from edgewear.procedure.fault_runs import Told, Trial, World
from edgewear.procedure.judged import remedy as judged
from edgewear.procedure.judged.changes import Change, Edit, one
from edgewear.procedure.judged.remedy import Tries, remedy
from edgewear.study.worker_pool import inline
from support.planted.sound import text_of

SEEDS = pytest.mark.parametrize("seed", range(40))


def some_points(dice: random.Random) -> tuple[Point, ...]:
    return tuple(
        Point(Held.NO, f"{k}", "", usual=dice.random() < 0.4, times=dice.randint(1, 3))
        for k in range(dice.randint(0, 3))
    )


@SEEDS
def test_the_change_that_leaves_least_is_the_first_of_those_that_do(seed: int) -> None:
    """What rests on a usual limit counts where nothing else tells them apart."""
    dice = random.Random(seed)
    tried = [
        Change(tuple(Edit(("kit", f"{k} {part}"), f"{part}") for part in range(dice.randint(1, 3))))
        for k in range(6)
    ]
    found = {k: dice.choice([None, some_points(dice)]) for k in range(1, 7)}
    found[0] = some_points(dice)
    counts = {
        k: (sum(p.times for p in points if not p.usual), sum(p.times for p in points))
        for k, points in found.items() if points is not None
    }  # fmt: skip
    least = min(counts.values())
    told = remedy(tried, found)
    if counts[0] == least:
        assert told is None  # none removes any
        return
    first = min(k for k, count in counts.items() if count == least)
    typed = [(edit.address, edit.typed) for edit in tried[first - 1].edits]
    assert told is not None
    assert (told.address, told.typed) == typed[0]
    assert told.also == tuple(typed[1:])
    assert (told.left, told.of) == (least[1], counts[0][1])


def test_where_nothing_was_tried_nothing_is_told() -> None:
    held = (Point(Held.NO, "it", ""),)
    assert remedy([], {0: held}) is None
    assert remedy([], {}) is None


@pytest.mark.parametrize("change", [None, one(("kit", "pad"), "3"), one(("no", "such"), "3")])
@pytest.mark.parametrize("odd", [None, EdgewearError("it cannot be played")])
def test_a_change_that_cannot_be_typed_or_played_has_left_nothing_to_compare(
    change, odd, monkeypatch
) -> None:
    """Nothing, under the number of the change: the others are looked at all the same."""
    held = (Point(Held.NO, "it", ""),)

    def looked_at(scenario, option):
        if odd is not None:
            raise odd
        assert option == "as written"
        assert scenario.kit["pad"] == (2 if change is None else 3)
        return held

    monkeypatch.setattr(judged, "looked_at", looked_at)
    text = text_of("pick-off", {})
    found = Tries(text, "made.yaml", None, "as written", (None, change))(1)
    typed = change is None or change.edits[0].path[0] == "kit"
    assert found == (1, held if typed and odd is None else None)


def a_trial(dice: random.Random) -> Trial:
    gravity = tuple(sorted(dice.choices(range(3), k=2), reverse=True))
    fault_s = dice.choice([0.0, 5.0, inf])
    return Trial(0.5, fault_s, inf, inf, inf, "", False, "", gravity, dice.choice(["", "", "x"]))


@SEEDS
def test_of_trials_that_end_worse_than_the_middle_the_first_of_the_gravest_is_told(seed) -> None:
    dice = random.Random(seed)
    trials = [{run: a_trial(dice) for run in dice.sample(range(9), 4)} for _ in range(4)]
    fate = Fates(("it",), "", 0, True, None, (Fate("ann", End.PLAN, "line"),))
    told = {index: Told(fate, dice.choice([(0, 0), (1, 0), (2, 1)])) for index in range(4)}
    expected = []
    for index, by_run in enumerate(trials):
        came = [(run, t) for run, t in sorted(by_run.items()) if not t.failed and t.fault_s != inf]
        grave = sorted({t.gravity for _, t in came if t.gravity > told[index].gravity})
        if grave:
            expected.append((index, next(run for run, t in came if t.gravity == grave[-1])))
        played = _of(by_run, told[index])
        assert played.trials == [by_run[run] for run in sorted(by_run)]
        assert played.fates.trials == len(came)
        as_grave = [t for _, t in came if not t.gravity < told[index].gravity]
        assert played.fates.as_grave == len(as_grave)
        assert played.fates.people == fate.people
    assert _graver(trials, told) == expected


@dataclass(frozen=True)
class KnownRuns:
    """Trials and fates that are known: what `FaultRuns` would play."""

    trials: tuple[dict[int, Trial], ...]
    middles: tuple[Told, ...]

    @property
    def replicates(self) -> tuple[int, ...]:
        return tuple(map(len, self.trials))

    @property
    def combinations(self) -> tuple[tuple[()], ...]:
        return ((),) * len(self.trials)

    @property
    def chunks(self) -> list[tuple[tuple[int, ...], int | None]]:
        worlds = dict.fromkeys(run for by_run in self.trials for run in by_run)
        every = tuple(range(len(self.trials)))
        return [(every, None), *((self._in(run), run) for run in worlds)]

    def _in(self, run: int) -> tuple[int, ...]:
        return tuple(k for k, by_run in enumerate(self.trials) if run in by_run)

    def __call__(self, chunk: int) -> World:
        indices, run = self.chunks[chunk]
        if run is None:
            return World(None, {}, {k: self.middles[k] for k in indices})
        return World(run, {k: self.trials[k][run] for k in indices}, {})

    def fates_in(self, index: int, run: int) -> Told:
        return Told(fates_of(f"in trial {run}"), self.trials[index][run].gravity)


def fates_of(line: str) -> Fates:
    return Fates(("it",), "", 0, True, None, (Fate("ann", End.PLAN, line),))


@SEEDS
def test_whoever_ends_worse_in_a_trial_has_the_fate_that_they_have_there(seed: int) -> None:
    dice = random.Random(seed)
    trials = tuple({run: a_trial(dice) for run in dice.sample(range(9), 4)} for _ in range(4))
    middles = tuple(
        Told(fates_of("by the middle"), dice.choice([(0, 0), (1, 0), (2, 1)])) for _ in trials
    )
    told = []
    played = play_all(KnownRuns(trials, middles), inline(), told.append)
    for found, by_run, middle in zip(played, trials, middles, strict=True):
        worse = {run: t.gravity for run, t in by_run.items()
                 if not t.failed and t.fault_s != inf and t.gravity > middle.gravity}  # fmt: skip
        gravest = max(worse.values(), default=None)
        first = min((run for run, gravity in worse.items() if gravity == gravest), default=None)
        line = "by the middle" if first is None else f"in trial {first}"
        assert [fate.holds for fate in found.fates.people] == [line]
        assert found.trials == [by_run[run] for run in sorted(by_run)]
    assert (told[-1].done, told[-1].rows) == (16, 16)
