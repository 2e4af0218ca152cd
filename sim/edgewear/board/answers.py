"""Answers in stages: few trials of every option at once, more behind them, then the comparison."""

from __future__ import annotations

import asyncio
import multiprocessing
import tempfile
from collections.abc import Awaitable, Callable, Sequence
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, TypeVar

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
from edgewear.study.workers.life import undisturbed
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

LOOKED_AT = 2
"""Stages of a look at what is not changed yet."""

BOUNDED = 53
"""Trials from which their interval has a lower end: fewer know only the lowest trial."""


class Span(NamedTuple):
    """Trials that one worker plays of an option."""

    option: str
    first: int
    many: int


@dataclass(frozen=True)
class Answer:
    """What so many trials come to."""

    number: int  # of the question
    ranking: Ranking
    trials: int
    settled: bool  # the comparison itself, its dataset and report written
    between: dict[str, tuple[float | None, float | None]]  # option -> interval of the careful end
    folder: str | None = None


@dataclass
class _Asking:
    """A question on its way: what was played of it, and how far it is to go."""

    question: Question
    scenario: Scenario
    settles: bool
    parts: dict[str, list[Part]] = field(default_factory=dict)
    done: int = 0  # trials of each option
    failed: bool = False

    def is_of(self, scenario: Scenario) -> bool:
        """Tell whether it asks what a scenario comes to."""
        asked, text = self.question, (scenario.source, scenario.path, scenario.library_source)
        return (asked.text, asked.path, asked.library) == text and not self.failed

    def samples(self) -> list[Sample]:
        """Give what was played, option by option."""
        return [sample_of(self.parts[option]) for option in self.scenario.options]


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
        with undisturbed():  # its lock is the first thing that workers share
            self._latest = multiprocessing.get_context("spawn").Value("l", 0)
        self._pool: Workers | None = None
        self._asked: asyncio.Task[None] | None = None
        self._asking: _Asking | None = None
        self._took_s: dict[str, float] = {}  # option -> its first trials, the last time
        self._folder = tempfile.TemporaryDirectory(prefix="edgewear-board-")
        self._settled = 0

    def ask(self, scenario: Scenario, settles: bool = True) -> int:
        """Ask what a scenario comes to; whatever was asked before is dropped.

        If it was asked already, as where what was dragged is let go, its trials go on.

        Parameters:
            scenario: can be used.
            settles: whether its comparison is wanted too; a look while dragging needs none.
        """
        if self._asking is not None and self._asking.is_of(scenario):
            return self._go_on(self._asking, settles)
        self.drop()
        number = int(self._latest.value)
        text = scenario.source, scenario.path, scenario.library_source
        self._asking = _Asking(Question(number, *text), scenario, settles)
        self._asked = asyncio.create_task(self._answer(self._asking))
        return number

    def _go_on(self, asking: _Asking, settles: bool) -> int:
        """Let a question go on to its comparison, if that is wanted now and was not before."""
        wanted = settles and not asking.settles
        asking.settles = asking.settles or settles
        if wanted and (self._asked is None or self._asked.done()):
            self._asked = asyncio.create_task(self._answer(asking))
        return asking.question.number

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
        self._asked = self._asking = None

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

    async def _answer(self, asking: _Asking) -> None:
        try:
            await self._stages(asking)
        except (trials.Overtaken, asyncio.CancelledError):
            return
        except Exception as error:  # a fault of ours must not end in silence
            asking.failed = True
            known = isinstance(error, EdgewearError)
            await self._told(str(error) if known else f"no answer: {type(error).__name__}: {error}")

    async def _stages(self, asking: _Asking) -> None:
        question, parts = asking.question, asking.parts
        for place, until in enumerate(STAGES):
            if until <= asking.done:
                continue
            if place >= LOOKED_AT and not asking.settles:
                return
            for part in await self._played(question, self._spans(asking, until)):
                parts.setdefault(part.option, []).append(part)
            asking.done = until
            samples = asking.samples()
            told = await asyncio.to_thread(early, question.number, asking.scenario, samples, until)
            await self._told(told)
        if asking.settles:
            await self._settle(asking)

    def _spans(self, asking: _Asking, until: int) -> list[Span]:
        """Give what is to be played for a stage, what takes longest first: nobody waits idle."""
        names = sorted(asking.scenario.options, key=lambda name: -self._took_s.get(name, 0.0))
        return [
            Span(option, first, min(A_TASK, until - first))
            for first in range(asking.done, until, A_TASK)
            for option in names
        ]

    async def _played(self, question: Question, spans: Sequence[Span]) -> list[Part]:
        found = await asyncio.gather(*(self._do(trials.play, question, *span) for span in spans))
        self._took_s |= {part.option: part.took_s for part in found if part.first == 0}
        return found

    async def _settle(self, asking: _Asking) -> None:
        self._settled += 1
        folder, number = str(Path(self._folder.name, f"{self._settled}")), asking.question.number
        played = {option: joined(one) for option, one in asking.parts.items()}
        ranking = await self._do(trials.settle, asking.question, played, folder)
        between = _between(asking.samples())
        await self._told(Answer(number, ranking, REPLICATES, True, between, folder))


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
