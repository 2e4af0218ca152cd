"""Numbers as people on site read them: per cent, kN, kg, m, mm and minutes."""

from __future__ import annotations

import math

from edgewear import spelt
from edgewear.dataset.ranking.model import OptionResult, Quantiles, none_of, sheath_left
from edgewear.spelt import MINUS as MINUS
from edgewear.spelt import NOTHING as NOTHING
from edgewear.spelt import clock as clock
from edgewear.spelt import degrees as degrees
from edgewear.spelt import duration as duration
from edgewear.spelt import hertz as hertz
from edgewear.spelt import kilograms as kilograms
from edgewear.spelt import kilonewtons as kilonewtons
from edgewear.spelt import metres as metres
from edgewear.spelt import millimetres as millimetres
from edgewear.spelt import percent as percent
from edgewear.spelt import quoted as quoted
from edgewear.spelt import significant as significant
from edgewear.spelt import tenths as tenths

NONE_GIVEN = sheath_left(None)

STATUS_JOIN = "; "


def points(share: float | None) -> str:
    """Give an error of a per cent figure as "± 1.2 points".

    Parameters:
        share: 0..1; None says that it was not measured.
    """
    if share is None or not math.isfinite(share):
        return "not measured"
    return spelt.points(share)


def left(margin: float | None, touched: bool = True) -> str:
    """Give a margin as "sheath left" with a real minus; in times where much more is asked for.

    Parameters:
        margin: 1 minus the sheath demand; None where no number may be given.
        touched: whether a loaded rope met an edge.
    """
    if margin is not None and margin < MOST_NEGATIVE:
        return f"worn through about {spelt.times_through(1.0 - margin)} times"
    return sheath_left(margin, touched).replace("-", MINUS)


MOST_NEGATIVE = -1.0
"""A margin below this says no more than how many times a sheath would be worn through."""


def left_short(margin: float | None, touched: bool = True) -> str:
    """Give the same for a narrow column: "8x worn".

    Parameters:
        margin, touched: as in `left`.
    """
    if margin is not None and margin < MOST_NEGATIVE:
        return f"{spelt.times_through(1.0 - margin)}x worn"
    return left(margin, touched)


def touched(option: OptionResult) -> bool:
    """Tell whether any loaded rope of an option met an edge; when in doubt, yes."""
    return option.control != "edge avoided" or any(edge.wrap_deg > 0 for edge in option.edges)


def margins(option: OptionResult) -> tuple[str, str, str]:
    """Give an option's three margins, careful end first."""
    if option.margin is None:
        return (NONE_GIVEN,) * 3
    met = touched(option)
    margin = option.margin
    return left_short(margin.p5, met), left_short(margin.p50, met), left_short(margin.p95, met)


def as_tuple(quantiles: Quantiles) -> tuple[float | None, float | None, float | None]:
    """Give 5th, 50th and 95th percentile in this order."""
    return quantiles.p5, quantiles.p50, quantiles.p95


def place(option: OptionResult) -> str:
    """Give an option's rank, or say that it has none."""
    return "none" if option.rank is None else str(option.rank)


def chance(share: float | None, trials: int) -> str:
    """Give a chance estimated from trials; none of N as `none_of`, all of N "all N trials".

    Parameters:
        share: 0..1; None gives a dash.
        trials: N, at least 1.
    """
    if share is None or trials < 1:
        return NOTHING
    if share * trials < 0.25:
        return none_of(trials)
    if (1 - share) * trials < 0.25:
        return f"all {trials} trials"
    return percent(share)


def setting(name: str) -> str:
    """Say what a setting allows, in a few words."""
    return {
        "alpine": "alpine: one line allowed",
        "test": "test: not a plan for people",
    }.get(name, name)


def plain(text: str) -> str:
    """Give a text in characters that every terminal and printer has."""
    return text.replace(MINUS, "-").replace(NOTHING, "-").replace("±", "+/-")
