"""What numbers leave out, though the scenario or the computed contact speaks of it."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear.dataset.ranking.model import EdgeSummary, OptionResult, Ranking

NAMED = 3
"""So many faults are named on a terminal."""


def faults(names: Sequence[str], whole: bool = False) -> list[str]:
    """Say that a scenario's faults are not in the numbers beside it.

    Parameters:
        names: of the faults.
        whole: all by name.
    """
    if not names:
        return []
    named = names if whole or len(names) <= NAMED + 1 else names[:NAMED]
    rest = f" and {len(names) - len(named)} more" if len(named) < len(names) else ""
    return [
        f"not in these numbers: the faults of the scenario ({', '.join(named)}{rest}); "
        "`edgewear faults` puts them in"
    ]


def hot(ranking: Ranking) -> dict[str, list[str]]:
    """Tell of contacts that melt in most trials, which the wear law does not know of.

    Returns:
        The text, if there is one, with the options that it holds for.
    """
    found = {
        option.name: [edge.edge for edge in option.edges if _melts(ranking, option, edge)]
        for option in ranking.options
    }
    edges = dict.fromkeys(edge for melting in found.values() for edge in melting)
    if not edges:
        return {}
    told = (
        "slips computed hot enough to melt the sheath, which is not in these numbers: "
        + ", ".join(edges)
    )
    return {told: [name for name, melting in found.items() if melting]}


def stuck(ranking: Ranking) -> dict[str, list[str]]:
    """Tell, where protection is nearly dragged off, why a rope that sticks more reads better.

    Returns:
        The text, if there is one, with the options that it holds for.
    """
    names = [
        option.name
        for option in ranking.options
        if any(part.how == "dragged off" and part.near for part in option.parts)
    ]
    told = (
        "protection is dragged along by rope that slides over it: a used, wet or dirty rope has "
        "more friction, sticks more and slides less, and what it pulls while it sticks is not in "
        "these numbers"
    )
    return {told: names} if names else {}


def _melts(ranking: Ranking, option: OptionResult, edge: EdgeSummary) -> bool:
    """Tell whether most trials reach the lower end of the range in which the sheath melts."""
    rope = next((r["rope"] for r in option.facts.get("ropes", ()) if r["line"] == edge.line), None)
    sheath = ranking.scenario.get("ropes", {}).get(rope, {}).get("sheath")
    if edge.flash_temperature_c is None or not sheath:
        return False
    return bool(edge.flash_temperature_c >= float(sheath["melts"]["low"]))
