"""Quantities in words: `22 m`, `5 mm`, `15 kN`, each with its range."""

from __future__ import annotations

from decimal import Decimal
from math import degrees

from edgewear.scenario.text.quantities import Measured

SELDOM_HZ = 0.01
"""What comes more seldom, such as rain or a fault, is counted by the hour and not by the second."""


def spell(value: float, unit: str) -> str:
    """Spell a value in the unit a reader expects.

    Parameters:
        value: in SI.
        unit: the SI unit.
    """
    number, word = _scaled(value, unit)
    text = f"{number:.4g}"
    if "e" in text and abs(number) < 1e6:
        text = f"{number:.0f}" if abs(number) >= 1 else f"{Decimal(text):f}"
    return f"{text} {word}".strip()


def _scaled(value: float, unit: str) -> tuple[float, str]:
    size = abs(value)
    if unit == "m" and 0 < size < 0.1:
        return value * 1e3, "mm"
    if unit == "N" and size >= 1000:
        return value / 1e3, "kN"
    if unit == "N/m" and size >= 1000:
        return value / 1e3, "kN/m"
    if unit == "kg/m":
        return value * 1e3, "g/m"
    if unit == "s" and size >= 120:
        return value / 60, "min"
    if unit == "rad":
        return degrees(value), "deg"
    if unit == "1/s" and 0 < size < SELDOM_HZ:
        return value * 3600, "per h"
    if unit == "1/s":
        return value, "Hz"
    return value, "" if unit == "1" else unit


def meant(quantity: Measured) -> str:
    """Spell what a quantity was taken to mean, with its 90 % interval."""
    value = spell(quantity.value, quantity.unit)
    if quantity.is_exact:
        return value
    ends = spell(quantity.low, quantity.unit), spell(quantity.high, quantity.unit)
    return f"{value} ({ends[0]} to {ends[1]})"
