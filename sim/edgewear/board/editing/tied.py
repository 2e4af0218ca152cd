"""Dragging what has no place of its own: spots surveyed by legs, edges from one point to another.

A spot moves alone: the legs that lead to it and those that lead on from it are typed anew, each in
the words of before, and everything else stays where it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from edgewear.board.editing.retyped import moved
from edgewear.errors import UsageError
from edgewear.scenario.read.addresses import quantity_due
from edgewear.scenario.read.legs import AXES, LEG, WAYS
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity

Spot = tuple[str, str]
"""("anchors", name) or ("edges", name)."""

OPPOSITE = {"out": "in", "in": "out", "right": "left", "left": "right", "up": "down", "down": "up"}


def is_between(typed: Mapping[str, Any]) -> bool:
    """Whether an edge is typed from one point to another."""
    return isinstance(typed.get("from"), dict) and isinstance(typed.get("to"), dict)


def by_legs(data: Mapping[str, Any], spot: Spot) -> bool:
    """Whether legs alone say where a spot is; the one that they are laid out from stays."""
    typed = data.get(spot[0], {}).get(spot[1])
    if not isinstance(typed, dict) or set(AXES) & set(typed) or spot == _origin(data):
        return False
    return any(spot in (one.start, one.end) for one in _legs(data))


def _origin(data: Mapping[str, Any]) -> Spot | None:
    """The spot that counts as out 0, along 0, up 0; None where some spot has a place typed."""
    spots = [spot for one in _legs(data) for spot in (one.end, one.start) if spot is not None]
    known = [data[section].get(name) for section, name in spots if section in data]
    if any(isinstance(typed, dict) and {"out", "up"} <= set(typed) for typed in known):
        return None
    return spots[0] if spots else None


def shift(data: dict[str, Any], spot: Spot, by_m: Sequence[float]) -> None:
    """Move a spot, or both ends of an edge.

    Parameters:
        data: as typed; changed in place.
        by_m: out, along, up [m].

    Raises:
        UsageError: it has no place that can be dragged, or not so far.
    """
    typed = data[spot[0]][spot[1]]
    if isinstance(typed, dict) and is_between(typed):
        for end in ("from", "to"):
            typed[end] = _shifted(typed[end], (*spot, end), by_m, data)
    elif isinstance(typed, dict) and {"out", "up"} <= set(typed):
        data[spot[0]][spot[1]] = _shifted(typed, spot, by_m, data)
    elif by_legs(data, spot):
        for one in list(_legs(data)):
            if spot in (one.start, one.end):
                sign = 1.0 if spot == one.end else -1.0
                one.legs[one.at] = leg(one.legs[one.at], [sign * step_m for step_m in by_m])
    else:
        raise UsageError(f"{'/'.join(spot)}: has no place of its own to drag")


def _shifted(
    typed: Mapping[str, Any], path: Sequence[str], by_m: Sequence[float], data: dict[str, Any]
) -> dict[str, Any]:
    found = dict(typed)
    for axis, step_m in zip(AXES, by_m, strict=True):
        quantity = quantity_due((*path, axis), data)
        if step_m and quantity is not None:
            try:
                now_m = read_quantity(found.get(axis, "0 m"), quantity, {}).value
            except QuantityProblem as error:
                raise UsageError(f"{'/'.join(path)}: {error}") from error
            found[axis] = moved(found.get(axis), now_m + step_m, quantity)
    return found


class _Leg(NamedTuple):
    """A leg as it is typed."""

    legs: list[str]  # in which it stands ...
    at: int  # ... here
    start: Spot
    end: Spot | None  # None: the load


def _legs(data: Mapping[str, Any]) -> Iterator[_Leg]:
    """Every leg of a survey."""
    edges, anchors = data.get("edges"), data.get("anchors")
    for name, typed in anchors.items() if isinstance(anchors, dict) else ():
        legs = typed.get("legs") if isinstance(typed, dict) else None
        if not isinstance(legs, list) or not all(isinstance(text, str) for text in legs):
            continue
        start: Spot = ("anchors", name)
        for at, text in enumerate(legs):
            end = _end(text, edges if isinstance(edges, dict) else {})
            yield _Leg(legs, at, start, end)
            if end is None:
                break
            start = end


def _end(text: str, edges: Mapping[str, Any]) -> Spot | None:
    """The edge that a leg leads over; None: it leads to the load."""
    goal = text.split(",")[-1].strip()
    if not goal.startswith("over "):
        return None
    edge = goal.removeprefix("over ").strip()
    return ("edges", edge if edge in edges else edge.removeprefix("the "))


def leg(text: str, by_m: Sequence[float]) -> str:
    """Type a leg anew whose way is longer by so much, in the words of before.

    Parameters:
        by_m: out, along, up [m].

    Raises:
        UsageError: it would lead backwards where its words cannot say so.
    """
    moves = [part.strip() for part in text.split(",")]
    goal = [moves.pop()] if moves[-1].startswith("over ") else []
    from_end = any(move.endswith("back") for move in moves)
    for axis, step_m in enumerate(by_m):
        if step_m:
            _change(moves, axis, step_m, from_end, text)
    return ", ".join([*moves, *goal])


def _change(moves: list[str], axis: int, step_m: float, from_end: bool, text: str) -> None:
    """Change the last part of a leg along one axis, or add one."""
    own = [k for k, move in enumerate(moves) if WAYS[_word(move, text)][0] == axis]
    word = _word(moves[own[-1]], text) if own else ("out", "right", "up")[axis]
    sign = WAYS[word][1] * (-1.0 if from_end else 1.0)
    typed = moves[own[-1]].rpartition(" ")[0] if own else None
    try:
        now_m = read_quantity(typed, LEG, {}).value if typed else 0.0
    except QuantityProblem as error:
        raise UsageError(f"{text!r}: is no leg that can be dragged") from error
    wanted_m = now_m + sign * step_m
    if wanted_m < 0.0:
        if word not in OPPOSITE:
            raise UsageError(f"{text!r}: cannot be dragged past where this leg ends")
        word, wanted_m = OPPOSITE[word], -wanted_m
    said = f"{moved(typed, wanted_m, LEG)} {word}"
    if own:
        moves[own[-1]] = said
    else:
        moves.append(said)


def _word(move: str, text: str) -> str:
    word = move.rpartition(" ")[2]
    if word not in WAYS:
        raise UsageError(f"{text!r}: is no leg that can be dragged")
    return word
