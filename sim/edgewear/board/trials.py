"""What the board's workers do: some trials of an option, or the whole comparison of a text."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.ranking.model import Ranking
from edgewear.dataset.ranking.option_trials import Sample
from edgewear.errors import EdgewearError
from edgewear.findings.inquiries.how_far import Place
from edgewear.study.compare import DEFAULT_SEED, REPLICATES, TRAVEL, compare_model, drawn
from edgewear.study.limits.asked import Asked
from edgewear.study.limits.asked import asked as asked_of
from edgewear.study.limits.judging import Case, judged
from edgewear.study.limits.trials import facts_of
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import Block, ComparePlan
from edgewear.study.task import PlayedRows, playing
from edgewear.study.worker_pool import Later, at_once
from edgewear.study.workers.life import enter

if TYPE_CHECKING:
    from multiprocessing.sharedctypes import Synchronized

    from edgewear.case import Uncertainty
    from edgewear.dataset.ranking.model import BridgeStep
    from edgewear.study.compared import NominalCourse

POLITE = 10
"""Workers stand back, so that what is dragged is drawn at once on a machine that is busy."""

LIMIT_TRIALS = 64
"""Trials of each value where a limit is looked for."""

PIECE = 4
"""Trials between two looks whether the question is still asked."""


class Overtaken(EdgewearError):
    """The text was changed while its trials were played: nobody waits for them any more."""


@dataclass(frozen=True)
class Question:
    """A text whose options are to be tried, and its place in the order of questions."""

    number: int
    text: str
    path: str
    library: str | None

    def model(self) -> ScenarioModel:
        """Give what plays its options, under the draws of a comparison."""
        return ScenarioModel(
            self.text, self.path, DEFAULT_SEED, TRAVEL, edges=True, library=self.library
        )


class Part(NamedTuple):
    """Some trials of one option; their `run` counts from its first trial."""

    option: str
    first: int
    runs: NDArray[np.void]  # records.RUN
    edges: NDArray[np.void]  # records.EDGE
    rigged: dict[str, Any] | None  # what rigging says; only with the first trials
    took_s: float = 0.0  # processor time


_latest: Synchronized[int] | None = None
"""Number of the question that is asked now; shared by all workers."""


def begin(latest: Synchronized[int], warm: Question | None) -> None:
    """Make a process a worker of the board, its kernels loaded.

    Parameters:
        latest: number of the question that is asked now.
        warm: a question whose first option is played once, whatever comes of it.
    """
    global _latest
    _latest = latest
    os.nice(POLITE)
    enter(None if warm is None else warm.model().warm, bound=False)


def _still(question: Question) -> None:
    """Go on only while a question is asked.

    Raises:
        Overtaken: another one was asked since.
    """
    if _latest is not None and _latest.value != question.number:
        raise Overtaken("overtaken by another change")


def play(question: Question, option: str, first: int, count: int) -> Part:
    """Play some trials of an option.

    Parameters:
        question: the text; option: its name.
        first: of the trials, from 0; count: how many.

    Raises:
        Overtaken: another question was asked.
        EdgewearError: the text cannot be used.
    """
    _still(question)
    model, began_s = question.model(), time.process_time()
    rigged = _rigged(question, model, option) if first == 0 else None
    known = {option: drawn(model.uncertainties(option))}
    plan = ComparePlan(known, REPLICATES, DEFAULT_SEED, 1.0)
    played = []
    for start in range(first, first + count, PIECE):
        _still(question)
        played.append(playing(model, plan.block(start, min(PIECE, first + count - start))))
    runs = np.concatenate([one.runs for one in played])
    edges = np.concatenate([one.edges for one in played])
    return Part(option, first, runs, edges, rigged, time.process_time() - began_s)


def _rigged(question: Question, model: ScenarioModel, option: str) -> dict[str, Any]:
    """Give what rigging says of an option, looking now and then whether it is still asked."""
    model.ready(option)
    _still(question)
    found = facts_of(model, option)
    _still(question)
    return found


def sample_of(parts: list[Part]) -> Sample:
    """Join the parts of an option, the first with what rigging says."""
    parts = sorted(parts, key=lambda part: part.first)
    runs = np.concatenate([part.runs for part in parts])
    edges = np.concatenate([part.edges for part in parts])
    told = parts[0].rigged or {}
    return Sample(parts[0].option, _columns(runs), _columns(edges), told)


def _columns(rows: NDArray[np.void]) -> dict[str, NDArray[Any]]:
    return {name: rows[name] for name in rows.dtype.names or ()}


def settle(question: Question, played: Mapping[str, PlayedRows], folder: str) -> Ranking:
    """Compare the options as the command does, with the trials that were played already.

    Parameters:
        question: the text; played: all trials of each option.
        folder: of the dataset and its report.

    Raises:
        Overtaken: another question was asked.
        EdgewearError: the text cannot be used, or the folder not be written.
    """
    from edgewear.report.write import write_report

    _still(question)
    model = _Played(question, question.model(), played)
    described = question.model().described()
    trials = min(len(rows.runs) for rows in played.values())
    ranking = compare_model(model, described, Path(folder), trials, DEFAULT_SEED, 1)
    _still(question)
    write_report([Path(folder)], Path(folder))
    return ranking


def posed(question: Question, option: str, address: str, span: str) -> tuple[Case, Asked]:
    """Give what is judged, and which input is varied, where a limit is looked for.

    Parameters:
        question: the text; option: its name.
        address: of the input; span: what is tried, as typed, `LOW..HIGH`.

    Raises:
        UsageError: no such input, or no number there.
    """
    scenario = question.model().scenario
    (asked,) = asked_of(scenario, f"{address}={span}", (option,))
    text = question.text, question.path, question.library
    case = Case(*text, option, scenario.target or 0.0, LIMIT_TRIALS, DEFAULT_SEED)
    return case, asked


def place(question: Question, option: str, address: str, span: str, value: float) -> Place:
    """Judge an option with one value of an input; parameters as for `posed`.

    Raises:
        Overtaken: another question was asked.
        UsageError: no such input, or no number there.
    """
    _still(question)
    case, asked = posed(question, option, address, span)
    return judged(case, asked.put, value)


@dataclass(frozen=True)
class _Played:
    """A model whose trials are known: it gives them where the comparison would play them."""

    question: Question
    inner: ScenarioModel
    played: Mapping[str, PlayedRows]

    @property
    def options(self) -> tuple[str, ...]:
        return self.inner.options

    def uncertainties(self, option: str) -> tuple[Uncertainty, ...]:
        return self.inner.uncertainties(option)

    def rigged(self, option: str) -> dict[str, Any]:
        return self.inner.rigged(option)

    def nominal(self, option: str) -> NominalCourse:
        _still(self.question)
        return self.inner.nominal(option)

    def bridge(
        self,
        poorer: str,
        better: str,
        replicates: tuple[int, ...] = (),
        later: Later = at_once,
    ) -> Callable[[], tuple[BridgeStep, ...]]:
        _still(self.question)
        return self.inner.bridge(poorer, better, replicates, later)

    def play(self, rows: Block) -> PlayedRows:
        known = self.played[str(rows["option"][0])]
        wanted = rows["replicate"]
        runs = known.runs[wanted].copy()
        runs["run"] = rows["run"]
        at_edges = known.edges[np.isin(known.edges["run"], wanted)].copy()
        number = dict(zip(wanted.tolist(), rows["run"].tolist(), strict=True))
        at_edges["run"] = [number[run] for run in at_edges["run"].tolist()]
        return PlayedRows(runs, at_edges)
