"""Plays rows of a plan with the real simulator: a scenario's options, compiled once a worker."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import Problem, RunFailed, ScenarioError, UsageError
from edgewear.findings.failure import Doubt, doubts_of
from edgewear.findings.plain import plain
from edgewear.study.compared import Described, NominalCourse
from edgewear.study.plan import Block
from edgewear.study.resolved import parameters_of
from edgewear.study.task import FIXED, PlayedRows, joined
from edgewear.study.worker_pool import Later, at_once

if TYPE_CHECKING:
    from edgewear.case import Case, Records, Uncertainty
    from edgewear.dataset.ranking.model import BridgeStep
    from edgewear.engine.results.depths import Depths
    from edgewear.scenario.models.scenario import Scenario

Typed = tuple[tuple[str, str | float], ...]
"""Levers: (address, value as typed or in SI), for a scenario compiled anew."""

Sets = tuple[tuple[str, str, tuple[str, ...]], ...]
"""(address, option, names): which of a case's numbers the column of a lever sets."""


class Ready(NamedTuple):
    """An option compiled, with the tape that nobody reacts to."""

    scenario: Scenario
    case: Case
    tape: Records
    follows: bool  # whether the course follows the rope, so that every run has a tape of its own
    depths: Depths | None  # where people hang in the nominal run; None: the tape does not tell
    unfinished_step: int  # of the tape, as of a `Performance`


