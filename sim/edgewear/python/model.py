"""A scenario in hand: change it, run it, compare its options, sweep its study."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from edgewear.errors import Problem, RunFailed, ScenarioError, UsageError
from edgewear.python.observed import Observed, observed
from edgewear.python.results import Results
from edgewear.python.run import Run

if TYPE_CHECKING:
    from edgewear.findings.inquiries.how_far import HowFar
    from edgewear.findings.inquiries.proposals import Proposals
    from edgewear.findings.inquiries.what_matters import WhatMatters
    from edgewear.scenario import Scenario

MOST_SAMPLES = 2_000_000
"""Samples a line that one run may keep, about 100 MB."""


@dataclass(frozen=True)
class Model:
    """A scenario that can be used; nothing about it changes, `with_` gives another one."""

    scenario: Scenario

    @property
    def options(self) -> tuple[str, ...]:
        """The options' names in the order of the scenario."""
        return tuple(self.scenario.options)

    @property
    def text(self) -> str:
        """The scenario as the text of a file."""
        return self.scenario.source

    def with_(self, values: Mapping[str, str | float]) -> Model:
        """Give the same scenario with some inputs replaced.

        Parameters:
            values: address, perhaps with `*` -> text as it would be typed (`"110 kg"`), or a
                number in SI, which is then known exactly.

        Raises:
            ScenarioError: an address leads nowhere, or the result cannot be used.
        """
        from edgewear.scenario.read.addresses import matching, put, quantity_due
        from edgewear.scenario.text.retyping import spelled_out, typed_as
        from edgewear.scenario.text.tree import parse_tree

        data = parse_tree(self.scenario.source, self.scenario.path).data
        problems = []
        for pattern, value in values.items():
            match = matching(data, pattern)
            if match.problem:
                message = f"leads nowhere: {match.problem}"
                problems.append(Problem(self.scenario.path, 0, 0, pattern, message))
            for path in match.paths:
                put(data, path, typed_as(value, quantity_due(path, data)))
        if problems:
            raise ScenarioError(problems)
        return _of_text(spelled_out(data), self.scenario.path, self.scenario.library_source)

    def run(self, option: str | None = None, rate_hz: float = 10.0, seconds: float = 3600.0) -> Run:
        """Play one option once with nominal values.

        Parameters:
            option: its name; the first one if left out.
            rate_hz: samples a second of its timeline, above 0 to 10,000; at most one a step, and
                steps last up to 15 ms.
            seconds: how much of each line's course is kept.

        Raises:
            UsageError: no option of that name, a rate out of range, or too many samples.
            RunFailed: it could not be computed, or what came out cannot have happened.
        """
        from edgewear.case import compile_case
        from edgewear.engine.player import Recording
        from edgewear.engine.results.outcome import outcome
        from edgewear.engine.results.sense import meaningless
        from edgewear.engine.run_job import perform

        name = self.options[0] if option is None else option
        if name not in self.options:
            listed = ", ".join(map(repr, self.options))
            raise UsageError(f"no option is called {name!r}; there are {listed}")
        if not 0.0 < rate_hz <= 10_000.0 or not 0.0 < seconds * rate_hz <= MOST_SAMPLES:
            message = f"rate_hz {rate_hz:g}, seconds {seconds:g}: above 0 to 10,000 Hz, and at most"
            raise UsageError(f"{message} {MOST_SAMPLES:,} samples are allowed")
        samples = int(rate_hz * seconds) + 1
        kept = Recording(travel=100_000, trace=samples, trace_ticks=round(10_000 / rate_hz))
        case = compile_case(self.scenario, name)
        done = perform(self.scenario, case, self.scenario.when, kept)
        row = outcome(done.player, done.ticks).run[0]
        if told := meaningless(done.player, done.tape, row):
            raise RunFailed(f"{name}: {told}")
        return Run(name, done)

    def how_far(
        self,
        inputs: Sequence[str],
        options: Sequence[str] = (),
        target: float | None = None,
        replicates: int = 256,
        seed: int = 0,
        workers: int | None = 1,
        over: str | None = None,
    ) -> HowFar:
        """Find how far each input may go before each option misses the target.

        Parameters:
            inputs: `ADDRESS` or `ADDRESS=LOW..HIGH`; `job/times` is how often the job is done.
            options: names; all of them if left out.
            target: sheath left at the careful end [1]; the scenario's if left out.
            replicates: trials of each value; seed: of all draws.
            workers: worker processes; None takes every processor. No result depends on it.
            over: a second input, `ADDRESS=LOW..HIGH`, at five values of which limits are found.

        Raises:
            UsageError: an input or option that is not there, or a number out of range.
            ScenarioError: no target is known.
        """
        from edgewear.study.limits.limit import how_far

        return how_far(self.scenario, inputs, options, target, replicates, seed, workers, over=over)

    def propose(
        self,
        base: str | None = None,
        anchors: Sequence[str] = (),
        further: Sequence[str] = (),
        protection: Sequence[str] = (),
        replicates: int = 256,
        seed: int = 0,
        workers: int | None = 1,
    ) -> Proposals:
        """Try every way of rigging that the anchors and means at hand allow.

        Parameters:
            base: option whose ropes and safety line are kept; the first if left out.
            anchors: to start from; further: to re-anchor or deviate at; protection: words of
                pieces at hand. What is left out is taken from the scenario.
            replicates: trials; seed: of all draws, the same for all.
            workers: worker processes; None takes every processor. No result depends on it.

        Raises:
            UsageError: a name that is not there, or more ways than can be tried.
            ScenarioError: the scenario has no target.
        """
        from edgewear.study.proposals.propose import propose

        return propose(self.scenario, base, anchors, further, protection, replicates, seed, workers)

    def what_would_matter(
        self, options: Sequence[str] = (), base: int = 64, seed: int = 0
    ) -> WhatMatters:
        """Say which inputs decide the sheath left, by a design of its own.

        Parameters:
            options: names; all of them if left out.
            base: size of the design, a power of 2; base*(inputs + 2) runs an option are made.
            seed: of the design.

        Raises:
            UsageError: no option of that name, or a size that is no power of 2.
            RunFailed: a run of the design could not be computed.
        """
        from edgewear.study.sensitivity.matters import what_would_matter

        return what_would_matter(self.scenario, options, base, seed)

    def compare(
        self,
        replicates: int = 256,
        seed: int = 0,
        workers: int | None = None,
        out: str | Path | None = None,
    ) -> Results:
        """Compare the options under common draws.

        Parameters:
            replicates: trials an option; seed: of all draws.
            workers: worker processes; None lets the size of the study decide.
            out: folder of the dataset; in memory if left out.

        Raises:
            ScenarioError: the scenario has no target.
            UsageError: a number out of range.
            DatasetError: the folder cannot be used.
        """
        from edgewear.study.compare import compare

        if out is not None:
            compare(self.scenario, replicates, seed, workers, out)
            return Results.of(out)
        with TemporaryDirectory() as folder:
            compare(self.scenario, replicates, seed, workers, Path(folder, "comparison"))
            return Results.of(Path(folder, "comparison"))

    def observe(
        self,
        replicates: int = 512,
        seed: int = 0,
        workers: int | None = None,
        out: str | Path | None = None,
    ) -> Observed:
        """Compare the options, then weigh the trials by what the scenario says was measured.

        Parameters:
            replicates, seed, workers, out: as in `compare`.

        Raises:
            ScenarioError: nothing was observed, or it does not say on which option.
        """
        from edgewear.study.correction.site_correction import observe

        if out is not None:
            found = observe(self.scenario, replicates, seed, workers, out)
            return observed(Results.of(out), found)
        with TemporaryDirectory() as folder:
            found = observe(self.scenario, replicates, seed, workers, Path(folder, "comparison"))
            return observed(Results.of(Path(folder, "comparison")), found)

    def sweep(
        self, out: str | Path | None = None, workers: int | None = 1, edges: bool = False
    ) -> Results:
        """Run the scenario's study; with a folder, the same call goes on with one that stopped.

        Parameters:
            out: folder of the dataset; in memory if left out.
            workers: worker processes; None takes every processor.
            edges: whether the outcomes at every edge of every run are kept as well.

        Raises:
            ScenarioError: no study, or one that cannot be used.
            Mismatch: the folder holds another study.
            DatasetError: it cannot be written.
        """
        from edgewear.study.sweeping.sweep import sweep

        if out is not None:
            sweep(self.scenario, out, workers, edges=edges)
            return Results.of(out)
        with TemporaryDirectory() as folder:
            sweep(self.scenario, Path(folder, "sweep"), workers, edges=edges)
            return Results.of(Path(folder, "sweep"))


def load(source: str | Path | Mapping[str, Any]) -> Model:
    """Load a scenario.

    Parameters:
        source: path of its file, its text (with at least one line break), or a mapping with the
            keys of a file.

    Raises:
        ScenarioError: with every problem found, each at its line, column and address.
    """
    if isinstance(source, Mapping):
        from edgewear.scenario.text.retyping import spelled_out

        return _of_text(spelled_out(source), "mapping", None)
    if isinstance(source, str) and "\n" in source:
        return _of_text(source, "text", None)
    from edgewear.study.loading import load_riggable

    return Model(load_riggable(source))


def _of_text(text: str, path: str, library: str | None) -> Model:
    from edgewear.rigging import problems
    from edgewear.scenario import load_text
    from edgewear.scenario.read.reading import problems_at

    scenario = load_text(text, path, library)
    if found := problems(scenario):
        raise ScenarioError(problems_at(scenario, found))
    return Model(scenario)
