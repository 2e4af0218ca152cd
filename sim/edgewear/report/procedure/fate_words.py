"""What becomes of people, and how they are rescued, in words and cells for every output alike."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear import spelt
from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.rescue import STAGES, PlaceRescue, Rescue
from edgewear.report.parts import words
from edgewear.report.procedure.words import Cell, cells, clock

HEADS = (
    "if this happened", "who", "what becomes of them", "drop", "swing", "hangs on", "hangs from",
    "rescued by", "noticed", "reached", "released", "down",
)  # fmt: skip
"""Headings of the table of fates."""

PLACES = ("from", "how", "by", "load", "each pulls", *STAGES)
"""Headings of the table of rescues."""

NONE_SHOWN = "no rescue shown"
CORE_SHOWS = "a lost line: its core shows; stop there"
NOBODY = "nobody would drop, hang, fall or lose a line"
NOBODY_ELSE = "nobody but who does with no fault too would drop, hang, fall or lose a line"
NO_FAULT = "With no fault at all"

TIMES = (
    "Times from the fault (of two from the one that left them hanging, with none from where they "
    "begin to hang): 19 of 20 such rescues are quicker; between which ends that time lies "
    "with 95 % confidence, and the middle, are in the document (--json). '!' is above a limit "
    "that the scenario sets; hanging still is held to it until they are down, or could go on. "
    "Where a later fault ends a rescue under way, the next one begins with that fault. Whoever it "
    "finds on a pick-off hangs where they are by the middle of its times, taken evenly along their "
    "way; who hauls or lowers is found on top."
)


def happened(one: Fates) -> str:
    """Name the faults, and the step they come with."""
    names = " and ".join(one.names) or NO_FAULT.lower()
    names += " together" if len(one.names) > 1 else ""
    return f"{names}, {one.at}" if one.at else names


def fate(one: Fate) -> str:
    """Say what becomes of somebody."""
    told = [one.person, *coming(one)]
    if one.drop_m is not None and one.end is not End.FALLS:
        told.append(f"drops {words.metres(one.drop_m)}")
        if one.swing_m is not None:
            told.append(f"swings {words.metres(one.swing_m)}")
    if one.catch_holds is not True and one.end is not End.FALLS:
        told += ["drops"] if one.drop_m is None else []
        told.append(catch(one))
    told += [still(one)] if one.still else []
    if one.catch_holds is not False or one.end in (End.HANGS, End.FALLS):
        told.append(f"{one.how}{since(one)}")  # else nobody goes on, whatever the run does
    told += [in_vain(one)] if in_vain(one) else []
    if one.holds and (one.end is End.HANGS or one.holds in one.lost):
        told.append(f"on {one.holds}{f', {CORE_SHOWS}' if one.holds in one.showing else ''}")
    if less := one_line(one):
        told.append(less)
    return f"{told[0]} {', '.join(told[1:])}{rescued(one)}"


def coming(one: Fate) -> list[str]:
    """Say that somebody was rescuing another when the last fault found them."""
    if not one.coming_to:
        return []
    where = f"{words.metres(one.coming_at_m)} deep on the pick-off of {one.coming_to}"
    if one.coming_lacks:
        return [f"comes no further than {where} ({'; '.join(one.coming_lacks)})"]
    return [f"is struck {where}"]


def catch(one: Fate) -> str:
    """Say that what caught somebody does not hold, or that nobody can tell."""
    doubt = "the catch does not hold" if one.catch_holds is False else "not known whether it holds"
    return f"{doubt} ({one.catch_why})"


def one_line(one: Fate) -> str:
    """Say which lines of somebody's are lost beside the one they hang on, and how.

    They may not know of it. A line whose core shows is out of use, whatever it would still hold:
    nobody can say of it that it would not.
    """
    beside = [line for line in one.lost if line != one.holds]
    failed = [line for line in beside if line not in one.showing]
    said = [f"{' and '.join(failed)} would not hold"] if failed else []
    said += [f"{line} is lost, its core shows" for line in beside if line in one.showing]
    return f"with one line less: {' and '.join(said)}" if said else ""


def still(one: Fate) -> str:
    """Say for how long somebody hung still until they could go on, and whether that is too long."""
    if one.still is None:
        return ""
    limit = spelt.duration(one.still.limit_s)
    too_long = f"!, longer than the suspension limit of {limit}" * (one.still.keeps is False)
    return f"hangs still for {clock(one.still.p95_s)}{too_long}"


def since(one: Fate) -> str:
    """Say from when on somebody hangs still."""
    if one.end is not End.HANGS:
        return ""
    if one.hangs_from_s is None:  # with no fault
        return f" from {clock(one.hangs_at_s)} of the job on"
    return f" from {clock(one.hangs_from_s)} after the fault"


def in_vain(one: Fate) -> str:
    """Say for what somebody hangs there, whom nothing else keeps from going on; "" where not."""
    return f"waiting in vain for {one.waits_for}" * bool(one.waits_for and one.end is End.HANGS)


def rescued(one: Fate) -> str:
    """Say how somebody who hangs is rescued, or what is missing."""
    if one.end is End.ALONG:
        return f"; {STAGES[-1]} {_stage(one.rescue, STAGES[-1]).text}"
    if one.end is not End.HANGS:
        return ""
    if one.rescue is None:
        return f"; {NONE_SHOWN}: {'; '.join(one.missing)}"
    return f"; {rescue(one.rescue)}"


def rescue(row: Rescue) -> str:
    """Say who rescues somebody, how, by when."""
    if not row.shown:
        return f"{NONE_SHOWN}: {row.why}"
    stages = ", ".join(f"{stage} {_stage(row, stage).text}" for stage in STAGES)
    return f"{row.noticed_by} {row.noticed_how}; {who_comes(row)}: {stages}, {row.ends_at}"


def who_comes(row: Rescue) -> str:
    """Name the method and who carries it out, from where, and whose place they take."""
    who = " and ".join(row.hands) or row.rescuer
    ended = f", after the later fault ended the {row.instead_of}" if row.instead_of else ""
    return f"{row.method} by {who} ({row.rescuer_at}){ended}"


def is_grave(one: Fates) -> bool:
    """Whether anybody drops, hangs or falls."""
    return any(person.gravity for person in one.people)


def consequence(one: Fates) -> str:
    """Say what becomes of those who drop, hang or fall, or that nobody would."""
    told = [fate(person) for person in one.people if person.gravity]
    if not told:
        return nobody(one)
    some = f"in {one.as_grave} of {one.trials} trials: " if 0 < one.as_grave < one.trials else ""
    return some + ". ".join(told)


def of_the_plan(planned: Fates) -> str:
    """Say what the plan itself does to people; nothing where it does them no harm."""
    return f"{NO_FAULT}: {consequence(planned)}" if is_grave(planned) else ""


def without_harm(alone: Sequence[Fates]) -> list[tuple[str, list[str]]]:
    """Give the faults that do nothing to anybody, by what can be said of them."""
    said: dict[str, list[str]] = {}
    for one in alone:
        if not is_grave(one):
            said.setdefault(nobody(one), []).append(one.names[0])
    return list(said.items())


def nobody(one: Fates) -> str:
    """Say that a fault does nothing to anybody; of whom the plan leaves so it cannot be said."""
    return NOBODY_ELSE if one.with_none else NOBODY


def row(one: Fates, person: Fate) -> list[Cell]:
    """Cells of one person's fate, as `HEADS`."""
    grave = person.gravity >= 3
    found = person.rescue
    return [
        *cells(happened(one), person.person),
        Cell(_end(person), grave),
        *cells(
            words.metres(person.drop_m),
            words.metres(person.swing_m),
            person.holds or words.NOTHING,
            clock(person.hangs_from_s),
        ),
        Cell(_by(person), grave and person.end is End.HANGS and found is None),
        *(_stage(found, stage) for stage in STAGES if stage != "called"),
    ]


