"""All combinations of faults played in all their worlds, spread over the workers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from math import inf
from typing import NamedTuple

from edgewear.errors import Interrupted, UsageError
from edgewear.findings.fates import Fates
from edgewear.findings.verdict import Point
from edgewear.procedure.fault_runs import FaultRuns, Trial, World
from edgewear.procedure.fault_runs import Told as Fated
from edgewear.procedure.judged.remedy import Tries
from edgewear.study.progress import Clock, Told
from edgewear.study.worker_pool import WorkerPool, inline, processes, run_chunks

FEW = 64
"""Below so many runs a worker process is not worth its start."""


class Played(NamedTuple):
    """A combination of faults played: every trial, and everybody's fate.

    The fate is that by the middle of everything, unless somebody ends worse in a trial.
    """

    trials: list[Trial]
    fates: Fates


@dataclass(frozen=True)
class Again:
    """Plays single trials once more, for the fates in them; travels to the workers by pickle."""

    runs: FaultRuns
    wanted: tuple[tuple[int, int], ...]  # combination, world

    def __call__(self, chunk: int) -> tuple[int, Fated]:
        """Everybody's fate in one of the trials."""
        index, run = self.wanted[chunk]
        return index, self.runs.fates_in(index, run)


@contextmanager
def hands_for(total: int, workers: int | None) -> Iterator[WorkerPool]:
    """Workers for so many runs; one process where they are few.

    Raises:
        Interrupted: stopped on request.
    """
    asked = workers if workers is not None else (2 if total >= FEW else 1)
    gang = inline() if asked == 1 else processes(asked)
    try:
        yield gang
    except Interrupted as error:
        raise Interrupted(
            "stopped on request; nothing is kept, the same command begins anew"
        ) from error
    finally:
        gang.close()


def play_all(runs: FaultRuns, gang: WorkerPool, progress: Told | None) -> list[Played]:
    """Play every combination in every world; no result depends on the workers.

    Raises:
        Interrupted: stopped on request.
        UsageError: a worker process died again and again.
    """
    return _played(runs, gang, _teller(sum(runs.replicates), progress))


def try_all(tries: Tries, gang: WorkerPool) -> dict[int, tuple[Point, ...] | None]:
    """What is held against a procedure with each change.

    Raises:
        Interrupted: stopped on request.
    """
    found: dict[int, tuple[Point, ...] | None] = {}

    def keep(one: tuple[int, tuple[Point, ...] | None]) -> None:
        found[one[0]] = one[1]

    def passed_over(chunk: int) -> None:
        found[chunk] = None

    run_chunks(gang, tries, range(len(tries.changes)), keep, passed_over)
    return found


def _played(runs: FaultRuns, gang: WorkerPool, told: Callable[[int], None]) -> list[Played]:
    trials: list[dict[int, Trial]] = [{} for _ in runs.combinations]
    fates: dict[int, Fated] = {}

    def keep(world: World) -> None:
        fates.update(world.fates)
        for index, trial in world.trials.items():
            if world.run is not None:
                trials[index][world.run] = trial
        told(len(world.trials))

    def keep_again(found: tuple[int, Fated]) -> None:
        index, fated = found
        fates[index] = fated

    run_chunks(gang, runs, range(len(runs.chunks)), keep, _blame(runs, runs.chunks))
    again = Again(runs, tuple(_graver(trials, fates)))
    named = [((index,), run) for index, run in again.wanted]
    run_chunks(gang, again, range(len(named)), keep_again, _blame(runs, named))
    return [_of(trials[index], fates[index]) for index in range(len(runs.combinations))]


def _graver(
    trials: Sequence[Mapping[int, Trial]], fates: Mapping[int, Fated]
) -> list[tuple[int, int]]:
    """Combinations of which a trial ends worse than by the middle, with the first worst trial."""
    found = []
    for index, by_run in enumerate(trials):
        came = {run: trial.gravity for run, trial in by_run.items() if _came(trial)}
        worst = max(came.values(), default=())
        if worst > fates[index].gravity:
            found.append((index, min(run for run, gravity in came.items() if gravity == worst)))
    return found


def _came(trial: Trial) -> bool:
    return not trial.failed and trial.fault_s < inf


def _of(by_run: Mapping[int, Trial], fated: Fated) -> Played:
    ordered = [by_run[run] for run in sorted(by_run)]
    came = [trial for trial in ordered if _came(trial)]
    as_grave = sum(trial.gravity >= fated.gravity for trial in came)
    return Played(ordered, replace(fated.fates, trials=len(came), as_grave=as_grave))


def _teller(total: int, progress: Told | None) -> Callable[[int], None]:
    """Count runs, and tell how far it is."""
    clock, done = Clock(total, 0), [0]

    def told(more: int) -> None:
        done[0] += more
        if progress is not None:
            progress(clock.at(done[0], 0))

    return told


def _blame(
    runs: FaultRuns, chunks: Sequence[tuple[tuple[int, ...], int | None]]
) -> Callable[[int], None]:
    def blamed(chunk: int) -> None:
        indices, run = chunks[chunk]
        faults = runs.combinations[indices[0]]
        names = " and ".join(one.name for one in faults) or "no fault"
        world = "nothing left to chance" if run is None else f"trial {run}"
        raise UsageError(f"the worker process died three times on: {world}, from {names} on")

    return blamed
