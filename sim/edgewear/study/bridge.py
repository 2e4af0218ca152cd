"""From the poorer option to the better one, one thing changed at a time, and what each is worth."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from itertools import accumulate, pairwise
from math import isfinite
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.ranking.model import BridgeStep
from edgewear.dataset.ranking.statistics import careful
from edgewear.errors import EdgewearError
from edgewear.scenario.read.addresses import value_at
from edgewear.scenario.read.merging import EDGE_BY_EDGE
from edgewear.study.plan import values_of
from edgewear.study.task import ENDS, of_a_part
from edgewear.study.worker_pool import Later, at_once
from edgewear.terms import FAILED

if TYPE_CHECKING:
    from edgewear.case import Case, Records, Uncertainty
    from edgewear.scenario.models.scenario import Scenario
    from edgewear.scenario.text.tree import Path_, Tree

Plain = dict[str, Any]

SHARED = "all options"
LINES = "lines"
OF_EDGES = tuple((key,) for key in EDGE_BY_EDGE)
DEEP = (*EDGE_BY_EDGE, "safety line", LINES)
"""Keys of an option whose entries are changed one by one, as the reader merges them."""

NONE = "none"
SILENT = ("why not higher",)
"""Keys that move no margin."""

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
    stops = _stops(_tree(source).data, poorer, better)
    words, options = zip(*stops, strict=True)
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


def _stops(data: Plain, poorer: str, better: str) -> list[tuple[str, Plain]]:
    """Give what is typed of the option itself: first as it is, then after each change, in words.

    What all options share, and all that is said of lines, stays where it is: the reader merges it,
    so that the way begins and ends with exactly the options as compared.
    """
    start, goal = (data["options"][name] or {} for name in (poorer, better))
    order = dict.fromkeys([*(data.get(SHARED) or {}), *start, *goal])
    places = list(_places(start, goal, order))
    typed = [*accumulate(places, partial(_moved, goal), initial=start)]
    whole = [{**data, "options": {poorer: option}} for option in typed]
    words = [_words(*pair, place) for place, pair in zip(places, pairwise(whole), strict=True)]
    stops = [stop for stop in zip(words, typed[1:], strict=True) if stop[0]]
    if stops:
        stops[-1] = (stops[-1][0], goal)
    return [("", start), *stops]


def _places(start: Plain, goal: Plain, keys: Iterable[str], at: Path_ = ()) -> Iterator[Path_]:
    """Where what is typed of two options differs."""
    for key in keys:
        one, other = start.get(key), goal.get(key)
        if one == other or key in SILENT:
            continue
        deep = at[-1:] == (LINES,) or (key in DEEP and at[-1:] not in OF_EDGES)
        if deep and all(isinstance(found, dict | None) for found in (one, other)):
            one, other = one or {}, other or {}
            yield from _places(one, other, dict.fromkeys([*one, *other]), (*at, key))
        else:
            yield (*at, key)


def _moved(goal: Plain, option: Plain, place: Sequence[Any]) -> Plain:
    """Give an option with what the goal has at a place."""
    key, *rest = place
    value = goal.get(key)
    if rest:
        value = _moved(value or {}, option.get(key) or {}, rest)
    if value or key in goal:
        return {**option, key: value}
    return {other: found for other, found in option.items() if other != key}


def _words(before: Plain, after: Plain, place: Path_) -> str:
    """Tell what is read anew, and of whom where not of all; empty: nothing is."""
    path: Path_ = ("options", *before["options"])
    people = [] if place[0] == LINES else list(before.get("people") or {})
    told: dict[str, list[str]] = {}
    for person in people or [""]:
        at = (*path, LINES, person, *place) if person else (*path, *place)
        one, other = (_taken(value_at(whole, at), place) for whole in (before, after))
        if one != other:
            told.setdefault(f"{_said(one)} -> {_said(other)}", []).append(person)
    named = " ".join(map(str, place))
    return "; ".join(
        f"{named}: {change}"
        if whose in (people, [""])
        else f"{named} ({', '.join(whose)}): {change}"
        for change, whose in told.items()
    )


def _taken(value: object, place: Path_) -> object:
    """A value as the reader takes it: nothing said, or nothing in it, is none.

    Not of a safety line: what is said of it elsewhere counts, until somebody says `none`.
    """
    return value if value == {} and place[-1] == "safety line" else value or NONE


def _said(value: object) -> str:
    """A value in a few words."""
    if value is None:
        return NONE
    if value == {}:
        return "as shared"
    if isinstance(value, Mapping):
        return str(value.get("is") or ", ".join(f"{k} {_said(v)}" for k, v in value.items()))
    if isinstance(value, list):
        return ", ".join(map(_said, value)) or NONE
    return str(value)


def _tree(source: Source) -> Tree:
    from edgewear.scenario.text.tree import parse_tree

    return parse_tree(source.text, source.path)


def rewritten(source: Source, name: str, option: Plain) -> Scenario:
    """Read a scenario with one option alone, and other words typed of it.

    Parameters:
        option: what is typed of the option itself, beside what all options share.

    Raises:
        ScenarioError: it cannot be rigged so.
    """
    from edgewear.scenario.read.reading import build

    tree = _tree(source)
    tree.data["options"] = {name: option}
    tree.data.pop("study", None)
    tree.data.pop("observed", None)
    return build(tree, source.library)


def _worth(source: Source, name: str, worlds: Worlds | None, option: Plain) -> Worth | None:
    """Margins with an option written differently; None where it cannot be rigged.

    Nor where its plan ends before its last step with middle values: a part has no worth beside a
    whole.
    """
    from edgewear.case import compile_case
    from edgewear.engine.results.outcome import outcome
    from edgewear.engine.run_job import perform

    try:
        scenario = rewritten(source, name, option)
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
