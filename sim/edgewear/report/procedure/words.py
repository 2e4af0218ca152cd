"""Single failures, faults and rescues in words and cells, for terminal and page alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from edgewear.report.parts import words
from edgewear.report.terminal.difference import component

Row = Mapping[str, Any]

FAILURE = ("if this failed", "step", "holds", "over", "drop", "swing", "peak")
FAULT = ("fault", "sheath lost", "core shows", "to core", "to act", "seen")
RESCUE = ("from", "how", "load", "hands", "reach", "release", "ground")
"""Headings of the tables."""

TIMES = (
    "To core: from the fault to the core showing. To act: from somebody seeing it to the core "
    "showing. Minutes and seconds; one trial in twenty is quicker. A dash: that one is among "
    "trials that never showed the core."
)
RESCUE_TIMES = (
    "Times since the call: 19 of 20 such rescues are quicker; the middle is in the document "
    "(--json). A time with '!' is above the limit that the scenario sets. Hands: the pull before "
    "losses of the haul system."
)
ABOVE = "A drop or peak with '!' is above its limit; what it is, and what else to mind:"


def minded(rows: Sequence[Row]) -> list[tuple[str, str]]:
    """What to mind of single failures, in words, with the components it holds for.

    Parameters:
        rows: those shown.
    """
    said: dict[tuple[str, str], list[str]] = {}
    for row in rows:
        texts = list(row.get("beyond", ()))
        if row["holds"] is not True or not row["independent"]:
            texts.insert(0, row["why"])
        if row["holds"] is not False and not row.get("reachable", True):
            texts.append(f"hangs {words.metres(row['swing_m'])} aside, out of reach from above")
        if texts:
            where = f"{row['person']}, step {row['step']}"
            said.setdefault((where, "; ".join(texts)), []).append(component(row))
    return [(f"{where} ({', '.join(names)})", text) for (where, text), names in said.items()]


def failure(row: Row) -> list[str]:
    """Cells of a single failure, as `FAILURE`.

    Parameters:
        row: of single failures.
    """
    holds = {True: "yes", False: "NO", None: "not known"}[row["holds"]]
    beyond = " ".join(row.get("beyond", ()))
    return [
        component(row),
        str(row["step"]),
        holds if row["independent"] else f"{holds}, shared",
        str(row["over_edge"] or "no edge"),
        words.metres(row["drop_m"]) + "!" * ("drop of" in beyond),
        words.metres(row["swing_m"]),
        words.kilonewtons(row["peak_n"]) + "!" * ("peak of" in beyond),
    ]


def cost(row: Row) -> str:
    """Say what a fault would cost.

    Parameters:
        row: of faults.
    """
    lost = f"{points(row['margin_lost'])} of the sheath would go"
    told = [*fallen(row), lost, f"the core would show in {trials(row)}", seen(row)]
    return "; ".join(told)


def fallen(row: Row) -> list[str]:
    """Say in how many trials a line parted or nothing held any more; nothing where in none.

    Parameters:
        row: of faults.
    """
    found = []
    for key, what in (("p_nothing_holds", "nothing would hold"), ("p_parted", "a line would part")):
        count = round((row.get(key) or 0.0) * row["trials"])
        if count:
            found.append(f"{what} in {count} of {row['trials']} trials")
    return found


def trials(row: Row) -> str:
    """In how many trials the core would show; none of N tells no more than "below 3/N".

    Parameters:
        row: of faults.
    """
    share, many = row["p_core_visible"], row["trials"]
    if share is None:
        return "no trial"
    count = round(share * many)
    if count == 0:
        return f"none of {many} trials" + (f" (below 3/{many})" if many > 3 else "")
    if count == many:
        return f"all {many} trials" if many > 1 else "the one trial"
    return f"{count} of {many} trials"


def seen(row: Row) -> str:
    """Say who would see a fault.

    Parameters:
        row: of faults.
    """
    if row["seen_by"] is None:
        return "nobody would see it"
    return f"seen by {row['seen_by']}, in {words.percent(row['seen_share'])} of trials"


def fault(row: Row) -> list[str]:
    """Cells of a fault or a pair, as `FAULT`.

    Parameters:
        row: of faults.
    """
    names = " + ".join(row["names"])
    if row["trials"] == 0:
        return [names, *[words.NOTHING] * (len(FAULT) - 1)]
    return [
        names,
        points(row["margin_lost"]),
        words.chance(row["p_core_visible"], row["trials"]),
        clock(row["fault_to_core_visible_s"]["p5"]),
        clock(row["time_to_act_s"]["p5"]),
        "nobody" if row["seen_by"] is None else words.percent(row["seen_share"]),
    ]


def points(share: float | None) -> str:
    """Share of the sheath that goes.

    Parameters:
        share: 1 is all of it; None: no trial.
    """
    return words.NOTHING if share is None else f"{100 * max(share, 0.0):.0f} %"


def clock(time_s: float | None) -> str:
    """A time in minutes and seconds.

    Parameters:
        time_s: [s]; None: never.
    """
    return words.NOTHING if time_s is None else words.clock(time_s)


def probability(row: Row) -> str:
    """A probability with its interval; what no trial showed has an upper end alone.

    Parameters:
        row: of rates.
    """
    if row["p"] == 0.0:
        return f"below {row['high']:.2g}"
    return f"{row['p']:.2g}, between {row['low']:.2g} and {row['high']:.2g}"


def rate(row: Row) -> str:
    """Say how likely an outcome is with the rates given, and who gave them.

    Parameters:
        row: of rates.
    """
    through = "; ".join(f"{n} ({w['source']})" for n, w in row["through"].items())
    return (
        f"{row['what']}: {probability(row)} ({words.percent(row['confidence'])} confidence, "
        f"{row['trials']} trials); rates: {through}"
    )


def rescue(row: Row) -> list[str]:
    """Cells of a rescue, as `RESCUE`.

    Parameters:
        row: of rescues.
    """
    return [
        f"{row['person']}, step {row['step']}",
        row["method"],
        words.kilograms(row["load_kg"]),
        words.kilonewtons(row["hands_n"]) if row["hands_n"] else words.NOTHING,
        *(_limited(row, word) for word in ("reach", "release", "ground")),
    ]


def _limited(row: Row, word: str) -> str:
    time_s = row.get(f"{word}_p95_s")
    if time_s is None:
        return words.NOTHING
    return words.clock(time_s) + ("!" if row["within"][word] is False else "")


def rescue_problems(rows: Sequence[Row]) -> list[str]:
    """Say which rescues cannot be done, and where one would show a core.

    Parameters:
        rows: rescues.
    """
    said = []
    for row in rows:
        place = f"{row['person']}, step {row['step']}"
        if not row["possible"]:
            said.append(f"{place}: no {row['method']}: {row['why']}")
        said += [
            f"{row['method']} of {place}: the core of {edge['line']} would show at {edge['edge']}"
            for edge in row["wear"]
            if edge["demand"] >= 1.0
        ]
    return said


def left_out(rows: Sequence[Row]) -> list[str]:
    """Say which faults did not come about, and how many trials failed.

    Parameters:
        rows: faults and pairs.
    """
    said = []
    never = [" and ".join(r["names"]) for r in rows if r["did_not_come"] and not r["trials"]]
    if never:
        said.append(f"Did not come about in this procedure: {'; '.join(never)}.")
    failed = sum(row["failed"] for row in rows)
    if failed:
        said.append(f"{failed} trials could not be computed and are left out.")
    return said
