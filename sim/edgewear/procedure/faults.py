"""A written procedure taken apart: every single failure, every fault alone, in pairs, at each step.

No rate is invented: a fault is reported as having happened. What a rate given with a source adds
is in `rates`.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from edgewear.cautions import BARE_EDGE, all_for
from edgewear.errors import UsageError
from edgewear.findings.procedure import Findings
from edgewear.layout import TICK_S
from edgewear.procedure.failures import (
    carried,
    failures,
    steps_of,
    worst_places,
)
from edgewear.procedure.fates import ordered, place_rescues
from edgewear.procedure.fault_plan import Wanted, wanted
from edgewear.procedure.fault_play import play_all
from edgewear.procedure.fault_rates import rates
from edgewear.procedure.fault_rows import Rows
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.procedure.timeline import timeline
from edgewear.rigging.findings.facts import facts
from edgewear.study.progress import Told

if TYPE_CHECKING:
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

    Returns:
        What was found, with `difference` where there are two files.

    Raises:
        ScenarioError: a scenario that cannot be used, or a procedure in which people wait for ever.
        UsageError: no such option, no trials.
        Interrupted: stopped on request.
    """
    if replicates < 1:
        raise UsageError(f"replicates: {replicates}; at least 1 is allowed")
    found = _one(file, option, replicates, seed, workers, progress)
    if other is None:
        return found
    from edgewear.procedure.difference import difference

    second = _one(other, option, replicates, seed, workers, progress)
    return replace(second, difference=difference(found, second))


def _one(
    file: Scenario | str | Path,
    option: str | None,
    replicates: int,
    seed: int,
    workers: int | None,
    progress: Told | None,
) -> Findings:
    from edgewear.engine.results.depths import depths_by_step

    scenario = _scenario(file)
    name = option or next(iter(scenario.options))
    if name not in scenario.options:
        listed = ", ".join(scenario.options)
        raise UsageError(f"no option is called {name!r}; there are {listed}")
    plan = wanted(scenario, name)
    runs = FaultRuns(
        scenario.source, scenario.path, scenario.library_source, name, seed,
        tuple(w.faults for w in plan),
        tuple(min(replicates, TABLE_REPLICATES) if w.step else replicates for w in plan),
    )  # fmt: skip
    nominal = runs.nominal()
    runs = replace(runs, horizon_s=nominal.ticks * TICK_S)
    played = play_all(runs, workers, progress)
    rows = Rows(plan, [one.trials for one in played], steps_of(scenario))
    fates = [one.fates for one in played]
    worst = rows.worst(fates)
    depths = depths_by_step(nominal)
    single = failures(scenario, name, depths)
    rigged = nominal.player.case.rigged
    told = facts(scenario, name)
    statuses = [*rigged.status, *([BARE_EDGE] if told.works_bare else [])]
    return Findings(
        title=scenario.title,
        revision=scenario.notes.get("revision"),
        option=name,
        status=tuple(rigged.status),
        edge_levels=rigged.edge_levels,
        mind=tuple(one.words for one in told.mind),
        seed=seed,
        replicates=replicates,
        conditional=CONDITIONAL,
        single_failures=single,
        worst_failures=worst_places(single),
        carried=carried(scenario),
        faults=rows.faults(),
        table=rows.table(),
        weakest_steps=rows.weakest(),
        without_faults=rows.baseline(),
        rates=rates(scenario, runs, nominal.ticks, replicates),
        fates=ordered(one for one in fates if one.names),
        rescues=place_rescues(runs.run_of(nominal), steps_of(scenario)),
        shared=tuple(rigged.shared),
        timeline=timeline(runs, worst),
        cautions=all_for(statuses),
    )


def _scenario(file: Scenario | str | Path) -> Scenario:
    if isinstance(file, str | Path):
        from edgewear.study.loading import load_riggable

        return load_riggable(file)
    return file


__all__ = ["Wanted", "faults"]
