"""What is shown of the record, as JSON-able documents that page and terminal print."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.cautions import LAW_FIRST, PROJECTION, RETIRE
from edgewear.stock.entries import Entry
from edgewear.stock.past_wear import CELL_M, PastWear
from edgewear.stock.standing import IN_USE, RETIRED, Standing, summary, with_time
from edgewear.stock.store import Stock

CAUTIONS = (
    "The record never says that a rope may be used: a competent person looks at it and decides.",
    RETIRE,
    PROJECTION,
    LAW_FIRST,
)
SHOWN_CELLS = 10
"""Cells of wear that one point of a document stands for: the largest of each centimetre."""


def rope_document(stock: Stock, rope: str, today: str) -> dict[str, Any]:
    """Give one rope's life.

    Parameters:
        stock: the record.
        rope: its name.
        today: ISO; what time alone asks for depends on it.

    Raises:
        UsageError: no such rope.
    """
    entries, rules = stock.entries(rope), stock.rules()
    standing = stock.standing(rope)
    found = with_time(summary(standing), rules, today)
    number, digest = stock.head()
    return {
        "schema": "edgewear.rope/1",
        **found,
        "today": today,
        "register": standing.register.body,
        "along": _along(standing.wear),
        "looks": [look._asdict() for look in standing.wear.looks],
        "struck": sorted(standing.struck),
        "entries": [_entry(entry, standing) for entry in entries],
        "head": {"entry": number, "hash": digest},
        "cautions": list(CAUTIONS),
    }


def _entry(entry: Entry, standing: Standing) -> dict[str, Any]:
    body = {key: value for key, value in entry.body.items() if key != "demand"}
    if entry.kind == "job":
        demand = np.asarray(entry.body["demand"])
        most = float(demand.max(initial=0.0))
        at = int(demand.argmax()) if demand.size else 0
        body["largest"] = [most * entry.body[end] for end in ("low", "middle", "high")]
        body["largest_at_m"] = (entry.body["first_mm"] + at + 0.5) * CELL_M
    told = entry._asdict() | {"body": body, "corrected": entry.number in standing.struck}
    told["idle"] = standing.idle.get(entry.number, "")
    del told["rope"], told["before"]
    return told


def _along(wear: PastWear) -> dict[str, list[float]]:
    """Wear along the rope, the largest of each centimetre; stretches without wear left out."""
    ends = [_coarse(one) for one in wear.interval()]
    at = (np.arange(len(ends[0])) + 0.5) * SHOWN_CELLS * CELL_M
    worn = np.flatnonzero(ends[2] > 0.0)
    near = np.unique(np.clip(np.concatenate([worn - 1, worn, worn + 1]), 0, len(at) - 1))
    kept = near if worn.size else np.zeros(0, np.int64)
    names = ("at_m", "low", "middle", "high")
    return {name: one[kept].tolist() for name, one in zip(names, (at, *ends), strict=True)}


def _coarse(field: NDArray[np.float64]) -> NDArray[np.float64]:
    groups = -(-len(field) // SHOWN_CELLS)
    padded = np.zeros(groups * SHOWN_CELLS)
    padded[: len(field)] = field
    highest: NDArray[np.float64] = padded.reshape(groups, SHOWN_CELLS).max(axis=1)
    return highest


def due_document(stock: Stock, today: str, within_days: int, every: bool) -> dict[str, Any]:
    """Give the ropes that ask for somebody: set aside, or with a date that comes soon.

    Parameters:
        stock: the record.
        today: ISO.
        within_days: how soon.
        every: all ropes, those in use and the retired ones too.
    """
    from datetime import date, timedelta

    rules = stock.rules()
    soon = (date.fromisoformat(today) + timedelta(days=within_days)).isoformat()
    found = [with_time(one, rules, today) for one in stock.summaries()]
    wanted = [one for one in found if every or _is_due(one, soon)]
    wanted.sort(key=_order)
    return {
        "schema": "edgewear.ropes/1",
        "today": today,
        "within_days": within_days,
        "ropes": wanted,
        "registered": len(found),
        "retired": sum(one["word"] == RETIRED for one in found),
        "cautions": list(CAUTIONS),
    }


def _is_due(found: dict[str, Any], soon: str) -> bool:
    if found["word"] == RETIRED:
        return any(reason["entry"] == 0 for reason in found["reasons"])
    return bool(found["word"] != IN_USE or (found["next_on"] and found["next_on"] <= soon))


def _order(found: dict[str, Any]) -> tuple[int, str, str]:
    place = {RETIRED: 0, IN_USE: 2}.get(found["word"], 1)
    return place, found["next_on"] or "9999", found["rope"]


def entry_document(stock: Stock, entries: Iterable[Entry], today: str) -> dict[str, Any]:
    """Say what was written, and how the ropes it is about stand now."""
    every = list(entries)
    rules = stock.rules()
    names = dict.fromkeys(entry.rope for entry in every if entry.kind != "rules")
    return {
        "schema": "edgewear.rope-entries/1",
        "entries": [entry._asdict() for entry in every],
        "ropes": [with_time(summary(stock.standing(name)), rules, today) for name in names],
    }


def rules_document(stock: Stock) -> dict[str, Any]:
    """Give the rules in force, each with what it asks for and where it comes from."""
    return {
        "schema": "edgewear.rope-rules/1",
        "rules": [{"word": word, **rule._asdict()} for word, rule in stock.rules().items()],
    }
