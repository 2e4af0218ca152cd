"""Remarks on ropes that are long enough by the survey's middle values and not by its ends."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil, hypot

from edgewear import spelt
from edgewear.rigging.lengths import RopeNeed, rope_need
from edgewear.rigging.profile import Profile
from edgewear.rigging.survey import fixed_points
from edgewear.scenario.models.gear import Edge
from edgewear.scenario.models.scenario import Anchor, Line, Option, Scenario
from edgewear.scenario.text.quantities import Measured


@dataclass(frozen=True)
class Moved:
    """One distance of a survey at an end of its range, all others at their middle values."""

    name: str
    word: str
    value_m: float
    end_m: float
    scenario: Scenario
    line: Line

    @property
    def off_m(self) -> float:
        """How far the end is from the middle [m]."""
        return abs(self.end_m - self.value_m)


def short_ropes(
    scenario: Scenario, option: Option, profiles: Mapping[str, Profile]
) -> Iterator[str]:
    """Say which ropes would be too short at the careful end of what is known of the places."""
    for who, depths in profiles.items():
        pair = option.lines[who]
        for line in (pair.working, pair.safety):
            if line is not None:
                yield from _short(scenario, option, who, line, depths)


def _short(
    scenario: Scenario, option: Option, who: str, line: Line, depths: Profile
) -> Iterator[str]:
    """Say it of one line, if it is so.

    What each distance adds at its own careful end is added as the root of the sum of squares, as
    what is independent (JCGM 100, from memory).
    """
    need, ends = rope_need(scenario, option, who, line, depths), list(_moved(scenario, line))
    # a point that is moved makes no line longer than by twice its way: most ropes are let off here
    if not 0.0 <= need.tail_m < sum(2.0 * one.off_m for one in ends):
        return
    adds: dict[tuple[str, str], tuple[float, Moved]] = {}
    for one in ends:
        found = rope_need(one.scenario, option, who, one.line, depths)
        more = found.needed_m - need.needed_m, one
        adds[one.name, one.word] = max(more, adds.get((one.name, one.word), more), key=_added)
    careful_m = hypot(*(max(more, 0.0) for more, _ in adds.values()))
    if careful_m > need.tail_m + 1e-9:  # no remark for rounding
        _, most = max(adds.values(), key=_added)
        yield _words(need, need.needed_m + careful_m, most)


def _added(more: tuple[float, Moved]) -> float:
    return more[0]


def _words(need: RopeNeed, careful_m: float, most: Moved) -> str:
    missing_m, needed_m = (ceil(m * 10.0 - 1e-6) / 10.0 for m in
                           (careful_m - need.available_m, careful_m))  # fmt: skip
    at = spelt.quoted(most.name)
    return (
        f"{need.line}: {spelt.quoted(need.rope)} may be {missing_m:.1f} m too short: at the "
        f"careful end of the distances typed it needs {needed_m:.1f} m and has "
        f"{need.available_m:g} m, most of it by {at} {most.word} {most.end_m:.1f} m instead of "
        f"{most.value_m:g} m; measure {at}, or take a longer rope"
    )


def _moved(scenario: Scenario, line: Line) -> Iterator[Moved]:
    """Give all distances that decide how long a line is, at both ends of what is typed."""
    for k, passed in enumerate(line.over):
        for end_m in _ends(passed.after):
            given = passed.model_copy(update={"after": Measured.exact(end_m, "m")})
            over = (*line.over[:k], given, *line.over[k + 1 :])
            changed = line.model_copy(update={"over": over})
            yield Moved(passed.edge, "after", passed.after.value, end_m, scenario, changed)
    if line.over:
        return
    led = [d.anchor for d in line.deviations]
    for name in dict.fromkeys([*fixed_points(line), *led, line.high_directional]):
        if name in scenario.anchors:
            yield from _of(scenario, line, "anchors", name, scenario.anchors[name])
    for name, edge in scenario.edges.items():
        yield from _of(scenario, line, "edges", name, edge)


def _of(
    scenario: Scenario, line: Line, table: str, name: str, spot: Anchor | Edge
) -> Iterator[Moved]:
    """Give the coordinates of a point at both their ends, each in a scenario of its own."""
    for word in ("out", "along", "up"):
        value: Measured | None = getattr(spot, word)
        for end_m in () if value is None else _ends(value):
            moved = spot.model_copy(update={word: Measured.exact(end_m, "m")})
            spots = {**getattr(scenario, table), name: moved}
            other = scenario.model_copy(update={table: spots})
            yield Moved(name, word, getattr(spot, word).value, end_m, other, line)


def _ends(value: Measured) -> tuple[float, ...]:
    return () if value.is_exact else (value.low, value.high)
