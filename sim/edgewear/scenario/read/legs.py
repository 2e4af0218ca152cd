"""A survey leg by leg, turned into coordinates.

    far bollards: {legs: [taped 4 m back, 1.1 m up, over the parapet, ...]}

Each leg leads from the anchor, or the edge before, to the next edge, and the last one to the load.
A leg with `back` says where it starts, all of it seen from where it ends: `8 m back, 1 m up, over
the brow` puts the anchor 8 m behind the brow and 1 m above it. A leg with `out` or `in` says where
it ends, seen from where it starts; so does one of heights and sides alone, where it starts at an
edge. Accuracies add in quadrature along the legs.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import hypot
from typing import Any, NamedTuple

from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.quantities import Basis, Measured, Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.tree import Path_

AXES = ("out", "along", "up")

WAYS = {
    "out": (0, 1.0),
    "back": (0, -1.0),
    "in": (0, -1.0),
    "right": (1, 1.0),
    "left": (1, -1.0),
    "up": (2, 1.0),
    "down": (2, -1.0),
}
_SAYS = {"back", "out", "in"}
"""Words that say from which end a leg is seen."""

LEG = Quantity("length", accuracy="distance", low=0.0)
_ROUGH: tuple[Basis, ...] = ("given", "measured", "taped", "paced")
"""How the lengths of a leg are found, the roughest last."""

Report = Callable[[Path_, str], None]


@dataclass
class Spot:
    """A coordinate triple with half its 90 % interval and how it was found."""

    at: list[float]
    half: list[float]
    basis: Basis = "given"

    def entries(self) -> dict[str, Measured]:
        """Give the coordinates as values of a scenario."""
        return {
            axis: Measured(
                value=value,
                low=value - half,
                high=value + half,
                unit="m",
                typed="legs",
                basis=self.basis,
                distribution="normal" if half else "fixed",
                pedigree="sum of legs, accuracies in quadrature" if half else "",
            )
            for axis, value, half in zip(AXES, self.at, self.half, strict=True)
        }


class Leg(NamedTuple):
    """A way between two spots; the load's name is empty."""

    start: tuple[str, str]  # ("anchors", name) or ("edges", name)
    end: tuple[str, str]
    way: Spot
    path: Path_


LOAD = ("load", "")


