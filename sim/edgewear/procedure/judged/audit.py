"""What stands on an audit sheet beside the findings: inputs, limits, steps, loads, timelines."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from difflib import unified_diff
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING

from edgewear.dataset.manifest import versions
from edgewear.errors import UsageError
from edgewear.findings.sheets.audit import Audit, Input, LimitHeld, Signature, StepDone
from edgewear.job.faults import Injected
from edgewear.job.log import Kind
from edgewear.layout import TICK_S
from edgewear.procedure.failures import steps_of
from edgewear.procedure.fault_plan import DRAWN, faults_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.procedure.timeline import timeline
from edgewear.records import MODEL
from edgewear.rigging.findings.facts import facts
from edgewear.rigging.findings.further.hauls import HANDS_N
from edgewear.rigging.findings.limits import MOST_DROP_M, MOST_PEAK_N, SOURCE
from edgewear.scenario.models.scenario import Limits
from edgewear.scenario.text.quantities import Measured
from edgewear.study.loading import load_riggable

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance
    from edgewear.findings.procedure import Findings
    from edgewear.findings.timeline import Timeline
    from edgewear.scenario.models.scenario import Scenario

EVERY = "every"
"""Asked for in place of a fault's name: the timelines of all of them."""

FROM_MEMORY = f"{SOURCE}, from memory: check the current standard"

ASSUMED = {
    "drop": (MOST_DROP_M, "m", FROM_MEMORY),
    "peak": (MOST_PEAK_N, "N", FROM_MEMORY),
    "hands": (HANDS_N, "N", "assumed, 150-400 N"),
}
"""What is held to where the scenario sets no limit."""

ROLES = {"prepared by": "author", "checked by": "checker", "accepted by": "accepted by"}
"""Who signs, and the scenario's note that names them."""


def audit(
    found: Findings,
    files: Sequence[str | Path],
    timelines: Sequence[str] = (),
) -> Audit:
    """Gather what an audit of a procedure asks for beside what was found of it.

    Parameters:
        found: of the last of the files.
        files: the scenario; or two revisions, the earlier one first.
        timelines: names of faults of which the course is told, or `every`.

    Raises:
        ScenarioError: a scenario that cannot be used.
        UsageError: no fault is called so.
    """
    from edgewear.engine.results.depths import depths_by_step

    scenarios = [load_riggable(Path(file)) for file in files]
    inputs = [_input(Path(file), one) for file, one in zip(files, scenarios, strict=True)]
    last = scenarios[-1]
    asked = _asked(last, found.option, timelines)
    runs = FaultRuns(
        last.source, last.path, last.library_source, found.option, found.seed,
        tuple((one,) for one in asked), (1,) * len(asked),
    )  # fmt: skip
    nominal = runs.nominal()
    loads = facts(last, found.option, depths_by_step(nominal)).loads
    return Audit(
        inputs=tuple(inputs),
        changed_lines=tuple(_changed_lines(inputs)),
        versions=versions(),
        model=MODEL,
        limits=tuple(_limits(last)),
        sign_off=tuple(Signature(role, last.notes.get(note)) for role, note in ROLES.items()),
        steps=tuple(_steps(last, nominal)),
        loads=loads,
        timelines=tuple(_timelines(runs, nominal)),
    )


def check_courses(file: Path, option: str | None, names: Sequence[str]) -> None:
    """Refuse names of faults that there are not, before anything is run.

    Raises:
        ScenarioError: a scenario that cannot be used.
        UsageError: no fault is called so.
    """
    scenario = load_riggable(file)
    if option is None or option in scenario.options:  # who runs the faults tells of the option
        _asked(scenario, option or next(iter(scenario.options)), names)


def _input(file: Path, scenario: Scenario) -> Input:
    own = scenario.library_source
    return Input(
        path=file.name,
        sha256=hashlib.sha256(file.read_bytes()).hexdigest(),
        text=scenario.source,
        library_sha256=None if own is None else hashlib.sha256(own.encode()).hexdigest(),
    )


def _changed_lines(inputs: Sequence[Input]) -> Iterator[str]:
    """Lines that went (-) and came (+), with the lines of the text in which they stand (@@)."""
    if len(inputs) > 1:
        before, after = (one.text.splitlines() for one in inputs)
        yield from list(unified_diff(before, after, n=0, lineterm=""))[2:]


def _asked(scenario: Scenario, option: str, names: Sequence[str]) -> list[Injected]:
    faults = faults_of(scenario, option)
    unknown = [name for name in names if name not in faults and name != EVERY]
    if unknown:
        listed = ", ".join(faults)
        raise UsageError(f"no fault is called {unknown[0]!r}; there are {listed}, or {EVERY!r}")
    wanted = list(faults) if EVERY in names else list(dict.fromkeys(names))
    return [
        Injected(name, faults[name], tick=DRAWN if faults[name].rate is not None else None)
        for name in wanted
    ]


def _limits(scenario: Scenario) -> Iterator[LimitHeld]:
    """Every limit that can be typed: as typed, as assumed, or that there is none."""
    if scenario.target is not None:
        yield LimitHeld("sheath left, 5th percentile", scenario.target, "1", "typed: target")
    for name in Limits.model_fields:
        typed = getattr(scenario.limits, name)
        if isinstance(typed, Measured):
            yield LimitHeld(name, typed.value, typed.unit, f"typed: {typed.typed}")
        elif name in ASSUMED:
            yield LimitHeld(name, *ASSUMED[name])
        else:
            yield LimitHeld(name, None, "", "none is set")


def _steps(scenario: Scenario, nominal: Performance) -> Iterator[StepDone]:
    """Every step of everybody as it goes with nothing wrong."""
    begun, ended = {}, {}
    for entry in nominal.log:
        if entry.kind is Kind.BEGINS:
            begun[entry.who, entry.step] = entry.tick
        elif entry.kind is Kind.ENDS:
            ended[entry.who, entry.step] = entry
    for key, words in steps_of(scenario).items():
        end = ended.get(key)
        yield StepDone(
            person=key[0],
            step=key[1],
            words=words,
            from_s=begun[key] * TICK_S if key in begun else None,
            to_s=None if end is None else end.tick * TICK_S,
            depth_m=None if end is None or not isfinite(end.value) else end.value,
        )


def _timelines(runs: FaultRuns, nominal: Performance) -> Iterator[Timeline]:
    timed = replace(runs, horizon_s=nominal.ticks * TICK_S)
    for index in range(len(timed.combinations)):
        yield timeline(timed, index)
