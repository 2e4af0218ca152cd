"""Learning from a file of tests: the whole way, from the file to a library others can use."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import NamedTuple

import numpy as np

from edgewear.dataset.lock import locked
from edgewear.engine.draws import check_seed
from edgewear.errors import UsageError
from edgewear.findings.learning.learned import HeldOut, Learned
from edgewear.programme.learn import judge
from edgewear.programme.learn.engine_target import WEAKENING, EngineTarget, Mapper, Task, here
from edgewear.programme.learn.files import Kept, write_results
from edgewear.programme.learn.passes import MOST, in_passes
from edgewear.programme.learn.sampler import Sampler
from edgewear.programme.learn.state import POPULATIONS, Sampled, State
from edgewear.programme.learn.target import Runs
from edgewear.programme.model import Programme
from edgewear.programme.reading import load_programme
from edgewear.records import MODEL
from edgewear.spelt import counted

PARTICLES = 128
LEAST_PARTICLES = 64

LAWS = ("weighted", "energy", "threshold")
"""Laws that are held against each other where rivals are asked for."""

CORE_WEAKENING = "wear/core weakening"
"""Address of the number of the law whose core weakens."""

EVERY = 3
"""Where laws are compared, every so many-th test is held out, with all its ropes."""


class Step(NamedTuple):
    """How far learning is."""

    law: str
    power: float
    """Of the likelihood, least over the tests, from 0 to 1."""
    round: int
    number: int = 0
    """Of the pass."""


Told = Callable[[Step], None]


def learn(
    source: str | Path | Programme,
    out: str | Path,
    particles: int = PARTICLES,
    seed: int = 0,
    workers: int | None = 1,
    rivals: bool = False,
    told: Told | None = None,
    provisional: bool = False,
) -> Learned:
    """Learn the numbers that a file of tests asks for, and write what was found.

    Beside `learned.json` a folder gets `posterior.parquet`, and `library.yaml` where the tests
    determine what is asked and do not contradict each other. The same call goes on where one was
    stopped.

    The posterior is sampled in passes that know nothing of each other, at least two and at most
    twelve, until the ends of every interval are known to 7 % of its width. Ends are given outward
    by that error.

    Parameters:
        source: a file of tests, or a programme that was read from one.
        out: folder of the results.
        particles: size of each pass, a multiple of 8, at least 64.
        seed: of all draws.
        workers: worker processes; None takes every processor. No result depends on it.
        rivals: whether other wear laws are scored by tests that they were not given.
        provisional: whether one pass is enough for now; what is written says so.

    Raises:
        ScenarioError: the file cannot be used.
        UsageError: nothing is asked or was seen, or a number is out of range.
        RunFailed: a run that cannot be computed.
        Mismatch: the folder holds another, unfinished learning.
        DatasetError: it cannot be written.
    """
    programme = source if isinstance(source, Programme) else load_programme(source)
    _check(programme, particles, seed)
    passes = 1 if provisional else MOST
    with locked(Path(out)), _mapped(workers) as mapped:
        found, sampled, target = _one(
            programme, Path(out), particles, seed, mapped, rivals, told, passes
        )
        if rivals:
            scores = _rivals(programme, Path(out), sampled, particles, seed, mapped, told)
            found = replace(found, rivals=scores)
        write_results(Path(out), found, target.layout, sampled)
        # not before: what was computed is kept until it is written
        for law, number in product(("", *LAWS, WEAKENING), range(MOST)):
            Kept.of(Path(out), programme, law, particles, seed, rivals, number).forget()
    return found


def _check(programme: Programme, particles: int, seed: int) -> None:
    check_seed(seed)
    if particles < LEAST_PARTICLES or particles % (2 * POPULATIONS):
        several = 2 * POPULATIONS
        raise UsageError(
            f"particles: {particles}; at least {LEAST_PARTICLES}, and a multiple of {several}"
        )
    if not programme.asked:
        raise UsageError(f"{programme.path}: nothing is asked: name numbers under `asked`")
    if not programme.made():
        raise UsageError(f"{programme.path}: nothing was seen in any test yet")


def _one(
    programme: Programme, out: Path, particles: int, seed: int, mapped: Mapper, rivals: bool,
    told: Told | None, most: int,
) -> tuple[Learned, Sampled, EngineTarget]:  # fmt: skip
    """Sample the library's law's posterior, pass after pass, and judge it."""
    target = EngineTarget(programme, seed, "", mapped)
    phases = held_out(programme) if rivals else ()

    def once(number: int) -> Sampled:
        kept = Kept.of(out, programme, "", particles, seed, rivals, number)
        sampler = Sampler(target, particles, seed, phases, number)
        return sampler.sample(kept.state(), kept.keep, _teller(told, "", number))

    sampled = in_passes(once, len(target.layout.asked), most)
    asked = judge.numbers(programme, target.layout, sampled)
    outcomes = judge.tested(target, sampled, seed)
    tests, ropes = programme.counted()
    found = Learned(
        title=programme.title, file=Path(programme.path).name, sha256=programme.digest,
        tests=tests, ropes=ropes, law=_law_of(target), model=MODEL, particles=particles,
        passes=sampled.passes, seed=seed,
        powers=sampled.powers, effective=min(sampled.effective, default=float(particles)),
        distinct=len(np.unique(sampled.last(), axis=0)) / len(sampled.last()),
        numbers=asked, correlation=judge.correlations(target.layout, sampled), tested=outcomes,
        standing=judge.standing(asked, outcomes, provisional=most == 1),
    )  # fmt: skip
    return found, sampled, target


def _teller(told: Told | None, law: str, number: int = 0) -> Callable[[State], None]:
    """Tell of a sampler's state as a step of learning."""

    def step(state: State) -> None:
        if told is not None:
            told(Step(law, float(state.powers.min()), state.rounds, number))

    return step