def _end(person: Fate) -> str:
    """What becomes of somebody, after how they were caught where that does not hold."""
    too = "as with no fault" * person.as_without
    said = *coming(person), still(person), person.how, in_vain(person), too
    end = ", ".join(text for text in said if text)
    if person.lost:
        on = f"on {person.holds}, {CORE_SHOWS}" if person.holds in person.showing else ""
        return ", ".join(text for text in (end, on, one_line(person)) if text)
    if person.catch_holds is True or person.end is End.FALLS:
        return end
    return f"{catch(person)}; {end}"


def _by(person: Fate) -> str:
    if person.end is not End.HANGS:
        return words.NOTHING
    if person.rescue is None:
        return f"{NONE_SHOWN}: {'; '.join(person.missing)}"
    return who_comes(person.rescue)


def _stage(found: Rescue | None, stage: str) -> Cell:
    if found is None or not found.shown:
        return Cell(words.NOTHING)
    late = found.keeps(stage) is False
    text = clock(found.careful_s(stage)) + "!" * late
    if stage == STAGES[-1] and found.hangs_too_long:
        return Cell(f"{text} (hangs still too long!)", True)
    return Cell(text, late)


def place(one: PlaceRescue, way: Rescue) -> list[Cell]:
    """Cells of a rescue from a place of work, as `PLACES`."""
    return [
        *cells(
            at(one),
            way.method,
            way.rescuer or words.NOTHING,
            words.kilograms(way.load_kg),
            f"{way.pull_n:.0f} N" if way.pull_n is not None else words.NOTHING,
        ),
        *(_stage(way, stage) for stage in STAGES),
    ]


def not_shown(rows: Sequence[PlaceRescue]) -> list[str]:
    """Say for each place of work what every way lacks that is not shown, the worst places first.

    A place from which no way is shown says so.
    """
    none = [one for one in rows if not any(way.shown for way in one.ways)]
    some = [one for one in rows if one not in none]
    said = [f"{at(one)}: {NONE_SHOWN}: {_lacks(one)}" for one in none]
    return said + [f"{at(one)}: {_lacks(one)}" for one in some if _lacks(one)]


def at(one: PlaceRescue) -> str:
    """Name a place of work; by its depth too, for a repeat comes to several with one step."""
    deep = f", {words.metres(one.ways[0].depth_m)} deep" if one.ways else ""
    return f"{one.person}, step {one.step} ({one.step_words}{deep})"


def _lacks(one: PlaceRescue) -> str:
    return "; ".join(way.lacking for way in one.ways if not way.shown)


def cores(rows: Sequence[PlaceRescue]) -> list[str]:
    """Say which rescues would show a core."""
    return [
        f"{way.method} of {at(one)}: the core of {worn.line} would show at {worn.edge}"
        for one in rows
        for way in one.ways
        for worn in way.wear
        if worn.demand >= 1.0
    ]
