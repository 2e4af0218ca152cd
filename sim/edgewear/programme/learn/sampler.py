"""Sequential Monte Carlo from what was believed to what the tests leave: the sampler.

Particles are drawn from the prior and the tests' likelihood is raised to a power that goes from 0
to 1 (likelihood tempering; Neal 2001, Del Moral, Doucet and Jasra 2006, from memory). At each power
they are weighed, drawn anew within their population, and moved by Metropolis steps that leave the
tempered posterior as it is:

- numbers that need no new runs, by random walks along the particles' own covariance, many times;
- what each test has to itself, test by test, by preconditioned Crank-Nicolson steps with new runs;
- all shared numbers at once, by such steps about the particles' own mean and covariance, with new
  runs of every test.

Half of the particles are moved along the covariance of the other half, then the other way round: a
step along a covariance in which the particle itself counts does not leave the posterior as it is,
and made intervals of 128 particles some 3 % too narrow (moves of one half by the other: Goodman and
Weare 2010, from memory).

Populations are drawn anew apart from each other, so that they tell how far the sampler agrees with
itself; they share the powers and the covariance of the steps. Every draw is a function of the seed,
the power's ordinal and a name, so that a sampler that goes on from a kept state makes the same.

The sample is where the particles are after each round at the full power, not after the last alone:
runs that were made are not thrown away (as in Dau and Chopin 2022, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from edgewear.engine.draws import key_of
from edgewear.programme.learn.state import POPULATIONS, Sampled, State
from edgewear.programme.learn.target import Floats, Job, Runs, Target, Whole

WANTED = 0.5
"""Share of effective particles that the next power may leave."""

FREE_STEPS = 8
"""Random walks over the numbers that need no new runs, each time."""

LAST_ROUNDS = 3
"""Further rounds of moves at the full power, each of which adds to the sample."""

STROKES = 2**31
"""Replicates of the stroke variation that particles draw from."""

LEAST_STEP, MOST_STEP = 0.02, 1.0


ALL = slice(None)

Keep = Callable[[State], None]
Told = Callable[[State], None]


class Sampler:
    """Draws from the posterior of a target.

    Parameters:
        target: the likelihood.
        particles: a multiple of POPULATIONS.
        seed: of all draws.
        phases: groups of tests that enter one after the other; all at once if empty. The evidence
            of each is that of its tests given those before it.
        number: of the pass; each draws apart from the others, and finds its own way.
    """

    def __init__(
        self,
        target: Target,
        particles: int,
        seed: int,
        phases: Sequence[Sequence[int]] = (),
        number: int = 0,
    ) -> None:
        """Draw nothing yet."""
        self.target, self.particles, self.seed, self.number = target, particles, seed, number
        self.phases = [list(one) for one in phases] or [list(range(target.tests))]
        self.group = particles // POPULATIONS

    def sample(
        self, state: State | None = None, keep: Keep | None = None, told: Told | None = None
    ) -> Sampled:
        """Go from the prior, or from a kept state, to the posterior.

        Parameters:
            state: as kept.
            keep: called with the state after each power.
            told: called after each round of moves.
        """
        self.told = told or (lambda state: None)
        if state is None:
            self.state = self._begin()
            self.state.runs = self.target.play(self._jobs(self.state.shared, ALL))
            self.state.found = self._likelihood(self.state.shared, self.state.runs, ALL)
        else:
            self.state = state
        for number, phase in enumerate(self.phases):
            while self.state.powers[phase[0]] < 1.0:
                self._next_power(number, phase)
                self._move()
                if keep is not None:
                    keep(self.state)
        while self.state.last < LAST_ROUNDS:
            self._move()
            self.state.last += 1
            self._hold()
            if keep is not None:
                keep(self.state)
        return self._sampled()

    def _hold(self) -> None:
        """Take where the particles are into the sample."""
        self.state.held.append(self.state.shared)
        self.state.held_likelihood.append(self.state.found.copy())

    def _sampled(self) -> Sampled:
        s = self.state
        return Sampled(
            self._by_population(s.held), self._by_population(s.held_likelihood), s.log_evidence,
            tuple(s.effective), POPULATIONS, len(s.effective), rounds=len(s.held),
        )  # fmt: skip

    def _by_population(self, held: Sequence[Floats]) -> Floats:
        """Put the rounds of a population one after the other, (n*rounds, columns)."""
        columns = held[0].shape[1]
        apart = np.stack(held).reshape(len(held), POPULATIONS, self.group, columns)
        return apart.transpose(1, 0, 2, 3).reshape(-1, columns)

    def _begin(self) -> State:
        n, tests = self.particles, self.target.tests
        drawn = self._generator("begin")
        return State(
            shared=drawn.standard_normal((n, self.target.shared)),
            private=[drawn.standard_normal((n, p)) for p in self.target.private],
            strokes=[drawn.integers(0, STROKES, n) for _ in range(tests)],
            powers=np.zeros(tests),
            test_steps=np.full(tests, 0.5),
            log_evidence=np.zeros((len(self.phases), POPULATIONS)),
        )

    def _generator(self, name: str) -> np.random.Generator:
        own = f"pass {self.number} {name}" if self.number else name
        return np.random.Generator(np.random.Philox(key=key_of(self.seed, own)))

    def _jobs(self, shared: Floats, rows: slice) -> list[Job]:
        s = self.state
        return [
            Job(t, shared, s.private[t][rows], s.strokes[t][rows]) for t in range(self.target.tests)
        ]

    def _likelihood(self, shared: Floats, runs: Sequence[Runs], rows: slice) -> Floats:
        """Log likelihood of every test, of some particles (n, tests)."""
        columns = [
            self.target.log_likelihood(t, runs[t], shared, self.state.private[t][rows])
            for t in range(self.target.tests)
        ]
        return np.stack(columns, axis=1)

    def _next_power(self, number: int, phase: list[int]) -> None:
        """Raise the power as far as the particles allow, weigh and draw them anew."""
        own = self.state.found[:, phase].sum(axis=1)
        left = 1.0 - self.state.powers[phase[0]]
        rise = _rise(own.reshape(POPULATIONS, -1), left)
        weights = [_weights(rise * some) for some in own.reshape(POPULATIONS, -1)]
        for k, some in enumerate(own.reshape(POPULATIONS, -1)):
            most = rise * some.max()
            mean = np.exp(rise * some - most).mean()
            self.state.log_evidence[number, k] += most + np.log(mean)
        self.state.effective.append(float(sum(1.0 / (w**2).sum() for w in weights)))
        self.state.powers[phase] = 1.0 if rise >= left else self.state.powers[phase[0]] + rise
        drawn = self._generator(f"anew {len(self.state.effective)}")
        kept = [
            k * self.group + _systematic(weight, drawn.random()) for k, weight in enumerate(weights)
        ]
        self._take(np.concatenate(kept))

    def _take(self, rows: Whole) -> None:
        s = self.state
        s.shared, s.found = s.shared[rows], s.found[rows]
        s.private = [one[rows] for one in s.private]
        s.strokes = [one[rows] for one in s.strokes]
        s.runs = [{k: v[rows] for k, v in one.items()} for one in s.runs]

    def _move(self) -> None:
        """One round of moves."""
        self.state.rounds += 1
        drawn = self._generator(f"round {self.state.rounds}")
        self._free(drawn)
        self._own(drawn)
        self._free(drawn)
        if not self.target.free.all():
            self._together(drawn)
            self._free(drawn)
        self.told(self.state)

    def _halves(self) -> tuple[tuple[slice, slice], tuple[slice, slice]]:
        """Rows that are moved, and those by whose covariance."""
        first, second = slice(0, self.particles // 2), slice(self.particles // 2, None)
        return (first, second), (second, first)

    def _free(self, drawn: np.random.Generator) -> None:
        """Random walks over the numbers that need no new runs."""
        free = self.target.free
        if not free.any():
            return
        taken = []
        for _ in range(FREE_STEPS):
            for rows, others in self._halves():
                shared = self.state.shared[rows].copy()
                some = self.state.shared[others][:, free]
                shared[:, free] += _walk(drawn, some, len(shared)) * self.state.steps[0]
                runs = [{k: v[rows] for k, v in one.items()} for one in self.state.runs]
                found = self._likelihood(shared, runs, rows)
                taken.append(self._accept(drawn, rows, shared, found))
        self.state.steps[0] = _tuned(self.state.steps[0], float(np.mean(taken)))

    def _together(self, drawn: np.random.Generator) -> None:
        """Move all shared numbers at once, with new runs of every test.

        A Crank-Nicolson step about the other particles' mean and covariance, which would always be
        taken if the posterior were normal.
        """
        s, step, taken = self.state, float(self.state.steps[1]), []
        for rows, others in self._halves():
            middle, factor = _normal_of(s.shared[others])
            here = s.shared[rows]
            normal = drawn.standard_normal(here.shape) @ factor.T
            shared = middle + np.sqrt(1.0 - step**2) * (here - middle) + step * normal
            runs = self.target.play(self._jobs(shared, rows))
            before, after = (_log_normal(one - middle, factor) for one in (here, shared))
            found = self._likelihood(shared, runs, rows)
            taken.append(self._accept(drawn, rows, shared, found, runs, before - after))
        s.steps[1] = _tuned(step, float(np.mean(taken)))

    def _accept(
        self,
        drawn: np.random.Generator,
        rows: slice,
        shared: Floats,
        found: Floats,
        runs: Sequence[Runs] | None = None,
        way_back: Floats | float = 0.0,
    ) -> float:
        """Take over proposals of some particles' shared numbers; gives the share that was taken.

        Parameters:
            runs: new ones; None: those of before.
            way_back: log density of proposing the way back, less that of the way there (n,).
        """
        s = self.state
        gain = ((found - s.found[rows]) * s.powers).sum(axis=1) + way_back
        gain += 0.5 * ((s.shared[rows] ** 2).sum(axis=1) - (shared**2).sum(axis=1))
        taken = np.log(drawn.random(len(gain))) < gain
        s.shared, s.found = s.shared.copy(), s.found.copy()
        s.shared[rows] = np.where(taken[:, None], shared, s.shared[rows])
        s.found[rows] = np.where(taken[:, None], found, s.found[rows])
        if runs is not None:
            s.runs = [_put(taken, n, old, rows) for n, old in zip(runs, s.runs, strict=True)]
        return float(taken.mean())

    def _own(self, drawn: np.random.Generator) -> None:
        """Move what each test has to itself, strokes included, with new runs of that test."""
        s = self.state
        proposals, strokes, jobs = [], [], []
        for t in range(self.target.tests):
            step = s.test_steps[t]
            normal = drawn.standard_normal(s.private[t].shape)
            proposals.append(np.sqrt(1.0 - step**2) * s.private[t] + step * normal)
            other = drawn.integers(0, STROKES, self.particles)
            strokes.append(np.where(drawn.random(self.particles) < step, other, s.strokes[t]))
            jobs.append(Job(t, s.shared, proposals[t], strokes[t]))
        for t, runs in enumerate(self.target.play(jobs)):
            found = self.target.log_likelihood(t, runs, s.shared, proposals[t])
            gain = (found - s.found[:, t]) * s.powers[t]
            taken = np.log(drawn.random(self.particles)) < gain
            s.private[t] = np.where(taken[:, None], proposals[t], s.private[t])
            s.strokes[t] = np.where(taken, strokes[t], s.strokes[t])
            s.found[:, t] = np.where(taken, found, s.found[:, t])
            s.runs[t] = _chosen(taken, runs, s.runs[t])
            if s.powers[t] > 0.0:
                s.test_steps[t] = _tuned(float(s.test_steps[t]), float(taken.mean()))


def _walk(drawn: np.random.Generator, others: Floats, count: int) -> Floats:
    """Steps (count, k) along the covariance of others, 2.38/sqrt(k) of it, some of them short."""
    numbers = others.shape[1]
    covariance = np.atleast_2d(np.cov(others.T)) + 1e-9 * np.eye(numbers)
    factor = np.linalg.cholesky(covariance)
    normal = drawn.standard_normal((count, numbers))
    short = np.where(drawn.random(count) < 0.25, 0.2, 1.0)[:, None]
    steps: Floats = short * 2.38 / np.sqrt(numbers) * normal @ factor.T
    return steps


def _normal_of(particles: Floats) -> tuple[Floats, Floats]:
    """Mean, and a factor of the covariance drawn towards the prior's where particles are few."""
    count, numbers = particles.shape
    few = numbers / (numbers + count)
    covariance = (1.0 - few) * np.atleast_2d(np.cov(particles.T)) + few * np.eye(numbers)
    return particles.mean(axis=0), np.linalg.cholesky(covariance)


