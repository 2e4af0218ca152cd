"""What each kind of entry has to say, field by field."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

from edgewear.stock.entries import EVERY_ROPE, Draft
from edgewear.stock.looks import FINDINGS

EVENTS = ("fall held", "fall held over an edge", "ran over an edge", "chemical", "heat", "other")
"""What may have happened to a rope outside of a plan."""

DECISIONS = ("in use", "set aside", "retired")

LONGEST_M = 10_000.0

Check = Callable[[Any], str]
"""Says what is wrong with a value; empty: nothing."""


def text(value: object) -> str:
    """Say what is wrong with a text; empty: nothing."""
    good = isinstance(value, str) and value == value.strip() != "" and value.isprintable()
    return "" if good else f"{value!r}: a text on one line is due"


def day(value: Any) -> str:  # as written, of any type
    """Say what is wrong with a date; empty: nothing."""
    try:
        good = date.fromisoformat(value).isoformat() == value
    except (TypeError, ValueError):
        good = False
    return "" if good else f"{value!r}: a date is due, such as 2026-05-31"


def _number(low: float, high: float) -> Check:
    def check(value: Any) -> str:  # as written, of any type
        right = isinstance(value, int | float) and not isinstance(value, bool)
        if right and low <= value <= high:  # which no nan is
            return ""
        return f"{value!r}: a number from {low:g} to {high:g} is due"

    return check


def _whole(low: int, high: int) -> Check:
    def check(value: Any) -> str:  # as written, of any type
        right = isinstance(value, int) and not isinstance(value, bool)
        return "" if right and low <= value <= high else f"{value!r}: a whole number is due"

    return check


def _one_of(*words: str) -> Check:
    return lambda value: "" if value in words else f"{value!r}: allowed are {', '.join(words)}"


def _yes_no(value: object) -> str:
    return "" if isinstance(value, bool) else f"{value!r}: yes or no is due"


def _hex(value: object) -> str:
    good = isinstance(value, str) and len(value) == 64 and set(value) <= set("0123456789abcdef")
    return "" if good else f"{value!r}: 64 hexadecimal digits are due"


def _list_of(check: Check, what: str) -> Check:
    def all_of(value: object) -> str:
        if not isinstance(value, list):
            return f"{what} are due"
        return next((bad for one in value if (bad := check(one))), "")

    return all_of


def _mapping_of(check: Check, what: str) -> Check:
    def all_of(value: object) -> str:
        if not isinstance(value, dict):
            return f"{what} are due"
        return next((bad for k, one in value.items() if (bad := text(k) or check(one))), "")

    return all_of


_metres = _number(0.0, LONGEST_M)
_factor = _number(0.0, 1e6)


def _rule(value: object) -> str:
    if not isinstance(value, dict) or set(value) - {"asks", "limit", "pedigree"}:
        return "what a rule asks for, its limit and its source are due"
    limit = value.get("limit")
    wrong = "" if limit is None else _number(0.0, 1e6)(limit)
    wrong = wrong or (text(value["pedigree"]) if "pedigree" in value else "")
    return wrong or _one_of("set aside", "retire")(value.get("asks"))


NEEDED: dict[str, dict[str, Check]] = {
    "register": {"length_m": _number(0.1, LONGEST_M)},
    "job": {
        "job": text, "first_mm": _whole(0, 10_000_000),
        "demand": _list_of(_number(0.0, 1e6), "sheath demands"),
        "low": _factor, "middle": _factor, "high": _factor,
    },
    "inspection": {"finding": _one_of(*FINDINGS), "from_m": _metres, "to_m": _metres},
    "event": {"what": _one_of(*EVENTS)},
    "decision": {"decision": _one_of(*DECISIONS), "reason": text},
    "correction": {"entry": _whole(1, 2**62), "reason": text},
    "rules": {"rules": _mapping_of(_rule, "rules")},
}  # fmt: skip
"""Kind of entry -> what it must say."""

ALLOWED: dict[str, dict[str, Check]] = {
    "register": {
        "like": text, "cut_from": text, "cut_at_m": _metres, "batch": text, "made": day,
        "first_use": day,
        "marks": _mapping_of(_metres, "places of marks"), "note": text,
    },
    "job": {
        "dataset": _hex, "option": text, "line": text, "rope_of_line": _whole(1, 10_000),
        "turned": _yes_no, "shift_m": _metres, "note": text,
    },
    "inspection": {"note": text},
    "event": {"from_m": _metres, "to_m": _metres, "note": text},
    "decision": {"note": text},
    "correction": {"note": text},
    "rules": {"note": text},
}  # fmt: skip
"""Kind of entry -> what it may say beside that."""

KINDS = tuple(NEEDED)


def problems(draft: Draft) -> Iterator[tuple[str, str]]:
    """Give field and message of everything that is wrong with an entry by itself."""
    if not isinstance(draft.kind, str) or draft.kind not in NEEDED:
        yield "kind", f"{draft.kind!r}: allowed are {', '.join(KINDS)}"
        return
    for field, check in (("rope", text), ("on", day), ("by", text)):
        if wrong := check(getattr(draft, field)):
            yield field, wrong
    if (draft.rope == EVERY_ROPE) != (draft.kind == "rules"):
        yield "rope", f"{EVERY_ROPE!r} stands for every rope, and goes with rules alone"
    if not isinstance(draft.body, dict):
        yield "body", "fields and their values are due"
        return
    yield from _fields(draft)


def _fields(draft: Draft) -> Iterator[tuple[str, str]]:
    needed, allowed = NEEDED[draft.kind], ALLOWED[draft.kind]
    for field in needed.keys() - draft.body.keys():
        yield field, "is missing"
    for field, value in draft.body.items():
        known = needed.get(field) or allowed.get(field)
        if known is None:
            names = ", ".join([*needed, *allowed])
            yield str(field), f"unknown here; allowed are {names}"
        elif wrong := known(value):
            yield field, wrong
    if "cut_at_m" in draft.body and "cut_from" not in draft.body:
        yield "cut_at_m", "the rope that it was cut from is due beside where on it that was"
    low, high = draft.body.get("from_m"), draft.body.get("to_m")
    if isinstance(low, int | float) and isinstance(high, int | float) and low > high:
        yield "to_m", f"{high:g} m lies before {low:g} m, where the stretch begins"