def _law_of(target: EngineTarget) -> str:
    return str(target.programme.tests[0].scenario.wear.law)


def held_out(programme: Programme) -> tuple[Sequence[int], Sequence[int]]:
    """Ropes that teach, and those held out after them: of every third test.

    Those of one test stay together: made of one batch on one bench, they tell of each other what
    no law says, and a law would be judged by what it was given.

    Raises:
        UsageError: too few tests.
    """
    tests = programme.made_together()
    held = [rope for ropes in tests[EVERY - 1 :: EVERY] for rope in ropes]
    if not held:
        made = counted(len(tests), "test")
        raise UsageError(f"rivals: {made}; at least {EVERY} are needed to hold one out")
    return [rope for ropes in tests for rope in ropes if rope not in held], held


def _rivals(
    programme: Programme, out: Path, own: Sampled, particles: int, seed: int, mapped: Mapper,
    told: Told | None,
) -> tuple[HeldOut, ...]:  # fmt: skip
    """Score every law by the ropes held out, the best first."""
    mine, phases = programme.made()[0].scenario.wear.law, held_out(programme)
    held = len(programme.made_together()) // EVERY, len(phases[1])
    found = [_score(mine, held, own)]
    for law in (*LAWS, *_weakening(programme)):
        if law != mine:
            target = EngineTarget(programme, seed, law, mapped)
            kept = Kept.of(out, programme, law, particles, seed, True)
            sampler = Sampler(target, particles, seed, phases)
            sampled = sampler.sample(kept.state(), kept.keep, _teller(told, law))
            found.append(_score(law, held, sampled))
    return tuple(sorted(found, key=lambda one: -one.log_score))


def _weakening(programme: Programme) -> tuple[str, ...]:
    """The law whose core weakens, where a test tells of strength and nobody asks for it."""
    strong = {f.what for test in programme.made() for f in test.figures()}
    asked = CORE_WEAKENING in programme.asked
    return (WEAKENING,) if strong & {"strength lost", "parting"} and not asked else ()


def _score(law: str, held: tuple[int, int], sampled: Sampled) -> HeldOut:
    """Log probability of the tests held out given the others, over the populations.

    Parameters: `held`: how many tests, of how many ropes.
    """
    each = sampled.log_evidence[1]
    middle = float(np.logaddexp.reduce(each) - np.log(len(each)))
    return HeldOut(law, *held, middle, float(each.std(ddof=1) / np.sqrt(len(each))))


@contextmanager
def _mapped(workers: int | None) -> Iterator[Mapper]:
    """Where runs are made: here, or in worker processes."""
    from edgewear.study.compare import available_workers
    from edgewear.study.worker_pool import processes

    width = available_workers() if workers is None else workers
    if width == 1:
        yield here
        return
    with processes(width) as pool:

        def mapped(task: Callable[[Task], Runs], given: Sequence[Task]) -> list[Runs]:
            return pool.later(task, given)()

        yield mapped
