"""The points of a side elevation to scale, ready for JSON: anchors, edges, lines, stays."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, isfinite
from typing import Any

from edgewear.rigging.laying import Laid, lay
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.rigging.survey import place
from edgewear.scenario.models.scenario import Scenario


def drawing(
    scenario: Scenario, sections: Sequence[Section], profiles: dict[str, Profile]
) -> dict[str, Any]:
    """Return what a drawing of an option needs, lengths in metres, in the survey's frame.

    Lines are laid at the deepest place of their use; with given bends there are no points, but
    lengths and bends along the rope, and the edges of such lines have no place.
    """
    return {
        "direct": all(s.direct for s in sections),
        "anchors": _anchors(scenario, sections),
        "edges": _edges(scenario, sections),
        "lines": [_line(scenario, s, profiles[s.person]) for s in sections],
        "stations": [
            {"name": f"{who}: {s.name}", "at": [*_track(sections, who, s.depth_m), -s.depth_m]}
            for who, depths in profiles.items()
            for s in depths.stays
        ],
    }


def _track(sections: Sequence[Section], person: str, depth_m: float) -> list[float]:
    mine = [s for s in sections if s.person == person]
    return list(mine[0].load_at(depth_m)) if mine else [0.0, 0.0]


def _anchors(scenario: Scenario, sections: Sequence[Section]) -> list[dict[str, Any]]:
    used: dict[str, str] = {}
    for section in sections:
        used.setdefault(section.anchor, _use(section))
        for item in section.edges:
            if item.kind != "edge":
                used.setdefault(item.name, item.kind)
    found = []
    for name, use in used.items():
        anchor = scenario.anchors.get(name)
        point = place(anchor) if anchor is not None else None
        found.append(
            {
                "name": name,
                "at": list(point) if point is not None else [0.0, 0.0, 0.0],
                "kind": anchor.kind if anchor is not None else "single",
                "strength_n": anchor.strength.value if anchor is not None else None,
                "use": use,
            }
        )
    return found


def _use(section: Section) -> str:
    return "re-anchor" if isfinite(section.top_m) else "anchor"


def _edges(scenario: Scenario, sections: Sequence[Section]) -> list[dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for section in sections:
        for item in section.edges:
            if item.kind == "edge" and item.name not in found:
                edge = scenario.edges[item.name]
                found[item.name] = {
                    "name": item.name,
                    "start": list(item.start_m),
                    "end": list(item.end_m),
                    "radius_m": edge.radius.value,
                    "is": edge.is_,
                    "surface": edge.surface.name,
                    "protection": item.protection,
                }
    return list(found.values())


def _line(scenario: Scenario, section: Section, depths: Profile) -> dict[str, Any]:
    top = max(section.top_m, depths.highest_m)
    bottom = max(min(section.bottom_m, depths.deepest_m), top)
    return {
        "name": section.line,
        "role": section.role,
        "person": section.person,
        "rope": section.rope,
        "rope_length_m": scenario.ropes[section.rope].length.value,
        "anchor": section.anchor,
        "direct": section.direct,
        "from_m": top,
        "to_m": bottom,
        "path": _path(section, lay(section, bottom)),
    }


def _path(section: Section, laid: Laid) -> list[dict[str, Any]]:
    """Return the points of a laid section, each with the rope from the one before it."""
    touched = [section.edges[k] for k in laid.edges]
    names = [section.anchor, *(e.name for e in touched), section.person]
    kinds = [_use(section), *(e.kind for e in touched), "person"]
    points = laid.points or ((0.0, 0.0, 0.0),) * len(names)
    after = [0.0, *laid.free_m]
    bends = [0.0, *laid.bends_rad, 0.0]
    covers = [None, *(e.protection for e in touched), None]
    return [
        {
            "kind": kind,
            "name": name,
            "at": list(at),
            "after_m": m,
            "bend_deg": degrees(bend),
            "protection": cover,
        }
        for kind, name, at, m, bend, cover in zip(
            kinds, names, points, after, bends, covers, strict=True
        )
    ]
