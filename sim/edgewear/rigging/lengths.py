"""Whether a rope is long enough: what the job takes, what is left over, what lies below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from edgewear.rigging.laying import lay, lay_to
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Drawn, Profile
from edgewear.rigging.sections import whole
from edgewear.scenario.models.scenario import Line, Option, Scenario
from edgewear.terms import WORKING

TIED_M = 1.5
"""Rope in the knots of an anchor and below the lowest device [m]; assumed, 1-2 m."""

LOOP_M = 1.0
"""Slack loop at a re-anchor [m]; assumed, 0.5-1.5 m."""

BODY_M = 1.2
"""From the harness to the feet [m]; assumed, 1.0-1.4 m."""


KNOT_M = 0.8
"""Rope in a knot that devices are passed over [m]; assumed, 0.5-1.2 m."""


@dataclass(frozen=True)
class RopeNeed:
    """How much rope a line takes over a job."""

    line: str
    rope: str
    available_m: float
    needed_m: float  # anchor to person, knots and loops included, and what is let out
    stopper: bool | None
    through_m: float = 0.0  # of it above the anchor, to be let out there, beside a typed tail

    @property
    def tail_m(self) -> float:
        """Rope left below the person [m]; negative: it does not reach."""
        return self.available_m - self.needed_m


def rope_need(
    scenario: Scenario, option: Option, person: str, line: Line, depths: Profile
) -> RopeNeed:
    """Return what a line of a person needs, from its first anchor to the deepest point.

    Of a working line all that it lets out at its anchor lies above that anchor before: a typed
    tail, or more rope. What hauls take in lies there too.
    """
    name = line.role if len(option.lines) == 1 else f"{person} {line.role}"
    sections = whole(scenario, option, person, line, name)
    pieces = depths.drawn if line.role == WORKING else ()
    needed, through = max(
        _taken_m(sections, piece, line.tail.value)
        for piece in pieces or ((Drawn(depths.deepest_m, 0.0),),)
    )
    needed += TIED_M
    needed += KNOT_M * sum(knot.value < needed for knot in line.knots)
    rope = scenario.ropes[line.rope]
    has_m = rope.length.value - line.tail.value
    return RopeNeed(name, line.rope, has_m, needed, rope.stopper, through)


def _taken_m(
    sections: Sequence[Section], piece: Sequence[Drawn], tail_m: float
) -> tuple[float, float]:
    """Return what one rope takes beside its tail [m], and how much of it is let out [m].

    With S above the anchor before, the most that is let out or the tail, whichever is more, the
    rope is at least S - (let out so far) + (anchor to person) long, at every depth.
    """
    through_m = max(max(out_m for _, out_m in piece) - tail_m, 0.0)
    return max(_to_m(sections, depth) - out for depth, out in piece) + through_m, through_m


def _to_m(sections: Sequence[Section], depth_m: float) -> float:
    """Return the rope from the first anchor to somebody at a depth, loops included [m]."""
    deepest = max((k for k, s in enumerate(sections) if s.top_m <= depth_m), default=0)
    section = sections[deepest]
    below_m = lay(section, max(depth_m, 0.0 if section.direct else -1e9)).length_m
    return fixed_m(sections[: deepest + 1]) + below_m


def fixed_m(sections: Sequence[Section]) -> float:
    """Return the rope from the first fixed point of a line to its last, loops included [m]."""
    return sum(
        lay_to(section, after.anchor_m).length_m + LOOP_M for section, after in pairwise(sections)
    )


SLACK_M, MOST_SLACK_M = 0.2, 0.5
"""Slack of a line nobody hangs on [m], and its careful end; assumed, 0-0.5 m."""


def slack_m(line: Line) -> tuple[float, float]:
    """Return the slack that somebody falls through onto a line, and its careful end [m]."""
    typed = line.slack
    return (SLACK_M, MOST_SLACK_M) if typed is None else (typed.value, typed.high)


def free_fall_m(line: Line) -> float:
    """Return how far somebody falls whom a line catches, before rope or device brake [m].

    The slack, and the rope that passes the backup device before it grips.
    """
    arrest_m = 0.0 if line.backup is None else line.backup.arrest.value
    return slack_m(line)[0] + arrest_m


STANDS_M = 0.3
"""Somebody whose feet are so near a thing below stands on it [m]; assumed."""


def rooms_m(scenario: Scenario, depth_m: float, drop_m: float) -> dict[str, float]:
    """Return the way from the feet at the end of a drop to what the person would fall onto [m].

    Parameters: `depth_m`: of the person before the drop, counted as the survey's height.

    What lies above their harness is beside them, and on what they stand nobody falls; both are
    left out.
    """
    return {
        name: _clearance_m(scenario, name, depth_m, drop_m)
        for name in scenario.below
        if _clearance_m(scenario, name, depth_m) > -BODY_M
        and not stands_on(scenario, name, depth_m)
    }


def stands_on(scenario: Scenario, name: str, depth_m: float) -> bool:
    """Tell whether somebody at a depth is taken to stand on something below."""
    return abs(_clearance_m(scenario, name, depth_m)) <= STANDS_M


def _clearance_m(scenario: Scenario, name: str, depth_m: float, drop_m: float = 0.0) -> float:
    """Return the way from the feet of somebody to something below, after a drop [m]."""
    return -depth_m - drop_m - BODY_M - scenario.below[name].value
