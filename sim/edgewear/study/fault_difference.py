"""What a revision of a procedure changes: the same faults, the same steps, side by side."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

COMPARED = ("margin_lost", "p_core_visible", "seen_by")


def difference(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, Any]:
    """Compare two `faults` documents.

    Parameters:
        before, after: of the revision that was, and of the one that is to be.

    Returns:
        Faults that both know with both figures, and those that only one of them has.
    """
    first, second = _by(before["faults"], _names), _by(after["faults"], _names)
    old, new = _by(before["single_failures"], _where), _by(after["single_failures"], _where)
    return {
        "from": before["title"],
        "to": after["title"],
        "faults": [
            {"names": list(names), **_both(first[names], second[names])}
            for names in second
            if names in first
        ],
        "only_before": [list(names) for names in first if names not in second],
        "only_after": [list(names) for names in second if names not in first],
        "single_failures": [
            {"component": key[0], "person": key[1], "words": key[2],
             "holds": [old[key]["holds"], new[key]["holds"]],
             "peak_n": [old[key]["peak_n"], new[key]["peak_n"]]}
            for key in new
            if key in old and old[key]["holds"] != new[key]["holds"]
        ],
        "p_core_visible_without_faults": [
            d["without_faults"]["p_core_visible"] for d in (before, after)
        ],
    }  # fmt: skip


def _both(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {key: [old[key], new[key]] for key in COMPARED}
    for key in ("fault_to_core_visible_s", "time_to_act_s"):
        found[key] = {"p5": [old[key]["p5"], new[key]["p5"]]}
    return found


def _by(
    rows: list[dict[str, Any]], key: Callable[[dict[str, Any]], tuple[str, ...]]
) -> dict[tuple[str, ...], dict[str, Any]]:
    return {key(row): row for row in rows}


def _names(row: dict[str, Any]) -> tuple[str, ...]:
    return tuple(row["names"])


def _where(row: dict[str, Any]) -> tuple[str, ...]:
    return row["component"], row["person"], row.get("step_words", "")
