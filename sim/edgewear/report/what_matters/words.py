"""Which inputs decide an outcome, in words."""

from __future__ import annotations

from edgewear.findings.inquiries.what_matters import (
    CHOSEN,
    ITSELF,
    SITE,
    TEST,
    Influence,
    OptionInfluences,
    Share,
    WhatMatters,
)
from edgewear.report.parts import words

SHEATH = "sheath_margin"

SHOWN = 8
"""Inputs named on a terminal; the page has all."""

LITTLE = 0.01
"""An input whose shares both lie below this is not named on a terminal."""

EXPLAINED = (
    "Alone: the share of the spread that knowing this input would take away. In all: with what it "
    "does together with others. In brackets what so few rows leave open (90 %). Shares are of the "
    "spread as typed: an input that is known exactly decides nothing here, however much hangs "
    "on it."
)

TOGETHER = (
    "Inputs that rise and fall together share what they do: what one of them does alone counts the "
    "other's too."
)

LEFT_OUT = "Where it cannot be said which inputs decide"

_MEANT = {
    SITE: "measured on site: measure it better",
    TEST: "tested: a test would tell",
    ITSELF: "varies by itself: only a margin helps",
    CHOSEN: "chosen",
}


def headline(found: WhatMatters) -> str:
    """Say what is explained, and from what."""
    outcome = "the sheath left" if found.outcome == SHEATH else found.outcome
    return f"Which inputs decide {outcome}, from {found.how}"


def spread(one: OptionInfluences, found: WhatMatters) -> str:
    """Say how far the outcome spreads."""
    if found.outcome == SHEATH:
        low, high = map(words.left, one.spread)
        return f"{one.rows} rows; sheath left from {low} (5th percentile) to {high} (95th)"
    low, high = (f"{value:.4g}" for value in one.spread)
    return f"{one.rows} rows; from {low} (5th percentile) to {high} (95th)"


def groups(one: OptionInfluences) -> list[str]:
    """Say what each group of inputs does alone, the largest first."""
    found = [(one.group(name), name) for name in _MEANT]
    return [
        f"{_MEANT[name]}: {percent(min(value, 1.0))}"
        for value, name in sorted(found, key=lambda pair: -pair[0])
        if value >= LITTLE
    ]


def named(one: OptionInfluences, most: int = SHOWN) -> list[Influence]:
    """Give the inputs worth a line."""
    worth = [i for i in one.inputs if max(i.alone.value, i.total.value) >= LITTLE]
    return worth[:most]


def influence(one: Influence) -> str:
    """Say what an input does, in one line."""
    ways = {"more": "; more of it leaves less", "less": "; less of it leaves less"}
    along = f"; goes with {one.along_with}" if one.along_with else ""
    return (
        f"alone {share(one.alone)}, in all {share(one.total)}; {one.group}"
        f"{ways.get(one.worse, '')}{along}"
    )


def share(one: Share) -> str:
    """Give a share with its interval."""
    return f"{percent(one.value)} ({percent(max(one.low, 0.0))} to {percent(min(one.high, 1.0))})"


def percent(value: float) -> str:
    """Give a share of the spread as a whole per cent."""
    return f"{round(100 * max(value, 0.0))} %"


def unexplained(one: OptionInfluences) -> str:
    """Say what neither inputs nor pairs of them explain."""
    if one.unexplained is None:
        return "How much neither single inputs nor pairs explain is not asked by a design."
    return (
        f"Not explained by single inputs or pairs: {share(one.unexplained)} "
        "(single strokes, more than two inputs together)."
    )
