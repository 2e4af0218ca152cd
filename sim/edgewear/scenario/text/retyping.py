"""Writing changed values as somebody would type them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import yaml

from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.units import DIMENSIONS, to_si

_DUMPER = getattr(yaml, "CSafeDumper", yaml.SafeDumper)  # the same text, but slower, without C


def typed_as(value: str | float, quantity: Quantity | None) -> str | dict[str, str]:
    """Spell a number in SI with its unit, known exactly; a text stays as it is.

    Parameters:
        value: text as it would be typed, or a number in SI.
        quantity: what is due there; None: something else, such as a count.
    """
    if isinstance(value, str):
        return value
    if quantity is None:
        return str(int(value)) if float(value).is_integer() else repr(float(value))
    dimension = DIMENSIONS[quantity.dimension]
    unit = min(dimension.factors, key=lambda unit: abs(dimension.factors[unit] - 1.0))
    number = float(value) / dimension.factors[unit]
    return {"value": _closest(number, float(value), unit, quantity)}


def _closest(number: float, wanted: float, unit: str, quantity: Quantity) -> str:
    """Spell a number so that reading it gives the very value, where any text does."""
    dimension = DIMENSIONS[quantity.dimension]
    texts = [f"{number:.{digits}e} {unit}".strip() for digits in (16, 15)]
    return next((text for text in texts if to_si(text, dimension) == wanted), texts[0])


def spelled_out(data: Mapping[str, Any]) -> str:
    """Write a file's values as the text of a file.

    Parameters:
        data: text values, as read.
    """
    found: str = yaml.dump(
        dict(data), Dumper=_DUMPER, sort_keys=False, allow_unicode=True, width=100
    )
    return found
