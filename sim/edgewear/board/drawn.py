"""What is shown at once: an option from the side and from above, its handles, its loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from edgewear.board.editing.tied import by_legs, is_between
from edgewear.findings.plain import plain
from edgewear.report.drawings import elevation, scene
from edgewear.report.drawings.view import LARGE, Frame, Plane, View, view_of
from edgewear.report.parts import words
from edgewear.rigging.findings.facts import facts

if TYPE_CHECKING:
    from edgewear.dataset.ranking.model import OptionResult
    from edgewear.scenario import Scenario

NARROW = Frame(400.0, 84.0, 260.0)
"""On a narrow screen, and from above: fewer columns for the same words."""

ROOM = 0.12
"""Empty room around the outermost points, in shares of their spread: things are dragged there."""

SIDE, ABOVE, LENGTHS = "side", "above", "lengths"

TITLES = {SIDE: "from the side", ABOVE: "from above", LENGTHS: "by lengths and bends"}


class Views(NamedTuple):
    """The scales of both drawings, kept while something is dragged."""

    side: View
    above: View | None


class Drawn(NamedTuple):
    """Both drawings with what can be taken hold of in them."""

    document: dict[str, Any]  # JSON-able
    views: Views | None


def drawn(
    scenario: Scenario,
    option: str,
    data: Mapping[str, Any],
    found: OptionResult | None = None,
    views: Views | None = None,
    narrow: bool = False,
) -> Drawn:
    """Draw an option as it is rigged.

    Parameters:
        scenario: can be used.
        option: its name.
        data: the file's values as typed.
        found: what its trials came to, with the wear at its edges and what a catch does from where
            the run has people hang; None: no wear, and catches from where they are planned to.
        views: scales to keep; None: everything fits.
        narrow: whether the screen is narrow.
    """
    told = plain(facts(scenario, option)) if found is None else found.facts
    worn = None
    if found is not None and found.group < 3:
        worn = {(edge.line, edge.edge): edge.decides[1] for edge in found.edges}
    side = scene.read(told["drawing"], worn)
    if not side.points:
        return Drawn({"option": option, "pictures": [], **_loads(told)}, None)
    above = scene.from_above(told, worn, aside_m=-1.0)
    frame = NARROW if narrow else LARGE
    kept = views or Views(
        view_of(_with_room(side.points), frame),
        None if above is None else view_of(_with_room(above.points, _swings(above)), NARROW),
    )
    pictures = [_picture(SIDE, side, kept.side, option, told, data)]
    if above is not None and kept.above is not None:
        named = replace(above, marks=tuple(replace(mark, note="") for mark in above.marks))
        pictures.append(_picture(ABOVE, named, kept.above, option, told, data))
    beside = scene.apart(told["drawing"], worn)
    if beside is not None:
        view = view_of(_with_room(beside.points), NARROW)
        pictures.append(_picture(LENGTHS, beside, view, option, told, data))
    return Drawn({"option": option, "pictures": pictures, **_loads(told)}, kept)


def _swings(above: scene.Scene) -> list[Plane]:
    return [end for swing in above.swings for end in (swing.start, swing.end)]


def _with_room(points: Sequence[Plane], more: Sequence[Plane] = ()) -> list[Plane]:
    """Give corners around points, a metre apart at least."""
    xs, zs = zip(*points, *more, strict=True)
    wide, tall = max(max(xs) - min(xs), 1.0) * ROOM, max(max(zs) - min(zs), 1.0) * ROOM
    return [(min(xs) - wide, min(zs) - tall), (max(xs) + wide, max(zs) + tall)]


def _picture(
    kind: str,
    shown: scene.Scene,
    view: View,
    option: str,
    told: Mapping[str, Any],
    data: Mapping[str, Any],
) -> dict[str, Any]:
    title = TITLES[kind]
    return {
        "kind": kind,
        "svg": elevation.picture(shown, view, f"board-{kind}", f"{option}: {title}"),
        "units_per_m": view.units_per_m,
        "handles": [] if shown.unrolled else _handles(kind, shown, view, told, data),
    }


def _handles(
    kind: str,
    shown: scene.Scene,
    view: View,
    told: Mapping[str, Any],
    data: Mapping[str, Any],
) -> list[dict[str, Any]]:
    """Give what can be dragged: anchors and edges with a place of their own, and people."""
    second = 2 if kind == SIDE else 1
    drawing, marked = told["drawing"], {mark.name for mark in shown.marks}
    found = []
    for section in ("anchors", "edges"):
        for one in drawing.get(section, ()):
            if one["name"] not in marked:
                continue
            typed = data.get(section, {}).get(one["name"])
            own = isinstance(typed, dict) and {"out", "up"} <= set(typed)
            between = isinstance(typed, dict) and is_between(typed)
            if not own and not between and not by_legs(data, (section, one["name"])):
                continue
            place = one["at"] if section == "anchors" else _middle(one)
            x, y = view.at((place[0], place[second]))
            axes = ["out", "up" if kind == SIDE else "along"]
            axes = axes[:1] if section == "edges" and kind == ABOVE and not between else axes
            found.append(
                {
                    "section": section, "name": one["name"], "x": x, "y": y, "axes": axes,
                    "out": place[0], "along": place[1], "up": place[2], "by": not own,
                    "far": [] if between else axes,
                    "said": _place_said(typed, axes) if own else _metres(place, axes, between),
                }
            )  # fmt: skip
    return found + (_people(view, drawing) if kind == SIDE else [])


def _place_said(typed: Mapping[str, Any], axes: Sequence[str]) -> str:
    return ", ".join(f"{axis} {_said(typed.get(axis))}" for axis in axes)


def _metres(place: Sequence[float], axes: Sequence[str], between: bool) -> str:
    """Say where something is that has no place typed, and what is typed anew when it is dragged."""
    at = dict(zip(("out", "along", "up"), place, strict=True))
    told = ", ".join(f"{axis} {words.metres(at[axis])}" for axis in axes)
    return f"{told}, {'the middle between two points' if between else 'by legs'}"


def _said(typed: object) -> str:
    return "not said" if typed is None else typed if isinstance(typed, str) else "given as a range"


def _middle(edge: Mapping[str, Any]) -> list[float]:
    start = edge["start"]
    end = edge.get("end") or start
    return [(a + b) / 2 for a, b in zip(start, end, strict=True)]


def _people(view: View, drawing: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Give everybody's lowest place, which goes up and down with the longest way of their job."""
    last: dict[str, Sequence[float]] = {}
    for line in drawing.get("lines", ()):
        if line.get("path") and line["role"] == "working line" and not line["direct"]:
            last[line["person"]] = line["path"][-1]["at"]
    return [
        {
            "section": "people", "name": who, "x": view.at((at[0], at[2]))[0],
            "y": view.at((at[0], at[2]))[1], "axes": ["up"], "out": at[0], "along": at[1],
            "up": at[2], "by": False, "far": [], "said": f"lowest place {words.metres(at[2])} up",
        }
        for who, at in last.items()
    ]  # fmt: skip


def _loads(told: Mapping[str, Any]) -> dict[str, Any]:
    """Give the largest load of each case at each point, and the rope that is left."""
    largest: dict[tuple[str, str], Mapping[str, Any]] = {}
    for one in told["loads"]:
        key = str(one["name"]), str(one["case"])
        if key not in largest or one["peak_n"] > largest[key]["peak_n"]:
            largest[key] = one
    loads = [
        [
            name, str(one["use"]), case, words.kilonewtons(one["peak_n"]),
            "not rated" if not one["strength_n"] else words.kilonewtons(one["strength_n"]),
        ]
        for (name, case), one in largest.items()
    ]  # fmt: skip
    stretch = [
        [str(one["line"]), str(one["anchor"]), words.metres(one["stretch_m"])]
        for one in told["sections"]
    ]
    ropes = [
        [str(one["line"]), str(one["rope"]), words.metres(one["tail_m"])] for one in told["ropes"]
    ]
    return {"loads": loads, "stretch": stretch, "ropes": ropes, "control": told["control"],
            "status": list(told["status"]), "mind": list(told["mind"])}  # fmt: skip
