"""The values of a study's grid: lists, and ranges with a number of steps."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from edgewear.scenario.text.quantities import shown
from edgewear.scenario.text.units import UnitProblem, split_number

MAX_POINTS = 100_000
"""Values of all axes together; a longer axis is a sample, or a table."""

MAX_SIZE = 1e12
"""Beyond it a point cannot be spelt to twelve decimals; nothing on a rope is nearly so large."""


def spread(found: object) -> object:
    """Write every range of a grid out as the list of values it stands for."""
    if not isinstance(found, dict) or not isinstance(found.get("grid"), dict):
        return found
    grid: dict[str, Any] = {}
    left = MAX_POINTS
    for address, given in found["grid"].items():
        grid[address] = values = _values(address, given, left)
        left -= len(values) if isinstance(values, list | tuple) else 1
        if left < 0:
            raise _shown(f"{address!r}: the axes have more than {MAX_POINTS:,} values")
    return {**found, "grid": grid}


def _values(address: str, given: object, most: int) -> object:
    if isinstance(given, dict):
        return _range(address, given, most)
    if isinstance(given, str):
        return (given,)
    return given


def _range(address: str, given: dict[str, Any], most: int) -> tuple[str, ...]:
    """Write out `{from: 2 m, to: 38 m, steps: 10}`, both ends included."""
    if set(given) != {"from", "to", "steps"}:
        raise _shown(f"{address!r}: a range has from, to and steps, and nothing else")
    steps = str(given["steps"])
    if not (steps.isascii() and steps.isdigit() and len(steps) < 19 and 2 <= int(steps) <= most):
        said = f"must be a whole number from 2 on; all axes have at most {MAX_POINTS:,} values"
        raise _shown(f"{address!r}: steps {steps!r} {said}")
    try:
        first, unit = split_number(str(given["from"]).strip())
        last, other = split_number(str(given["to"]).strip())
    except UnitProblem as error:
        raise _shown(f"{address!r}: {error}") from error
    if unit != other:
        raise _shown(f"{address!r}: from and to must have the same unit")
    if max(abs(first), abs(last)) > MAX_SIZE:
        raise _shown(f"{address!r}: from and to must lie within {MAX_SIZE:g} {unit}")
    if first == last:
        raise _shown(f"{address!r}: from and to are the same: type the value alone")
    count = int(steps)
    start, end = Decimal(repr(first)), Decimal(repr(last))
    points = (start + (end - start) * i / (count - 1) for i in range(count))
    return tuple(f"{_plain(point)} {unit}".strip() for point in points)


def _shown(message: str) -> Exception:
    return shown("grid", message, at="grid")


def _plain(point: Decimal) -> str:
    """Spell a number without exponent or needless digits."""
    text = f"{round(point, 12):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
