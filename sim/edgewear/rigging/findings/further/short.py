"""Remarks on ropes that are long enough by the survey's middle values and not by its ends."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil, hypot
from statistics import NormalDist

from edgewear import spelt
from edgewear.rigging.lengths import TIED_M, RopeNeed, fixed_m, rope_need
from edgewear.rigging.profile import Profile
from edgewear.rigging.sections import whole
from edgewear.rigging.survey import fixed_points
from edgewear.scenario.models.gear import Edge
from edgewear.scenario.models.scenario import Anchor, Line, Option, Scenario
from edgewear.scenario.text.quantities import Measured

CASES = 256
"""As many as a comparison plays when nothing else is asked for: what comes up once in them."""

FURTHER = NormalDist().inv_cdf(1.0 - 1.0 / CASES) / NormalDist().inv_cdf(0.95)
"""How much further out than the end of a 90 % interval 1 case of so many of a normal lies [1]."""


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


def short_of_re_anchors(
    scenario: Scenario, option: Option, profiles: Mapping[str, Profile]
) -> Iterator[str]:
    """Say which ropes cannot be tied in at re-anchors that nobody comes down to."""
    for who, depths in profiles.items():
        pair = option.lines[who]
        for line in (pair.working, pair.safety):
            if line is not None and line.re_anchor:
                yield from _of_re_anchors(scenario, option, who, line, depths)


def _of_re_anchors(
    scenario: Scenario, option: Option, who: str, line: Line, depths: Profile
) -> Iterator[str]:
    """Say it of one line: what the job itself takes is held against the rope elsewhere."""
    need = rope_need(scenario, option, who, line, depths)
    sections = whole(scenario, option, who, line, need.line)
    passed = sum(section.top_m <= depths.deepest_m for section in sections)
    for k in range(max(passed, 1), len(sections)):
        takes_m = fixed_m(sections[: k + 1]) + TIED_M
        if takes_m > need.available_m:
            anchor = sections[k].anchor
            yield (
                f"{need.line}: {spelt.quoted(need.rope)} does not reach the re-anchor "
                f"{spelt.quoted(anchor)}, to which the job does not come: tied in there it takes "
                f"{_tenths(takes_m):.1f} m and has {need.available_m:g} m; take a longer rope, or "
                f"leave {spelt.quoted(anchor)} out"
            )
            return


def _short(
    scenario: Scenario, option: Option, who: str, line: Line, depths: Profile
) -> Iterator[str]:
    """Say it of one line, if it is so: at the careful end, or else further out."""
    need = rope_need(scenario, option, who, line, depths)
    for rarely in (False, True):
        ends = list(_moved(scenario, line, rarely))
        # a point that is moved makes no line longer than by twice its way: most ropes end here
        if not 0.0 <= need.tail_m < sum(2.0 * one.off_m for one in ends):
            continue
        more_m, most = _more(need, option, who, depths, ends)
        if more_m > need.tail_m + 1e-9:  # no remark for rounding
            yield (_rarely if rarely else _words)(need, need.needed_m + more_m, most)
            return


def _more(
    need: RopeNeed, option: Option, who: str, depths: Profile, ends: list[Moved]
) -> tuple[float, Moved]:
    """Give what all distances at their ends add [m], and the one that adds most.

    What each adds at its own worse end is added as the root of the sum of squares, as what is
    independent (JCGM 100, from memory).
    """
    adds: dict[tuple[str, str], tuple[float, Moved]] = {}
    for one in ends:
        found = rope_need(one.scenario, option, who, one.line, depths)
        more = found.needed_m - need.needed_m, one
        adds[one.name, one.word] = max(more, adds.get((one.name, one.word), more), key=_added)
    return hypot(*(max(more, 0.0) for more, _ in adds.values())), max(adds.values(), key=_added)[1]


def _added(more: tuple[float, Moved]) -> float:
    return more[0]


def _words(need: RopeNeed, careful_m: float, most: Moved) -> str:
    missing_m = _tenths(careful_m - need.available_m)
    return (
        f"{need.line}: {spelt.quoted(need.rope)} may be {missing_m:.1f} m too short: at the "
        f"careful end of the distances typed it {_needs(need, careful_m, most)}"
    )


def _rarely(need: RopeNeed, needed_m: float, most: Moved) -> str:
    return (
        f"{need.line}: {spelt.quoted(need.rope)} is long enough at the careful end of the "
        f"distances typed, and in at least 1 case of {CASES} too short: it then "
        f"{_needs(need, needed_m, most)}"
    )


def _needs(need: RopeNeed, needed_m: float, most: Moved) -> str:
    at = spelt.quoted(most.name)
    return (
        f"needs {_tenths(needed_m):.1f} m and has {need.available_m:g} m, most of it by {at} "
        f"{most.word} {most.end_m:.1f} m instead of {most.value_m:g} m; measure {at}, or take a "
        "longer rope"
    )


def _tenths(length_m: float) -> float:
    return ceil(length_m * 10.0 - 1e-6) / 10.0


def _moved(scenario: Scenario, line: Line, rarely: bool) -> Iterator[Moved]:
    """Give all distances that decide how long a line is, at both ends of what is typed.

    Parameters: `rarely`: as far out as 1 of so many `CASES` lies, not at the ends.
    """
    for k, passed in enumerate(line.over):
        for end_m in _ends(passed.after, rarely):
            given = passed.model_copy(update={"after": Measured.exact(end_m, "m")})
            over = (*line.over[:k], given, *line.over[k + 1 :])
            changed = line.model_copy(update={"over": over})
            yield Moved(passed.edge, "after", passed.after.value, end_m, scenario, changed)
    if line.over:
        return
    led = [d.anchor for d in line.deviations]
    for name in dict.fromkeys([*fixed_points(line), *led, line.high_directional]):
        if name in scenario.anchors:
            yield from _of(scenario, line, rarely, "anchors", name, scenario.anchors[name])
    for name, edge in scenario.edges.items():
        yield from _of(scenario, line, rarely, "edges", name, edge)


def _of(
    scenario: Scenario, line: Line, rarely: bool, table: str, name: str, spot: Anchor | Edge
) -> Iterator[Moved]:
    """Give the coordinates of a point at both their ends, each in a scenario of its own."""
    for word in ("out", "along", "up"):
        value: Measured | None = getattr(spot, word)
        for end_m in () if value is None else _ends(value, rarely):
            moved = spot.model_copy(update={word: Measured.exact(end_m, "m")})
            spots = {**getattr(scenario, table), name: moved}
            other = scenario.model_copy(update={table: spots})
            yield Moved(name, word, getattr(spot, word).value, end_m, other, line)


def _ends(value: Measured, rarely: bool) -> tuple[float, ...]:
    """Give both ends of what a distance may be; what has ends of its own goes no further."""
    if value.is_exact:
        return ()
    ends = value.low, value.high
    if not rarely:
        return ends
    if value.distribution == "lognormal":
        return tuple(value.value * (end / value.value) ** FURTHER for end in ends)
    further = FURTHER if value.distribution == "normal" else 1.0
    return tuple(value.value + further * (end - value.value) for end in ends)
