"""What the rigging itself says of an option: loads, drop and swing, rope lengths, independence."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from edgewear.findings.limits import room_of
from edgewear.report.formats import document as d
from edgewear.report.parts import words

CASES = ("in work", "haul", "rescue", "catch")


def cases_of(rows: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """Give the cases to make columns of: a haul only where the plan has one."""
    known = {str(row["case"]) for row in rows}
    return tuple(case for case in CASES if case != "haul" or case in known)


def blocks(facts: Mapping[str, Any]) -> list[d.Block]:
    """Give the loads as a table, and the rest in sentences.

    Parameters:
        facts: what the rigging says of an option; parts it does not say are left out.
    """
    found: list[d.Block] = []
    if facts.get("loads"):
        found.append(loads(facts["loads"]))
    sentences = [
        ("Between the lines: ", str(facts.get("independence") or "")),
        ("If the working line is lost: ", " ".join(map(transfer, facts.get("transfers", ())))),
        ("Rope: ", "; ".join(map(rope, facts.get("ropes", ())))),
    ]
    found += [
        d.Paragraph(d.run(d.Strong(title), text.rstrip(".") + "."))
        for title, text in sentences
        if text
    ]
    return (
        [d.Fold("Loads, ropes, and what a catch does", tuple(found), printed=True)] if found else []
    )


def by_anchor(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Join the loads of one anchor from one line into one row with a column a case."""
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for row in rows:
        one = found.setdefault((str(row["name"]), str(row["line"])), {**row, "cases": {}})
        one["cases"][str(row["case"])] = row["peak_n"]
        fixing = max((f for f in row.get("each_fixing_n") or () if f is not None), default=None)
        if fixing is not None:
            one["fixing_n"] = max(one.get("fixing_n", 0.0), fixing)
        if row["peak_n"] == max(one["cases"].values()):
            one["direction"] = row.get("direction")
    return list(found.values())


def loads(rows: Sequence[Mapping[str, Any]]) -> d.Table:
    """Give the loads on anchors and deviations.

    Parameters:
        rows: name, use, line, case, peak_n, direction, each_fixing_n, strength_n.
    """
    cases = cases_of(rows)
    hauled = "haul" in cases
    columns = (
        d.Column("fixed point"),
        d.Column("line"),
        *(d.Column(case, True) for case in cases),
        d.Column("each fixing", True),
        d.Column("rated", True),
        d.Column("pulls"),
    )
    joined = by_anchor(rows)
    return d.Table(
        f"Peak load on each fixed point: in work, {'hauled, ' * hauled}with a casualty taken over, "
        "in a catch",
        columns,
        tuple(_load(row, cases) for row in joined),
    )


def _load(row: Mapping[str, Any], cases: Sequence[str]) -> tuple[d.Cell, ...]:
    fixing, rated = row.get("fixing_n"), row.get("strength_n")
    return (
        d.cell(d.run(d.Name(str(row["name"])), f" ({row['use']})")),
        d.cell(d.Name(str(row["line"]))),
        *(
            d.cell(words.kilonewtons(row["cases"].get(case)), row["cases"].get(case))
            for case in cases
        ),
        d.cell(words.kilonewtons(fixing), fixing),
        d.cell(words.kilonewtons(rated), rated),
        d.cell(direction(row.get("direction"))),
    )


def direction(vector: Sequence[float] | None) -> str:
    """Say where a load points: out or back or along the face, and how far below level.

    Parameters:
        vector: unit vector out, along, up; None where it is not known.
    """
    if vector is None or not any(vector):
        return words.NOTHING
    out, along, up = vector
    below = -math.degrees(math.asin(max(-1.0, min(1.0, up))))
    if abs(below) > 80:
        return "straight down" if below > 0 else "straight up"
    across = "out" if out > 0 else "back"
    way = across if abs(out) >= abs(along) else "along the face"
    if abs(below) < 3:
        return f"{way}, level"
    return f"{way}, {abs(below):.0f}° {'below' if below > 0 else 'above'} level"


def transfer(row: Mapping[str, Any]) -> str:
    """Say what happens when a person comes onto the safety line.

    Parameters:
        row: person, line, drop_m, swing_m, peak_n, over, clearance_m; of newer datasets also
            step, with and depth_m.
    """
    over = ", ".join(map(str, row.get("over") or ())) or "no edge"
    who = " with ".join(map(str, [row["person"], *(row.get("with") or ())]))
    step = f", step {row['step']}" if row.get("step") else ""
    drop = _careful(words.metres, row["drop_m"], row.get("drop_careful_m"))
    if row.get("drop_careful_m", 0.0) is None:
        drop = "without end" if row["drop_m"] is None else f"{drop} (careful: without end)"
    peak = _careful(words.kilonewtons, row["peak_n"], row.get("peak_careful_n"))
    text = (
        f"{who}{step} drops {drop} and swings {words.metres(row['swing_m'])} onto the "
        f"{row['line']} over {over}, peak {peak}"
    )
    for below, room in (row.get("clearance_m") or {}).items():
        if room is None:
            text += f", nothing ends it above {below}"
        else:
            text += f", {room_of(room, below)}"
    return text + "."


def _careful(
    spelled: Callable[[float | None], str], middle: float | None, careful: float | None
) -> str:
    """Say a figure by the middle, with its careful end where that is known and reads otherwise."""
    if careful is None or spelled(careful) == spelled(middle):
        return spelled(middle)
    return f"{spelled(middle)} (careful {spelled(careful)})"


def mind(facts: Mapping[str, Any]) -> list[str]:
    """Give what stands beside an option's status: bare edges without one, long or hard catches."""
    return [str(text) for text in facts.get("mind", ())]


def rope(row: Mapping[str, Any]) -> str:
    """Say how much rope a line needs and has, and what stops its end.

    Parameters:
        row: line, rope, needed_m, available_m, tail_m, stopper; through_m, unless it was written
            before that was known.
    """
    end = "stopper knot" if row.get("stopper") else "no stopper knot"
    needed, available = words.metres(row["needed_m"]), words.metres(row["available_m"])
    through_m = float(row.get("through_m", 0.0))
    through = f", {words.metres(through_m)} of it above the anchor to be let out"
    return (
        f"{row['line']} takes {needed} of {available} ({row['rope']})"
        f"{through if through_m else ''}, tail {words.metres(row['tail_m'])}, {end}"
    )
