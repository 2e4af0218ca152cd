"""Ascents emulated from runs of the engine, for tests that need many thousands of programmes' runs.

The sheath's wear at the worst place after each look is smooth in every number that a run feels: its
logarithm is fitted, for each set-up and look, by a quadratic in those numbers' normal scores. The
sheath energy divides it, as it does in the engine. What the fit leaves over, stroke variation and
what is no quadratic, is drawn again: whole rows, so that the looks at one rope stay in step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from edgewear.percentiles import NORMAL_90
from edgewear.programme.learn.engine_target import EngineTarget
from edgewear.programme.learn.target import Floats, Job, Runs
from edgewear.programme.likelihood import log_likelihood_of
from edgewear.programme.model import Event, Figure, Progress, RopeTest
from edgewear.programme.reading import programme_text
from support.programmes import tower

LOOKS = (0.5, 1.0, 2.0, 3.0, 4.5)
"""Distances after which an invented tester looks [m]; beyond the last one the test ends."""

EYE = 0.2

UPS_MM = (1.0, 1.5, 2.0, 3.0)
"""Radii of the arris that tests are made on, in turn [mm]."""

SITE_MM = 2.5
"""Radius at the option whose margin is wanted [mm]."""

_HEAD = (
    tower("invented ascents", "4.5 m")
    + """\
asked:
  wear/sheath energy: {value: 3e8 J/m3, low: 1e8 J/m3, high: 9e8 J/m3, distribution: lognormal}
  wear/radius exponent: {value: 0.5, low: 0.2, high: 1, distribution: lognormal}
tests:
"""
)


def programme_of(tests: int) -> str:
    """Write tests on the set-ups in turn, looked at everywhere; the site is the last."""
    ups = [UPS_MM[k % len(UPS_MM)] for k in range(tests)] + [SITE_MM]
    return _HEAD + "".join(_entry(f"T{k}", one) for k, one in enumerate(ups))


def _entry(name: str, radius_mm: float) -> str:
    looked = ", ".join(f"{{core visible: {{by: {one} m}}}}" for one in LOOKS)
    return (
        f"  {name}:\n    how far: job/1/ascend\n"
        f"    with: {{edges/arris/radius: {radius_mm} mm}}\n    seen: [{looked}]\n"
    )


@dataclass(frozen=True)
class Fit:
    """What wears a set-up's sheath at each look, quadratic in the scores of what its runs feel."""

    felt: np.ndarray  # (shared,) which of the shared numbers
    factors: Floats  # (terms, looks)
    left: Floats  # (runs, looks) what the quadratic leaves over: stroke variation

    def mean(self, job: Job) -> Floats:
        """Logarithm of sheath demand times sheath energy, without stroke variation, (n, looks)."""
        return _terms(self.felt, job) @ self.factors

    def worn(self, job: Job) -> Floats:
        """The same with it; the replicate says whose stroke variation a row has."""
        found: Floats = self.mean(job) + self.left[job.strokes % len(self.left)]
        return found


def _terms(felt: np.ndarray, job: Job) -> Floats:
    """1, each score, and each product of two, (n, terms)."""
    scores = np.concatenate([job.shared[:, felt], job.private], axis=1)
    one, other = np.triu_indices(scores.shape[1])
    return np.concatenate(
        [np.ones((len(scores), 1)), scores, scores[:, one] * scores[:, other]], axis=1
    )


def log_energy(shared: Floats) -> Floats:
    """Logarithm of the sheath energy, the first number asked for, log-normal as typed, (n,)."""
    found: Floats = np.log(3e8) + shared[:, 0] * np.log(9.0) / 2 / NORMAL_90
    return found


def from_engine(target: EngineTarget, job: Job) -> Floats:
    """Logarithm of demand times energy by the engine, (n, looks); NaN where there is no run."""
    test = target.programme.tests[job.test]
    runs = target.play([job])[0]
    found = target.figures(job.test, test, runs, job.shared, job.private)
    columns = [found[Figure("demand", after)] for after in test.stages()]
    return np.log(np.stack(columns, axis=1)) + log_energy(job.shared)[:, None]


def worlds(target: EngineTarget, test: int, count: int, seed: int, spread: float = 1.0) -> Job:
    """Draw worlds of a test from what is believed, `spread` times as wide."""
    chance = np.random.default_rng([seed, test])
    return Job(
        test,
        spread * chance.standard_normal((count, target.shared)),
        spread * chance.standard_normal((count, target.private[test])),
        chance.integers(0, 2**31, count),
    )


def fitted(target: EngineTarget, test: int, runs: int, seed: int) -> Fit:
    """Run a test of a set-up in worlds a tenth wider than believed, and fit what came out."""
    job = worlds(target, test, runs, seed, 1.1)
    wear = from_engine(target, job)
    has_run = ~np.isnan(wear).any(axis=1)
    terms, wear = _terms(~target.free, job)[has_run], wear[has_run]
    factors, *_ = np.linalg.lstsq(terms, wear, rcond=None)
    # a quadratic of so many terms follows some of the stroke variation
    grown = np.sqrt(len(terms) / (len(terms) - terms.shape[1]))
    return Fit(~target.free, factors, (wear - terms @ factors) * grown)


