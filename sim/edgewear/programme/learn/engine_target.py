"""The likelihood of a programme under the real simulation."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.programme.grown import Course, course_of
from edgewear.programme.latent import SEVERITY, Layout, layout
from edgewear.programme.learn.target import Floats, Job, Runs
from edgewear.programme.likelihood import FLOOR, log_likelihood
from edgewear.programme.model import Figure, Programme, RopeTest
from edgewear.programme.plays import MOST_FAILED, NUMBERS, Worn, figure, played
from edgewear.scenario.text.measured import Measured

if TYPE_CHECKING:
    from edgewear.case import Case, Records
    from edgewear.case.model import Batch, Uncertainty

ONLY_SCALES = ("sheath_j_m", "core_j_m", "core_exponent", "core_strength_share", "core_weakening",
               "breaking_n")  # fmt: skip
"""Fields of WEAR that a run with an unbreakable rope does not feel: they are read off after it."""

PUSH = 1.05
"""Factor by which a number is moved to see what it changes."""

WEAKENING = "weakening core"
"""The library's law with a core that weakens while only the sheath is rubbed."""

MOST_WEAKENING = 0.4
"""Share of the core's strength that it may lose so; assumed."""

FEW_FAILED = 2
"""Worlds without a run that a small batch may have, as many as the share is of a pass."""

Mapper = Callable[[Callable[["Task"], Runs], Sequence["Task"]], list[Runs]]
"""Applies a function to tasks, here or in workers; the results in their order."""


@dataclass(frozen=True)
class Task:
    """Runs of one test, as a worker needs them."""

    text: str
    path: str
    law: str
    test: int
    values: Mapping[str, Floats]
    strokes: NDArray[np.int64]
    seed: int


def here(task: Callable[[Task], Runs], given: Sequence[Task]) -> list[Runs]:
    """Do every task in this process."""
    return [task(one) for one in given]


class EngineTarget:
    """The tests of a programme, run by the engine.

    Parameters:
        programme: with its tests that were made.
        seed: of the stroke variation.
        law: another wear law than the library's, by its word; empty: the library's.
        mapped: where the runs are made.
    """

    def __init__(
        self, programme: Programme, seed: int = 0, law: str = "", mapped: Mapper = here
    ) -> None:
        """Compile every test and find out which numbers need no new runs."""
        whole = with_belief(programme, law)
        self.programme = replace(whole, tests=programme.made())
        self.seed, self.law, self.mapped = seed, law, mapped
        tests = [with_law(test, law) for test in self.programme]
        self.scenarios = [test.scenario for test in tests]
        self.courses = [course_of(test) for test in tests]
        self.cases = [course.run[-1].case for course in self.courses]
        self.layout: Layout = layout(self.programme, [case.uncertainties for case in self.cases])
        self._pushed = [_felt(case, known) for case, known in self._known()]
        self.free = np.array([self._is_free(k) for k in range(self.shared)], np.bool_)

    @property
    def tests(self) -> int:
        """How many tests."""
        return len(self.programme.tests)

    @property
    def shared(self) -> int:
        """How many numbers the tests share."""
        return len(self.layout.shared)

    @property
    def private(self) -> tuple[int, ...]:
        """How many numbers each test has to itself."""
        return tuple(len(one) for one in self.layout.private)

    def play(self, jobs: Sequence[Job]) -> list[Runs]:
        """Run what is wanted, test by test.

        Raises:
            RunFailed: a run that cannot be computed.
        """
        return self.mapped(runs_of, [self._task(job) for job in jobs])

    def log_likelihood(self, test: int, runs: Runs, shared: Floats, private: Floats) -> Floats:
        """Log likelihood of what was seen in a test, (n,); the floor where there is no run."""
        one = self.programme.tests[test]
        found = log_likelihood(one, self.figures(test, one, runs, shared, private))
        return np.where(np.isnan(runs["exposure_j_m"]).any(axis=1), FLOOR, found)

    def figures(
        self, at: int, test: RopeTest, runs: Runs, shared: Floats, private: Floats
    ) -> dict[Figure, Floats]:
        """Every figure that the outcomes of a test are about, (n,) each.

        Parameters:
            at: index of the test whose runs these are.
            test: with the outcomes; its stages are those of the one at the index.
        """
        course = self.courses[at]
        wear = self._wear(at, runs, shared, private)
        severity = self.layout.severity(test.bench, shared)
        stages = list(course.stages)
        found: dict[Figure, Floats] = {}
        for one in test.figures():
            k = stages.index(one.after)
            worn = Worn(
                runs["exposure_j_m"][:, k] * severity, wear, _rows(runs, k), runs["hot_c"][:, k]
            )
            found[one] = figure(one.what, worn)
        return found

    def _task(self, job: Job) -> Task:
        values = self.layout.values(job.test, job.shared, job.private)
        where = self.programme
        return Task(where.text, where.path, self.law, job.test, values, job.strokes, self.seed)

    def _wear(self, at: int, runs: Runs, shared: Floats, private: Floats) -> Records:
        """WEAR (n,) of the worst line, with the numbers that break sheath and core."""
        from edgewear.case.filling.numbers import Numbers
        from edgewear.case.nominal_records import fill_wear

        case = self.cases[at]
        values = self.layout.asked_for(at, shared, private)
        found = [
            fill_wear(self.scenarios[at], case.rigged.sections[row], Numbers(values), len(shared))
            for row in range(len(case.lines))
        ]
        line = runs["line"][:, -1].astype(int)
        worn: Records = np.stack(found, axis=1)[np.arange(len(line)), line]
        return worn

    def _known(self) -> list[tuple[Case, Sequence[Uncertainty]]]:
        return list(zip(self.cases, self.layout.known, strict=True))

    def _is_free(self, k: int) -> bool:
        """Tell whether a shared number changes nothing that a run feels, in any test."""
        column = self.layout.shared[k]
        if column.name == SEVERITY:
            return True
        for at, known in enumerate(self.layout.known):
            scope = self.layout.scopes[at]
            for one in known:
                keys = {scope[one.name], *(scope[other] for other, _ in one.leans)}
                if column.key in keys and one.name in self._pushed[at]:
                    return False
        return True


