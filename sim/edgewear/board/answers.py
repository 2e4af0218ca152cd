"""Answers in stages: few trials of every option at once, more behind them, then the comparison."""

from __future__ import annotations

import asyncio
import multiprocessing
import tempfile
from collections.abc import Awaitable, Callable, Sequence
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from edgewear.board import trials
from edgewear.board.trials import Part, Question, sample_of
from edgewear.dataset.ranking.headline import headline
from edgewear.dataset.ranking.model import Ranking
from edgewear.dataset.ranking.rank import cautions_of, in_order, notes_of
from edgewear.errors import EdgewearError
from edgewear.study.compare import DEFAULT_SEED, REPLICATES, available_workers
from edgewear.study.limits.judging import interval
from edgewear.study.limits.limit import limit_of
from edgewear.study.task import PlayedRows
from edgewear.study.workers.processes import Workers

if TYPE_CHECKING:
    from edgewear.dataset.ranking.option_trials import Sample
    from edgewear.findings.inquiries.how_far import Limit, Place
    from edgewear.scenario import Scenario

T = TypeVar("T")

STAGES = (8, 32, 96, REPLICATES)
"""Trials of each option after which an answer is given."""

A_TASK = 32
"""Trials that one worker plays before it takes the next piece of work."""

BOUNDED = 53
"""Trials from which their interval has a lower end: fewer know only the lowest trial."""


@dataclass(frozen=True)
class Answer:
    """What so many trials come to."""

    number: int  # of the question
    ranking: Ranking
    trials: int
    settled: bool  # the comparison itself, its dataset and report written
    between: dict[str, tuple[float | None, float | None]]  # option -> interval of the careful end
    folder: str | None = None


