"""What numbers leave out, though the scenario or the computed contact speaks of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from edgewear.dataset.ranking.edge_summaries import melting
from edgewear.dataset.ranking.model import Ranking

HOT = "slips computed hot enough to melt the sheath, which is not in these numbers"

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
    return hot_at(melts(ranking))


def melts(ranking: Ranking) -> dict[str, Sequence[str]]:
    """Name the edges of each option where ropes melt in most trials."""
    ropes = ranking.scenario.get("ropes", {})
    melts_c = {name: float(r["sheath"]["melts"]["low"]) for name, r in ropes.items()
               if r.get("sheath")}  # fmt: skip
    return {one.name: melting(one.edges, one.facts, melts_c) for one in ranking.options}


def hot_at(edges: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """Tell at which edges ropes melt, with the names that it holds for; empty: at none.

    Parameters:
        edges: by name of an option.
    """
    named = dict.fromkeys(edge for some in edges.values() for edge in some)
    return {f"{HOT}: {', '.join(named)}": [n for n, some in edges.items() if some]} if named else {}


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
