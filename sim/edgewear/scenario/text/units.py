"""The units that a scenario may use, and the strict reading of numbers.

A number is plain ASCII: `12`, `-0.4`, `2e9`. Nothing is guessed: a decimal comma, a thousands
space or an expression is refused, because each of them is read as another number somewhere.
"""

from __future__ import annotations

import re
from math import isfinite, pi
from typing import NamedTuple


class Dimension(NamedTuple):
    """A kind of quantity: its name, its SI unit, and the factor of each spelling to SI."""

    name: str
    unit: str
    factors: dict[str, float]
    bare: bool = False  # a number without a unit is meant
    most: float = 1e12  # largest size of anything on a rope, in SI, with room to spare
    least: float = 0.0  # smallest size but 0 itself


_POUND_KG = 0.45359237
_LENGTHS = {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "km": 1e3, "ft": 0.3048, "in": 0.0254}
_TIMES = {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0}

DIMENSIONS = {
    dimension.name: dimension
    for dimension in (
        Dimension("length", "m", _LENGTHS, most=1e4, least=1e-7),
        Dimension("mass", "kg", {"kg": 1.0, "g": 1e-3, "lb": _POUND_KG}, most=1e4, least=1e-3),
        Dimension(
            "force",
            "N",
            {"N": 1.0, "kN": 1e3, "kgf": 9.80665, "lbf": _POUND_KG * 9.80665},
            most=1e8,
            least=1e-3,
        ),
        Dimension("time", "s", _TIMES, most=2.6e6, least=1e-6),
        Dimension(
            "speed",
            "m/s",
            {"m/s": 1.0, "m/min": 1 / 60, "cm/s": 1e-2, "km/h": 1 / 3.6},
            most=100.0,
            least=1e-5,
        ),
        Dimension("angle", "rad", {"rad": 1.0, "deg": pi / 180}, most=20.0, least=1e-9),
        Dimension("share", "1", {"%": 0.01}, most=1e3, least=1e-12),
        Dimension("factor", "1", {"": 1.0, "%": 0.01}, bare=True, most=1e6, least=1e-12),
        Dimension(
            "rate",
            "1/s",
            {"Hz": 1.0, "per s": 1.0, "per min": 1 / 60, "per h": 1 / 3600},
            most=1e3,
            least=1e-15,
        ),
        Dimension("mass per length", "kg/m", {"kg/m": 1.0, "g/m": 1e-3}, most=100.0, least=1e-5),
        Dimension("body stiffness", "N/m", {"N/m": 1.0, "kN/m": 1e3}, most=1e9, least=1.0),
        Dimension(
            "pressure", "Pa", {"Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9}, most=1e13, least=1e-3
        ),
        Dimension("energy per volume", "J/m3", {"J/m3": 1.0, "J/mm3": 1e9}, most=1e15, least=1.0),
        Dimension("energy per length", "J/m", {"J/m": 1.0, "kJ/m": 1e3}, most=1e15, least=1e-3),
        Dimension(
            "power per area",
            "W/m2",
            {"W/m2": 1.0, "kW/m2": 1e3, "MW/m2": 1e6},
            most=1e13,
            least=1e-3,
        ),
        Dimension("conductivity", "W/(m K)", {"W/(m K)": 1.0}, most=1e5, least=1e-5),
        Dimension("heat capacity", "J/(m3 K)", {"J/(m3 K)": 1.0}, most=1e9, least=1.0),
        Dimension("temperature", "degC", {"degC": 1.0}, most=5e3),
    )
}
"""Every kind of quantity by name."""

NUMBER = r"[+-]?\d{1,15}(?:\.\d{1,17})?(?:e[+-]?\d{1,3})?"
_NUMBER = re.compile(rf"({NUMBER})(.*)", re.ASCII | re.DOTALL)
_GOES_ON = re.compile(r"[,.]?\d|,|\s+\d")
"""What a number in another spelling leaves behind."""


class UnitProblem(ValueError):
    """A text that is no quantity of the kind that is due; the message says what is allowed."""


def known_units() -> dict[str, str]:
    """Map every unit's spelling to the first kind of quantity that has it."""
    found: dict[str, str] = {}
    for dimension in DIMENSIONS.values():
        for unit in dimension.factors:
            found.setdefault(unit, dimension.name)
    return found


def split_number(text: str) -> tuple[float, str]:
    """Split a text into its number and what follows.

    Raises:
        UnitProblem: no number in the strict spelling stands first, or it is not finite.
    """
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise UnitProblem(f"{text!r} does not begin with a number such as 12 or -0.4")
    rest = match[2]
    if _GOES_ON.match(rest):
        raise UnitProblem(
            f"{text!r} cannot be read: a number has a point and no blanks, such as 1.5 or 1500"
        )
    number = float(match[1])
    if not isfinite(number):
        raise UnitProblem(f"{text!r} is too large")
    return number, rest.strip()


def to_si(text: str, dimension: Dimension) -> float:
    """Read a number with its unit.

    Parameters:
        text: such as `2 mm`; outer blanks are ignored.
        dimension: the kind of quantity that is due.

    Returns:
        The value in the dimension's SI unit.

    Raises:
        UnitProblem: no number, no unit, or a unit of another kind.
    """
    number, unit = split_number(text.strip())
    if unit in dimension.factors:
        # dividing by a whole number rounds once where a factor such as 1e-3 rounds twice
        factor = dimension.factors[unit]
        inverse = round(1 / factor)
        exact = abs(1 / factor - inverse) < 1e-9 * inverse
        return number / inverse if exact else number * factor
    raise UnitProblem(_wrong_unit(text.strip(), unit, dimension))


def _wrong_unit(text: str, unit: str, dimension: Dimension) -> str:
    """Say why a unit does not fit and which ones do."""
    allowed = spell_units(dimension)
    if not unit:
        return f"{text!r} has no unit: a {dimension.name} needs one of {allowed}"
    other = known_units().get(unit)
    if other is not None:
        return f"{text!r} is a {other}: a {dimension.name} is due, in {allowed}"
    said = f"{text!r} has an unknown unit {unit!r}"
    right = SPOKEN.get(unit.casefold().rstrip("."))
    if right in dimension.factors:
        number = text[: len(text) - len(unit)].rstrip()
        return f"{said}: write '{number} {right}'; a {dimension.name} is due, in {allowed}"
    return f"{said}: a {dimension.name} is due, in {allowed}"


SPOKEN = {
    word: unit
    for unit, words in {
        "s": "sec secs second seconds",
        "min": "mins minute minutes",
        "h": "hr hrs hour hours",
        "m": "m metre metres meter meters mtr",
        "mm": "mm millimetre millimetres millimeter millimeters",
        "cm": "cm centimetre centimetres centimeter centimeters",
        "ft": "foot feet",
        "in": "inch inches",
        "kg": "kg kgs kilo kilos kilogram kilograms",
        "N": "n newton newtons",
        "kN": "kn kilonewton kilonewtons",
        "deg": "° degs degree degrees",
        "%": "percent pct",
        "Hz": "hz hertz",
    }.items()
    for word in words.split()
}
"""Spoken or misspelt units, in small letters, and what to write."""


def spell_units(dimension: Dimension) -> str:
    """List a dimension's units for a message."""
    return ", ".join(unit or "no unit" for unit in dimension.factors)
