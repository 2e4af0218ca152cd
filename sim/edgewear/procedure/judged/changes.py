"""Changes to a procedure that are worth a try: kit, anchors, protection, steps, people, reactions.

Each is typed where it would be typed by hand. They are taken from one family after the other, so
that a bounded number of trials has something of each.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from math import copysign
from typing import TYPE_CHECKING

from edgewear.findings.verdict import Held, Point
from edgewear.job.site import ATTENDANT
from edgewear.procedure.rescue_ways.kit import HAUL_KIT, RESCUE_KIT, SLING
from edgewear.scenario.models import steps as planned
from edgewear.scenario.text.tree import Path_, parse_tree

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Line, Scenario

MORE_ROPE = 1.5
"""By so much a rope is made longer when that is tried."""

BESIDE_M = (1.0, 0.5)
"""So far beside the other line's fixed point an anchor is moved when that is tried [m]."""

SLEEVE = "{is: sleeve, fixed to: rope}"
"""What a swing takes along."""

HELPER = "helper on top"
"""Somebody who is added, on top, without lines."""


@dataclass(frozen=True)
class Edit:
    """Something typed otherwise, or added; in a list with `before`, put in there."""

    path: Path_
    typed: str
    before: int | None = None  # position in the list from 0; None: it replaces what stands there

    @property
    def value(self) -> object:
        """What is typed, as the file would give it."""
        return parse_tree(f"typed: {self.typed}\n", "change").data["typed"]

    @property
    def address(self) -> str:
        """Where it would be typed."""
        at = () if self.before is None else (f"before step {self.before + 1}",)
        return "/".join(map(str, (*self.path, *at)))


@dataclass(frozen=True)
class Change:
    """What is typed together."""

    edits: tuple[Edit, ...]


def one(path: Path_, typed: str) -> Change:
    """A change of one thing."""
    return Change((Edit(path, typed),))


def changes_for(
    scenario: Scenario, option: str, held: Sequence[Point], most: int
) -> tuple[tuple[Change, ...], int]:
    """Changes to try, at most so many, and how many there were to choose from.

    Parameters:
        held: against the procedure: where nothing of a rescue is, nothing of one is changed.
    """
    rescues = any(point.rescue or point.held is Held.FALLS for point in held)
    catches = not all(point.rescue for point in held)
    of_rescue = (_kit(scenario, option), _people(scenario, option), _reactions(),
                 _ropes(scenario, option))  # fmt: skip
    of_catch = (_anchors(scenario, option), _protection(scenario, option),
                _devices(scenario, option), _steps(scenario, option))  # fmt: skip
    wanted = (*(of_rescue if rescues else ()), *(of_catch if catches else ()))
    every = list(dict.fromkeys(one for row in zip_longest(*wanted) for one in row if one))
    return tuple(every[:most]), len(every)


def _kit(scenario: Scenario, option: str) -> Iterator[Change]:
    """A piece more on top; a piece with each of those who have lines."""
    for word in (SLING, HAUL_KIT, RESCUE_KIT):
        count = scenario.kit.get(word, 0)
        lying = scenario.lying(word)
        if not all(some.at_hand and some.carried_by is None for some in lying):
            yield one(("kit", word), str(count))
        yield one(("kit", word), str(count + 1))
    for word in (SLING, RESCUE_KIT):
        carry = {some.carried_by for some in scenario.lying(word)}
        for person in scenario.options[option].lines:
            if person in scenario.job and person not in carry:
                yield one(("kit", word), f"{{carried by: {_quoted(person)}}}")


def _people(scenario: Scenario, option: str) -> Iterator[Change]:
    """Who watches; somebody more on top, with or without a haul kit."""
    for person, both in scenario.options[option].lines.items():
        if both.working.attendant is None:
            yield one(("lines", person, "attendant"), ATTENDANT)
    if len(scenario.people) > 1 and HELPER not in scenario.people:
        added = (Edit(("people", HELPER), "{mass: 85 kg}"), Edit(("job", HELPER), "[rest: 1 min]"))
        yield Change(added)
        yield Change((*added, Edit(("kit", HAUL_KIT), "1")))


def _reactions() -> Iterator[Change]:
    for seen, done in (("parted", "retreat on safety line"), ("parted", "call rescue"),
                       ("core visible", "call rescue")):  # fmt: skip
        yield one(("when", seen), done)