@dataclass(frozen=True)
class ScenarioModel:
    """A scenario's options as something that plays rows of a plan.

    It travels to the workers as text and is compiled there, once an option.
    """

    text: str
    path: str
    seed: int
    travel: int = 0  # strokes whose mark travel is kept for its percentiles
    edges: bool = False  # whether the outcomes at each edge are wanted
    structural: tuple[str, ...] = ()  # levers a case has no place for, compiled anew
    sets: Sets = ()  # what the other levers set
    library: str | None = None  # text of the user's own library
    device: str = "cpu"  # that plays what it can

    @classmethod
    def of(
        cls,
        scenario: Scenario | str | Path,
        seed: int,
        travel: int = 0,
        edges: bool = False,
    ) -> ScenarioModel:
        """Make the model of a scenario, or of the file it is in.

        Raises:
            ScenarioError: it cannot be used.
            UsageError: it was changed after it was read, so that its text says something else.
        """
        if isinstance(scenario, str | Path):
            from edgewear.study.loading import load_riggable

            scenario = load_riggable(scenario)
        library = scenario.library_source
        _unchanged(scenario)
        return cls(scenario.source, scenario.path, seed, travel, edges, library=library)

    @property
    def scenario(self) -> Scenario:
        """The scenario as it was read."""
        return loaded(self.text, self.path, self.library, ())

    @property
    def options(self) -> tuple[str, ...]:
        """The options' names in the order of the scenario."""
        return tuple(self.scenario.options)

    def ready(self, option: str, typed: Typed = ()) -> Ready:
        """Compile an option, or give it as it was compiled before."""
        return _ready(self.text, self.path, self.library, option, typed)

    def uncertainties(self, option: str, typed: Typed = ()) -> tuple[Uncertainty, ...]:
        """What nobody chooses about an option, and the values a study may set.

        Parameters:
            option: its name.
            typed: levers that the scenario is compiled anew for.
        """
        return _compiled(self.text, self.path, self.library, option, typed)[1].uncertainties

    def rigged(self, option: str) -> dict[str, Any]:
        """An option as it is rigged: JSON-able, SI, null for what has no end."""
        from edgewear.case.covers import cover_limits
        from edgewear.rigging.findings.facts import facts

        scenario = self.scenario
        found: dict[str, Any] = plain(facts(scenario, option, self._depths(option)))
        case = _compiled(self.text, self.path, self.library, option, ())[1]
        return {
            **found,
            "covers_hold": plain(cover_limits(scenario, option, case.rigged)),
            "outside": plain(case.outside()),
        }

    def described(self) -> Described:
        """What the scenario says of itself.

        Raises:
            ScenarioError: it has no target, which a comparison needs.
        """
        scenario = self.scenario
        if scenario.target is None:
            message = "missing; a comparison needs one, for example `target: 70 %`"
            raise ScenarioError([Problem(self.path, 1, 1, "target", message)])
        resolved = plain(scenario.model_dump(mode="json", exclude={"path", "source"}))
        return Described(
            file=Path(self.path).name,
            text=self.text.encode(),
            title=scenario.title,
            setting=scenario.setting,
            target=scenario.target,
            resolved=resolved,
            parameters=parameters_of(resolved),
            library=None if self.library is None else self.library.encode(),
        )

    def nominal(self, option: str) -> NominalCourse:
        """Run an option once with nominal values, nobody reacting."""
        from edgewear.engine.results.nominal_tables import (
            FULL,
            HALF_STEP,
            events_of,
            timeline_of,
            wear_of,
        )
        from edgewear.engine.results.outcome import outcome
        from edgewear.engine.results.step_wear import step_wear
        from edgewear.engine.run_job import perform

        ready = self.ready(option)
        done = perform(ready.scenario, ready.case, recording=FULL)
        steps = sum(int(done.player.state(row)["steps"][0]) for row in done.player.in_use)
        margin = float(outcome(done.player, done.ticks).run["sheath_margin"][0])
        finer = perform(ready.scenario, ready.case, recording=HALF_STEP)
        halved = float(outcome(finer.player, finer.ticks).run["sheath_margin"][0])
        return NominalCourse(
            events=events_of(done, option),
            wear=wear_of(done, option),
            timeline=timeline_of(done, option),
            step_wear=step_wear(ready.case, ready.case.batch(ready.tape, {}, 1), option),
            steps=float(max(steps, 1)),
            margin=margin,
            step_error=abs(halved - margin),
            doubts=self.doubts(option),
            plays=2 if ready.follows else 1,
        )

    def doubts(self, option: str) -> tuple[Doubt, ...]:
        """What nobody can say is survived if one thing failed at any step of the nominal run."""
        from edgewear.rigging.findings.every_step import failures_at_every_step

        return doubts_of(failures_at_every_step(self.scenario, option, self._depths(option)))

    def _depths(self, option: str) -> Depths:
        """Where people hang in the nominal run."""
        from edgewear.engine.results.depths import depths_by_step
        from edgewear.engine.run_job import perform

        ready = self.ready(option)
        return ready.depths or depths_by_step(perform(ready.scenario, ready.case))

    def bridge(
        self,
        poorer: str,
        better: str,
        replicates: tuple[int, ...] = (),
        later: Later = at_once,
    ) -> Callable[[], tuple[BridgeStep, ...]]:
        """Change one option into another, one thing at a time; also in some trials."""
        from edgewear.study.bridge import Source, Worlds, bridge

        worlds = Worlds(replicates, self.seed) if replicates else None
        return bridge(Source(self.text, self.path, self.library), poorer, better, worlds, later)

    def warm(self) -> None:
        """Load what playing takes: the kernels, and the first option compiled."""
        from edgewear.engine.batch import play_batch

        ready, row = self.ready(self.options[0]), np.zeros(1, np.int64)
        play_batch(ready.case, ready.tape, {}, row, self.seed, edges=self.edges, device=self.device)

    def play(self, rows: Block) -> PlayedRows:
        """Play rows of one option, together where they share a compiled case."""
        if not self.structural:
            return self._play(rows, ())
        groups: dict[Typed, list[int]] = {}
        for index, values in enumerate(zip(*(rows[n] for n in self.structural), strict=True)):
            groups.setdefault(typed_of(self.structural, values), []).append(index)
        parts = [
            self._play({name: column[at] for name, column in rows.items()}, typed)
            for typed, at in groups.items()
        ]
        return PlayedRows(*(np.concatenate(tables) for tables in zip(*parts, strict=True)))

    def _play(self, rows: Block, typed: Typed) -> PlayedRows:
        from edgewear.case.filling.following import reordered

        option = str(rows["option"][0])
        ready = self.ready(option, typed)
        values = self._values(option, rows)
        count = len(rows["run"])
        anew = reordered(ready.scenario, ready.scenario.options[option], values, count)
        if not anew.any():
            return self._together(ready, rows, values)
        parts = [] if anew.all() else [self._play(_at(rows, ~anew), typed)]
        for index in np.flatnonzero(anew).tolist():
            mine = _at(rows, slice(index, index + 1))
            again = self.ready(option, typed + _places(values, index))
            parts.append(self._together(again, mine, self._values(option, mine)))
        return joined(parts)

    def _together(self, ready: Ready, rows: Block, values: Block) -> PlayedRows:
        """Play rows that share a compiled case."""
        from edgewear.engine.batch import play_batch

        runs, edges = play_batch(
            ready.case,
            ready.tape,
            values,
            rows["replicate"],
            self.seed,
            self.travel,
            self.edges,
            ready.follows,
            self.device,
            ready.unfinished_step,
        )
        edges["run"] = rows["run"][edges["run"]]
        runs["run"] = rows["run"]
        return PlayedRows(runs, edges)

    def traced(self, rows: Block, rate_hz: float | None = None) -> dict[str, Records]:
        """Play one row with everything written down: events, wear and timeline of `records`.

        Parameters:
            rows: one row of a plan.
            rate_hz: samples of the course a second, all kept; None: 10 a second, thinned.
        """
        from edgewear.case.filling.following import reordered
        from edgewear.engine.batch import varied
        from edgewear.engine.player import Player
        from edgewear.engine.results.nominal_tables import (
            FULL,
            MOST_SAMPLES,
            Alone,
            recording_at,
            timeline_of,
            wear_of,
        )
        from edgewear.engine.results.tape_events import play_course, words_of
        from edgewear.engine.run_job import course_of, perform

        option = str(rows["option"][0])
        typed = typed_of(self.structural, [rows[name][0] for name in self.structural])
        ready, values = self.ready(option, typed), self._values(option, rows)
        if reordered(ready.scenario, ready.scenario.options[option], values, 1).any():
            ready = self.ready(option, typed + _places(values, 0))
        scenario, case, tape, follows = ready[:4]
        batch = case.batch(tape, values, 1)
        recording, most = FULL, MOST_SAMPLES
        if rate_hz is not None:
            recording = recording_at(rate_hz, perform(scenario, case, parts=False).ticks)
            most = recording.trace
        player = Player(case, recording)
        draws = varied(case, self.seed, int(rows["replicate"][0]))
        words = words_of(perform(scenario, case).log)
        made = course_of(case, batch, 0, values).movements if follows else None
        events = play_course(player, batch, 0, draws, words, option, made)
        done = Alone(player)
        return {
            "events": events,
            "wear": wear_of(done, option),
            "timeline": timeline_of(done, option, most),
        }

    def _values(self, option: str, rows: Block) -> Block:
        """Columns by the names of the case's numbers: draws, then what the levers set."""
        levers = {address for address, _, _ in self.sets}
        skipped = {*FIXED, *self.structural, *levers}
        values = {
            name: column
            for name, column in rows.items()
            if name not in skipped and column.dtype == np.float64  # a table has words of its own
        }
        for address, concerned, names in self.sets:
            if concerned == option:
                values.update(dict.fromkeys(names, rows[address]))
        return values


