"""The one change that removes most of what is held against a procedure, found by trying changes.

Each change is typed into the file where it would be typed by hand, and the procedure is looked at
again: every single failure, every fault alone and in pairs by the middle of everything, the rescue
from each place of work. Trials are left out; what chance alone brings about decides nothing here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from edgewear.errors import EdgewearError
from edgewear.findings.verdict import Point, Remedy, Verdict
from edgewear.layout import TICK_S
from edgewear.procedure.failures import failures, steps_of, worst_places
from edgewear.procedure.fates import place_rescues
from edgewear.procedure.fault_plan import wanted
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.procedure.judged.changes import Change, changes_for
from edgewear.procedure.judged.verdict import points

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Scenario

MOST_TRIES = 32
"""So many changes are tried at most; each takes as long as all faults without trials."""


@dataclass(frozen=True)
class Tries:
    """Looks at a procedure again with each change; travels to the workers by pickle."""

    text: str
    path: str
    library: str | None
    option: str
    changes: tuple[Change | None, ...]  # None: as it is

    def __call__(self, chunk: int) -> tuple[int, tuple[Point, ...] | None]:
        """What is held against the procedure with one change; None: it cannot be typed there."""
        try:
            scenario = self._changed(self.changes[chunk])
        except (EdgewearError, LookupError, TypeError, AttributeError):
            return chunk, None  # no such place in this file, or not with the rest of it
        try:
            return chunk, looked_at(scenario, self.option)
        except EdgewearError:
            return chunk, None  # it cannot be played so

    def _changed(self, change: Change | None) -> Scenario:
        from edgewear.errors import ScenarioError
        from edgewear.rigging import problems
        from edgewear.scenario.read.reading import load_text, problems_at

        scenario = load_text(self.text, self.path, self.library)
        if change is None:
            return scenario
        changed = changed_by(scenario, change)
        if found := problems(changed):
            raise ScenarioError(problems_at(changed, found))
        return changed


def changed_by(scenario: Scenario, change: Change) -> Scenario:
    """Read a scenario again with a change typed in.

    Raises:
        ScenarioError: the result cannot be used.
        LookupError, TypeError, AttributeError: the file has no such place.
    """
    from edgewear.scenario.read.addresses import put, value_at
    from edgewear.scenario.read.reading import build
    from edgewear.scenario.text.retyping import spelled_out
    from edgewear.scenario.text.tree import parse_tree

    tree = parse_tree(scenario.source, scenario.path)
    for edit in change.edits:
        if edit.before is None:
            put(tree.data, edit.path, edit.value)
        else:
            value_at(tree.data, edit.path).insert(edit.before, edit.value)
    tree.text = spelled_out(tree.data)
    return build(tree, scenario.library_source)


def looked_at(scenario: Scenario, option: str) -> tuple[Point, ...]:
    """What is held against a procedure by the middle of everything, without trials."""
    from edgewear.engine.results.depths import depths_by_step

    plan = [one for one in wanted(scenario, option) if not one.step]
    runs = FaultRuns(
        scenario.source, scenario.path, scenario.library_source, option, 0,
        tuple(one.faults for one in plan), (0,) * len(plan),
    )  # fmt: skip
    nominal = runs.nominal()
    runs = replace(runs, horizon_s=nominal.ticks * TICK_S)  # within which a rated fault comes
    single = worst_places(failures(scenario, option, depths_by_step(nominal)))
    told = [runs.told(index).fates for index in range(len(plan))]
    rescues = place_rescues(runs.run_of(nominal), steps_of(scenario), worn=False)
    return points(single, told, rescues)


def remedy(tried: Sequence[Change], found: Mapping[int, tuple[Point, ...] | None]) -> Remedy | None:
    """The change that leaves least; None: none removes any.

    Parameters:
        tried: the changes.
        found: points by number of the change, from 1; 0: without any. None: it could not be made.
    """
    before = found.get(0) or ()
    left = {k: now for k, now in found.items() if k and now is not None}
    best = min(left, key=lambda k: (_weight(left[k]), k), default=0)
    if not best or _weight(left[best]) >= _weight(before):
        return None
    first, *more = tried[best - 1].edits
    return Remedy(
        first.address, first.typed, _weight(left[best])[1], _weight(before)[1],
        tuple((one.address, one.typed) for one in more),
    )  # fmt: skip


def _weight(held: Sequence[Point]) -> tuple[int, int]:
    """Components and cases held against it: first those that do not rest on a usual limit."""
    return (
        sum(point.times for point in held if not point.usual),
        sum(point.times for point in held),
    )


def searched(
    verdict: Verdict,
    scenario: Scenario,
    option: str,
    run: Callable[[Tries], Mapping[int, tuple[Point, ...] | None]],
) -> Verdict:
    """Try every change, and add the best one to a verdict.

    Parameters:
        run: carries the tries out, wherever there are hands for it.
    """
    tried, known = changes_for(scenario, option, verdict.points, MOST_TRIES)
    tries = Tries(scenario.source, scenario.path, scenario.library_source, option, (None, *tried))
    found = run(tries)
    made = sum(now is not None for k, now in found.items() if k)
    return replace(verdict, tried=made, known=known, remedy=remedy(tried, found))
