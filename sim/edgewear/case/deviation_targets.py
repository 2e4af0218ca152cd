"""Where the place of a deviation or a frame goes in a case: its point, and the load's track."""

from __future__ import annotations

from collections.abc import Iterator

from edgewear.case.model import Target
from edgewear.rigging.laying import LED_OVER_M
from edgewear.rigging.model import EdgeOnLine, Rigged, Section
from edgewear.terms import WORKING

OUT, ALONG, UP = range(3)

TRACK = {OUT: 1, ALONG: 2}
"""Component of a place -> of a track's point (depth, out, along)."""


def led_targets(rigged: Rigged, name: str, component: int) -> list[Target]:
    """Places that a deviation's or a frame's coordinate moves, to first order.

    Parameters:
        name: of its anchor.
        component: 0 out, 1 along, 2 up.

    The ring of a deviation moves with its anchor, and the load's track with the ring: exact for
    the depth and for a ring straight above the load; the change of the direction in which the line
    pulls the ring is left out (a share of about sling over distance to the next point).
    """
    moved = [
        Target("edges", (i, j), field, component, "shift")
        for i, section in enumerate(rigged.sections)
        for j, item in enumerate(section.edges)
        if item.kind != "edge" and item.name == name
        for field in ("start_m", "end_m")
    ]
    for person in dict.fromkeys(s.person for s in rigged.sections):
        moved += _track(rigged, person, name, component)
    return moved


def _track(rigged: Rigged, person: str, name: str, component: int) -> Iterator[Target]:
    """The points of a person's track that a deviation leads, on each of their sections."""
    mine = [(i, s) for i, s in enumerate(rigged.sections) if s.person == person]
    leads = next((s for _, s in mine if s.role == WORKING and _deviations(s) and s.track_m), None)
    if leads is None:
        return
    for n, item in enumerate(_deviations(leads)):
        if item.name == name:
            for point, axis, sign in _points(leads, n, component):
                for i, section in mine:
                    if section.track_m:
                        yield Target("lines", (i,), "track_m", (point, axis), "shift", sign)


def _deviations(section: Section) -> list[EdgeOnLine]:
    return [e for e in section.edges if e.kind == "deviation"]


def face_targets(rigged: Rigged, edge: str, component: int) -> list[Target]:
    """Places of the way along a stepped face that an edge's coordinate moves.

    Parameters:
        edge: its name.
        component: 0 out, 1 along, 2 up.
    """
    if component == ALONG:
        return []
    axis, sign = (1, 1.0) if component == OUT else (0, -1.0)
    return [
        Target("lines", (i,), "track_m", (point, axis), "shift", sign)
        for i, section in enumerate(rigged.sections)
        for point, (name, at) in enumerate(zip(section.face_edges, section.face_m, strict=True))
        if name == edge and at in section.track_m[point : point + 1]
    ]


def _points(section: Section, n: int, component: int) -> Iterator[tuple[int, int, float]]:
    """What of a track the n-th deviation moves: (point, component of it, sign)."""
    track = section.track_m
    begins = len(track) - 2 * (len(_deviations(section)) - n)  # after the points of the face
    there = begins + 1
    if component == UP:  # depth is counted down
        yield there, 0, -1.0
        if abs(track[begins][0] - (track[there][0] - LED_OVER_M)) < 1e-9:
            yield begins, 0, -1.0
        if there + 1 < len(track) and track[there + 1][0] == track[there][0]:
            yield there + 1, 0, -1.0  # the next one begins where this one is reached
        return
    if component == OUT and track[there][1] <= section.load_m[0]:
        return  # the load hangs further out than the ring
    yield there, TRACK[component], 1.0
    if there + 1 < len(track):
        yield there + 1, TRACK[component], 1.0
