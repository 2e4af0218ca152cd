"""The careful ends of a catch, and whether there is room for it."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot, inf, isfinite

from edgewear import spelt
from edgewear.findings.limits import NoRoom
from edgewear.geometry.catch import Catch
from edgewear.rigging.lengths import rooms_m
from edgewear.rigging.model import Section
from edgewear.scenario.models.gear import Backup
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.terms import GRAVITY_M_S2


def careful_ends(
    caught_by: Callable[[float, float], Catch], slack_m: tuple[float, float], backup: Backup | None
) -> tuple[float, float]:
    """Return the careful ends of the drop before any swing [m] and of the peak [N].

    Parameters: `caught_by`: gives the catch by the fall before the rope is straight [m] and the
    force at which the device slips [N]; `slack_m`: its middle and its careful end.

    What slack, device and slip force each add at their own careful end is added as the root of
    the sum of squares, as what is independent (JCGM 100, from memory). A drop that nothing ends
    is infinite.
    """
    usual_m, most_m = slack_m
    arrest_m, late_m = (0.0, 0.0) if backup is None else (backup.arrest.value, backup.arrest.high)
    slips_n, low_n, high_n = inf, inf, inf
    if backup is not None:
        slips_n, low_n, high_n = backup.slips.value, backup.slips.low, backup.slips.high
    middle = caught_by(usual_m + arrest_m, slips_n)
    if not isfinite(middle.drop_m):
        return middle.drop_m, middle.peak_n
    later = [caught_by(most_m + arrest_m, slips_n), caught_by(usual_m + late_m, slips_n)]
    drops = [one.drop_m for one in (*later, caught_by(usual_m + arrest_m, low_n))]
    peaks = [one.peak_n for one in (*later, caught_by(usual_m + arrest_m, high_n))]
    return (
        middle.drop_m + hypot(*(max(one - middle.drop_m, 0.0) for one in drops)),
        middle.peak_n + hypot(*(max(one - middle.peak_n, 0.0) for one in peaks)),
    )


def overloads(scenario: Scenario, option: Option, section: Section, peak_n: float) -> str | None:
    """Say that a fixed point holds less than a catch on it, with whoever else hangs there.

    Everybody whose working line begins at the same point counts with their weight: they may hang
    on it then.
    """
    anchor = scenario.anchors.get(section.anchor)
    beside = [
        who for who, lines in option.lines.items()
        if who != section.person and lines.working.anchor == section.anchor
    ]  # fmt: skip
    kg = sum(option.people[who].mass.value for who in beside if who in option.people)
    total_n = peak_n + kg * GRAVITY_M_S2
    if anchor is None or total_n <= anchor.strength.value:
        return None
    more = f" with {' and '.join(beside)} on it" if kg else ""
    return f"{spelt.kilonewtons(total_n)}{more} is more than {section.anchor} holds"


def no_room(scenario: Scenario, depth_m: float, drop_m: float, careful_m: float) -> NoRoom | None:
    """Return what a person would fall onto before the catch ends; None: nothing named is.

    Parameters: `depth_m`: before the drop; `drop_m`, `careful_m`: its middle and careful end; of
    a drop that nothing ends all room is missing.

    How much is missing is that of the careful end, whether or not the middle is clear.
    """
    if careful_m <= 0.0:
        return None
    middle, careful = (rooms_m(scenario, depth_m, fallen_m) for fallen_m in (drop_m, careful_m))
    short = [name for name, gap in careful.items() if gap < 0.0]
    if not short:
        return None
    name = min(short, key=lambda k: (middle[k], careful[k]))
    late = middle[name] >= 0.0
    return NoRoom(name, -careful[name], late, None if late else -middle[name])
