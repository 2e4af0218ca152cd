"""Numbers as people on site read them: per cent, kN, kg, m, mm and minutes."""

from __future__ import annotations

import math

from edgewear.dataset.ranking.model import OptionResult, Quantiles, none_of, sheath_left

NOTHING = "–"
"""Stands where there is no figure to give."""

MINUS = "−"

NONE_GIVEN = sheath_left(None)

STATUS_JOIN = "; "


def _number(value: float, digits: int) -> str:
    """Round half away from nothing surprising: fixed digits, a real minus, no negative zero."""
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.removeprefix("-")
    return text.replace("-", MINUS)


def significant(value: float | None, digits: int = 2) -> str:
    """Give a number with so many significant digits, without an exponent.

    Parameters:
        value: any unit; None or not finite gives a dash.
        digits: at least 1.
    """
    if value is None or not math.isfinite(value):
        return NOTHING
    if value == 0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    return _number(round(value, places), max(places, 0))


def kilonewtons(force_n: float | None) -> str:
    """Give a force as "4.2 kN".

    Parameters:
        force_n: [N]; None gives a dash.
    """
    if force_n is None or not math.isfinite(force_n):
        return NOTHING
    return f"{_number(force_n / 1000, 1)} kN"


def kilograms(mass_kg: float | None) -> str:
    """Give a mass as "100 kg".

    Parameters:
        mass_kg: [kg]; None gives a dash.
    """
    return NOTHING if mass_kg is None else f"{_number(mass_kg, 0)} kg"


def metres(length_m: float | None) -> str:
    """Give a length as "18 m", "2.4 m" or, below half a metre, "38 mm".

    Parameters:
        length_m: [m]; None gives a dash.
    """
    if length_m is None or not math.isfinite(length_m):
        return NOTHING
    if abs(length_m) < 0.5:
        return millimetres(length_m)
    return f"{_number(length_m, 1 if abs(length_m) < 100 else 0)} m"


def tenths(length_m: float | None) -> str:
    """Give a length as "0.8 m", to a tenth of a metre whatever its size.

    Parameters:
        length_m: [m]; None gives a dash.
    """
    if length_m is None or not math.isfinite(length_m):
        return NOTHING
    return f"{_number(length_m, 1)} m"


def millimetres(length_m: float | None) -> str:
    """Give a short length as "38 mm", below 10 mm with one digit more.

    Parameters:
        length_m: [m]; None gives a dash.
    """
    if length_m is None or not math.isfinite(length_m):
        return NOTHING
    length_mm = length_m * 1000
    return f"{_number(length_mm, 1 if 0 < abs(length_mm) < 9.95 else 0)} mm"


def duration(time_s: float | None) -> str:
    """Give a time as "40 s", "12 min" or "1 h 05 min".

    Parameters:
        time_s: [s]; None gives a dash.
    """
    if time_s is None or not math.isfinite(time_s):
        return NOTHING
    if time_s < 99.5:
        return f"{_number(time_s, 0)} s"
    minutes = round(time_s / 60)
    if minutes < 100:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60:02d} min"


def clock(time_s: float) -> str:
    """Give a time since the start of the job as "7:05" (minutes and seconds).

    Parameters:
        time_s: [s], not negative.
    """
    whole = round(time_s)
    return f"{whole // 60}:{whole % 60:02d}"


def percent(share: float | None) -> str:
    """Give a share as a per cent figure, never a round 0 or 100 that is not exact.

    Parameters:
        share: 0..1; None gives a dash.
    """
    if share is None or not math.isfinite(share):
        return NOTHING
    if 0 < share < 0.01:
        return "below 1 %"
    if 0.99 < share < 1:
        return "above 99 %"
    return f"{_number(share * 100, 0)} %"


def hertz(rate_hz: float | None) -> str:
    """Give a rate as "0.62 Hz".

    Parameters:
        rate_hz: [Hz]; None gives a dash.
    """
    return NOTHING if rate_hz is None else f"{significant(rate_hz)} Hz"


def points(share: float | None) -> str:
    """Give an error of a per cent figure as "± 1.2 points".

    Parameters:
        share: 0..1; None says that it was not measured.
    """
    if share is None or not math.isfinite(share):
        return "not measured"
    return f"± {significant(abs(share) * 100)} points"


def left(margin: float | None, touched: bool = True) -> str:
    """Give a margin as "sheath left" with a real minus; in times where much more is asked for.

    Parameters:
        margin: 1 minus the sheath demand; None where no number may be given.
        touched: whether a loaded rope met an edge.
    """
    if margin is not None and margin < MOST_NEGATIVE:
        return f"worn through about {round(1.0 - margin)} times"
    return sheath_left(margin, touched).replace("-", MINUS)


MOST_NEGATIVE = -1.0
"""A margin below this says no more than how many times a sheath would be worn through."""


def left_short(margin: float | None, touched: bool = True) -> str:
    """Give the same for a narrow column: "8x worn".

    Parameters:
        margin, touched: as in `left`.
    """
    if margin is not None and margin < MOST_NEGATIVE:
        return f"{round(1.0 - margin)}x worn"
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
