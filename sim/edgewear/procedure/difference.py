"""What a revision of a procedure changes: the same faults, the same components, side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from edgewear.procedure.failures import above_limits
from edgewear.rigging.findings.control import LEVELS

COMPARED = ("margin_lost", "p_core_visible", "seen_by")

NOTED = {"margin_lost": 0.01, "p_core_visible": 0.02, "time_to_act_s": 5.0}
"""Changes smaller than this count as none: a point of sheath, two in a hundred trials, 5 s."""

FIGURES = (("drop_m", "m", 1.0, 0.1), ("swing_m", "m", 1.0, 0.3), ("peak_n", "kN", 1e3, 100.0))
"""Figures of a single failure: name, unit, scale, and by how much they must change to be told."""

TIME_S = 30.0
"""So much must a rescue's time change to be told [s]."""

Row = Mapping[str, Any]


def difference(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, Any]:
    """Compare two `faults` documents.

    Parameters:
        before, after: of the revision that was, and of the one that is to be.

    Returns:
        Faults, single failures (the worst step of each component), rescues and statuses that
        changed, each with `change` ("worse", "better" or "mixed"); faults that only one revision
        has; how many are alike.
    """
    first, second = _by(before["faults"], _names), _by(after["faults"], _names)
    faults = [_fault(names, first[names], second[names]) for names in second if names in first]
    failed = list(_paired(before["worst_failures"], after["worst_failures"], _where, _failure))
    rescued = list(_paired(before["rescues"], after["rescues"], _place, _rescue))
    return {
        "from": before["title"],
        "to": after["title"],
        "revisions": _revisions(before, after),
        "status": _status(before["status"], after["status"]),
        "edge_levels": _levels(before["edge_levels"], after["edge_levels"]),
        "faults": faults,
        "only_before": [list(names) for names in first if names not in second],
        "only_after": [list(names) for names in second if names not in first],
        "single_failures": [row for row in failed if row["change"] != "alike"],
        "rescues": [row for row in rescued if row["change"] != "alike"],
        "components_only_before": _missing(before["worst_failures"], after["worst_failures"]),
        "components_only_after": _missing(after["worst_failures"], before["worst_failures"]),
        "alike": {
            "faults": sum(row["change"] == "alike" for row in faults),
            "single_failures": sum(row["change"] == "alike" for row in failed),
            "rescues": sum(row["change"] == "alike" for row in rescued),
        },
        "p_core_visible_without_faults": [
            d["without_faults"]["p_core_visible"] for d in (before, after)
        ],
    }


def _revisions(before: Row, after: Row) -> list[str]:
    """What to call the two: their revision, else their title, else the order given."""
    for key, called in (("revision", "revision {}"), ("title", "{!r}")):
        names = [d.get(key) for d in (before, after)]
        if all(names) and names[0] != names[1]:
            return [called.format(name) for name in names]
    return ["the first file", "the second file"]


def _status(before: Sequence[str], after: Sequence[str]) -> list[dict[str, Any]]:
    return [
        *({"status": s, "words": "is new", "change": "worse"} for s in after if s not in before),
        *({"status": s, "words": "is gone", "change": "better"} for s in before if s not in after),
    ]


def _levels(before: Mapping[str, str], after: Mapping[str, str]) -> list[dict[str, Any]]:
    """Edges whose level of control changed."""
    return [
        {
            "edge": edge,
            "words": f"{before[edge]} before, {level} now",
            "change": "worse" if LEVELS.index(level) > LEVELS.index(before[edge]) else "better",
        }
        for edge, level in after.items()
        if before.get(edge, level) != level
    ]


def _missing(rows: Sequence[Row], others: Sequence[Row]) -> list[str]:
    """Components of one revision that the other does not have."""
    there = {_where(row) for row in others}
    return [f"{r['component']} ({r['person']})" for r in rows if _where(r) not in there]


