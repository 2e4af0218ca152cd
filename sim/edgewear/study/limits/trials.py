"""The trials of one option in memory: what `compare` would play of it, and nothing written."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from edgewear.dataset.ranking.edge_summaries import edge_summaries, melting
from edgewear.dataset.ranking.option_trials import Columns, Sample
from edgewear.findings.plain import plain
from edgewear.findings.timeline import EndedEarly, ended_early, with_ended_early
from edgewear.study.compare import drawn
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import ComparePlan
from edgewear.study.task import playing

if TYPE_CHECKING:
    from edgewear.case import Records
    from edgewear.scenario.models.scenario import Scenario


def trials_of(
    scenario: Scenario, option: str, replicates: int, seed: int, before: Sample | None = None
) -> Sample:
    """Play an option's trials under the draws of a comparison with this seed.

    Parameters:
        scenario: the scenario.
        option: its name.
        replicates: trials; the first so many of any comparison with more.
        seed: of all draws.
        before: fewer trials of the same, which are not played again.

    Raises:
        RunFailed: no option of that name, or one that cannot be rigged.
    """
    model = ScenarioModel.of(scenario, seed, edges=True)
    plan = ComparePlan({option: drawn(model.uncertainties(option))}, replicates, seed, 1.0)
    first = 0 if before is None else len(before.runs["run"])
    played = playing(model, plan.block(first, replicates - first))
    runs, edges = _columns(played.runs), _columns(played.edges)
    if before is not None:
        return replace(before, runs=_after(before.runs, runs), edges=_after(before.edges, edges))
    return Sample(option, runs, edges, facts_of(model, option))


def melting_in(scenario: Scenario, sample: Sample) -> tuple[str, ...]:
    """Name the edges where most trials melt the sheath, as a comparison does.

    Parameters:
        scenario: the scenario; sample: the trials of one of its options.
    """
    edges = edge_summaries(sample.at_edges, sample.runs, sample.rigged, told=sample.told)
    melts_c = {name: rope.sheath.melts.low for name, rope in scenario.ropes.items()}
    return melting(edges, sample.rigged, melts_c)


def facts_of(model: ScenarioModel, option: str) -> dict[str, Any]:
    """What a comparison says of an option beside its trials: rigging, doubts, who ends early."""
    rigged = {**model.rigged(option), "doubts": plain(model.doubts(option))}
    return with_ended_early(rigged, _early(model, option))


def _early(model: ScenarioModel, option: str) -> tuple[EndedEarly, ...]:
    """Who does not come to the end of the plan with middle values."""
    from edgewear.engine.results.nominal_tables import events_of
    from edgewear.engine.run_job import perform

    ready = model.ready(option)
    if ready.depths is not None and not ready.unfinished_step:  # no rope gave out, nobody stopped
        return ()
    return ended_early(events_of(perform(ready.scenario, ready.case), option))


def _columns(rows: Records) -> Columns:
    return {name: rows[name] for name in rows.dtype.names or ()}


def _after(before: Columns, more: Columns) -> Columns:
    return {name: np.concatenate([before[name], more[name]]) for name in more}