def _log_normal(off: Floats, factor: Floats) -> Floats:
    """Log density of a normal, but for a constant, (n,)."""
    scaled = np.linalg.solve(factor, off.T)
    found: Floats = -0.5 * (scaled**2).sum(axis=0)
    return found


def _chosen(taken: NDArray[np.bool_], new: Runs, old: Runs) -> Runs:
    """Rows of `new` where taken, else of `old`."""
    return {
        name: np.where(taken.reshape(-1, *([1] * (old[name].ndim - 1))), new[name], old[name])
        for name in old
    }


def _put(taken: NDArray[np.bool_], new: Runs, old: Runs, rows: slice) -> Runs:
    """Runs with some rows of `new`, where taken."""
    found = {name: values.copy() for name, values in old.items()}
    for name, values in _chosen(taken, new, {k: v[rows] for k, v in old.items()}).items():
        found[name][rows] = values
    return found


def _rise(log_likelihood: Floats, left: float) -> float:
    """The largest rise of the power that leaves enough effective particles, by halving.

    Parameters:
        log_likelihood: (populations, n).
        left: most it may be.
    """

    def enough(rise: float) -> bool:
        shares = [1.0 / (_weights(rise * one) ** 2).sum() / len(one) for one in log_likelihood]
        return bool(np.mean(shares) >= WANTED)

    if enough(left):
        return left
    low, high = 0.0, left
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if enough(middle) else (low, middle)
    return max(low, 1e-6)


def _weights(log_weight: Floats) -> Floats:
    raw = np.exp(log_weight - log_weight.max())
    weights: Floats = raw / raw.sum()
    return weights


def _systematic(weight: Floats, start: float) -> Whole:
    """Draw as many as there are, in proportion to their weights, with one number of chance."""
    at = (np.arange(len(weight)) + start) / len(weight)
    found: Whole = np.minimum(np.searchsorted(np.cumsum(weight), at), len(weight) - 1)
    return found


def _tuned(step: float, taken: float) -> float:
    """Widen steps that are taken often, shorten those that hardly ever are."""
    factor = 1.4 if taken > 0.4 else 1 / 1.4 if taken < 0.2 else 1.0
    return float(np.clip(step * factor, LEAST_STEP, MOST_STEP))


def fresh(seed: int, test: int, count: int, private: int) -> tuple[Floats, Whole]:
    """Draw what a test has to itself anew: standard normals (count, private) and strokes."""
    drawn = np.random.Generator(np.random.Philox(key=key_of(seed, f"anew for test {test}")))
    return drawn.standard_normal((count, private)), drawn.integers(0, STROKES, count)
