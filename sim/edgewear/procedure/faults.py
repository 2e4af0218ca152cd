"""A written procedure taken apart: every single failure, every fault alone, in pairs, at each step.

No rate is invented: a fault is reported as having happened. What a rate given with a source adds
is in `rates`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from edgewear.cautions import BARE_EDGE, all_for
from edgewear.errors import UsageError
from edgewear.findings.procedure import Findings
from edgewear.findings.verdict import Verdict
from edgewear.layout import TICK_S
from edgewear.procedure.between_people import between_people
from edgewear.procedure.failures import (
    carried,
    failures,
    steps_of,
    worst_places,
)
from edgewear.procedure.fates import ordered, place_rescues
from edgewear.procedure.fault_plan import Wanted, wanted
from edgewear.procedure.fault_play import Played, hands_for, play_all, try_all
from edgewear.procedure.fault_rates import rates
from edgewear.procedure.fault_rows import Rows
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.procedure.judged.remedy import searched
from edgewear.procedure.judged.verdict import points
from edgewear.procedure.timeline import timeline
from edgewear.rigging.findings.facts import facts
from edgewear.study.progress import Told

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance
    from edgewear.scenario.models.scenario import Scenario

TABLE_REPLICATES = 8
"""Trials of each fault at each step; alone and in pairs a fault gets all that are asked for."""

CONDITIONAL = (
    "Every fault is reported as having happened; how likely it is, is not said here unless a "
    "rate with its source is given."
)


def faults(
    file: Scenario | str | Path,
    other: Scenario | str | Path | None = None,
    *,
    option: str | None = None,
    replicates: int = 64,
    seed: int = 0,
    workers: int | None = None,
    progress: Told | None = None,
    remedy: bool = False,
) -> Findings:
    """Put every fault into a procedure; with a second file, say what the revision changes.

    Parameters:
        file: the scenario, or its path.
        other: another revision of the procedure.
        option: how it is rigged; the first one if left out.
        replicates: trials of each fault and each pair.
        seed: of the trials; both revisions meet the same worlds.
        workers: processes; two if left out and there is enough to do.
        progress: told how far it is.
        remedy: whether the one change is looked for that would remove most of what is held
            against the procedure; each change that is tried takes about a second.

    Returns:
        What was found, with `difference` where there are two files.

    Raises:
        ScenarioError: a scenario that cannot be used, or a procedure in which people wait for ever.
        UsageError: no such option, no trials.
        Interrupted: stopped on request.
    """
    if replicates < 1:
        raise UsageError(f"replicates: {replicates}; at least 1 is allowed")
    asked = _Asked(option, replicates, seed, workers, progress, remedy)
    found = _one(file, asked)
    if other is None:
        return found
    from edgewear.procedure.difference import difference

    second = _one(other, asked)
    return replace(second, difference=difference(found, second))


class _Asked(NamedTuple):
    """What a call asks for."""

    option: str | None
    replicates: int
    seed: int
    workers: int | None
    progress: Told | None
    remedy: bool


def _one(file: Scenario | str | Path, asked: _Asked) -> Findings:
    scenario = _scenario(file)
    name = asked.option or next(iter(scenario.options))
    if name not in scenario.options:
        listed = ", ".join(scenario.options)
        raise UsageError(f"no option is called {name!r}; there are {listed}")
    plan = wanted(scenario, name)
    runs = FaultRuns(
        scenario.source, scenario.path, scenario.library_source, name, asked.seed,
        tuple(w.faults for w in plan),
        tuple(min(asked.replicates, TABLE_REPLICATES) if w.step else asked.replicates
              for w in plan),
    )  # fmt: skip
    nominal = runs.nominal()
    runs = replace(runs, horizon_s=nominal.ticks * TICK_S)
    with hands_for(sum(runs.replicates), asked.workers) as gang:
        played = play_all(runs, gang, asked.progress)
        found = _findings(scenario, plan, runs, nominal, played, asked)
        if not (asked.remedy and found.verdict.points):
            return found
        best = searched(found.verdict, scenario, name, lambda tries: try_all(tries, gang))
    return replace(found, verdict=best)


def _findings(
    scenario: Scenario,
    plan: Sequence[Wanted],
    runs: FaultRuns,
    nominal: Performance,
    played: Sequence[Played],
    asked: _Asked,
) -> Findings:
    from edgewear.engine.results.depths import depths_by_step

    rows = Rows(plan, [one.trials for one in played], steps_of(scenario))
    fates = [one.fates for one in played]
    depths = depths_by_step(nominal)
    told = facts(scenario, runs.option, depths)
    single = failures(scenario, runs.option, depths)
    worst = worst_places(single)
    rescues = place_rescues(runs.run_of(nominal), steps_of(scenario))
    told_fates = ordered(one for one in fates if one.names)
    planned = next(one for one in fates if not one.names)
    return Findings(
        title=scenario.title,
        revision=scenario.notes.get("revision"),
        option=runs.option,
        status=told.status,
        edge_levels=told.edge_levels,
        mind=tuple(one.words for one in told.mind),
        verdict=Verdict(points(worst, [planned, *told_fates], rescues)),
        seed=asked.seed,
        replicates=asked.replicates,
        conditional=CONDITIONAL,
        single_failures=single,
        worst_failures=worst,
        carried=carried(scenario),
        faults=rows.faults(),
        table=rows.table(),
        weakest_steps=rows.weakest(),
        without_faults=rows.baseline(),
        fates_without_faults=planned,
        rates=rates(scenario, runs, nominal.ticks, asked.replicates),
        fates=told_fates,
        rescues=rescues,
        shared=told.shared,
        between=between_people(scenario, runs.option),
        timeline=timeline(runs, rows.worst(fates)),
        cautions=all_for([*told.status, *([BARE_EDGE] if told.works_bare else [])]),
    )


def _scenario(file: Scenario | str | Path) -> Scenario:
    if isinstance(file, str | Path):
        from edgewear.study.loading import load_riggable

        return load_riggable(file)
    return file


__all__ = ["Wanted", "faults"]
