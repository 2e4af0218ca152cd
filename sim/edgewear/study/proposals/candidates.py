"""Make options from the anchors surveyed and the means at hand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from edgewear.errors import UsageError
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.tree import parse_tree

MOST = 400
"""Ways of rigging that are tried at the most."""

RE_ANCHOR, DEVIATE = "re-anchor", "deviations"

Typed = dict[str, object]
"""An option as it is typed."""


@dataclass(frozen=True)
class Means:
    """What may be used: anchors to start from, further ones, and protection for the edges."""

    anchors: tuple[str, ...]
    further: tuple[str, ...]
    protection: tuple[str, ...]


class Candidate(NamedTuple):
    """One way of rigging."""

    name: str
    typed: Typed


def means_of(
    scenario: Scenario, anchors: Sequence[str], further: Sequence[str], protection: Sequence[str]
) -> Means:
    """Take what was named, and fill in what was not.

    Parameters:
        scenario: the scenario.
        anchors, further: names; where left out, those above the highest edge and those below it.
        protection: words; where left out, what the kit has, else what any option uses, else pads.

    Raises:
        UsageError: a name that is not there.
    """
    _known(anchors, scenario.anchors, "anchor")
    _known(further, scenario.anchors, "anchor")
    _known(protection, scenario.protections, "protection")
    above = _above(scenario)
    rest = tuple(name for name in scenario.anchors if name not in above)
    return Means(tuple(anchors) or above, tuple(further) or rest, _protection(scenario, protection))


def candidates(scenario: Scenario, means: Means, base: str) -> list[Candidate]:
    """Make every way of rigging from the means, the base option's ropes and safety line kept.

    Parameters:
        scenario: the scenario, one person; means: what may be used; base: name of an option.

    Raises:
        UsageError: more people than one, no such option, or more ways than can be tried.
    """
    if len(scenario.people) != 1:
        there = ", ".join(scenario.people) or "nobody"
        raise UsageError(
            f"propose: made for one person on ropes; here are {there}. Ask for one of them at a "
            "time: leave the others out of people, lines and job, and out of options where named"
        )
    data = parse_tree(scenario.source, scenario.path).data
    if base not in data["options"]:
        raise UsageError(f"no option is called {base!r}; there are {', '.join(data['options'])}")
    edges = tuple(scenario.edges)
    ways = [(), *((how, name) for name in means.further for how in (RE_ANCHOR, DEVIATE))]
    count = len(means.anchors) * len(ways) * len(means.protection) ** len(edges)
    if count > MOST:
        raise UsageError(
            f"{count} ways of rigging; at most {MOST} are tried: name fewer --anchor, --further or "
            "--means"
        )
    kept = {k: v for k, v in data["options"][base].items() if k not in _REPLACED}
    found = []
    for anchor, way in product(means.anchors, ways):
        for pieces in product(means.protection, repeat=len(edges)):
            protect = dict(zip(edges, pieces, strict=True))
            typed = _typed(kept, anchor, way, protect)
            typed |= _safety(data, kept, anchor, means, protect)
            found.append(Candidate(_name(anchor, way, edges, pieces), typed))
    return found


_REPLACED = ("anchor", "over", "protect", RE_ANCHOR, DEVIATE, "why not higher", "bypass", "shift")


def _typed(
    kept: Mapping[str, object], anchor: str, way: Sequence[str], protect: Mapping[str, str]
) -> Typed:
    led = {way[0]: [way[1]]} if way else {}
    return {**kept, "anchor": anchor, **led, "protect": dict(protect)}


def _safety(
    data: Mapping[str, object],
    kept: Mapping[str, object],
    anchor: str,
    means: Means,
    protect: Mapping[str, str],
) -> Typed:
    """Keep the safety line apart: by another anchor, and by pieces of its own at each edge.

    A safety line that is told nothing of an edge would lie over the working line's piece there.
    """
    shared = data.get("all options", {})
    every: object = shared.get("safety line") if isinstance(shared, Mapping) else None
    said = kept.get("safety line", every)
    if not isinstance(said, Mapping):
        return {}
    apart: Typed = {**said, "protect": {**protect, **_pieces(every), **_pieces(said)}}
    if said.get("anchor") != anchor:
        return {"safety line": apart}
    others = [name for name in means.anchors if name != anchor]
    return {"safety line": {**apart, "anchor": others[0]}} if others else {}


def _pieces(line: object) -> Mapping[str, object]:
    """Give what is typed of a line's protection, edge by edge."""
    found = line.get("protect") if isinstance(line, Mapping) else None
    return found if isinstance(found, Mapping) else {}


def _name(anchor: str, way: Sequence[str], edges: Sequence[str], pieces: Sequence[str]) -> str:
    how = {RE_ANCHOR: ", re-anchored at ", DEVIATE: ", deviated at "}
    led = f"{how[way[0]]}{way[1]}" if way else ""
    if len(set(pieces)) == 1:
        return f"{anchor}{led}, {pieces[0]} at every edge"
    at = ", ".join(f"{piece} at {edge}" for edge, piece in zip(edges, pieces, strict=True))
    return f"{anchor}{led}, {at}"


def _above(scenario: Scenario) -> tuple[str, ...]:
    """Anchors not below the highest edge; all of them where heights are not known."""
    heights = [edge.up.value for edge in scenario.edges.values() if edge.up is not None]
    if not heights:
        return tuple(scenario.anchors)
    highest = max(heights)
    return tuple(
        name
        for name, anchor in scenario.anchors.items()
        if anchor.up is None or anchor.up.value >= highest - BELOW_M
    )


BELOW_M = 0.5
"""An anchor lower than this below the highest edge is one to lead a line to, not to start from."""


def _protection(scenario: Scenario, named: Sequence[str]) -> tuple[str, ...]:
    if named:
        return tuple(named)
    if kit := tuple(word for word in scenario.kit if word in scenario.protections):
        return kit
    return tuple(dict.fromkeys(_used(scenario))) or ("pad",)


def _used(scenario: Scenario) -> Iterator[str]:
    for option in scenario.options.values():
        for lines in option.lines.values():
            for piece in lines.working.protect.values():
                if piece.is_ in scenario.protections:
                    yield piece.is_


def _known(names: Sequence[str], there: Mapping[str, object], what: str) -> None:
    for name in names:
        if name not in there:
            hint = did_you_mean(name, list(there))
            raise UsageError(f"no {what} is called {name!r}{hint}; there are {', '.join(there)}")
