"""The kit of a rescue: who has a piece, where the others lie, whether one is within reach."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import NamedTuple

from edgewear.procedure.rescue_ways.legs import Leg
from edgewear.procedure.rescue_ways.scene import ON_TOP, Scene, is_free, stands_on_top, where
from edgewear.rigging.sections import whole
from edgewear.scenario.models import steps as planned
from edgewear.scenario.models.kit import TOP, Lying
from edgewear.scenario.models.walking import leaves
from edgewear.terms import WORKING

SLING, HAUL_KIT, RESCUE_KIT = "rescue sling", "haul kit", "rescue kit"
"""Words of the kit: what a pick-off needs, what a haul needs, and a bag that has both."""

MANY = 20
"""More pieces of one word than that in one place are as good as so many."""


@dataclass
class Piece:
    """One piece, where it is now."""

    word: str
    lying: Lying
    with_: str = ""  # who has it on their harness; "": nobody


class Found(NamedTuple):
    """How a way of rescue comes by a piece: what that lacks, or what it takes."""

    lack: str = ""
    fetching: Leg | None = None
    words: str = ""  # the piece and where it comes from


def for_pick_off(scene: Scene, name: str, from_m: float) -> Found:
    """Find a sling for somebody who comes along their lines.

    Parameters:
        from_m: the depth from which they come [m].
    """
    left = _left(scene, (SLING, RESCUE_KIT))
    mine = next((one for one in left if one.with_ == name), None)
    if mine is not None:
        return Found(words=f"{mine.word}, carried by {name}")
    if stands_on_top(scene, name) and (found := _on_top(scene, left)) is not None:
        return found
    passed = _passed(scene, name, from_m)
    on_the_way = next((one for one in left if not one.with_ and one.lying.at in passed), None)
    if on_the_way is not None:
        return Found(words=f"{on_the_way.word}, {on_the_way.lying.words}")
    return Found(_lack(scene, SLING, left))


def for_haul(scene: Scene) -> Found:
    """Find a haul kit for those who stand on top."""
    left = _left(scene, (HAUL_KIT, RESCUE_KIT))
    return _on_top(scene, left) or Found(_lack(scene, HAUL_KIT, left))


def _on_top(scene: Scene, left: Sequence[Piece]) -> Found | None:
    """A piece for somebody who stands on top: there, with somebody there, or fetched."""
    for one in left:
        if one.with_ and stands_on_top(scene, one.with_) and not is_free(scene, one.with_):
            return Found(words=f"{one.word}, carried by {one.with_}")
    for one in left:
        if not one.with_ and _lies_on_top(scene, one.lying.at):
            return Found(words=f"{one.word}, {one.lying.words}")
    fetched = [one for one in left if not one.with_ and one.lying.fetch is not None]
    if not fetched:
        return None
    one = min(fetched, key=lambda piece: _fetch(piece).middle_s)
    return Found(fetching=_fetch(one), words=f"{one.word}, {one.lying.words}")


def _fetch(one: Piece) -> Leg:
    lasting = one.lying.fetch
    if lasting is None:  # only asked for those that are fetched
        raise LookupError(f"nobody fetches the {one.word}")
    return Leg("reach", f"fetching the {one.word}", lasting)


def _lies_on_top(scene: Scene, at: str) -> bool:
    """Whether a place is where people stand on top: it, or a fixed point behind the edges."""
    return at == TOP or (at in scene.scenario.anchors and scene.stands_at(at))


def _passed(scene: Scene, name: str, from_m: float) -> set[str]:
    """Fixed points on the face that somebody passes on their way to the casualty."""
    line = scene.line_of(name, WORKING)
    if line is None:
        return set()
    low, high = min(from_m, scene.depth_m), max(from_m, scene.depth_m)
    sections = whole(scene.scenario, scene.chosen, name, line, name)[1:]
    return {s.anchor for s in sections if isfinite(s.top_m) and low <= s.top_m <= high}


def _left(scene: Scene, words: Sequence[str]) -> list[Piece]:
    """Every piece that serves and is not in use by another rescue, the plainer word first."""
    pieces = [one for word in words for one in _pieces(scene, word)]
    if SLING in words:
        _taken_along(scene, pieces)
        for name in scene.engaged.by:
            _used(scene, pieces, name)
        return pieces
    slings = _left(scene, (SLING, RESCUE_KIT))
    bags = [one for one in slings if one.word == RESCUE_KIT]
    return [one for one in pieces if one.word != RESCUE_KIT] + bags


def _pieces(scene: Scene, word: str) -> Iterator[Piece]:
    for lying in scene.scenario.lying(word):
        for _ in range(min(lying.count, MANY)):
            yield Piece(word, lying, lying.carried_by or "")


def _taken_along(scene: Scene, pieces: Sequence[Piece]) -> None:
    """Whoever plans to take somebody over has taken a piece along that lay on top."""
    for name in scene.scenario.job:
        if plans_take_over(scene, name) and not any(one.with_ == name for one in pieces):
            free = (one for one in pieces if not one.with_ and one.lying.at == TOP)
            taken = next(free, None)
            if taken is not None:
                taken.with_ = name


def _used(scene: Scene, pieces: list[Piece], name: str) -> None:
    """Take away the piece with which somebody rescues another already."""
    own = [one for one in pieces if one.with_ == name]
    top = [one for one in pieces if not one.with_ and _lies_on_top(scene, one.lying.at)]
    rest = [one for one in pieces if not one.with_ or stands_on_top(scene, one.with_)]
    for one in (*own, *top, *rest)[:1]:
        pieces.remove(one)


def _lack(scene: Scene, word: str, left: Sequence[Piece]) -> str:
    """Say why no piece is within reach."""
    if not left:
        has = any(scene.scenario.kit.get(one) for one in (word, RESCUE_KIT))
        return f"no {word} left" if has else f"no {word} in the kit"
    one = left[0]
    if not one.with_:
        lies = ON_TOP if one.lying.at == TOP else one.lying.place
        nobody = ", and nobody is said to fetch it" if one.lying.fetch is None else (
            ", and nobody who is free stands on top to fetch it"
        )  # fmt: skip
        return f"the {one.word} lies {lies}{'' if one.lying.at == TOP else nobody}"
    return f"the {one.word} is with {one.with_}, {where(scene, one.with_)}"


def plans_take_over(scene: Scene, name: str) -> bool:
    """Whether somebody's own list has them take a person over."""
    steps = leaves(scene.scenario.job.get(name, ()))
    return any(isinstance(step, planned.TakeOver) for step in steps)