def with_belief(programme: Programme, law: str) -> Programme:
    """Give a programme that asks for what a rival law has beside the others' numbers."""
    if law != WEAKENING:
        return programme
    belief = Measured(
        value=MOST_WEAKENING / 2, low=0.0, high=MOST_WEAKENING, unit="1", typed="0 to 40 %",
        distribution="uniform", pedigree="assumed",
    )  # fmt: skip
    return replace(programme, asked={**programme.asked, "wear/core weakening": belief})


def with_law(test: RopeTest, law: str) -> RopeTest:
    """Give a test under another wear law, by its word; as it is where none is named."""
    if law in ("", WEAKENING):
        return test
    return replace(test, scenario=test.scenario.with_values({"wear/law": law}))


class _Prepared(NamedTuple):
    """A test as a worker runs it."""

    course: Course
    heat: bool
    """Whether contact temperatures are asked for, which is slower."""


@lru_cache(maxsize=2)
def _prepared(text: str, path: str, law: str) -> tuple[_Prepared, ...]:
    """Compile every test, once a worker."""
    from edgewear.programme.reading import programme_text

    tests = programme_text(text, path).made()
    return tuple(
        _Prepared(
            course_of(with_law(test, law)),
            any(one.what == "contact temperature" for one in test.figures()),
        )
        for test in tests
    )


def runs_of(task: Task) -> Runs:
    """Run one test; what a worker does."""
    course, heat = _prepared(task.text, task.path, task.law)[task.test]
    failing = max(MOST_FAILED, FEW_FAILED / len(task.strokes))
    worn = [played(one, task.values, task.strokes, task.seed, heat, failing) for one in course.run]
    peaks = {name: np.stack([w.rows[name] for w in worn], axis=1) for name in NUMBERS}
    lines = np.stack([w.line for w in worn], axis=1).astype(float)
    return {
        "exposure_j_m": course.exposures(np.stack([w.exposure_j_m for w in worn], axis=1)),
        "hot_c": course.peaks(np.stack([w.temperature_c for w in worn], axis=1)),
        "line": course.peaks(lines),
        **{name: course.peaks(column) for name, column in peaks.items()},
    }


def _rows(runs: Runs, k: int) -> dict[str, Floats]:
    return {name: runs[name][:, k] for name in NUMBERS}


def _felt(case: Case, known: Sequence[Uncertainty]) -> set[str]:
    """Names of numbers that a run with an unbreakable rope feels."""
    plain = case.batch(case_tape(case), {}, 1)
    return {one.name for one in known if _feels(case, plain, one)}


def case_tape(case: Case) -> Records:
    """A tape without movements."""
    from edgewear.layout import MOVEMENT

    return np.zeros(0, MOVEMENT)


def _feels(case: Case, plain: Batch, one: Uncertainty) -> bool:
    """Move one number and see whether anything but what breaks sheath and core changes."""
    if one.name.startswith(("techniques/", "job/", "work/", "people/")):
        return True  # movements are written into the tape, which is not looked at here
    moved = case.batch(case_tape(case), {one.name: np.array([_pushed(one)])}, 1)
    for name, array in vars(plain).items():
        other = getattr(moved, name)
        for part in array.dtype.names or ():
            if name == "wear" and part in ONLY_SCALES:
                continue
            if not np.array_equal(array[part], other[part], equal_nan=True):
                return True
    return False


def _pushed(one: Uncertainty) -> float:
    return one.median * PUSH if one.median else 0.1
