"""Numbers as people on site read them: per cent, kN, kg, m, mm and minutes.

What is not 0 never reads as 0: it has a finer unit, or reads "below 0.1 mm".
"""

from __future__ import annotations

import math

NOTHING = "–"
"""Stands where there is no figure to give."""

MINUS = "−"

FINER_BELOW = 0.095
"""Lengths [m] and forces [kN] below this are told in mm or N where tenths are told else."""

SAME_TIMES = 1e-9
"""Part of a time that may be how numbers are kept: 4 and so little more are 4 times."""

FINEST_POINTS = 0.01
"""Errors of a figure of whole per cent are told no finer than this [per cent]."""


def _number(value: float, digits: int) -> str:
    """Round half away from nothing surprising: fixed digits, a real minus, no negative zero."""
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.removeprefix("-")
    return text.replace("-", MINUS)


def _told(value: float, digits: int, unit: str) -> str:
    """Give a number with its unit; one too small for so many digits as "below 0.1 mm"."""
    text = _number(value, digits)
    if value != 0 and float(text.replace(MINUS, "-")) == 0:
        return f"below {_number(10.0**-digits, digits)} {unit}"
    return f"{text} {unit}"


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


def short_by(least_m: float, most_m: float) -> str:
    """Give what is missing as "by 0.3 m" or "by 0.1 m to 0.8 m": up, so a little is not nothing.

    Parameters:
        least_m, most_m: above zero [m].
    """
    tenths = (max(math.ceil(m * 10.0 - 1e-6), 1) for m in (least_m, most_m))
    least, most = (f"{of_one / 10.0:.1f} m" for of_one in tenths)
    return f"by {most}" if least == most else f"by {least} to {most}"


def times(least: float, most: float) -> str:
    """Give multiples as "1.2 times as much" or "1.1 to 250 times as much".

    In tenths below ten, up, so that what is passed by a little is not passed by nothing.

    Parameters:
        least, most: at least 1.
    """
    low, high = (
        f"{math.ceil(one * 10.0 - 1e-6) / 10.0:.1f}" if one < 10.0 else significant(one)
        for one in (max(least, 1.01), max(most, 1.01))
    )
    return f"{low if low == high else f'{low} to {high}'} times as much"


def kilonewtons(force_n: float | None) -> str:
    """Give a force as "4.2 kN" or, below a tenth, "40 N".

    Parameters:
        force_n: [N]; None gives a dash.
    """
    if force_n is None or not math.isfinite(force_n):
        return NOTHING
    if 0 < abs(force_n) < FINER_BELOW * 1000:
        return _told(force_n, 0, "N")
    return f"{_number(force_n / 1000, 1)} kN"


def kilograms(mass_kg: float | None) -> str:
    """Give a mass as "100 kg".

    Parameters:
        mass_kg: [kg]; None gives a dash.
    """
    return NOTHING if mass_kg is None else _told(mass_kg, 0, "kg")


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
    """Give a length as "0.8 m", to a tenth of a metre or, below that, "80 mm".

    Parameters:
        length_m: [m]; None gives a dash.
    """
    if length_m is None or not math.isfinite(length_m):
        return NOTHING
    return millimetres(length_m) if abs(length_m) < FINER_BELOW else f"{_number(length_m, 1)} m"


def millimetres(length_m: float | None) -> str:
    """Give a short length as "38 mm", below 10 mm with one digit more.

    Parameters:
        length_m: [m]; None gives a dash.
    """
    if length_m is None or not math.isfinite(length_m):
        return NOTHING
    length_mm = length_m * 1000
    return _told(length_mm, 1 if 0 < abs(length_mm) < 9.95 else 0, "mm")


def duration(time_s: float | None) -> str:
    """Give a time as "40 s", "12 min" or "1 h 05 min".

    Parameters:
        time_s: [s]; None gives a dash.
    """
    if time_s is None or not math.isfinite(time_s):
        return NOTHING
    if time_s < 99.5:
        return _told(time_s, 0, "s")
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

    A little more than all is told as "above 100 %".

    Parameters:
        share: 0..1; None gives a dash.
    """
    if share is None or not math.isfinite(share):
        return NOTHING
    if 0 < share < 0.01:
        return "below 1 %"
    if 0.99 < share < 1:
        return "above 99 %"
    if 1 < share < 1.005:
        return "above 100 %"
    return f"{_number(share * 100, 0)} %"


def times_through(demand: float) -> int:
    """Give how many times a sheath would be worn through: rounded up, so that it is never fewer.

    Parameters:
        demand: sheath demand [1].
    """
    return math.ceil(demand - SAME_TIMES)


def points(share: float) -> str:
    """Give an error of a per cent figure as "± 1.2 points", no finer than anybody reads it.

    Parameters:
        share: 0..1.
    """
    error = abs(share) * 100
    if 0 < error < 0.5 * FINEST_POINTS:
        return f"± less than {FINEST_POINTS} points"
    return f"± {_number(error, 2) if 0 < error < FINER_BELOW else significant(error)} points"


def hertz(rate_hz: float | None) -> str:
    """Give a rate as "0.62 Hz".

    Parameters:
        rate_hz: [Hz]; None gives a dash.
    """
    return NOTHING if rate_hz is None else f"{significant(rate_hz)} Hz"


def counted(number: int, one: str) -> str:
    """Give a number with what is counted, in the plural but for one: 1 rope, 3 ropes."""
    return f"{number} {one}" if number == 1 else f"{number} {one}s"


def one_rope(line: str, rope: int) -> str:
    """Name one of several ropes that a line had one after the other.

    Parameters:
        line: its name.
        rope: from 1.
    """
    return f"{line}, rope {rope}"


def quoted(name: str) -> str:
    """Give a name as a sentence has it, so that "from the post" is no part of the sentence."""
    return f"'{name}'"


def degrees(angle_deg: float, sign: str = "") -> str:
    """Give an angle as "43 degrees", below 5 degrees with one digit more.

    Parameters:
        angle_deg: [degree].
        sign: another word or sign for it; "°" stands without a space.
    """
    digits = 1 if 0 < abs(angle_deg) < 4.95 else 0
    return _told(angle_deg, digits, sign or "degrees").replace(" °", "°")


def bend(largest_deg: float) -> str:
    """Give the largest bend of a job as "bend up to 43 degrees" or "bend below 0.1 degrees".

    Parameters:
        largest_deg: [degree].
    """
    told = degrees(largest_deg)
    nearly_straight = largest_deg > 0 and float(_number(largest_deg, 1)) == 0
    return f"bend {told}" if nearly_straight else f"bend up to {told}"
