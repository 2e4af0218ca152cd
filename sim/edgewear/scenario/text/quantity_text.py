"""How a quantity is typed: `2 mm`, `paced 22 m back`, `3 mm to 8 mm`, `30 m +- 5 %`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, NamedTuple, cast, get_args

from pydantic import ValidationError

from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.measured import Basis, Distribution, Due, Measured
from edgewear.scenario.text.stiffness import OTHER_LOADS
from edgewear.scenario.text.units import (
    DIMENSIONS,
    NUMBER,
    Dimension,
    UnitProblem,
    spell_units,
    to_si,
)

MEANS = ("paced", "taped", "measured")
"""Words before a distance that say how it was found."""

SIGNS = {
    "out": {"out": 1.0, "back": -1.0},
    "up": {"up": 1.0, "down": -1.0},
    "along": {"right": 1.0, "left": -1.0},
}
"""Words after a distance that say which way it goes."""

_KEYS = ("value", "low", "high", "distribution", "pedigree", "basis", "typed")


class QuantityProblem(ValueError):
    """A text that is no quantity of the kind that is due."""


class Accuracy(NamedTuple):
    """How far a reading may be off: half the central 90 % interval."""

    share: float  # of the value
    least: float  # in SI
    distribution: Distribution
    pedigree: str


def read_quantity(found: object, quantity: Due, context: Mapping[str, Any]) -> Measured:
    """Read a quantity.

    Parameters:
        found: the text typed, a mapping with value, low and high, or a number in SI.
        quantity: what is due.
        context: `accuracy` maps `distance/taped` and the like to an `Accuracy`; `exact` says that
            a plain text is the truth.

    Raises:
        QuantityProblem: it is something else.
    """
    if isinstance(found, dict) and all(type(one) is str for one in found.values()):
        return _entry(tuple(found.items()), quantity)
    return _measured(found, quantity, context)


@lru_cache(maxsize=4096)
def _entry(found: tuple[tuple[str, str], ...], quantity: Due) -> Measured:
    """Read a mapping of texts: those of a library come again with every scenario."""
    return _measured(dict(found), quantity, {})


def _measured(found: object, quantity: Due, context: Mapping[str, Any]) -> Measured:
    dimension = DIMENSIONS[quantity.dimension]
    try:
        measured = _read(found, quantity, dimension, context)
    except UnitProblem as error:
        raise QuantityProblem(str(error)) from error
    except ValidationError as error:  # an end of it is no finite number
        raise QuantityProblem(f"{found!r} is too large") from error
    _check_limits(measured, quantity, dimension)
    return measured


def _read(
    found: object, quantity: Due, dimension: Dimension, context: Mapping[str, Any]
) -> Measured:
    if isinstance(found, bool) or found is None:
        raise QuantityProblem(f"a {dimension.name} is due, in {spell_units(dimension)}")
    if isinstance(found, int | float):
        return Measured.exact(float(found), dimension.unit)
    if isinstance(found, Mapping):
        return _from_entry(found, dimension)
    if isinstance(found, str):
        return _from_text(found.strip(), quantity, dimension, context)
    raise QuantityProblem(f"a {dimension.name} is due, in {spell_units(dimension)}")


def _from_entry(found: Mapping[str, Any], dimension: Dimension) -> Measured:
    """Read `{value: 11 mm, low: 10.8 mm, high: 11.2 mm, distribution: normal, pedigree: ...}`."""
    for key in found:
        if key not in _KEYS:
            hint = did_you_mean(str(key), list(_KEYS))
            raise QuantityProblem(f"unknown key {key!r}: allowed are {', '.join(_KEYS[:5])}{hint}")
    if "value" not in found:
        raise QuantityProblem("a value is due, with low and high if it has a range")
    value = to_si(str(found["value"]), dimension)
    low = to_si(str(found["low"]), dimension) if "low" in found else value
    high = to_si(str(found["high"]), dimension) if "high" in found else value
    if not low <= value <= high:
        raise QuantityProblem("low, value and high must rise")
    shape = _word(
        found, "distribution", get_args(Distribution), "fixed" if low == high else "normal"
    )
    return Measured(
        value=value,
        low=low,
        high=high,
        unit=dimension.unit,
        typed=str(found.get("typed", found["value"])),
        basis=cast(Basis, _word(found, "basis", get_args(Basis), "given")),
        distribution=cast(Distribution, shape),
        pedigree=str(found.get("pedigree", "")),
    )


def _word(found: Mapping[str, Any], key: str, allowed: tuple[str, ...], default: str) -> str:
    word = str(found.get(key, default))
    if word not in allowed:
        raise QuantityProblem(f"{key} {word!r}: allowed are {', '.join(allowed)}")
    return word


def _from_text(
    text: str, quantity: Due, dimension: Dimension, context: Mapping[str, Any]
) -> Measured:
    """Read a text with its words before and after, its range or its accuracy."""
    core, means = _means(text, quantity)
    core, sign = _direction(core, quantity)
    if " to " in core:
        return _range(text, core, sign, dimension)
    core, _, spread = core.replace("±", "+-").partition("+-")
    value = to_si(core, dimension)
    if sign and core.strip().startswith(("-", "+")):
        raise QuantityProblem(f"{text!r} has both a sign and a direction: keep one of them")
    value *= sign or 1.0
    if spread:
        return _spread(text, value, spread.strip(), means, dimension)
    return _with_accuracy(text, value, means, quantity, dimension, context)


def _means(text: str, quantity: Due) -> tuple[str, str]:
    """Split off a word such as `paced`."""
    first, _, rest = text.partition(" ")
    if first in MEANS:
        if quantity.accuracy != "distance" and first != "measured":
            raise QuantityProblem(f"{text!r}: {first!r} is for distances of the survey")
        return rest.strip(), first
    if first.isascii() and first.isalpha() and rest:
        hint = did_you_mean(first, list(MEANS))
        raise QuantityProblem(f"{text!r}: unknown word {first!r}{hint}")
    return text, ""


def _direction(text: str, quantity: Due) -> tuple[str, float]:
    """Split off a word such as `back`; 0 when there is none."""
    rest, _, last = text.rpartition(" ")
    signs = SIGNS.get(quantity.directions, {})
    if last in signs:
        return rest.strip(), signs[last]
    if any(last in others for others in SIGNS.values()) and rest:
        allowed = " or ".join(signs) or "none"
        raise QuantityProblem(f"{text!r}: {last!r} is no direction of this distance ({allowed})")
    return text, 0.0


def _range(text: str, core: str, sign: float, dimension: Dimension) -> Measured:
    """Read `3 mm to 8 mm` or `3 to 8 mm`."""
    first, _, second = core.partition(" to ")
    unit = re.sub(rf"^\s*{NUMBER}", "", second).strip()
    if re.fullmatch(NUMBER, first.strip(), re.ASCII):
        first = f"{first.strip()} {unit}"
    ends = sorted(
        (to_si(first, dimension) * (sign or 1.0), to_si(second, dimension) * (sign or 1.0))
    )
    return Measured(
        value=sum(ends) / 2,
        low=ends[0],
        high=ends[1],
        unit=dimension.unit,
        typed=text,
        basis="given",
        distribution="uniform" if ends[0] < ends[1] else "fixed",
        pedigree="range typed in the scenario",
    )


def _spread(text: str, value: float, spread: str, means: str, dimension: Dimension) -> Measured:
    """Read an accuracy typed with the value: half the central 90 % interval."""
    share = re.fullmatch(rf"({NUMBER})\s*%", spread, re.ASCII)
    if share and dimension.name != "share":
        half = abs(value) * float(share[1]) / 100
    else:
        half = to_si(spread, dimension)
    if half < 0:
        raise QuantityProblem(f"{text!r}: an accuracy is never negative")
    return Measured(
        value=value,
        low=value - half,
        high=value + half,
        unit=dimension.unit,
        typed=text,
        basis=cast(Basis, means or "measured"),
        distribution="normal" if half else "fixed",
        pedigree="accuracy typed in the scenario",
    )


def _with_accuracy(
    text: str,
    value: float,
    means: str,
    quantity: Due,
    dimension: Dimension,
    context: Mapping[str, Any],
) -> Measured:
    """Give a plain reading the accuracy that its kind of measurement has."""
    accuracies: Mapping[str, Accuracy] = context.get("accuracy", {})
    basis = means or "measured"
    accuracy = accuracies.get(f"{quantity.accuracy}/{basis}")
    if accuracy is None or (context.get("exact") and not means):
        return Measured.exact(value, dimension.unit, text)
    if accuracy.distribution == "lognormal":
        low, high = value / (1 + accuracy.share), value * (1 + accuracy.share)
    else:
        half = max(abs(value) * accuracy.share, accuracy.least)
        low, high = value - half, value + half
        if value >= 0 and quantity.low is not None:
            low = max(low, quantity.low)
        if quantity.high is not None and value <= quantity.high:
            high = min(high, quantity.high)
    return Measured(
        value=value,
        low=low,
        high=high,
        unit=dimension.unit,
        typed=text,
        basis=cast(Basis, basis),
        distribution=accuracy.distribution,
        pedigree=accuracy.pedigree,
    )


def _check_limits(measured: Measured, quantity: Due, dimension: Dimension) -> None:
    """Refuse what no such quantity can be, and what nothing on a rope is as large or small as."""
    low, high = quantity.low, quantity.high
    unit = "" if dimension.unit == "1" else f" {dimension.unit}"
    found = repr(measured.typed)
    ends = (abs(measured.low), abs(measured.value), abs(measured.high))
    if not max(ends) <= dimension.most:
        said = f"a {dimension.name} is at most {dimension.most:g}{unit} here"
        raise QuantityProblem(f"{found} is too large: {said}")
    near = (ends[0], ends[1]) if quantity.above else (ends[1],)
    if any(0.0 < end < dimension.least for end in near):
        said = f"a {dimension.name} is 0, or at least {dimension.least:g}{unit} here"
        raise QuantityProblem(f"{found} is too small: {said}")
    if low is not None and (measured.low < low or (quantity.above and measured.low <= low)):
        word = "above" if quantity.above else "at least"
        raise QuantityProblem(f"{found} is too small: it must be {word} {low:g}{unit}")
    if high is not None and measured.high > high:
        raise QuantityProblem(f"{found} is too large: it must be at most {high:g}{unit}")


def json_schema(quantity: Due) -> dict[str, Any]:
    """Describe the texts that a quantity may be typed as."""
    dimension = DIMENSIONS[quantity.dimension]
    units = "|".join(re.escape(unit) for unit in sorted(dimension.factors, key=len, reverse=True))
    number = rf"{NUMBER}\s*(?:{units})".replace(r"\d", "[0-9]")
    plain = NUMBER.replace(r"\d", "[0-9]")
    percent = rf"{plain}\s*%|"
    words = "(?:paced |taped |measured )?" if quantity.accuracy == "distance" else "(?:measured )?"
    ways = "|".join(SIGNS.get(quantity.directions, {}))
    tail = f"(?: (?:{ways}))?" if ways else ""
    spread = rf"(?:\s*(?:\+-|±)\s*(?:{percent}{number}))?"
    pattern = rf"^{words}(?:{number}{spread}|(?:{plain}|{number}) to {number}){tail}{spread}$"
    text: dict[str, Any] = {
        "type": "string",
        "pattern": pattern,
        "description": f"a {dimension.name}, in {spell_units(dimension)}",
    }
    entry = {"$ref": "#/$defs/Range"}
    if quantity.accuracy == "elongation":
        text["pattern"] = f"{pattern}|^{OTHER_LOADS}$".replace(r"\d", "[0-9]")
    if dimension.bare:
        return {"anyOf": [{"type": "number"}, text, entry]}
    return {"anyOf": [text, entry]}