def _at(rows: Block, where: NDArray[np.bool_] | slice) -> Block:
    return {name: column[where] for name, column in rows.items()}


def _places(values: Block, index: int) -> Typed:
    """The coordinates of one row, as they would be typed."""
    from edgewear.case.filling.following import is_place

    names = [name for name in values if is_place(name)]
    return typed_of(names, [values[name][index] for name in names])


def typed_of(names: Sequence[str], values: Sequence[Any]) -> Typed:
    """Pair levers with the values that a row types for them; blank ones are left out.

    Parameters:
        names: addresses.
        values: text as typed, or a number in SI; "" and NaN leave what the scenario says.
    """
    pairs = zip(names, values, strict=True)
    return tuple(
        (name, value if isinstance(value, str) else float(value))
        for name, value in pairs
        if not (value == "" or value != value)
    )


def _unchanged(scenario: Scenario) -> None:
    """Refuse a scenario whose text says something else: what is computed comes from the text.

    Raises:
        UsageError: it was changed by hand.
    """
    kept = loaded(scenario.source, scenario.path, scenario.library_source, ())
    if kept == scenario:
        return
    changed = [name for name in type(scenario).model_fields if _differ(kept, scenario, name)]
    raise UsageError(
        f"this scenario was changed after it was read ({', '.join(changed)}), and what is computed "
        "comes from its text: use scenario.with_values({address: value}), or write the file anew"
    )


def _differ(one: Scenario, other: Scenario, name: str) -> bool:
    return bool(getattr(one, name, None) != getattr(other, name, None))


@lru_cache(maxsize=64)
def loaded(text: str, path: str, library: str | None, typed: Typed) -> Scenario:
    """Read a scenario's text, or give it as it was read before.

    Raises:
        ScenarioError: it cannot be used.
    """
    from edgewear.scenario import load_text

    scenario = load_text(text, path, library)
    return scenario.with_values(dict(typed)) if typed else scenario


@lru_cache(maxsize=256)
def _compiled(
    text: str, path: str, library: str | None, option: str, typed: Typed
) -> tuple[Scenario, Case]:
    from edgewear.case import compile_case

    scenario = loaded(text, path, library, typed)
    if option not in scenario.options:
        raise RunFailed(f"no option is called {option!r}")
    return scenario, compile_case(scenario, option)


@lru_cache(maxsize=256)
def _ready(text: str, path: str, library: str | None, option: str, typed: Typed) -> Ready:
    from edgewear.engine.results.depths import depths_by_step
    from edgewear.engine.run_job import follows_rope, perform, ropes_lasted

    scenario, case = _compiled(text, path, library, option, typed)
    done = perform(scenario, case, parts=False)  # as `record_tape` does
    depths = depths_by_step(done) if ropes_lasted(done) else None
    follows = follows_rope(scenario, case, done.tape)
    return Ready(scenario, case, done.tape, follows, depths, done.unfinished_step)
