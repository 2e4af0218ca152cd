"""From the poorer option to the better one, one thing changed at a time, and what each is worth."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import deepcopy
from functools import partial
from math import isfinite
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.ranking.model import BridgeStep
from edgewear.dataset.ranking.statistics import careful
from edgewear.errors import EdgewearError
from edgewear.study.plan import values_of
from edgewear.study.task import ENDS, of_a_part
from edgewear.study.worker_pool import Later, at_once
from edgewear.terms import FAILED

if TYPE_CHECKING:
    from edgewear.case import Case, Records, Uncertainty
    from edgewear.scenario.models.scenario import Scenario
    from edgewear.scenario.text.tree import Tree

Plain = dict[str, Any]

SHARED = "all options"
BY_EDGE = ("protect", "bypass")
"""Keys of an option whose entries are changed edge by edge."""

SILENT = ("why not higher", "safety line")
"""Keys that move no margin: what is written down, and the line that is not loaded."""

LEAST_WORTH = 1e-9
"""A change of margin below this is none."""


class Source(NamedTuple):
    """A scenario as it was written: each change on the way is read anew."""

    text: str
    path: str
    library: str | None  # text of the user's own library


class Worlds(NamedTuple):
    """Trials that are played again after each change."""

    replicates: tuple[int, ...]  # those at the careful end of the poorer option
    seed: int


class Worth(NamedTuple):
    """What an option, written in some way, comes to."""

    nominal: float
    middle: (
        float | None
    )  # of the margins in the worlds; None: no worlds, -inf: not of the whole plan

    @property
    def careful(self) -> float | None:
        """The middle, where it is of the whole plan; None: it is not, or there are no worlds."""
        return self.middle if self.middle is not None and isfinite(self.middle) else None

    def differs(self, other: Worth) -> bool:
        """Tell whether a change from one to the other moves a margin."""
        pairs = [(self.nominal, other.nominal)]
        if self.middle is not None and other.middle is not None:
            pairs.append((self.middle, other.middle))
        return any(abs(after - before) > LEAST_WORTH for before, after in pairs)


def bridge(
    source: Source, poorer: str, better: str, worlds: Worlds | None = None, later: Later = at_once
) -> Callable[[], tuple[BridgeStep, ...]]:
    """Change one option into another step by step, nobody reacting; call it for the steps.

    With nominal values, and in the trials at the careful end of the poorer option, which decide. A
    step that cannot be rigged alone is taken together with the next one. Only steps that move a
    margin are given: none where the options do not differ in one.

    Parameters:
        source: the scenario.
        poorer, better: its options.
        worlds: the trials.
        later: lets others find what the option is worth after each change.
    """
    data = _tree(source).data
    shared = data.get(SHARED) or {}
    start, goal = ({**shared, **(data["options"][name] or {})} for name in (poorer, better))
    words, options = zip(("", start), *_changes(start, goal), strict=True)
    worths = later(partial(_worth, source, poorer, worlds), options)
    return lambda: tuple(_steps(words, worths()))


def _steps(words: Sequence[str], worths: Sequence[Worth | None]) -> Iterator[BridgeStep]:
    """Steps that move a margin; the first of both is what the way begins with."""
    before, said = worths[0], []
    for change, after in zip(words[1:], worths[1:], strict=True):
        said.append(change)
        if after is None or before is None:
            continue
        if after.differs(before):
            found = before.nominal, after.nominal, before.careful, after.careful
            yield BridgeStep("; ".join(said), *found)
            before = after
        said = []


def _changes(start: Plain, goal: Plain) -> Iterator[tuple[str, Plain]]:
    """Every change in words, and the option after it and all before it."""
    option = deepcopy(start)
    for key in dict.fromkeys([*start, *goal]):
        if key in SILENT or option.get(key) == goal.get(key):
            continue
        if key in BY_EDGE:
            yield from _by_edge(option, goal, key)
            continue
        words = f"{key}: {_said(option.get(key))} -> {_said(goal.get(key))}"
        _put(option, key, goal.get(key))
        yield words, deepcopy(option)


def _by_edge(option: Plain, goal: Plain, key: str) -> Iterator[tuple[str, Plain]]:
    wanted: Plain = goal.get(key) or {}
    held: Plain = dict(option.get(key) or {})
    for edge in dict.fromkeys([*held, *wanted]):
        if held.get(edge) == wanted.get(edge):
            continue
        words = f"{key} {edge}: {_said(held.get(edge))} -> {_said(wanted.get(edge))}"
        _put(held, edge, wanted.get(edge))
        _put(option, key, dict(held) or None)
        yield words, deepcopy(option)


def _put(mapping: Plain, key: str, value: object) -> None:
    if value is None:
        mapping.pop(key, None)
    else:
        mapping[key] = value


def _said(value: object) -> str:
    """A value in a few words."""
    if value is None:
        return "none"
    if isinstance(value, Mapping):
        return str(value.get("is") or ", ".join(f"{k} {_said(v)}" for k, v in value.items()))
    if isinstance(value, list):
        return ", ".join(map(_said, value)) or "none"
    return str(value)


def _tree(source: Source) -> Tree:
    from edgewear.scenario.text.tree import parse_tree

    return parse_tree(source.text, source.path)


def _worth(source: Source, name: str, worlds: Worlds | None, option: Plain) -> Worth | None:
    """Margins with an option written differently; None where it cannot be rigged.

    Nor where its plan ends before its last step with middle values: a part has no worth beside a
    whole.
    """
    from edgewear.case import compile_case
    from edgewear.engine.results.outcome import outcome
    from edgewear.engine.run_job import perform
    from edgewear.scenario.read.reading import build

    tree = _tree(source)
    tree.data["options"] = {name: option}
    tree.data.pop(SHARED, None)
    tree.data.pop("study", None)
    tree.data.pop("observed", None)
    try:
        scenario = build(tree, source.library)
        case = compile_case(scenario, name)
        done = perform(scenario, case)
        if done.unfinished_step and not done.player.parted_step:
            return None
        nominal = float(outcome(done.player, done.ticks).run["sheath_margin"][0])
        tape = None if done.player.parted_step else done.tape
        return Worth(nominal, None if worlds is None else _careful(scenario, case, worlds, tape))
    except (EdgewearError, KeyError, ValueError):
        return None


def _careful(scenario: Scenario, case: Case, worlds: Worlds, tape: Records | None) -> float:
    """Middle of the margins in some trials, as a comparison plays and counts them.

    What cannot be computed, or is of a part of the plan, lies below all others: -inf.

    tape: of the nominal run, where nothing parted in it.
    """
    from edgewear.engine.batch import play_batch
    from edgewear.engine.run_job import follows_rope, record_tape

    tape = record_tape(scenario, case) if tape is None else tape
    replicates = np.array(worlds.replicates, dtype=np.int64)
    values = {
        one.name: values_of(one, _shares(worlds.seed, one, replicates))
        for one in case.uncertainties
        if one.distribution != "fixed"
    }
    follows = follows_rope(scenario, case, tape)
    # with edges: as the trials of a comparison are played, by kernels that are loaded already
    runs, _ = play_batch(case, tape, values, replicates, worlds.seed, follows=follows)
    whole = ~of_a_part(*(runs[name] for name in ENDS))
    return float(np.median(careful(runs["sheath_margin"], (runs["status"] != FAILED) & whole)))


def _shares(seed: int, one: Uncertainty, replicates: NDArray[np.int64]) -> NDArray[np.float64]:
    """Draws of some trials: one stretch of the column, for each call costs as much as hundreds."""
    from edgewear.engine.draws import joint_uniforms

    first = int(replicates.min())
    whole = joint_uniforms(seed, one.name, one.leans, first, int(replicates.max()) - first + 1)
    return whole[replicates - first]