def _fault(names: tuple[str, ...], old: Row, new: Row) -> dict[str, Any]:
    """A fault that both know: both figures of each, which of them changed, and which way."""
    found: dict[str, Any] = {"names": list(names), **{k: [old[k], new[k]] for k in COMPARED}}
    for key in ("fault_to_core_visible_s", "time_to_act_s"):
        found[key] = {"p5": [old[key]["p5"], new[key]["p5"]]}
    more = {
        "margin_lost": _grown(old["margin_lost"], new["margin_lost"], NOTED["margin_lost"]),
        "p_core_visible": _grown(
            old["p_core_visible"], new["p_core_visible"], NOTED["p_core_visible"]
        ),
        "time_to_act_s": _grown(
            new["time_to_act_s"]["p5"], old["time_to_act_s"]["p5"], NOTED["time_to_act_s"]
        ),
        "seen_by": (new["seen_by"] is None) - (old["seen_by"] is None),
    }
    return {**found, "changed": [k for k, v in more.items() if v], "change": _way(more.values())}


def _grown(old: float | None, new: float | None, least: float) -> int:
    """1 where a figure grew by so much, -1 where it fell by so much."""
    if old is None or new is None or abs(max(new, 0.0) - max(old, 0.0)) < least:
        return 0
    return 1 if new > old else -1


def _way(signs: Iterable[int]) -> str:
    """One word for what got worse (1) and better (-1)."""
    found = {sign for sign in signs if sign}
    if len(found) > 1:
        return "mixed"
    return {1: "worse", -1: "better"}.get(found.pop(), "alike") if found else "alike"


def _paired(
    before: Sequence[Row],
    after: Sequence[Row],
    key: Callable[[Row], tuple[str, ...]],
    told: Callable[[Row, Row], tuple[list[str], list[int]]],
) -> Iterable[dict[str, Any]]:
    """Rows that both have, with what changed in words."""
    old = _by(before, key)
    for name, new in _by(after, key).items():
        if name in old:
            words, signs = told(old[name], new)
            yield {**_told(new), "words": words, "change": _way(signs)}


def _told(row: Row) -> dict[str, Any]:
    kept = ("component", "person", "step", "step_words", "method")
    return {key: row[key] for key in kept if key in row}


HOLDS = {True: "holds", False: "does not hold", None: "nobody can tell whether it holds"}
RANK = {True: 0, None: 1, False: 2}


def _failure(old: Row, new: Row) -> tuple[list[str], list[int]]:
    words, signs = [], []
    if old["holds"] != new["holds"]:
        words.append(f"{HOLDS[old['holds']]} before, {HOLDS[new['holds']]} now: {new['why']}")
        signs.append(1 if RANK[new["holds"]] > RANK[old["holds"]] else -1)
    if old["independent"] != new["independent"]:
        words.append("shared by both lines now" if old["independent"] else "no longer shared")
        signs.append(1 if old["independent"] else -1)
    for key, unit, scale, least in FIGURES:
        sign = _grown(old[key], new[key], least)
        if sign:
            what = key.partition("_")[0]
            before, now = (f"{row[key] / scale:.1f} {unit}" for row in (old, new))
            words.append(f"{what} {before} before, {now} now")
            signs.append(sign)
    above, below = above_limits(new), above_limits(old)
    words += [f"above its limit: {text}" for text in above if above and not below]
    return words, signs


def _rescue(old: Row, new: Row) -> tuple[list[str], list[int]]:
    if old["possible"] != new["possible"]:
        why = f": {new['why']}" if new["why"] else ""
        said = "possible now" if new["possible"] else f"not possible any more{why}"
        return [said], [-1 if new["possible"] else 1]
    words, signs = [], []
    for what in ("reach", "release", "ground"):
        key = f"{what}_p95_s"
        sign = _grown(old[key], new[key], TIME_S)
        if sign:
            times = " before, ".join(_clock(row[key]) for row in (old, new))
            words.append(f"{what} {times} now")
            signs.append(sign)
        if new["within"][what] is False and old["within"][what] is not False:
            words.append(f"{what} above its limit now")
            signs.append(1)
    return words, signs


def _clock(time_s: float) -> str:
    return f"{round(time_s) // 60}:{round(time_s) % 60:02d}"


def _by(rows: Sequence[Row], key: Callable[[Row], tuple[str, ...]]) -> dict[tuple[str, ...], Row]:
    return {key(row): row for row in rows}


def _names(row: Row) -> tuple[str, ...]:
    return tuple(row["names"])


def _where(row: Row) -> tuple[str, ...]:
    return row["component"], row["person"]


def _place(row: Row) -> tuple[str, ...]:
    return row["person"], row["method"], row["step_words"]