class Survey:
    """Legs of all anchors, laid out from the spots that are known."""

    def __init__(self, edges: list[str], context: Mapping[str, Any], report: Report) -> None:
        """Begin with no legs."""
        self._edges, self._context, self._report = edges, context, report
        self.legs: list[Leg] = []
        self.first_edges: dict[str, str] = {}
        """Anchor -> the edge that its first leg leads over."""
        self.spots: dict[tuple[str, str], Spot] = {}
        self._known: set[tuple[str, str]] = set()

    def know(self, name: tuple[str, str], spot: Spot) -> None:
        """Take over coordinates that are typed."""
        self.spots[name] = spot
        self._known.add(name)

    def reached(self, name: tuple[str, str]) -> Spot | None:
        """Give the spot that legs lead to; None where coordinates are typed or no leg leads."""
        return None if name in self._known else self.spots.get(name)

    def add_anchor(self, name: str, found: object, path: Path_) -> None:
        """Read an anchor's legs."""
        if not isinstance(found, list) or not all(isinstance(text, str) for text in found):
            self._report(path, "a list of legs is due, each such as: 4 m back, 1.1 m up, over kerb")
            return
        start = ("anchors", name)
        for index, text in enumerate(found):
            here = (*path, index)
            leg = self._read(text, start, here, last=index == len(found) - 1)
            if leg is None:
                return
            if index == 0 and leg.end != LOAD:
                self.first_edges[name] = leg.end[1]
            self.legs.append(leg)
            start = leg.end

    def _read(self, text: str, start: tuple[str, str], path: Path_, last: bool) -> Leg | None:
        """Read one leg; None after a problem."""
        *moves, goal = [part.strip() for part in text.split(",")]
        if not goal.startswith("over "):
            moves.append(goal)
            goal = ""
        if not goal and not last:
            message = "every leg but the last ends with `over` and an edge"
            hint = "; did a comma split it? Then give it a line of its own, or quotes"
            self._report(path, f"{text!r}: {message}{hint}")
            return None
        edge = goal.removeprefix("over ").strip()
        if edge not in self._edges:
            edge = edge.removeprefix("the ")
        if goal and edge not in self._edges:
            hint = did_you_mean(edge, self._edges)
            self._report(path, f"{text!r}: there is no edge {edge!r}{hint}")
            return None
        way = self._moves(moves, text, path, from_anchor=start[0] == "anchors")
        return Leg(start, ("edges", edge) if goal else LOAD, way, path) if way else None

    def _moves(self, moves: list[str], text: str, path: Path_, *, from_anchor: bool) -> Spot | None:
        seen_from_end = self._seen_from_end(moves, text, path, from_anchor=from_anchor)
        if seen_from_end is None:
            return None
        way = Spot([0.0] * 3, [0.0] * 3)
        for move in moves:
            length, _, word = move.rpartition(" ")
            if word not in WAYS:
                ways = ", ".join(WAYS)
                self._report(path, f"{text!r}: {move!r} does not end with a direction ({ways})")
                return None
            try:
                measured = read_quantity(length, LEG, self._context)
            except QuantityProblem as problem:
                self._report(path, f"{text!r}: {problem}")
                return None
            axis, sign = WAYS[word]
            way.at[axis] += (-sign if seen_from_end else sign) * measured.value
            way.half[axis] = hypot(way.half[axis], (measured.high - measured.low) / 2)
            way.basis = _rougher(way.basis, measured.basis)
        return way

    def _seen_from_end(
        self, moves: list[str], text: str, path: Path_, *, from_anchor: bool
    ) -> bool | None:
        """Tell whether a leg says where it starts, seen from its end; None after a problem."""
        words = {move.rpartition(" ")[2] for move in moves}
        onward = [word for word in ("in", "out") if word in words]
        if "back" in words and onward:
            message = (
                f"`back` says where the leg starts, `{onward[0]}` where it ends: one of them a leg"
            )
            self._report(path, f"{text!r}: {message}")
            return None
        if from_anchor and words and words <= set(WAYS) - _SAYS:
            message = (
                "seen from the anchor or from where the leg ends? Say `0 m back` where it tells "
                "where the anchor is, `0 m out` where it tells the way on"
            )
            self._report(path, f"{text!r}: {message}")
            return None
        return "back" in words

    def lay_out(self) -> None:
        """Place every spot that a leg leads to or from, and compare those met twice."""
        if self.legs and not any(
            leg.start in self.spots or leg.end in self.spots for leg in self.legs
        ):
            self.spots[self.legs[0].end] = Spot([0.0] * 3, [0.0] * 3)
        left = list(self.legs)
        while left:
            ready = [leg for leg in left if leg.start in self.spots or leg.end in self.spots]
            if not ready:
                message = "this leg hangs together with no spot that is known"
                self._report(left[0].path, message)
                return
            for leg in ready:
                self._place(leg)
            left = [leg for leg in left if leg not in ready]

    def _place(self, leg: Leg) -> None:
        start, end = self.spots.get(leg.start), self.spots.get(leg.end)
        if start is None and end is not None:
            self.spots[leg.start] = _moved(end, leg.way, -1.0)
        elif start is not None:
            reached = _moved(start, leg.way, 1.0)
            if end is None:
                self.spots[leg.end] = reached
            else:
                self._compare(reached, end, leg)

    def _compare(self, reached: Spot, known: Spot, leg: Leg) -> None:
        """Refuse legs that miss a spot by more than their accuracies allow."""
        for i, axis in enumerate(AXES):
            miss = abs(reached.at[i] - known.at[i])
            if miss > reached.half[i] + known.half[i] + 0.02:
                name = leg.end[1] or "the load"
                message = f"this leg misses {name!r} by {miss:.2f} m ({axis}): measure again"
                self._report(leg.path, message)


def _moved(start: Spot, way: Spot, sign: float) -> Spot:
    at = [a + sign * b for a, b in zip(start.at, way.at, strict=True)]
    half = [hypot(a, b) for a, b in zip(start.half, way.half, strict=True)]
    return Spot(at, half, _rougher(start.basis, way.basis))


def _rougher(first: Basis, second: Basis) -> Basis:
    return max(first, second, key=_ROUGH.index)
