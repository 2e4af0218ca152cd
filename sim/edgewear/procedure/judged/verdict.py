"""The list that stands first: what does not hold, what is not known, what is above a limit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from edgewear.findings.failure import Failure
from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.limits import AboveLimit, Beyond
from edgewear.findings.rescue import STAGES, PlaceRescue, Rescue, hangs_too_long
from edgewear.findings.verdict import GRAVEST_FIRST, Held, Point


def points(
    worst: Sequence[Failure], fates: Sequence[Fates], rescues: Sequence[PlaceRescue]
) -> tuple[Point, ...]:
    """Everything that is held against a procedure, the gravest first, each once.

    Parameters:
        worst: each component at its worst step.
        fates: with no fault, each fault alone, each pair, each fault at each step.
        rescues: from each place of work.
    """
    alone = [one for one in fates if one.came and len(one.names) < 2 and not one.step]
    more = [one for one in fates if one.came and one not in alone]
    found = dict.fromkeys([*_failed(worst), *_fated(alone), *_further(more), *_placed(rescues)])
    return tuple(sorted(found, key=lambda point: GRAVEST_FIRST.index(point.held)))


def _failed(rows: Iterable[Failure]) -> Iterator[Point]:
    """Single failures; what fails alike at one step in one line."""
    alike: dict[tuple[Held, str, int, str, bool], list[str]] = {}
    for row in rows:
        if row.holds is not True:
            held = Held.NO if row.holds is False else Held.NOT_KNOWN
            key = held, row.person, row.step, row.why, False
            alike.setdefault(key, []).append(row.called)
        for above in row.beyond:
            if row.holds is not False:  # off its protection: told, and decides nothing by itself
                held, words, usual = _beyond(above)
                key = held, row.person, row.step, words, usual
                alike.setdefault(key, []).append(row.called)
    for (held, person, step, words, usual), called in alike.items():
        yield Point(
            held, f"{person}, step {step}, if this failed: {', '.join(called)}", words, usual
        )


def _beyond(above: Beyond) -> tuple[Held, str, bool]:
    """What a catch is more than it should be: no limit is passed by leaving the protection."""
    if isinstance(above, AboveLimit):
        return Held.ABOVE, above.words, above.usual
    return Held.SWINGS_OFF, above.places, True


def _fated(every: Iterable[Fates]) -> Iterator[Point]:
    for one in every:
        for fate in one.people:
            cause = f"with {one.names[0]!r}" if one.names else "with no fault at all"
            yield from _fate(f"{fate.person}, {cause}", fate)


def _fate(where: str, fate: Fate) -> Iterator[Point]:
    if fate.as_without:  # it is held against the plan, once
        return
    if fate.end is not End.FALLS and fate.catch_holds is not True:
        held = Held.NO if fate.catch_holds is False else Held.NOT_KNOWN
        yield Point(held, where, f"caught: {fate.catch_why}")
    if fate.end is End.PLAN and fate.lost and fate.catch_holds is not False:
        yield Point(Held.LOST, where, _lost(fate))
    if too_long := hangs_too_long(fate.still):
        yield Point(Held.ABOVE, where, too_long)
    if fate.end is End.FALLS:
        yield Point(Held.FALLS, where, "nothing holds")
    elif fate.end is End.HANGS and fate.rescue is None:
        yield Point(Held.HANGS, where, "; ".join(fate.missing), rescue=True)
    elif fate.rescue is not None:
        yield from _late(where, fate.rescue)


def _lost(fate: Fate) -> str:
    """Say what is wrong with the lines of somebody who goes on all the same."""
    failed = [line for line in fate.lost if line not in fate.showing]
    said = [f"{' and '.join(failed)} would not hold"] if failed else []
    said += [f"the core of {' and '.join(fate.showing)} shows"] if fate.showing else []
    return "; ".join(said)


def _late(where: str, way: Rescue) -> Iterator[Point]:
    late = [stage for stage in STAGES if stage in way.late]
    told = [f"rescued too late: {', '.join(late)}"] if late else []
    told += [way.hangs_too_long] if way.hangs_too_long else []
    if told:
        yield Point(Held.ABOVE, where, "; ".join(told), rescue=True)


def _further(every: Sequence[Fates]) -> Iterator[Point]:
    """Pairs, and faults at each step: in how many somebody ends so, and why, one line each."""
    for what, some in (
        ("two faults at once", [one for one in every if not one.step]),
        ("one fault at another step", [one for one in every if one.step]),
    ):
        found: dict[tuple[Held, str, bool], list[tuple[str, str]]] = {}
        for one in some:
            for fate in one.people:
                for point in _fate(_case(one), fate):
                    key = point.held, fate.person, point.rescue
                    found.setdefault(key, []).append((point.where, point.words))
        for (held, person, rescue), cases in found.items():
            words = f"in {len(cases)} of {len(some)} that came about: {_reasons(cases)}"
            where = f"{person}, with {what}"
            yield Point(held, where, words, times=len(cases), rescue=rescue)


def _case(one: Fates) -> str:
    names = " and ".join(map(repr, one.names))
    return f"{names}, {one.at}" if one.at else names


TOLD = 3
"""So many reasons are told for one person who ends badly in many cases, the commonest first."""


def _reasons(cases: Sequence[tuple[str, str]]) -> str:
    """Say in which cases, and why; those alike in why together.

    Parameters:
        cases: which, and why.
    """
    alike: dict[str, list[str]] = {}
    for case, why in cases:
        alike.setdefault(why, []).append(case)
    common = sorted(alike.items(), key=lambda item: -len(item[1]))
    told = [f"{_few(some)} ({why})" for why, some in common[:TOLD]]
    left = sum(len(some) for _, some in common[TOLD:])
    return "; ".join(told) + (f"; {left} more" if left else "")


def _few(cases: Sequence[str]) -> str:
    more = len(cases) - 1
    return cases[0] + (f" and {more} more" if more else "")


def _placed(rows: Iterable[PlaceRescue]) -> Iterator[Point]:
    for one in rows:
        where = f"{one.person}, unable to act at step {one.step} ({one.step_words})"
        shown = [way for way in one.ways if way.shown]
        if not shown:
            yield Point(Held.HANGS, where, "; ".join(way.lacking for way in one.ways), rescue=True)
        elif all(way.late for way in shown):
            yield from _late(where, shown[0])
