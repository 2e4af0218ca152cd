"""The cautions every output carries, in one place, so that any room may use them."""

from __future__ import annotations

from collections.abc import Iterable

from edgewear import terms

PROJECTION = (
    "A projection, not permission: it supports a competent person's decision and replaces none."
)
LAW_FIRST = "Local law, the applicable codes and licensed practice come first."
RETIRE = (
    "A rope whose sheath is broken, glazed or stiff, or that has held a fall over an edge, is "
    "retired on sight; no number here overrules an inspection."
)
CAUTIONS: tuple[str, ...] = (
    PROJECTION,
    LAW_FIRST,
    "Keep the rope off the edge where that can be done; protection comes second.",
    RETIRE,
    "A line whose core is visible is lost, whatever it would still hold.",
    "Wear figures rest on few observations and many assumptions: they order options better than "
    "they forecast one rope. Look at the rope when the plan says so.",
)
"""What every page, table, card and JSON document says, most important first."""

WEAR_AGREES = "agrees with 13 of 13 observations, 5 of them used to fit"
"""What `self-check --observations` finds of the shipped wear law; a test holds the two together."""

_OF_STATUS = {
    terms.MISSES: "Options that miss the target have no rank. Change the rigging.",
    terms.OVER_LIMIT: (
        "A part is asked for more than it holds or lasts at the careful end: change it or what it "
        "bears."
    ),
    terms.NOT_ACCEPTABLE: (
        "A loaded bare edge is not acceptable in industrial work: protect the edge."
    ),
    "bare edge": (
        "A loaded rope runs over a bare edge: keep it off or protect the edge wherever that can be "
        "done."
    ),
    terms.CUTTING: (
        "A cutting edge can part a rope in one pass; no comparison gives a wear number for it. "
        "Remove the edge or keep the line off it: protection can move, and ropes leave it."
    ),
    terms.UNFINISHED: (
        "A plan is not finished: somebody is left where it ends, and its wear is of a part of the "
        "job. Change the plan or the rigging."
    ),
    terms.NOT_ALWAYS: "Trials in which a plan is not finished count at the careful end.",
    terms.LINE_LOST: "A line is lost within this plan: its core shows before the job ends.",
    terms.NO_ROOM: ("A catch ends only when something below was hit: make room, shorten the drop."),
    terms.NOT_INDEPENDENT: (
        "The two lines share something; one failure there can take both. Separate them."
    ),
    terms.ONE_LINE: "One line only: nothing holds the person if it fails.",
    terms.EXTRAPOLATED: (
        "Some inputs lie outside what the wear parameters were observed for; read the figures "
        "there with more doubt."
    ),
    terms.WINDOW_FULL: (
        "More rope passed the edge than the run could follow; its wear is incomplete."
    ),
    terms.FAILED: "Trials that could not be computed count at the careful end.",
}
"""What a status asks of the reader."""


BARE_EDGE = "bare edge"
"""No status, but what a reader is told of alike: a bare edge outside industrial work."""


def for_status(statuses: Iterable[str]) -> tuple[str, ...]:
    """Give the cautions that the statuses found call for, each once.

    Parameters:
        statuses: fixed words, in any order and number.
    """
    found = set(statuses)
    return tuple(text for status, text in _OF_STATUS.items() if status in found)


def all_for(statuses: Iterable[str]) -> tuple[str, ...]:
    """Give every caution a document with these statuses carries, the general ones first.

    Parameters:
        statuses: fixed words, in any order and number.
    """
    return CAUTIONS + for_status(statuses)
