"""Which rope somebody looked at, and how much of an edge's wear in the plan was done by then."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from edgewear.layout import TICK_S

if TYPE_CHECKING:
    from collections.abc import Collection

    from edgewear.engine.results.at_edges.by_then import Moment
    from edgewear.scenario.models.observations import Inspection
    from edgewear.scenario.models.scenario import Scenario


class Looked(NamedTuple):
    """The rope that was looked at."""

    rope: int  # which of the line's, from 1
    share: float  # of what the edge alone wears of it in the nominal run, done by then [1]
    lain: bool  # it had borne load over the edge by then


def looked_at(one: Inspection, scenario: Scenario, option: str, lines: Collection[str]) -> Looked:
    """Find the rope that lay there when somebody looked, and the edge's own share of its wear.

    The nominal run is played again up to that moment: of the moments at which so much rope had been
    climbed the first counts, so that no wear is taken for done that may not have been.

    Parameters:
        one: when it was, and at which edge.
        scenario: with the job.
        option: what was rigged.
        lines: sections of the working line of the person whose rope it was.
    """
    from edgewear.engine.results.at_edges.by_then import AFTER_ALL, rope_then
    from edgewear.study.model import ScenarioModel

    ready = ScenarioModel.of(scenario, 0).ready(option)
    batch = ready.case.batch(ready.tape, {}, 1)
    rows = [row for row, name in enumerate(ready.case.line_names) if name in lines]
    then = rope_then(ready.case, batch, rows, _moment(one))
    whole = rope_then(ready.case, batch, rows, AFTER_ALL, then.rope)
    all_of_it, lain = whole.demand.get(one.edge, 0.0), one.edge in then.lain_over
    if one.at is None and one.after is None:
        return Looked(then.rope, 1.0, lain)
    done = then.demand.get(one.edge, 0.0)
    return Looked(then.rope, min(done / all_of_it, 1.0) if all_of_it > 0.0 else 0.0, lain)


def _moment(one: Inspection) -> Moment:
    from edgewear.engine.results.at_edges.by_then import AFTER_ALL, Moment

    at = AFTER_ALL.at_ticks if one.at is None else round(one.at.value / TICK_S)
    return Moment(at, AFTER_ALL.climbed_m if one.after is None else one.after.value)
