"""What a revision of a procedure changes: the same faults, the same components, side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import isfinite
from typing import TypeVar

from edgewear.findings.difference import (
    Alike,
    Both,
    Difference,
    FailureChange,
    FateChange,
    FaultChange,
    LevelChange,
    RescueChange,
    StatusChange,
)
from edgewear.findings.failure import Failure
from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.faults import FaultRow
from edgewear.findings.procedure import Findings
from edgewear.findings.rescue import STAGES, PlaceRescue, Rescue
from edgewear.terms import LEVELS

NOTED = {"margin_lost": 0.01, "p_core_visible": 0.02, "time_to_act_s": 5.0}
"""Changes smaller than this count as none: a point of sheath, two in a hundred trials, 5 s."""

DROP_M, SWING_M, PEAK_N = 0.1, 0.3, 100.0
"""By how much a drop [m], a swing [m], a peak [N] must change to be told."""

TIME_S = 30.0
"""So much must a rescue's time change to be told [s]."""

Row = TypeVar("Row")


def difference(before: Findings, after: Findings) -> Difference:
    """Compare the revision that was with the one that is to be.

    Returns:
        Faults, single failures (the worst step of each component), rescues and statuses that
        changed, each with `change` ("worse", "better" or "mixed"); faults that only one revision
        has; how many are alike.
    """
    first, second = _by(before.faults, _names), _by(after.faults, _names)
    faults = tuple(_fault(first[names], row) for names, row in second.items() if names in first)
    failed = list(_failures(before.worst_failures, after.worst_failures))
    rescued = list(_rescues(before.rescues, after.rescues))
    return Difference(
        titles=(before.title, after.title),
        revisions=_revisions(before, after),
        status=_status(before.status, after.status),
        edge_levels=_levels(before.edge_levels, after.edge_levels),
        fates=tuple(_fates(_every(before), _every(after))),
        faults=faults,
        only_before=tuple(names for names in first if names not in second),
        only_after=tuple(names for names in second if names not in first),
        single_failures=tuple(row for row in failed if row.change != "alike"),
        rescues=tuple(row for row in rescued if row.change != "alike"),
        components_only_before=_missing(before.worst_failures, after.worst_failures),
        components_only_after=_missing(after.worst_failures, before.worst_failures),
        alike=Alike(
            sum(row.change == "alike" for row in faults),
            sum(row.change == "alike" for row in failed),
            sum(row.change == "alike" for row in rescued),
        ),
        p_core_visible_without_faults=(
            before.without_faults.p_core_visible,
            after.without_faults.p_core_visible,
        ),
    )


def _revisions(before: Findings, after: Findings) -> tuple[str, str]:
    """What to call the two: their revision, else their title, else the order given."""
    if before.revision and after.revision and before.revision != after.revision:
        return f"revision {before.revision}", f"revision {after.revision}"
    if before.title and after.title and before.title != after.title:
        return repr(before.title), repr(after.title)
    return "the first file", "the second file"


def _status(before: Sequence[str], after: Sequence[str]) -> tuple[StatusChange, ...]:
    return (
        *(StatusChange(s, "is new", "worse") for s in after if s not in before),
        *(StatusChange(s, "is gone", "better") for s in before if s not in after),
    )


def _levels(before: Mapping[str, str], after: Mapping[str, str]) -> tuple[LevelChange, ...]:
    """Edges whose level of control changed."""
    return tuple(
        LevelChange(
            edge,
            f"{before[edge]} before, {level} now",
            "worse" if LEVELS.index(level) > LEVELS.index(before[edge]) else "better",
        )
        for edge, level in after.items()
        if before.get(edge, level) != level
    )


def _missing(rows: Sequence[Failure], others: Sequence[Failure]) -> tuple[str, ...]:
    """Components of one revision that the other does not have."""
    there = {_where(row) for row in others}
    return tuple(f"{r.called} ({r.person})" for r in rows if _where(r) not in there)


def _fault(old: FaultRow, new: FaultRow) -> FaultChange:
    """A fault that both know: both figures of each, which of them changed, and which way."""
    core_s, act_s = (
        Both((old.fault_to_core_visible_s.p5, new.fault_to_core_visible_s.p5)),
        Both((old.time_to_act_s.p5, new.time_to_act_s.p5)),
    )
    more = {
        "margin_lost": _grown(old.margin_lost, new.margin_lost, NOTED["margin_lost"]),
        "p_core_visible": _grown(old.p_core_visible, new.p_core_visible, NOTED["p_core_visible"]),
        "time_to_act_s": _grown(act_s.p5[1], act_s.p5[0], NOTED["time_to_act_s"]),
        "seen_by": (new.seen_by is None) - (old.seen_by is None),
    }
    return FaultChange(
        names=new.names,
        margin_lost=(old.margin_lost, new.margin_lost),
        p_core_visible=(old.p_core_visible, new.p_core_visible),
        seen_by=(old.seen_by, new.seen_by),
        fault_to_core_visible_s=core_s,
        time_to_act_s=act_s,
        changed=tuple(name for name, way in more.items() if way),
        change=_way(more.values()),
    )


def _grown(old: float | None, new: float | None, least: float) -> int:
    """1 where a figure grew by so much, -1 where it fell by so much."""
    if old is None or new is None or old == new or abs(max(new, 0.0) - max(old, 0.0)) < least:
        return 0
    return 1 if new > old else -1


