"""Typing a place anew after it was dragged, as it was typed before: paced stays paced."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from edgewear.board.editing.splice import Value
from edgewear.errors import EdgewearError, UsageError
from edgewear.scenario.text.measured import Due
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.units import DIMENSIONS, to_si

_LENGTH = re.compile(r"([+-]?\d+(?:\.\d+)?)(\s*)(mm|cm|km|m|ft|in)\b")
_SIGNED = {"back": -1.0, "down": -1.0, "left": -1.0, "out": 1.0, "up": 1.0, "right": 1.0}

SAME_M = 0.0006
"""Half a millimetre and rounding: a place is typed to the millimetre [m]."""

LEAST_M = 0.1
"""No descent is dragged to less than this [m]."""


def moved(typed: Value, wanted_m: float, quantity: Due) -> Value:
    """Give what is typed for a length that was dragged, in the words and unit of before.

    Parameters:
        typed: as it was typed; None: nothing was.
        wanted_m: where it is now [m].
        quantity: what is due there.
    """
    for way in (_in_place(typed, wanted_m), _plain(typed, wanted_m)):
        if way is not None and _means(way, quantity, wanted_m):
            return way
    return f"{_number(wanted_m)} m"


def _means(typed: Value, quantity: Due, wanted_m: float) -> bool:
    try:
        found = read_quantity(typed, quantity, {})
    except (QuantityProblem, EdgewearError):
        return False
    return abs(found.value - wanted_m) <= SAME_M


def _in_place(typed: Value, wanted_m: float) -> Value:
    """Put the new number where the old one stands; of a range, shift all its ends."""
    if isinstance(typed, Mapping) and isinstance(typed.get("value"), str):
        return _shifted(typed, wanted_m)
    if not isinstance(typed, str):
        return None
    found = _LENGTH.search(typed)
    if found is None or " to " in typed:
        return None
    sign = next((_SIGNED[word] for word in typed.split() if word in _SIGNED), 1.0)
    number = sign * wanted_m / DIMENSIONS["length"].factors[found[3]]
    text = f"{_number(number, found[3])}{found[2]}{found[3]}"
    return typed[: found.start()] + text + typed[found.end() :]


def _shifted(typed: Mapping[str, Any], wanted_m: float) -> dict[str, Any] | None:
    length = DIMENSIONS["length"]
    try:
        step_m = wanted_m - to_si(typed["value"], length)
        ends = {
            key: f"{_number(to_si(typed[key], length) + step_m)} m"
            for key in ("value", "low", "high")
            if key in typed
        }
    except (QuantityProblem, EdgewearError, ValueError, AttributeError):
        return None
    return {**typed, **ends}


def _plain(typed: Value, wanted_m: float) -> str | None:
    """Keep how it was measured, and nothing else of the words."""
    first = typed.split()[0] if isinstance(typed, str) and typed.split() else ""
    return f"{first} {_number(wanted_m)} m" if first in ("paced", "taped", "measured") else None


def _number(value: float, unit: str = "m") -> str:
    """Spell a number to the millimetre."""
    digits = {"mm": 0, "cm": 1, "km": 6, "ft": 3, "in": 2}.get(unit, 3)
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


HEIGHT = Quantity("length", low=0.0, above=True)


def deeper(steps: list[Any], by_m: float) -> None:
    """Let somebody go deeper or less deep: every way down and up that is the longest follows.

    Parameters:
        steps: as typed; changed in place.
        by_m: how much deeper [m].

    Raises:
        UsageError: no step says how far somebody goes down or up.
    """
    ways = [way for step in steps if (way := _way(step)) is not None]
    if not ways:
        raise UsageError("no step says how far somebody goes down or up")
    most = max(height_m for _, _, height_m in ways)
    for holder, key, height_m in ways:
        if height_m == most:
            holder[key] = moved(holder[key], max(most + by_m, LEAST_M), HEIGHT)


def _way(step: Value) -> tuple[dict[str, Any], str, float] | None:
    """Give where a step says its height, and the height [m]; None where it says none."""
    if not isinstance(step, dict):
        return None
    for word in ("descend", "ascend"):
        if word in step:
            said = step[word]
            holder, key = (said, "height") if isinstance(said, dict) else (step, word)
            if isinstance(holder.get(key), str):
                try:
                    return holder, key, read_quantity(holder[key], HEIGHT, {}).value
                except QuantityProblem:
                    return None
    return None
