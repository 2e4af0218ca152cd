"""Runs a job with people on a clock, and keeps the tape of what they did."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np
import simpy
from numpy.typing import NDArray

from edgewear.case import Batch, Case, Records
from edgewear.engine.player import SUMS_ONLY, Draws, Player, Recording, steady
from edgewear.engine.rope_line import RopeLine
from edgewear.errors import RunFailed
from edgewear.job.account import Times
from edgewear.job.build import check_kit, habits, plan, stations
from edgewear.job.chance import Chance, Nominal
from edgewear.job.detection import Detection
from edgewear.job.faults import Faults, Injected
from edgewear.job.job import Job
from edgewear.job.line import Line
from edgewear.job.log import Entry, Kind, Log
from edgewear.job.site import Site
from edgewear.job.twin_line import TwinLine
from edgewear.job.worker import Worker
from edgewear.layout import MOVEMENT
from edgewear.scenario.models.scenario import Reaction, Scenario
from edgewear.terms import SAFETY, WORKING

CARRY_ON: dict[str, str | Reaction] = {}
"""Nobody reacts to anything."""


STIFFER, HEAVIER = 0.8, 1.1
"""Factors on the ropes' stiffness and on people's mass that no course should notice [1]."""

SAME_M = 1e-12
"""Differences of a tape that are rounding alone."""


class Performance(NamedTuple):
    """A job as it went: the lines at its end, the log, the tape, and how long it took."""

    player: Player
    log: list[Entry]
    tape: Records
    ticks: int
    times: dict[str, Times]  # where each person's time went

    @property
    def unfinished_step(self) -> int:
        """Step of whoever's plan ended first before its last one; 0: all were finished."""
        early = (entry.step for entry in self.log if entry.kind in (Kind.STOPS, Kind.WAITS_IN_VAIN))
        return next(early, 0)


class RunInputs(NamedTuple):
    """One run's numbers: the batch it is a row of, its strokes and its chances."""

    batch: Batch
    run: int = 0
    draws: Draws = steady
    chance: Chance = Nominal()


def perform(
    scenario: Scenario,
    case: Case,
    reactions: Mapping[str, str | Reaction] = CARRY_ON,
    recording: Recording = SUMS_ONLY,
    draws: Draws = steady,
    *,
    world: RunInputs | None = None,
    faults: Iterable[Injected] = (),
    strict: bool = False,
    player: Player | None = None,
    parts: bool = True,
) -> Performance:
    """Let the people of a scenario do their job.

    Parameters:
        reactions: trigger -> what is done; nothing happens for a trigger that is not there. A
            word alone is done at once; a model of the scenario's `when` needs somebody who sees.
        world: the numbers of this run; nominal ones if left out.
        faults: what goes wrong.
        strict: what nobody can see, nobody reacts to.
        player: one of the same case to use again.
        parts: whether a worn rope parts; if not, everybody ends the job.

    Raises:
        Deadlock: people wait for each other, or for kit nobody returns.
        ScenarioError: a step that turns out to be impossible.
        RunFailed: the kernel met something that is not a number.
    """
    numbers = world or RunInputs(case.batch(np.zeros(0, MOVEMENT), {}, 1), 0, draws)
    stage = _Stage(scenario, case, player or Player(case, recording), numbers, parts)
    job = stage.job(reactions, numbers.chance, strict)
    going_wrong = Faults(job, scenario)
    for name in case.person_names:
        who = scenario.options[case.option].people[name]
        steps = plan(scenario, case, name, numbers.chance)
        job.start(stage.worker(name), steps, who.shift)
    for fault in faults:
        going_wrong.start(fault)
    job.run()
    accounts = {name: w.account for name, w in job.site.workers.items()}
    ended = max((a.began + a.times.shift for a in accounts.values()), default=0)
    stage.close(ended)
    made = np.frombuffer(b"".join(entry.tobytes() for entry in stage.tape), MOVEMENT).copy()
    times = {name: account.times for name, account in accounts.items()}
    return Performance(stage.player, stage.log.entries, made, ended, times)