def _ropes(scenario: Scenario, option: str) -> Iterator[Change]:
    """Anchors that can be released, longer ropes."""
    for _, _, line in _lines(scenario, option):
        if line.anchor is not None and not scenario.anchors[line.anchor].releasable:
            yield one(("anchors", line.anchor, "releasable"), "yes")
        longer_m = scenario.ropes[line.rope].length.value * MORE_ROPE
        yield one(("ropes", line.rope, "length"), f"{longer_m:.0f} m")


def _anchors(scenario: Scenario, option: str) -> Iterator[Change]:
    """A safety line's fixed point moved beside the working line's; another one that is free."""
    chosen = scenario.options[option]
    used = {line.anchor for _, _, line in _lines(scenario, option)}
    free = [name for name in scenario.anchors if name not in used]
    for person, both in chosen.lines.items():
        if both.safety is None or both.safety.anchor is None or both.working.anchor is None:
            continue
        first = scenario.anchors[both.working.anchor].along
        second = scenario.anchors[both.safety.anchor].along
        if first is not None and second is not None:
            for along_m in _beside(first.value, second.value):
                yield one(("anchors", both.safety.anchor, "along"), f"{along_m:.2f} m")
        for name in free:
            yield one(("lines", person, "safety line", "anchor"), _quoted(name))
    for person, _ in chosen.lines.items():
        for name in free:
            yield one(("lines", person, "anchor"), _quoted(name))


def _beside(first_m: float, second_m: float) -> Iterator[float]:
    """Where along the face the second would stand nearer to the first [m]."""
    for beside_m in BESIDE_M:
        if abs(second_m - first_m) > beside_m:
            yield first_m + copysign(beside_m, second_m - first_m)


def _protection(scenario: Scenario, option: str) -> Iterator[Change]:
    """A pad where a line has none; on a safety line a sleeve that a swing takes along."""
    for person, role, line in _lines(scenario, option):
        if role and line.protect:
            where = ("lines", person, "safety line", "protect")
            yield Change(tuple(Edit((*where, edge), SLEEVE) for edge in line.protect))
    for person, role, line in _lines(scenario, option):
        for edge in scenario.edges:
            where = ("lines", person, *(("safety line",) if role else ()), "protect", edge)
            piece = line.protect.get(edge)
            if piece is None:
                yield _counted(scenario, where, "pad", "pad")
            if role and (piece is None or piece.fixed_to != "rope"):
                yield _counted(scenario, where, "sleeve", SLEEVE)


def _counted(scenario: Scenario, where: Path_, word: str, typed: str) -> Change:
    """A piece of protection, with one more in the kit where they are counted."""
    count = scenario.kit.get(word)
    more = () if count is None else (Edit(("kit", word), str(count + 1)),)
    return Change((Edit(where, typed), *more))


def _devices(scenario: Scenario, option: str) -> Iterator[Change]:
    for person, role, line in _lines(scenario, option):
        for backup in ("slipping backup", "toothed backup"):
            if role and (line.backup is None or line.backup.is_ != backup):
                yield one(("lines", person, "safety line", "backup"), backup)


def _steps(scenario: Scenario, option: str) -> Iterator[Change]:
    """Somebody at the edge looks before each work; protection is looked at before it is loaded.

    Only after the last step that a fault names by its number, which would be another one else.
    """
    last = max((f.step or 0 for f in scenario.faults.values()), default=0)
    for person, steps in scenario.job.items():
        if len(scenario.job) < 2 or person not in scenario.options[option].lines:
            continue
        for at, step in enumerate(steps):
            if at < last:
                continue
            if isinstance(step, planned.Work):
                look = f"{{inspect: {{by: {ATTENDANT}, protection: lifted}}}}"
                yield Change((Edit(("job", person), look, at),))
            elif isinstance(step, planned.CrossEdge):
                check = f"{{check protection: {_quoted(step.edge)}}}"
                yield Change((Edit(("job", person), check, at),))


def _lines(scenario: Scenario, option: str) -> Iterator[tuple[str, bool, Line]]:
    """Person, whether it is their safety line, and the line."""
    for person, both in scenario.options[option].lines.items():
        yield person, False, both.working
        if both.safety is not None:
            yield person, True, both.safety


def _quoted(name: str) -> str:
    """A name as it can stand anywhere in a file."""
    if name.replace(" ", "").replace("-", "").isalnum():
        return name
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