class Answers:
    """Asks the workers, drops what is overtaken, and tells what they found."""

    def __init__(
        self, told: Callable[[Answer | str], Awaitable[None]], workers: int | None = None
    ) -> None:
        """Start nothing yet.

        Parameters:
            told: given each answer, or a sentence that says why there is none.
            workers: processes; None: one a processor, four at most.
        """
        self._told = told
        self._workers = workers or min(available_workers(), 4)
        self._latest = multiprocessing.get_context("spawn").Value("l", 0)
        self._pool: Workers | None = None
        self._asked: asyncio.Task[None] | None = None
        self._folder = tempfile.TemporaryDirectory(prefix="edgewear-board-")
        self._settled = 0

    def ask(self, scenario: Scenario, settles: bool = True) -> int:
        """Ask what a scenario comes to; whatever was asked before is dropped.

        Parameters:
            scenario: can be used.
            settles: whether its comparison is wanted too; a look while dragging needs none.
        """
        self.drop()
        number = int(self._latest.value)
        text = scenario.source, scenario.path, scenario.library_source
        self._asked = asyncio.create_task(self._answer(Question(number, *text), scenario, settles))
        return number

    async def limit(
        self,
        scenario: Scenario,
        option: str,
        address: str,
        span: str,
        tried: Callable[[Place], None],
    ) -> Limit:
        """Find how far an input may go; dropped, like all else, by the next question.

        Parameters:
            scenario: can be used and has a target; option: its name.
            address: of the input; span: what is tried, as typed, `LOW..HIGH`.
            tried: told of each value as soon as it is judged.

        Raises:
            Overtaken: something else was asked meanwhile.
            EdgewearError: no such input, or no answer.
        """
        number = int(self._latest.value)
        text = scenario.source, scenario.path, scenario.library_source
        question, loop = Question(number, *text), asyncio.get_running_loop()

        async def one(value: float) -> Place:
            found = await self._do(trials.place, question, option, address, span, value)
            tried(found)
            return found

        async def several(values: Sequence[float]) -> list[Place]:
            return list(await asyncio.gather(*map(one, values)))

        def judge(values: Sequence[float]) -> list[Place]:
            return asyncio.run_coroutine_threadsafe(several(values), loop).result()

        def look() -> Limit:
            return limit_of(*trials.posed(question, option, address, span), judge)

        return await asyncio.to_thread(look)

    def drop(self) -> None:
        """Ask nothing any more."""
        with self._latest.get_lock():
            self._latest.value += 1
        if self._asked is not None:
            self._asked.cancel()
            self._asked = None

    def warm(self, scenario: Scenario) -> None:
        """Start the workers, each with the kernels that a scenario takes."""
        question = Question(0, scenario.source, scenario.path, scenario.library_source)
        self._start(question)

    def close(self) -> None:
        """Let the workers go and take the datasets away."""
        self.drop()
        self._dismiss()
        self._folder.cleanup()

    def _start(self, warm: Question | None = None) -> Workers:
        if self._pool is None:
            self._pool = Workers(self._workers, trials.begin, (self._latest, warm))
            for _ in range(self._workers):
                self._pool.submit(abs, 0)
        return self._pool

    def _dismiss(self) -> None:
        if self._pool is None:
            return
        self._pool.shutdown(wait=False)
        self._pool = None

    async def _do(self, task: Callable[..., T], *given: object) -> T:
        """Let a worker do something; a worker that dies over it is replaced, once."""
        for _ in range(2):
            pool = self._start()
            try:
                future: Future[T] = pool.submit(task, *given)
                return await asyncio.shield(_heard(asyncio.wrap_future(future)))
            except BrokenProcessPool:
                if self._pool is pool:  # others that waited for it may have replaced it already
                    self._dismiss()
        raise EdgewearError("the worker died twice over this; the changes are kept")

    async def _answer(self, question: Question, scenario: Scenario, settles: bool) -> None:
        try:
            await self._stages(question, scenario, settles)
        except (trials.Overtaken, asyncio.CancelledError):
            return
        except EdgewearError as error:
            await self._told(str(error))
        except Exception as error:  # a fault of ours must not end in silence
            await self._told(f"no answer: {type(error).__name__}: {error}")

    async def _stages(self, question: Question, scenario: Scenario, settles: bool) -> None:
        parts: dict[str, list[Part]] = {option: [] for option in scenario.options}
        done = 0
        for until in STAGES if settles else STAGES[:2]:
            spans = [
                (option, first, min(A_TASK, until - first))
                for first in range(done, until, A_TASK)
                for option in scenario.options
            ]
            found = await asyncio.gather(
                *(self._do(trials.play, question, *span) for span in spans)
            )
            for part in found:
                parts[part.option].append(part)
            done = until
            samples = [sample_of(one) for one in parts.values()]
            answer = await asyncio.to_thread(early, question.number, scenario, samples, done)
            await self._told(answer)
        if settles:
            await self._settle(question, parts, samples)

    async def _settle(
        self, question: Question, parts: dict[str, list[Part]], samples: Sequence[Sample]
    ) -> None:
        self._settled += 1
        folder = str(Path(self._folder.name, f"{self._settled}"))
        played = {option: joined(one) for option, one in parts.items()}
        ranking = await self._do(trials.settle, question, played, folder)
        told = Answer(question.number, ranking, REPLICATES, True, _between(samples), folder)
        await self._told(told)


def _heard(future: asyncio.Future[T]) -> asyncio.Future[T]:
    """Listen to the end of what nobody waits for any more; it ends by itself, soon."""
    future.add_done_callback(lambda done: done.cancelled() or done.exception())
    return future


def joined(parts: list[Part]) -> PlayedRows:
    """Join the parts of an option in the order of their trials."""
    parts = sorted(parts, key=lambda part: part.first)
    return PlayedRows(
        np.concatenate([part.runs for part in parts]),
        np.concatenate([part.edges for part in parts]),
    )


def early(number: int, scenario: Scenario, samples: Sequence[Sample], done: int) -> Answer:
    """Judge some trials as the comparison judges all of them."""
    target = scenario.target or 0.0
    told = in_order(samples, target, DEFAULT_SEED)
    ranking = Ranking(
        title=scenario.title,
        setting=scenario.setting,
        seed=DEFAULT_SEED,
        replicates=done,
        target=target,
        headline=headline(told, target),
        options=tuple(told),
        dataset="",
        report=None,
        cautions=cautions_of(told),
        notes=notes_of(told),
        scenario={"notes": dict(scenario.notes)},
        scenario_text=scenario.source,
        scenario_sha256="",
        provenance={},
    )
    return Answer(number, ranking, done, False, _between(samples))


def _between(samples: Sequence[Sample]) -> dict[str, tuple[float | None, float | None]]:
    """Give the 90 % interval of each careful end; few trials bound it from above alone."""
    found = {}
    for sample in samples:
        low, high = interval(sample.margins)
        found[sample.name] = (low if sample.margins.size >= BOUNDED else None, high)
    return found
