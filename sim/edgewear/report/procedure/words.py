"""Single failures, faults and rescues in words and cells, for terminal and page alike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from edgewear.findings.failure import Failure
from edgewear.findings.faults import Baseline, FaultRow, Rate
from edgewear.findings.limits import Figure
from edgewear.report.parts import words

FAILURE = ("if this failed", "step", "holds", "over", "drop", "swing", "peak")
FAULT = ("fault", "sheath lost", "core shows", "to core", "to act", "seen")
"""Headings of the tables."""

TIMES = (
    "To core: from the fault to the core showing. To act: from somebody seeing it to the core "
    "showing. Minutes and seconds; one trial in twenty is quicker. A dash: that one is among "
    "trials that never showed the core. Of two faults, what somebody sees before the second came "
    "counts as seen, but not as time to act on both."
)
NO_COST = "No fault would leave anybody hanging or cost any sheath in these trials."
ABOVE = (
    "Drops and peaks at their careful end; the middles are in the document (--json). One with '!' "
    "is above its limit; what it is, and what else to mind:"
)
HOLDS = {True: "yes", False: "NO", None: "not known"}


class Cell(NamedTuple):
    """A cell of a table, and whether it must catch the eye."""

    text: str
    grave: bool = False


def cells(*texts: str) -> list[Cell]:
    """Cells that need not catch the eye."""
    return [Cell(text) for text in texts]


def _marked(text: str, above: bool) -> Cell:
    above = above and text != words.NOTHING
    return Cell(text + "!" * above, above)


def minded(rows: Sequence[Failure]) -> list[tuple[str, str]]:
    """What to mind of single failures, in words, with the components it holds for."""
    said: dict[tuple[str, str], list[str]] = {}
    for row in rows:
        texts = [one.words for one in row.beyond]
        if row.holds is not True or not row.independent:
            texts.insert(0, row.why)
        if row.holds is not False and not row.reachable:
            texts.append(f"hangs {words.metres(row.swing_m)} aside, out of reach from above")
        if texts:
            where = f"{row.person}, step {row.step}"
            said.setdefault((where, "; ".join(texts)), []).append(row.called)
    return [(f"{where} ({', '.join(names)})", text) for (where, text), names in said.items()]


def failure(row: Failure) -> list[Cell]:
    """Cells of a single failure, as `FAILURE`."""
    holds = HOLDS[row.holds] if row.independent else f"{HOLDS[row.holds]}, shared"
    return [
        *cells(row.called, str(row.step)),
        Cell(holds, row.holds is False),
        Cell(row.over_edge or "no edge"),
        _marked(words.metres(row.drop_careful_m), row.is_above(Figure.DROP)),
        Cell(words.metres(row.swing_m)),
        _marked(
            words.kilonewtons(row.peak_careful_n),
            row.is_above(Figure.PEAK) or row.is_above(Figure.TEAR),
        ),
    ]


def cost(row: FaultRow) -> str:
    """Say what a fault would cost."""
    lost = f"{points(row.margin_lost)} of the sheath would go"
    people = fallen(row) or ["nobody would hang in need of a rescue or fall"]
    told = [*people, lost, f"the core would show in {trials(row)}", seen(row)]
    return "; ".join(told)


def fallen(row: FaultRow) -> list[str]:
    """Say in how many trials nothing held, somebody was left hanging or a line parted."""
    found = []
    for share, what in (
        (row.p_nothing_holds, "nothing would hold"),
        (row.p_left_hanging, "somebody would hang and need a rescue"),
        (row.p_parted, "a line would part"),
    ):
        count = round((share or 0.0) * row.trials)
        if count:
            found.append(f"{what} in {count} of {row.trials} trials")
    return found


def trials(row: FaultRow) -> str:
    """In how many trials the core would show; none of N tells no more than "below 3/N"."""
    share, many = row.p_core_visible, row.trials
    if share is None:
        return "no trial"
    count = round(share * many)
    if count == 0:
        return f"none of {many} trials" + (f" (below 3/{many})" if many > 3 else "")
    if count == many:
        return f"all {many} trials" if many > 1 else "the one trial"
    return f"{count} of {many} trials"


def seen(row: FaultRow) -> str:
    """Say who would see a fault."""
    if row.seen_by is None:
        return f"nobody would see {'either' if len(row.names) > 1 else 'it'}"
    said = f"seen by {row.seen_by}, in {words.percent(row.seen_share)} of trials"
    before = (row.seen_share or 0.0) - (row.seen_after_share or 0.0)
    if before <= 0.0:
        return said
    some = "" if row.seen_after_share == 0.0 else f" in {words.percent(before)} of them all"
    return f"{said}, but{some} only the first, before the second came: nobody would see that one"


def fault(row: FaultRow) -> list[Cell]:
    """Cells of a fault or a pair, as `FAULT`."""
    names = " + ".join(row.names)
    if row.trials == 0 or row.p_core_visible is None:
        return cells(names, *[words.NOTHING] * (len(FAULT) - 1))
    return cells(
        names,
        points(row.margin_lost),
        words.chance(row.p_core_visible, row.trials),
        clock(row.fault_to_core_visible_s.p5),
        clock(row.time_to_act_s.p5),
        "nobody" if row.seen_by is None else words.percent(row.seen_share),
    )


LEAST = 0.01
"""Less of the sheath than that is told as less [1]."""


def points(share: float | None) -> str:
    """Share of the sheath that goes; 1 is all of it, None: no trial.

    Never 0 %: what a fault does to people, or what nobody sees, stands in other columns.
    """
    if share is None:
        return words.NOTHING
    return words.percent(max(share, 0.5 * LEAST))


def clock(time_s: float | None) -> str:
    """A time in minutes and seconds; None: never."""
    return words.NOTHING if time_s is None else words.clock(time_s)


def probability(row: Rate) -> str:
    """A probability with its interval; what no trial showed has an upper end alone."""
    if row.p == 0.0:
        return f"below {row.high:.2g}"
    return f"{row.p:.2g}, between {row.low:.2g} and {row.high:.2g}"


def rate(row: Rate) -> str:
    """Say how likely an outcome is with the rates given, and who gave them."""
    through = "; ".join(f"{name} ({one.source})" for name, one in row.through.items())
    return (
        f"{row.what}: {probability(row)} ({words.percent(row.confidence)} confidence, "
        f"{row.trials} trials); rates: {through}"
    )


def together(names: Sequence[str]) -> str:
    """Name a fault, or a pair so that nobody takes it for two single ones."""
    said = " and ".join(f"'{name}'" for name in names)
    return f"{said} together" if len(names) > 1 else said


def without_any(plan: Baseline) -> list[str]:
    """Say where the core shows with no fault too, so that no fault is taken for its cause."""
    if not plan.p_core_visible:
        return []
    shows = round(plan.p_core_visible * plan.trials)
    return [f"With no fault at all the core shows in {shows} of {plan.trials} trials."]


def left_out(rows: Sequence[FaultRow]) -> list[str]:
    """Say which faults and pairs did not come about, and how many trials failed."""
    said = []
    never = [together(row.names) for row in rows if row.did_not_come and not row.trials]
    if never:
        said.append(f"Did not come about in this procedure: {'; '.join(never)}.")
    failed = sum(row.failed for row in rows)
    if failed:
        said.append(f"{failed} trials could not be computed and are left out.")
    return said
