"""A limit in words: rounded toward the side that still meets the target."""

from __future__ import annotations

import math
from collections.abc import Sequence

from edgewear import terms
from edgewear.findings.inquiries.how_far import End, HowFar, Limit, Stretch
from edgewear.percentiles import LOW
from edgewear.report.parts import not_counted, words

DIGITS = 3
"""Significant digits of a limit."""

ASKED = 0.9
"""Chance with which the first figure is to hold."""

_MINUTE_S, _HOUR_S = 60.0, 3600.0


def chance_of_the_worst(trials: int) -> float:
    """Give the chance that the worst of so many trials lies below the careful end [1]."""
    return 1.0 - (1.0 - LOW) ** trials


def explained(trials: int) -> str:
    """Say what the figures of a limit are, and how surely the first one holds.

    Parameters:
        trials: that every value met. The lowest bound that they give is the worst of them.
    """
    surely = chance_of_the_worst(trials)
    fewest = math.ceil(math.log(1.0 - ASKED) / math.log(1.0 - LOW))
    first = f"The first figure holds for all that so few trials tell ({words.percent(ASKED)})"
    if surely < ASKED:
        first = (
            f"So few trials tell no limit that holds with {100 * ASKED:.0f} of 100: the first "
            f"figure is where the worst of {trials} trials meets the target, which holds with "
            f"{math.floor(100 * surely)} of 100. {fewest} trials are the fewest that tell one"
        )
    return (
        f"{first}; in brackets the estimate, and how much further the limit may lie. A value "
        "tried counts as known exactly, and all else stays as the scenario says."
    )


def headline(found: HowFar) -> str:
    """Say what was looked for."""
    return (
        f"How far each input may go while at least {words.percent(found.target)} of the sheath is "
        f"left at the careful end (5th percentile of {found.replicates} trials)"
    )


def value(si: float, dimension: str, way: int = 0) -> str:
    """Give a value with a unit people use.

    Parameters:
        si: in SI; dimension: of the quantity, "" a count.
        way: -1 rounds down, 1 up, 0 to the nearest.
    """
    if not dimension:
        return str({-1: math.floor, 1: math.ceil}.get(way, round)(si))
    scale, unit = _unit(si, dimension)
    return f"{_rounded(si / scale, way)}{unit}"


def _unit(si: float, dimension: str) -> tuple[float, str]:
    """Give what to divide by, and the unit with its blank."""
    size = abs(si)
    match dimension:
        case "length":
            return (1.0, " m") if size >= 0.5 else (1e-3, " mm")
        case "time":
            if size >= 2 * _HOUR_S:
                return _HOUR_S, " h"
            return (_MINUTE_S, " min") if size >= 100.0 else (1.0, " s")
        case "angle":
            return math.pi / 180.0, " deg"
        case "share":
            return 0.01, " %"
        case "force" | "body stiffness":
            name = "N" if dimension == "force" else "N/m"
            return (1e3, f" k{name}") if size >= 1e3 else (1.0, f" {name}")
        case "mass per length":
            return 1e-3, " g/m"
    from_table = {"mass": " kg", "speed": " m/s", "rate": " Hz", "temperature": " degC"}
    return 1.0, from_table.get(dimension, "")


def _rounded(number: float, way: int) -> str:
    if number == 0.0:
        return "0"
    places = DIGITS - 1 - math.floor(math.log10(abs(number)))
    scaled = number * 10.0**places
    turned = {-1: math.floor, 1: math.ceil}.get(way, round)(scaled)
    text = f"{turned * 10.0**-places:.{max(places, 0)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", words.MINUS)


def limit(found: Limit) -> str:
    """Say where an option meets the target."""
    if not found.stretches:
        return f"{_tried(found)}: nowhere.{_closest(found)}"
    said = "; and ".join(_stretch(one, found) for one in found.stretches)
    between = "; not between" if len(found.stretches) > 1 else ""
    return f"{said}{between}"


def _stretch(one: Stretch, found: Limit) -> str:
    """Say one range: at most, at least, from .. to, or everywhere that was tried."""
    least, most = one.least, one.most
    if least.open and most.open:
        return f"everywhere from {_low(least, found)} to {_high(most, found)}; wider was not tried"
    if least.open and len(found.stretches) == 1:
        return f"at most {_end(most, found, 1)}"
    if most.open and len(found.stretches) == 1:
        return f"at least {_end(least, found, -1)}"
    if least.inside == most.inside:
        return f"at {_low(least, found)} alone, of what was tried"
    return f"from {_end(least, found, -1)} to {_end(most, found, 1)}"


def _low(end: End, found: Limit) -> str:
    return value(end.inside, found.dimension, 1)


def _high(end: End, found: Limit) -> str:
    return value(end.inside, found.dimension, -1)