def _way(signs: Iterable[int]) -> str:
    """One word for what got worse (1) and better (-1)."""
    found = {sign for sign in signs if sign}
    if len(found) > 1:
        return "mixed"
    return {1: "worse", -1: "better"}.get(found.pop(), "alike") if found else "alike"


def _failures(before: Sequence[Failure], after: Sequence[Failure]) -> Iterator[FailureChange]:
    old = _by(before, _where)
    for row in after:
        if _where(row) in old:
            words, signs = _failure(old[_where(row)], row)
            yield FailureChange(
                row.component, row.person, row.step, row.step_words, words, _way(signs), row.called
            )


def _fates(before: Sequence[Fates], after: Sequence[Fates]) -> Iterator[FateChange]:
    """Whoever is worse or better off, by how grave their fate is."""
    old = {_key(one): {fate.person: fate for fate in one.people} for one in before}
    for one in after:
        for fate in one.people:
            was = old.get(_key(one), {}).get(fate.person)
            if was is not None and was.harm != fate.harm:
                words = f"{_end(was)} before, {_end(fate)} now"
                change = "worse" if fate.harm > was.harm else "better"
                yield FateChange(one.names, fate.person, words, change)


def _every(found: Findings) -> tuple[Fates, ...]:
    """What becomes of people with each fault, and with none."""
    return found.fates_without_faults, *found.fates


def _key(one: Fates) -> tuple[tuple[str, ...], str, int, str]:
    return one.names, one.person, one.step, one.inside


def _end(fate: Fate) -> str:
    if fate.end is not End.HANGS:
        hung = f"hangs still for {_clock(fate.still.p95_s)}, " if fate.still else ""
        late = ", above a limit" if fate.is_late else ""
        return f"{hung}{fate.how}{late}"
    if fate.rescue is None:
        why = f" ({'; '.join(fate.missing)})" if fate.missing else ""
        return f"{fate.end.value}, no rescue shown{why}"
    down = fate.rescue.careful_s("ground")
    by = f" by {fate.rescue.rescuer}" if fate.rescue.rescuer else ""
    when = "" if down is None else f", down by {_clock(down)}"
    late = ", above a limit" if fate.is_late else ""
    return f"{fate.end.value}, {fate.rescue.method}{by}{when}{late}"


def _rescues(before: Sequence[PlaceRescue], after: Sequence[PlaceRescue]) -> Iterator[RescueChange]:
    """The quickest way from each place of work that both have."""
    old = _by(before, _place)
    for row in _by(after, _place).values():
        if _place(row) in old:
            words, signs = _rescue(old[_place(row)].ways[0], row.ways[0])
            yield RescueChange(row.person, row.step, row.step_words, words, _way(signs))


Told = tuple[tuple[str, ...], list[int]]
"""What changed in words, and which way each: 1 worse, -1 better."""

HOLDS = {True: "holds", False: "does not hold", None: "nobody can tell whether it holds"}
BEST_FIRST = (True, None, False)


def _failure(old: Failure, new: Failure) -> Told:
    words, signs = [], []
    if old.holds != new.holds:
        words.append(f"{HOLDS[old.holds]} before, {HOLDS[new.holds]} now: {new.why}")
        signs.append(1 if BEST_FIRST.index(new.holds) > BEST_FIRST.index(old.holds) else -1)
    if old.independent != new.independent:
        words.append("shared by both lines now" if old.independent else "no longer shared")
        signs.append(1 if old.independent else -1)
    for what, told, least, before, now in (
        ("drop at its careful end", _metres, DROP_M, old.longest_drop_m, new.longest_drop_m),
        ("swing", _metres, SWING_M, old.swing_m, new.swing_m),
        ("peak at its careful end", _kilonewtons, PEAK_N, old.peak_careful_n, new.peak_careful_n),
    ):
        sign = _grown(before, now, least)
        if sign and before is not None and now is not None:
            words.append(f"{what} {told(before)} before, {told(now)} now")
            signs.append(sign)
    if not old.above:
        words += [f"above its limit: {one.words}" for one in new.above]
        signs += [1] * len(new.above)
    return tuple(words), signs


def _metres(length_m: float) -> str:
    return f"{length_m:.1f} m" if isfinite(length_m) else "without end"


def _kilonewtons(peak_n: float) -> str:
    return f"{peak_n / 1e3:.1f} kN"


def _rescue(old: Rescue, new: Rescue) -> Told:
    if old.shown != new.shown:
        why = f": {new.why}" if new.why else ""
        said = f"shown now, {new.method}" if new.shown else f"no rescue shown any more{why}"
        return (said,), [-1 if new.shown else 1]
    words, signs = [], []
    for stage in STAGES:
        before, now = old.careful_s(stage), new.careful_s(stage)
        sign = _grown(before, now, TIME_S)
        if sign and before is not None and now is not None:
            words.append(f"{stage} {_clock(before)} before, {_clock(now)} now")
            signs.append(sign)
    for stage in new.late:
        if stage not in old.late:
            words.append(f"{stage} above its limit now")
            signs.append(1)
    return tuple(words), signs


def _clock(time_s: float) -> str:
    return f"{round(time_s) // 60}:{round(time_s) % 60:02d}"


def _by(rows: Sequence[Row], key: Callable[[Row], tuple[str, ...]]) -> dict[tuple[str, ...], Row]:
    return {key(row): row for row in rows}


def _names(row: FaultRow) -> tuple[str, ...]:
    return row.names


def _where(row: Failure) -> tuple[str, ...]:
    return row.component, row.person


def _place(row: PlaceRescue) -> tuple[str, ...]:
    return row.person, row.step_words
