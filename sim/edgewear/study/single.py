"""One option played once with nominal values and the scenario's own reactions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgewear.dataset.run_json import run_document
from edgewear.errors import RunFailed, UsageError
from edgewear.findings.failure import with_doubts
from edgewear.findings.timeline import ended_early, with_ended_early
from edgewear.study.model import ScenarioModel

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Scenario


def simulate(scenario: Scenario | str | Path, option: str | None = None) -> dict[str, Any]:
    """Play one option once with nominal values.

    Parameters:
        scenario: or the path of its file.
        option: its name; the first one if left out.

    Returns:
        The document of `run --json`.

    Raises:
        ScenarioError: a scenario that cannot be used.
        UsageError: no option of that name.
        RunFailed: it could not be computed.
    """
    from edgewear.engine.results.heat import heat_marks
    from edgewear.engine.results.line_outcomes import bare_edges, line_outcomes
    from edgewear.engine.results.nominal_tables import FULL, events_of
    from edgewear.engine.results.outcome import outcome
    from edgewear.engine.results.sense import meaningless
    from edgewear.engine.results.slings import sling_wear
    from edgewear.engine.run_job import perform

    model = ScenarioModel.of(scenario, 0)
    name = _named(model.options, option)
    ready = model.ready(name)
    done = perform(ready.scenario, ready.case, ready.scenario.when, FULL)
    found = outcome(done.player, done.ticks)
    if told := meaningless(done.player, done.tape, found.run[0]):
        raise RunFailed(f"{name}: {told}")
    events = events_of(done, name)
    return run_document(
        name,
        with_ended_early(with_doubts(model.rigged(name), model.doubts(name)), ended_early(events)),
        line_outcomes(done.player),
        found.edges,
        events,
        found.run[0],
        bare=[bare._asdict() for bare in bare_edges(done.player, ready.scenario)],
        slings=[s._asdict() for s in sling_wear(ready.scenario, ready.case, done.tape)],
        heat=heat_marks(ready.case, found.edges),
        faults=list(ready.scenario.faults),
    )


def _named(options: tuple[str, ...], option: str | None) -> str:
    if option is None:
        return options[0]
    if option not in options:
        listed = ", ".join(repr(name) for name in options)
        raise UsageError(f"no option is called {option!r}; there are {listed}")
    return option
