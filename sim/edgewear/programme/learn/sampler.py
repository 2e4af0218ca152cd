"""Sequential Monte Carlo to what the tests leave, guided by a surrogate: the sampler.

A first batch of runs, drawn from the prior, tells a surrogate of the likelihood. Particles are
drawn from the surrogate's posterior, which takes no run, and the surrogate's likelihood is
exchanged for the true one by a power that goes from 0 to 1 (likelihood tempering; Neal 2001, Del
Moral, Doucet and Jasra 2006, from memory). At each power they are weighed, drawn anew within their
population, and moved by Metropolis steps that leave the tempered posterior as it is:

- numbers that need no new runs, by random walks, many times;
- what a test has to itself and its stroke variation, test by test, with new runs of that test,
  where the surrogate leaves much over;
- all numbers at once, by many steps along the surrogate's posterior and one decision by new runs
  of every test (`wander`). Tests that the surrogate tells badly are run first, the others only
  where these did not refuse: two decisions, each of which leaves the posterior as it is.

What guides the steps, the surrogate, a normal and which tests are loud, is frozen before the first
particle is weighed and knows nothing of the particles: steps along a covariance in which a particle
itself counts do not leave the posterior as it is, and made intervals of 128 particles some 3 % too
narrow. A bad surrogate makes a sampler slow, not wrong.

Populations are drawn anew apart from each other, so that they tell how far the sampler agrees with
itself; they share the powers and the guide. Every draw is a function of the seed, the power's
ordinal and a name, so that a sampler that goes on from a kept state makes the same.

The sample is where the particles are after each round at the full power, not after the last alone:
runs that were made are not thrown away (as in Dau and Chopin 2022, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

import numpy as np

from edgewear.engine.draws import key_of
from edgewear.programme.learn.anew import drawn_anew, effective
from edgewear.programme.learn.state import POPULATIONS, Guide, Sampled, State
from edgewear.programme.learn.surrogate import Surrogate, fitted
from edgewear.programme.learn.target import Floats, Job, Runs, Target, Whole
from edgewear.programme.learn.wander import (
    Normal,
    Place,
    normal_of,
    own_steps,
    surrogate_sample,
    wander,
)

PILOT = 128
"""Least runs of every test that tell the surrogate."""

FREE_STEPS = 8
"""Random walks over the numbers that need no new runs, each time."""

FREE_STRIDES = (0.15, 0.4, 1.0)
"""Their lengths to draw from, in 2.38/sqrt(k) deviations."""

OWN_STEPS = 4
"""Steps along the surrogate for what a test has to itself, a proposal."""

FEWEST, STEPS, MOST_STEPS = 3, 16, 32
"""Steps along the surrogate for all numbers, a proposal: fewest, at first, and most."""

LAST_ROUNDS = 4
"""Further rounds of moves at the full power, each of which adds to the sample."""

STROKES = 2**31
"""Replicates of the stroke variation that particles draw from."""

Array = TypeVar("Array", Floats, Whole)
At = Whole | tuple[Whole, int]

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
        self.first = np.isin(np.arange(target.tests), self.phases[0])

    def sample(
        self, state: State | None = None, keep: Keep | None = None, told: Told | None = None
    ) -> Sampled:
        """Go from the prior, or from a kept state, to the posterior.

        Parameters:
            state: as kept.
            keep: called with the state after each power.
            told: called after each round of moves.
        """
        self.told, self.keep = told or (lambda state: None), keep or (lambda state: None)
        self.state = self._begin() if state is None else state
        self.surrogate = Surrogate(self.target, self.state.guide.fits, self.state.runs)
        for number, phase in enumerate(self.phases):
            while self.state.powers[phase[0]] < 1.0:
                self._next_power(number, phase)
                self._move()
                self.keep(self.state)
        while self.state.last < LAST_ROUNDS:
            self._move()
            self.state.last += 1
            self._hold()
            self.keep(self.state)
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
        """Fit the surrogate, draw particles from its posterior, and run them."""
        drawn = self._generator("begin")
        jobs = self._pilot(drawn)
        surrogate = fitted(self.target, jobs, self.target.play(jobs))
        place, evidence = surrogate_sample(surrogate, 2 * self.particles, self.phases[0], drawn)
        mine, others = place.rows(slice(None, None, 2)), place.rows(slice(1, None, 2))
        tests = self.target.tests
        log_evidence = np.zeros((len(self.phases), POPULATIONS))
        log_evidence[0] = evidence
        strokes = [drawn.integers(0, STROKES, self.particles) for _ in range(tests)]
        normal = normal_of(others.shared)
        guide = Guide(surrogate.fits, *normal, surrogate.loud(others.shared, others.private))
        runs = self.target.play(_jobs(mine, strokes))
        found = self._likelihood(mine.shared, mine.private, runs)
        return State(
            shared=mine.shared, private=list(mine.private), strokes=strokes, powers=np.zeros(tests),
            runs=runs, found=found, lent=mine.lent, guide=guide, log_evidence=log_evidence,
            steps=STEPS,
        )  # fmt: skip

    def _pilot(self, drawn: np.random.Generator) -> list[Job]:
        """Worlds drawn from the prior, of every test."""
        count = max(self.particles, PILOT)
        shared = drawn.standard_normal((count, self.target.shared))
        return [
            Job(t, shared, drawn.standard_normal((count, p)), drawn.integers(0, STROKES, count))
            for t, p in enumerate(self.target.private)
        ]

    def _generator(self, name: str) -> np.random.Generator:
        own = f"pass {self.number} {name}" if self.number else name
        return np.random.Generator(np.random.Philox(key=key_of(self.seed, own)))

    def _place(self) -> Place:
        return Place(self.state.shared, self.state.private, self.state.lent)

    def _lent(self) -> Floats:
        """Powers of the surrogate's likelihood in what guides the steps, (tests,)."""
        return np.where(self.first, 1.0, self.state.powers)

    def _likelihood(
        self, shared: Floats, private: Sequence[Floats], runs: Sequence[Runs]
    ) -> Floats:
        """Log likelihood of every test, (n, tests)."""
        columns = [
            self.target.log_likelihood(t, runs[t], shared, private[t])
            for t in range(self.target.tests)
        ]
        return np.stack(columns, axis=1)

    def _next_power(self, number: int, phase: list[int]) -> None:
        """Raise the power as far as the particles allow, weigh and draw them anew."""
        s = self.state
        own = s.found[:, phase].sum(axis=1)
        if number == 0:  # the surrogate's likelihood goes as the true one comes
            own = own - s.lent[:, phase].sum(axis=1)
        left = 1.0 - float(s.powers[phase[0]])
        drawn = self._generator(f"anew {len(s.effective)}")
        rise, rows, gained = drawn_anew(own, left, drawn.random())
        s.log_evidence[number] += gained
        s.effective.append(effective(rise * own))
        s.powers[phase] = 1.0 if rise >= left else s.powers[phase[0]] + rise
        self._take(rows)

    def _take(self, rows: Whole) -> None:
        s = self.state
        s.shared, s.found, s.lent = s.shared[rows], s.found[rows], s.lent[rows]
        s.private = [one[rows] for one in s.private]
        s.strokes = [one[rows] for one in s.strokes]
        s.runs = [{k: v[rows] for k, v in one.items()} for one in s.runs]

    def _move(self) -> None:
        """One round of moves."""
        self.state.rounds += 1
        drawn = self._generator(f"round {self.state.rounds}")
        self._free(drawn)
        self._own(drawn)
        self._together(drawn)
        self._free(drawn)
        self.told(self.state)

    def _free(self, drawn: np.random.Generator) -> None:
        """Random walks over the numbers that need no new runs."""
        free, s = self.target.free, self.state
        if not free.any():
            return
        factor = s.guide.factor[free] * 2.38 / np.sqrt(free.sum())
        for _ in range(FREE_STEPS):
            shared = s.shared.copy()
            normal = drawn.standard_normal((self.particles, factor.shape[1]))
            shared[:, free] += drawn.choice(FREE_STRIDES) * normal @ factor.T
            found = self._likelihood(shared, s.private, s.runs)
            gain = (found - s.found) @ s.powers + self._lent_gain(shared)
            gain += 0.5 * ((s.shared**2).sum(axis=1) - (shared**2).sum(axis=1))
            taken = (np.log(drawn.random(len(gain))) < gain)[:, None]
            s.shared, s.found = np.where(taken, shared, s.shared), np.where(taken, found, s.found)
            if self._on_the_way():
                s.lent = self.surrogate.log_likelihood(s.shared, s.private)
        s.lent = self.surrogate.log_likelihood(s.shared, s.private)

    def _lent_gain(self, shared: Floats) -> Floats | float:
        """What they gain of the surrogate's likelihood, as far as the true one is not whole."""
        s = self.state
        if not self._on_the_way():
            return 0.0
        lent = self.surrogate.log_likelihood(shared, s.private)
        gained: Floats = (lent - s.lent) @ (self._lent() - s.powers)
        return gained

    def _on_the_way(self) -> bool:
        return bool((self._lent() > self.state.powers).any())

    def _own(self, drawn: np.random.Generator) -> None:
        """Move what each loud test has to itself, strokes included, with new runs of that test."""
        s = self.state
        loud = np.flatnonzero(s.guide.loud).tolist()
        place = own_steps(self.surrogate, self._place(), self._lent(), OWN_STEPS, drawn)
        strokes = [drawn.integers(0, STROKES, self.particles) for _ in s.strokes]
        chance = np.log(drawn.random(s.found.shape))
        for t, runs in zip(loud, self.target.play(_jobs(place, strokes, loud)), strict=True):
            found = self.target.log_likelihood(t, runs, s.shared, place.private[t])
            gain = s.powers[t] * (found - place.lent[:, t] - s.found[:, t] + s.lent[:, t])
            rows = np.flatnonzero(chance[:, t] < gain)
            s.private[t] = _put(s.private[t], rows, place.private[t][rows])
            s.strokes[t] = _put(s.strokes[t], rows, strokes[t][rows])
            s.found = _put(s.found, (rows, t), found[rows])
            s.lent = _put(s.lent, (rows, t), place.lent[rows, t])
            s.runs[t] = _put_runs(s.runs[t], rows, _some(runs, rows))

    def _together(self, drawn: np.random.Generator) -> None:
        """Move all numbers at once, with new runs of every test: of the loud ones first."""
        s, tests = self.state, range(self.target.tests)
        place = wander(
            self.surrogate,
            self._place(),
            self._lent(),
            Normal(s.guide.middle, s.guide.factor),
            s.steps,
            drawn,
        )
        fresh_strokes = [drawn.integers(0, STROKES, self.particles) for _ in tests]
        strokes = [s.strokes[t] if s.guide.loud[t] else fresh_strokes[t] for t in tests]
        left = np.arange(self.particles)
        runs: dict[int, Runs] = {}
        found = s.found.copy()
        for part in (s.guide.loud, ~s.guide.loud):
            some = np.flatnonzero(part).tolist()
            chance = np.log(drawn.random(self.particles))[left]
            if not some or not len(left):
                continue
            jobs = _jobs(place.rows(left), [one[left] for one in strokes], some)
            runs |= dict(zip(some, self.target.play(jobs), strict=True))
            for job in jobs:
                found[left, job.test] = self.target.log_likelihood(
                    job.test, runs[job.test], job.shared, job.private
                )
            gain = (found - place.lent - s.found + s.lent)[left] @ (s.powers * part)
            taken = np.flatnonzero(chance < gain)
            left, runs = left[taken], {t: _some(one, taken) for t, one in runs.items()}
        self._tune(len(left) / self.particles)
        if len(left):
            self._go(left, place, strokes, runs, found)

    def _go(
        self, rows: Whole, place: Place, strokes: Sequence[Whole], runs: Mapping[int, Runs],
        found: Floats,
    ) -> None:  # fmt: skip
        """Put some particles in another place; `runs` are of these rows alone."""
        s = self.state
        s.shared = _put(s.shared, rows, place.shared[rows])
        s.found, s.lent = _put(s.found, rows, found[rows]), _put(s.lent, rows, place.lent[rows])
        for t, one in runs.items():
            s.private[t] = _put(s.private[t], rows, place.private[t][rows])
            s.strokes[t] = _put(s.strokes[t], rows, strokes[t][rows])
            s.runs[t] = _put_runs(s.runs[t], rows, one)

    def _tune(self, taken: float) -> None:
        """Go further where proposals are taken often, less far where they hardly ever are."""
        if self.state.powers.min() < 1.0:
            factor = 1.5 if taken > 0.5 else 1 / 1.5 if taken < 0.25 else 1.0
            self.state.steps = int(np.clip(round(self.state.steps * factor), FEWEST, MOST_STEPS))


def _jobs(place: Place, strokes: Sequence[Whole], tests: Sequence[int] | None = None) -> list[Job]:
    """Runs of some tests, of all if None, where particles are."""
    some = range(len(place.private)) if tests is None else tests
    return [Job(t, place.shared, place.private[t], strokes[t]) for t in some]


def _put(old: Array, at: At, new: Array) -> Array:
    """A copy with some places of it anew."""
    found = old.copy()
    found[at] = new
    return found


def _some(runs: Runs, rows: Whole) -> Runs:
    return {name: one[rows] for name, one in runs.items()}


def _put_runs(old: Runs, rows: Whole, new: Runs) -> Runs:
    return {name: _put(one, rows, new[name]) for name, one in old.items()}


def fresh(seed: int, test: int, count: int, private: int) -> tuple[Floats, Whole]:
    """Draw what a test has to itself anew: standard normals (count, private) and strokes."""
    drawn = np.random.Generator(np.random.Philox(key=key_of(seed, f"anew for test {test}")))
    return drawn.standard_normal((count, private)), drawn.integers(0, STROKES, count)
