"""From the poorer option to the better one, one thing changed at a time, and what each is worth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import TYPE_CHECKING, Any, NamedTuple

from edgewear.dataset.ranking.model import BridgeStep
from edgewear.errors import EdgewearError

if TYPE_CHECKING:
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


def bridge(source: Source, poorer: str, better: str) -> tuple[BridgeStep, ...]:
    """Change one option into another step by step, with nominal values, nobody reacting.

    A step that cannot be rigged alone is taken together with the next one. Only steps that move
    the margin are given: none where the options do not differ in one.
    """
    data = _tree(source).data
    shared = data.get(SHARED) or {}
    start, goal = ({**shared, **(data["options"][name] or {})} for name in (poorer, better))
    before = _margin(source, poorer, start)
    said: list[str] = []
    steps = []
    for words, option in _changes(start, goal):
        said.append(words)
        after = _margin(source, poorer, option)
        if after is None or before is None:
            continue
        if abs(after - before) > LEAST_WORTH:
            steps.append(BridgeStep("; ".join(said), before, after))
            before = after
        said = []
    return tuple(steps)


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


def _margin(source: Source, name: str, option: Plain) -> float | None:
    """Nominal margin with an option written differently; None where it cannot be rigged."""
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
        done = perform(scenario, compile_case(scenario, name))
        return float(outcome(done.player, done.ticks).run["sheath_margin"][0])
    except (EdgewearError, KeyError, ValueError):
        return None