class _Stage:
    """A site with its lines, before anybody works on it."""

    def __init__(
        self, scenario: Scenario, case: Case, player: Player, numbers: RunInputs, parts: bool
    ) -> None:
        check_kit(scenario, case)
        self.scenario, self.case, self.player, self.numbers = scenario, case, player, numbers
        self.env, self.log = simpy.Environment(), Log()
        self.tape: list[Records] = []
        player.begin(numbers.batch, numbers.run, numbers.draws)
        self.ropes = {
            (name, role): RopeLine(self.env, player, self.tape, self._happened, parts)
            for name in case.person_names
            for role in (WORKING, SAFETY)
            if stations(case, name, role)
        }
        lines = {row: self.ropes[s.person, s.role] for row, s in enumerate(case.rigged.sections)}
        self.site = Site(self.env, scenario, case, lines)

    def job(self, reactions: Mapping[str, str | Reaction], chance: Chance, strict: bool) -> Job:
        detection = Detection(self.scenario, self.site, chance)
        self._job = Job(self.env, self.log, self.site, reactions, chance, detection, strict)
        return self._job

    def worker(self, name: str) -> Worker:
        case, row = self.case, self.case.person_names.index(name)
        mine: dict[str, Line] = {
            role: rope for (who, role), rope in self.ropes.items() if who == name
        }
        mass_kg = float(self.numbers.batch.people[self.numbers.run, row]["mass_kg"])
        served = {role: stations(case, name, role) for role in mine}
        if self.scenario.options[case.option].both_lines_loaded and SAFETY in mine:
            both = TwinLine(self.env, mine[WORKING], mine[SAFETY], served[SAFETY], mass_kg)
            mine = {WORKING: both, SAFETY: mine[SAFETY]}
        return Worker(
            self.env, case, row, served, mine, self.log,
            habits(self.scenario, case, name, mass_kg, self.numbers.chance),
            case.rigged.starts_m.get(name, 0.0),
        )  # fmt: skip

    def close(self, ended: int) -> None:
        for (name, role), rope in self.ropes.items():
            row = stations(self.case, name, role)[0].line
            rope.close(row, self.case.person_names.index(name), ended)

    def _happened(self, kind: Kind, who: str, step: int, detail: str, value: float) -> None:
        self._job.happened(kind, who, step, detail, value)


def record_tape(scenario: Scenario, case: Case) -> Records:
    """The movements of the whole plan with nobody reacting, MOVEMENT (n,).

    Whole whatever the scenario's own rope would come to: a trial whose rope lasts goes on with it.
    """
    return perform(scenario, case, parts=False).tape


def ropes_lasted(done: Performance) -> bool:
    """Tell whether no core showed and no rope parted, whether or not anybody was told.

    Then the job went, to the last bit, as it goes where ropes part and where they do not.
    """
    states = [piece.buffers.state[0] for piece in done.player.pieces()]
    return all(state["core_tick"] < 0 and state["parted_tick"] < 0 for state in states)


def follows_rope(scenario: Scenario, case: Case, tape: Records) -> bool:
    """Tell whether other ropes and people would make other movements of the same job.

    Parameters:
        scenario: with the job.
        case: of the option.
        tape: MOVEMENT (m,) with the scenario's numbers.
    """
    factors = {"dynamic ratio": STIFFER, "mass": HEAVIER}
    values = {
        one.name: np.array([one.median * factors[word]])
        for one in case.uncertainties
        if (word := one.name.rpartition("/")[2]) in factors
    }
    try:
        other = performed_in(scenario, case, case.batch(np.zeros(0, MOVEMENT), values, 1), 0).tape
    except RunFailed:  # what cannot be played tells nothing: each trial finds its own way
        return True
    if len(other) != len(tape):
        return True
    return not all(
        np.allclose(other[name], tape[name], rtol=SAME_M, atol=SAME_M)
        for name in MOVEMENT.names or ()
    )


def performed_in(
    scenario: Scenario, case: Case, batch: Batch, run: int, player: Player | None = None
) -> Performance:
    """The whole plan with the numbers of one run, nobody reacting.

    Parameters:
        player: one of the same case to use again.
    """
    return perform(scenario, case, world=RunInputs(batch, run), player=player, parts=False)


class Course(NamedTuple):
    """What one run makes of the plan."""

    movements: Records  # MOVEMENT (n,)
    unfinished_step: int  # as of a `Performance`


def course_of(
    case: Case,
    batch: Batch,
    run: int,
    values: Mapping[str, NDArray[np.float64]],
    player: Player | None = None,
) -> Course:
    """The course of one run where it follows the rope.

    Parameters:
        values: that filled the batch, name -> (runs,); those of movements are written into them.
        player: one of the same case to use again.

    Raises:
        ValueError: a case made by hand, which has no job.
    """
    if case.filler is None:
        raise ValueError(f"{case.option}: made by hand, without a job")
    own = {name: column[run : run + 1] for name, column in values.items()}
    done = performed_in(case.filler.scenario, case.filler.moving(case, own), batch, run, player)
    return Course(case.filler.written(case, done.tape, own), done.unfinished_step)
