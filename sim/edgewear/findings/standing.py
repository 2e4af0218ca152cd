"""What an option that meets the target lacks by its other statuses, and how that is counted."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear import terms

UNCAUGHT = (terms.NO_ROOM, terms.NOT_INDEPENDENT, terms.ONE_LINE)
"""A person may not be caught when something fails: it comes before level and sheath left."""

_WITHOUT = {
    terms.NO_ROOM: "without room for a catch",
    terms.NOT_INDEPENDENT: "on lines that are not independent",
    terms.ONE_LINE: "on one line",
    terms.WINDOW_FULL: "with wear that could not be followed to the end",
    terms.NOT_ALWAYS: "with trials in which the plan is not finished",
    terms.FAILED: "with trials that could not be computed",
}
"""Each status that goes beside a met target and is against the option, after "meets it, but".

`extrapolated` is not among them: nearly every option has it, and it is graded where it is said.
"""


def group_of(status: Sequence[str]) -> int:
    """0 meets the target, 1 misses it, 2 not acceptable, 3 cutting edge."""
    if terms.CUTTING in status:
        return 3
    if terms.NOT_ACCEPTABLE in status:
        return 2
    return 0 if terms.MEETS in status else 1


def lacks_of(status: Sequence[str]) -> tuple[str, ...]:
    """Give the statuses that are against an option even where it meets the target.

    Parameters:
        status: of an option.
    """
    return tuple(one for one in _WITHOUT if one in status)


def uncaught(status: Sequence[str]) -> int:
    """Weigh the ways in which a person may not be caught by an option of this status.

    Without room for a catch a person surely comes to harm: it weighs more than the others together.
    """
    surely = len(UNCAUGHT) * (terms.NO_ROOM in status)
    return surely + sum(one in status for one in UNCAUGHT)


def behind(status: Sequence[str]) -> int:
    """Weigh what puts an option of this status behind others of its group, before its level.

    Among those that meet the target: whoever may not be caught. Among the others: a plan that is
    not finished, for what is told of its wear is of a part. Where an edge cuts nothing is weighed.
    """
    if terms.MEETS in status:
        return uncaught(status)
    return int(terms.UNFINISHED in status)


def has_rank(status: Sequence[str]) -> bool:
    """Tell whether an option of this status gets a number: it meets the target, with room to catch.

    A number reads as a place among what may be chosen.
    """
    return terms.MEETS in status and terms.NO_ROOM not in status


def lacking(lacks: Sequence[str]) -> str:
    """Say what an option lacks, to go after "meets it, but"; empty where it lacks nothing.

    Parameters:
        lacks: as `lacks_of` gives them.
    """
    said = [_WITHOUT[one] for one in lacks]
    return " and ".join(part for part in (", ".join(said[:-1]), *said[-1:]) if part)


def met_words(statuses: Sequence[Sequence[str]]) -> str:
    """Count those that meet the target: first those with nothing against them, then by what lacks.

    Parameters:
        statuses: of the options that meet the target, at least one of which lacks something.
    """
    found: dict[tuple[str, ...], int] = {(): 0}
    for status in statuses:
        lacks = lacks_of(status)
        found[lacks] = found.get(lacks, 0) + 1
    whole = found.pop(())
    verb = "meets" if whole <= 1 else "meet"
    said = [f"{whole or 'None'} {verb} the target with nothing against it in the status"]
    said += [
        f"{count} {'meets' if count == 1 else 'meet'} it, but {lacking(lacks)}"
        for lacks, count in found.items()
    ]
    return f"{'; '.join(said)}."
