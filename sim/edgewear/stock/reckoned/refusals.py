"""What cannot be entered about a rope as it stands."""

from __future__ import annotations

from collections.abc import Iterator

from edgewear.stock.entries import Draft
from edgewear.stock.past_wear import CELL_M
from edgewear.stock.standing import ASIDE, IN_USE, RETIRED, Standing


def refused(standing: Standing, draft: Draft) -> Iterator[tuple[str, str]]:
    """Give field and message of what cannot be entered about a rope as it stands."""
    body, length_m = draft.body, standing.length_m
    for name in ("from_m", "to_m"):
        if body.get(name, 0.0) > length_m + CELL_M:
            yield name, f"{body[name]:g} m lies beyond the rope's end at {length_m:g} m"
    if draft.kind == "job" and body["first_mm"] + len(body["demand"]) > standing.dated.cells + 1:
        end_m = (body["first_mm"] + len(body["demand"])) * CELL_M
        yield "demand", f"reaches to {end_m:g} m, beyond the rope's end at {length_m:g} m"
    if draft.kind == "register":
        yield "rope", f"{draft.rope!r} is registered already, in entry {standing.register.number}"
    if draft.kind == "correction":
        yield from _correction_of(standing, body["entry"])


def misdated(made: str, draft: Draft, latest: str) -> Iterator[tuple[str, str]]:
    """Give field and message of each date of an entry at which it cannot have happened.

    A look dated ahead would put off the next one; a date before the rope was made is of another.

    Parameters: `made`: when the rope was, empty: nobody said; `latest`: today, ISO.
    """
    said = {"on": draft.on}
    if draft.kind == "register":
        said |= {name: draft.body[name] for name in ("made", "first_use") if name in draft.body}
    for name, on in said.items():
        if on > latest:  # ISO dates are in order as texts, too
            yield name, f"{on} lies ahead: at the latest {latest}, which is today, is allowed"
        elif on < made:
            yield name, f"{on} lies before {made}, when {draft.rope!r} was made"
    first = said.get("first_use", "")
    if draft.on < first <= latest:
        yield "first_use", f"{first} lies after {draft.on}, the day on which that is entered"


def back_in_use(standing: Standing, draft: Draft) -> Iterator[tuple[str, str]]:
    """Give field and message of a decision, made now, that the rope's entries do not allow.

    Read from a copy it is taken as written and changes nothing: the look it rested on was struck.
    """
    if draft.kind != "decision" or draft.body["decision"] != IN_USE:
        return
    if standing.word == RETIRED:
        yield "decision", f"{standing.rope!r} is retired, and nothing takes that back"
    elif standing.word == ASIDE and (wrong := standing.unseen(draft.on)):
        yield "decision", f"{standing.rope!r} is set aside and {wrong}"


def _correction_of(standing: Standing, number: int) -> Iterator[tuple[str, str]]:
    kind = standing.kinds.get(number)
    if kind is None:
        yield "entry", f"{number}: no entry of {standing.rope!r}"
    elif kind not in ("job", "inspection", "event"):
        yield "entry", f"{number} is a {kind}; corrected are jobs, inspections and events"
    elif number in standing.struck:
        yield "entry", f"{number} is corrected already"


def miscut(whole: Standing | None, draft: Draft) -> Iterator[tuple[str, str]]:
    """Give field and message of what a piece cannot be, by the rope it was cut from.

    Parameters: `whole`: that rope; None: the record does not have it.
    """
    if whole is None:
        return
    body, name = draft.body, whole.rope
    end_m = body.get("cut_at_m", 0.0) + body["length_m"]
    if end_m > whole.length_m + CELL_M:
        yield "length_m", f"reaches to {end_m:g} m of {name!r}, which is {whole.length_m:g} m long"
    for field, own in (("made", whole.made), ("like", whole.like)):
        if own and body.get(field, own) != own:
            yield field, f"{body[field]!r}: of {name!r}, which it was cut from, it is {own!r}"