@dataclass(frozen=True)
class Emulator:
    """A programme of tests on the set-ups in turn, its runs emulated; the site is the last test."""

    engine: EngineTarget
    fits: tuple[Fit, ...]  # of each set-up, the site last

    @property
    def site(self) -> int:
        """Index of the option's site among the tests."""
        return len(self.engine.programme.tests) - 1

    def fit(self, test: int) -> Fit:
        """Give the fit of a test's set-up."""
        return self.fits[-1] if test == self.site else self.fits[test % len(UPS_MM)]

    def demand(self, job: Job) -> Floats:
        """Sheath demand after each look, (n, looks) [1]."""
        return np.exp(self.fit(job.test).worn(job) - log_energy(job.shared)[:, None])


def emulator(tests: int, runs: int, seed: int) -> Emulator:
    """Fit every set-up from runs of the engine."""
    engine = EngineTarget(programme_text(programme_of(tests)))
    at = [*range(len(UPS_MM)), tests]
    return Emulator(engine, tuple(fitted(engine, test, runs, seed) for test in at))


@dataclass(frozen=True)
class Invented:
    """The first tests of an emulated programme with what an invented tester saw: a target."""

    emulator: Emulator
    seen: tuple[Event, ...]

    @property
    def tests(self) -> int:
        """How many tests."""
        return len(self.seen)

    @property
    def shared(self) -> int:
        """How many numbers the tests share."""
        return self.emulator.engine.shared

    @property
    def private(self) -> tuple[int, ...]:
        """How many numbers each test has to itself."""
        return self.emulator.engine.private[: self.tests]

    @property
    def free(self) -> np.ndarray:
        """Shared numbers that need no new runs."""
        return self.emulator.engine.free

    def play(self, jobs: Sequence[Job]) -> list[Runs]:
        """Emulate runs."""
        return [{"worn": self.emulator.fit(job.test).worn(job)} for job in jobs]

    def log_likelihood(self, test: int, runs: Runs, shared: Floats, private: Floats) -> Floats:
        """Log likelihood of what was seen, by the very function of learning."""
        event = self.seen[test]
        looks = list(LOOKS)
        demand = np.exp(runs["worn"] - log_energy(shared)[:, None])
        figures = {f: demand[:, looks.index(f.after.value)] for f in event.figures() if f.after}
        return log_likelihood_of(event, figures)


def seen_of(test: RopeTest, demand: Floats, eye: float) -> Event:
    """What a tester sees whose eye takes the core as visible at that demand, (looks,) each."""
    event = test.seen[0]
    assert isinstance(event, Event)
    looks: list[Progress] = [one for one in test.stages() if one is not None]
    shown = [one for one, x in zip(looks, demand, strict=True) if x >= eye]
    hidden = [one for one in looks if one not in shown]
    return replace(
        event,
        not_by=hidden[-1] if hidden else None,
        by=shown[0] if shown else None,
        spread=EYE,
    )


@dataclass(frozen=True)
class Truths:
    """Worlds that somebody knows, and what the engine runs in them: tests and the site."""

    shared: Floats  # (programmes, shared)
    demand: Floats  # (programmes, tests + 1, looks), of the site last [1]
    eyes: Floats  # (programmes, tests) demand at which the core counts as visible


def truths(found: Emulator, programmes: int, seed: int) -> Truths:
    """Draw worlds from what is believed, and run every test and the site in them by the engine."""
    chance = np.random.default_rng(seed)
    shared = chance.standard_normal((programmes, found.engine.shared))
    demand = []
    for test in range(found.site + 1):
        job = worlds(found.engine, test, programmes, seed)._replace(shared=shared)
        wear = from_engine(found.engine, job)
        # a world without a run is no test that anybody made: the emulator's row stands in
        wear = np.where(np.isnan(wear), found.fit(test).worn(job), wear)
        demand.append(np.exp(wear - log_energy(shared)[:, None]))
    eyes = np.exp(EYE * chance.standard_normal((programmes, found.site)))
    return Truths(shared, np.stack(demand, axis=1), eyes)


def invented_tests(found: Emulator, known: Truths, programme: int, tests: int) -> Invented:
    """Give what the tester of one world saw in the first tests."""
    made = found.engine.programme.tests[:tests]
    seen = [
        seen_of(test, known.demand[programme, k], known.eyes[programme, k])
        for k, test in enumerate(made)
    ]
    return Invented(found, tuple(seen))


def length_to_core(demand: Floats) -> Floats:
    """Distance at which the core shows, from demand (n, looks); log-linear between and beyond."""
    logs, at = np.log(demand), np.log(LOOKS)
    k = np.clip((logs < 0.0).sum(axis=1), 1, len(LOOKS) - 1)
    rows = np.arange(len(logs))
    slope = np.maximum((logs[rows, k] - logs[rows, k - 1]) / (at[k] - at[k - 1]), 0.1)
    length: Floats = np.exp(at[k] - logs[rows, k] / slope)
    return length
