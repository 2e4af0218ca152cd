"""What comes out of a comparison, in the sentence that somebody tired reads alone."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear import spelt
from edgewear.dataset.ranking.model import OptionResult, sheath_left
from edgewear.findings.standing import lacking, lacks_of, met_words

NONE_MEETS = "None of these options meets the target. Change the rigging."
NO_RANK = "None has a rank: make room for a catch, or shorten its drop."
"""What follows where something below would be hit with every option that meets the target."""


def headline(options: Sequence[OptionResult], target: float) -> str:
    """Say what comes out of a comparison in a few sentences.

    An option that meets the target and lacks something else is never counted among those that
    meet it, but beside them, by what it lacks.

    Parameters:
        options: in order.
        target: sheath left at the 5th percentile that was asked for [1].
    """
    meeting = [option for option in options if option.group == 0]
    if not meeting:
        return NONE_MEETS
    first = [option for option in meeting if option.rank == 1]
    if not first:
        return f"{met_words([option.status for option in meeting])} {NO_RANK}"
    left = first[0].margin.p5 if first[0].margin else None  # below 100 % wherever a line is loaded
    figures = (
        f"{sheath_left(left, touched=False)} of the sheath left at the careful end, "
        f"{sheath_left(target, touched=False)} asked for, level {first[0].control}."
    )
    return f"{_led(first, meeting, figures)}{_not_apart(first[-1], meeting[len(first) :])}"


def _led(first: Sequence[OptionResult], meeting: Sequence[OptionResult], figures: str) -> str:
    """Name what stands first, with its figures, and count those that meet the target."""
    names = _listed([spelt.quoted(option.name) for option in first])
    stands = "stands first" if len(first) == 1 else "share the first place"
    if not any(option.lacks for option in meeting):
        return f"{names} {stands} of {len(meeting)} that meet the target: {figures}"
    lacks = lacks_of([status for option in first for status in option.status])
    but = f", but {lacking(lacks)}" if lacks else ""
    counted = met_words([option.status for option in meeting])
    said = [f"{names} {stands}{but}: {figures}", counted]
    return " ".join(said if any(not option.lacks for option in meeting) else reversed(said))


def _not_apart(last: OptionResult, after: Sequence[OptionResult]) -> str:
    """Say so where trials do not tell the first from the next, and nothing else does.

    Between levels of control the level decides, and whether somebody may be caught before that.
    """
    apart = last.beats_next
    if apart is None or apart.told_apart or not after:
        return ""
    if after[0].behind != last.behind or after[0].level != last.level:
        return ""
    mine, other = spelt.quoted(last.name), spelt.quoted(apart.other)
    return f" {mine} cannot be told apart from {other} with these trials."


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
