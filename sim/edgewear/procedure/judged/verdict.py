"""The list that stands first: what does not hold, what is not known, what is above a limit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from edgewear.findings.failure import Failure
from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.limits import AboveLimit
from edgewear.findings.rescue import STAGES, PlaceRescue, Rescue
from edgewear.findings.verdict import GRAVEST_FIRST, Held, Point


def points(
    worst: Sequence[Failure], fates: Sequence[Fates], rescues: Sequence[PlaceRescue]
) -> tuple[Point, ...]:
    """Everything that is held against a procedure, the gravest first, each once.

    Parameters:
        worst: each component at its worst step.
        fates: with each fault alone, each pair, each fault at each step.
        rescues: from each place of work.
    """
    alone = [one for one in fates if one.came and len(one.names) == 1 and not one.step]
    more = [one for one in fates if one.came and one not in alone and one.names]
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
                usual = not isinstance(above, AboveLimit) or above.usual
                key = Held.ABOVE, row.person, row.step, above.words, usual
                alike.setdefault(key, []).append(row.called)
    for (held, person, step, words, usual), called in alike.items():
        yield Point(
            held, f"{person}, step {step}, if this failed: {', '.join(called)}", words, usual
        )


def _fated(every: Iterable[Fates]) -> Iterator[Point]:
    for one in every:
        for fate in one.people:
            yield from _fate(f"{fate.person}, with {one.names[0]!r}", fate)


def _fate(where: str, fate: Fate) -> Iterator[Point]:
    if fate.end is not End.FALLS and fate.catch_holds is not True:
        held = Held.NO if fate.catch_holds is False else Held.NOT_KNOWN
        yield Point(held, where, f"caught: {fate.catch_why}")
    if fate.end is End.FALLS:
        yield Point(Held.FALLS, where, "nothing holds")
    elif fate.end is End.HANGS and fate.rescue is None:
        yield Point(Held.HANGS, where, "; ".join(fate.missing))
    elif fate.rescue is not None:
        yield from _late(where, fate.rescue)


def _late(where: str, way: Rescue) -> Iterator[Point]:
    late = [stage for stage in STAGES if way.keeps(stage) is False]
    if late:
        yield Point(Held.ABOVE, where, f"rescued too late: {', '.join(late)}")


def _further(every: Sequence[Fates]) -> Iterator[Point]:
    """Pairs, and faults at each step: how many leave somebody so, one line each."""
    for what, some in (
        ("two faults at once", [one for one in every if not one.step]),
        ("one fault at another step", [one for one in every if one.step]),
    ):
        for held, grave, how in (
            (Held.FALLS, 5, ""), (Held.HANGS, 4, ""), (Held.ABOVE, 3, "rescued too late "),
        ):  # fmt: skip
            for person, count in _counted(some, grave).items():
                words = f"{how}in {count} of {len(some)} that came about"
                yield Point(held, f"{person}, with {what}", words, times=count)


def _counted(some: Sequence[Fates], grave: int) -> dict[str, int]:
    found: dict[str, int] = {}
    for one in some:
        for fate in one.people:
            if fate.gravity == grave:
                found[fate.person] = found.get(fate.person, 0) + 1
    return found


def _placed(rows: Iterable[PlaceRescue]) -> Iterator[Point]:
    for one in rows:
        where = f"{one.person}, unable to act at step {one.step} ({one.step_words})"
        shown = [way for way in one.ways if way.shown]
        if not shown:
            yield Point(Held.HANGS, where, "; ".join(way.why for way in one.ways))
        elif all(any(way.keeps(stage) is False for stage in STAGES) for way in shown):
            yield from _late(where, shown[0])