def _end(end: End, found: Limit, way: int) -> str:
    """Give the value that holds for all that so few trials tell, then the estimate.

    Whoever copies one figure to a card copies the first one.
    """
    near = value(end.inside, found.dimension, -way)
    if end.open:
        return near
    if end.cautious is None:
        return f"{near}, as an estimate that so few trials do not bear out{_reach(end, found, way)}"
    safe = value(end.cautious, found.dimension, -way)
    reach = _reach(end, found, way)
    return safe if safe == near and not reach else f"{safe} (estimate {near}{reach})"


def _reach(end: End, found: Limit, way: int) -> str:
    """Say how much further the end may lie."""
    direction = "up" if way > 0 else "down"
    if end.hopeful is None:
        return f", perhaps {direction} to the end of what was tried"
    far = value(end.hopeful, found.dimension, way)
    return (
        "" if far == value(end.inside, found.dimension, -way) else f", perhaps {direction} to {far}"
    )


def _tried(found: Limit) -> str:
    low, high = (value(one, found.dimension) for one in found.tried)
    return f"tried from {low} to {high}"


def _closest(found: Limit) -> str:
    if found.closest is None or found.closest.left is None:
        return f" {refusal(found) or _no_number(found)}"
    at = value(found.closest.value, found.dimension)
    return f" Closest at {at}: {words.left(found.closest.left)} left."


def _no_number(found: Limit) -> str:
    """Say that no value that was tried has a figure, and why where that is not its edges alone."""
    uncut = [place for place in found.places if terms.CUTTING not in place.status]
    if not uncut or not all(terms.UNFINISHED in place.status for place in uncut):
        return "No number is given for any of them."
    where = "at any of them" if len(uncut) == len(found.places) else "where no edge cuts"
    return f"The plan is not finished {where}, so no number is given."


def asked_of(found: Limit) -> str:
    """Name what is asked: the input, and the value of a second one."""
    if found.given is None:
        return found.address
    return f"{found.address} at {found.given.address} {given(found)}"


def given(found: Limit) -> str:
    """Give the value of the second input; empty where there is none."""
    return "" if found.given is None else value(found.given.value, found.given.dimension)


def maps(limits: Sequence[Limit]) -> list[list[Limit]]:
    """Gather the limits of one input over a second one; those without one are left out."""
    keys = dict.fromkeys((o.address, o.given.address) for o in limits if o.given is not None)
    return [
        [o for o in limits if o.given is not None and (o.address, o.given.address) == key]
        for key in keys
    ]


def present(found: Limit) -> str:
    """Say what the scenario has, and whether that meets the target."""
    if found.present is None:
        return "not typed in the scenario"
    meets = "meets it" if found.meets_now else "misses it"
    inside = found.tried[0] <= found.present <= found.tried[1]
    return (
        f"now {value(found.present, found.dimension)}, which {meets if inside else 'was not tried'}"
    )


def refusal(found: Limit) -> str:
    """Say why some of the values cannot be rigged or computed, if any cannot."""
    refused = [place for place in found.places if place.refused]
    if not refused:
        return ""
    low, high = (value(one.value, found.dimension) for one in (refused[0], refused[-1]))
    at = f"At {low}" if low == high else f"From {low} to {high}, here and there or throughout"
    return f"{at} it cannot be done: {refused[0].refused}."


def doubts(found: Limit) -> list[str]:
    """What must be said of the values that meet it: other statuses, values that cannot be rigged.

    First of the ends, then of what lies between: where all that was tried meets it there are none.
    """
    ends = [end.inside for one in found.stretches for end in (one.least, one.most) if not end.open]
    within = [
        frozenset(place.status) - {terms.MEETS}
        for place in found.places
        if not place.refused
        and any(one.least.inside <= place.value <= one.most.inside for one in found.stretches)
    ]
    at_ends = dict.fromkeys(
        s for place in found.places if place.value in ends for s in place.status
    )
    known = [s for s in dict.fromkeys(s for place in found.places for s in place.status)
             if any(s in one for one in within) and s not in at_ends]  # fmt: skip
    everywhere = [s for s in known if all(s in one for one in within)]
    told = {
        "There": [s for s in at_ends if s != terms.MEETS],
        "At all of them": everywhere,
        "At some of them": [s for s in known if s not in everywhere],
    }
    said = [f"{where}: {words.STATUS_JOIN.join(of)}." for where, of in told.items() if of]
    said += hot(found)
    return [*said, *([refusal(found)] if refusal(found) and found.stretches else [])]


def hot(found: Limit) -> list[str]:
    """Say of the values that a figure is given of where ropes melt, which is in no figure."""
    told = [
        place
        for place in found.places
        if place == found.closest
        or any(one.least.inside <= place.value <= one.most.inside for one in found.stretches)
    ]
    every = all(place.melts for place in told)
    where = "There" if not found.stretches else f"At {'all' if every else 'some'} of them"
    edges = [edge for place in told for edge in place.melts]
    return [f"{where}: {text}." for text in not_counted.hot_at({where: edges})]


def by_option(found: HowFar) -> list[tuple[str, Sequence[Limit]]]:
    """Gather the limits of each option, in order."""
    names = dict.fromkeys(one.option for one in found.limits)
    return [(name, [one for one in found.limits if one.option == name]) for name in names]
