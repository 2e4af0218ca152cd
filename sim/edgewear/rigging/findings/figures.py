"""The numbers people use every day, for one section of a line at one depth, at rest.

Nothing here is simulated: statics of the taut line, and closed forms for bounce and catch. Peak
loads in work come from a run; what is given here is their order, to choose anchors by.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import isfinite, prod

from edgewear.findings.limits import Drop
from edgewear.geometry import loads
from edgewear.geometry.catch import (
    Catch,
    catch,
    natural_frequencies_hz,
    stretch_m,
    swing,
    working_length_m,
)
from edgewear.geometry.loads import Load
from edgewear.geometry.points import Point
from edgewear.rigging.contacts import friction_at, heaviest_n
from edgewear.rigging.face import plumb_from
from edgewear.rigging.findings.careful import careful_ends
from edgewear.rigging.findings.control import line_of
from edgewear.rigging.laying import Laid, depth_of, drawn_m, lay, plumb_along_m
from edgewear.rigging.lengths import free_fall_m, slack_m
from edgewear.rigging.model import Section
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.terms import GRAVITY_M_S2

RESCUE_KG = 100.0
"""A second person's mass on a line; two people are taken as 200 kg, 160-260, from memory."""


@dataclass(frozen=True)
class Hung:
    """A section under a load at rest: tensions along it and what follows."""

    section: Section
    laid: Laid
    ratios: tuple[float, ...]  # R at each touched edge
    load_n: float

    @property
    def tensions_n(self) -> tuple[float, ...]:
        """Tensions from the fixed point to the load, one more than edges [N].

        After a slow load on a slack line: each edge takes its share, T_(j-1) = T_j/R_j.
        """
        found = [self.load_n]
        for ratio in reversed(self.ratios):
            found.append(found[-1] / ratio)
        return tuple(reversed(found))

    @property
    def working_length_m(self) -> float:
        """Rope that stretches as if it bore the whole load [m]."""
        return working_length_m(self.laid.free_m, self.ratios)

    def unstretched_m(self, stiffness_n: float) -> tuple[float, ...]:
        """Return the material in each free length: s = l/(1 + T/K) [m]."""
        pairs = zip(self.laid.free_m, self.tensions_n, strict=True)
        return tuple(free / (1.0 + tension / stiffness_n) for free, tension in pairs)

    @property
    def directions(self) -> list[Point]:
        """Unit vectors of the free lengths; empty where bends are given directly."""
        points = self.laid.points
        return [loads.between(a, b) for a, b in pairwise(points)]

    def anchor(self) -> Load | None:
        """Return the load on the fixed point; None without coordinates."""
        if not self.directions:
            return None
        return loads.anchor_load(self.tensions_n[0], self.directions[0])

    def at(self, touched: int) -> Load:
        """Return the load on what the line touches: an edge, a deviation, a pulley."""
        before, after = self.tensions_n[touched], self.tensions_n[touched + 1]
        if not self.directions:
            bend = self.laid.bends_rad[touched]
            return loads.in_plane(before, after, bend)
        return loads.bend_load(
            before, self.directions[touched], after, self.directions[touched + 1]
        )


def hang(
    scenario: Scenario,
    option: Option,
    section: Section,
    depth_m: float,
    load_n: float | None = None,
    slippery: bool = False,
    aside_m: float = 0.0,
) -> Hung:
    """Hang a load on a section.

    Parameters: `load_n`: the person's weight if None [N]; `slippery`: without friction, the
    careful end for anchors; `aside_m`: of the load, along the edge.
    """
    laid = lay(section, depth_m, aside_m)
    ratios = tuple(
        1.0 if slippery else loads.resistance(friction_at(scenario, option, section, k), bend)
        for k, bend in zip(laid.edges, laid.bends_rad, strict=True)
    )
    weight = weight_n(scenario, option, section.person) if load_n is None else load_n
    return Hung(section, laid, ratios, weight)


def weight_n(scenario: Scenario, option: Option, person: str) -> float:
    """Return the weight of a person, of a machine's load where nobody hangs [N]."""
    who = option.people.get(person)
    return who.mass.value * GRAVITY_M_S2 if who is not None else heaviest_n(scenario)


def stiffness_n(scenario: Scenario, section: Section) -> tuple[float, float]:
    """Return static and dynamic stiffness of a section's rope [N per unit strain]."""
    rope = scenario.ropes[section.rope]
    static_n = rope.stiffness.value * rope.stiffness_factor.value
    return static_n, static_n * rope.dynamic_ratio.value


def drawn_below_m(
    scenario: Scenario, option: Option, section: Section, hung_m: float, careful: bool = False
) -> float:
    """Return what of the rope below a section's last edge is not there to be climbed [m].

    Parameters: `hung_m`: below that edge, where the person took to the rope [m]; `careful`: of
    the heaviest person, the softest rope and harness.
    """
    who, rope = option.people[section.person], scenario.ropes[section.rope]
    factors = (rope.stiffness, rope.stiffness_factor, rope.dynamic_ratio)
    stiffness = prod(one.low if careful else one.value for one in factors)
    load = (who.mass.high if careful else who.mass.value) * GRAVITY_M_S2
    body = who.body_stiffness.low if careful else who.body_stiffness.value
    return drawn_m(hung_m, load / stiffness, load / body)


def bounce_hz(scenario: Scenario, option: Option, hung: Hung) -> tuple[float, float]:
    """Return the natural frequencies, rope sliding at every edge and stuck at the last [Hz]."""
    _, dynamic = stiffness_n(scenario, hung.section)
    who = option.people.get(hung.section.person)
    body = who.body_stiffness.value if who is not None else float("inf")
    mass_kg = hung.load_n / GRAVITY_M_S2
    return natural_frequencies_hz(dynamic, hung.unstretched_m(dynamic), body, mass_kg)


def hang_stretch_m(scenario: Scenario, hung: Hung) -> float:
    """Return the stretch at the person at rest [m], by the static stiffness."""
    static, _ = stiffness_n(scenario, hung.section)
    return stretch_m(hung.load_n, static, hung.working_length_m)


def haul_at_top_n(hung: Hung) -> float:
    """Return the pull at the fixed point that raises the load: T*prod(R) [N]."""
    return hung.load_n * prod(hung.ratios)


@dataclass(frozen=True)
class Transfer:
    """A person caught by a line they were not hanging on."""

    line: str
    over: tuple[str, ...]  # what the line then bends over, before the fall or after it
    touched: tuple[int, ...]  # the same by place in the section's list
    peak_n: float
    drop_m: float  # fall, device, stretch and swing together
    swing_m: float  # level distance to the plumb line
    slip_m: float  # rope run through the device
    anchor: Load | None
    travel_m: tuple[float, ...]  # of the crossing along each of `touched`
    made_of: Drop
    careful_drop_m: float  # the careful end of the drop; inf: nothing ends it
    careful_peak_n: float


def transfer(
    scenario: Scenario,
    option: Option,
    section: Section,
    depth_m: float,
    aside_m: float = 0.0,
    mass_kg: float | None = None,
) -> Transfer:
    """Return what happens when a person's weight comes onto a section that was slack.

    Parameters: `depth_m`, `aside_m`: where the person is; `mass_kg`: theirs if None.

    They fall its slack and the rope that passes the backup device before it grips, then the rope
    stretches, at most to the force at which the device slips (impact-force equation with the
    dynamic stiffness; friction at the edges shortens the rope that gives). Then they swing to
    the plumb line of the fixed point, over an edge free to slide along it: the careful end. They
    end where the taut line is as long as what was out before, and what was added.
    """
    line = line_of(option, section)
    backup, (usual_m, most_m) = line.backup, slack_m(line)
    arrest_m = backup.arrest.value if backup is not None else 0.0
    fall_m = free_fall_m(line)
    slips_n = backup.slips.value if backup is not None else float("inf")
    mass = weight_n(scenario, option, section.person) / GRAVITY_M_S2 if mass_kg is None else mass_kg
    _, dynamic = stiffness_n(scenario, section)
    hung = hang(scenario, option, section, depth_m, mass * GRAVITY_M_S2)
    held: Catch = catch(mass, dynamic, hung.working_length_m, fall_m, slips_n)
    ended, drop, beside = _at_rest(section, depth_m, aside_m, held.drop_m)
    touched = tuple(sorted({*hung.laid.edges, *ended.edges}))
    caught = hang(scenario, option, section, depth_m, held.peak_n)
    longer_m, careful_n = careful_ends(
        lambda fall_m, slips_n: catch(mass, dynamic, hung.working_length_m, fall_m, slips_n),
        (usual_m, most_m),
        backup,
    )
    return Transfer(
        line=section.line,
        over=tuple(section.edges[k].name for k in touched),
        touched=touched,
        peak_n=held.peak_n,
        drop_m=drop,
        swing_m=beside,
        slip_m=held.slip_m,
        anchor=caught.anchor(),
        travel_m=tuple(_travel_m(hung.laid, ended, k) for k in touched),
        careful_drop_m=_at_rest(section, depth_m, aside_m, longer_m)[1],
        careful_peak_n=careful_n,
        made_of=Drop(
            slack_m=usual_m,
            device_m=arrest_m + held.slip_m,
            stretch_m=held.drop_m - fall_m - held.slip_m,
            sunk_m=drop - held.drop_m,
        ),
    )


def _travel_m(before: Laid, after: Laid, k: int) -> float:
    """Return how far the crossing of an edge moves along it; 0 where only one of both meets it."""
    if k not in before.edges or k not in after.edges:
        return 0.0
    first, last = before.along_m[before.edges.index(k)], after.along_m[after.edges.index(k)]
    return abs(last - first)


def _at_rest(
    section: Section, depth_m: float, aside_m: float, longer_m: float
) -> tuple[Laid, float, float]:
    """Return the line when a person has swung to its plumb line, their drop and the way aside [m].

    Parameters: `longer_m`: rope that comes between fixed point and person, slack and stretch
    included; inf where nothing stops the fall.

    The rope's length decides: what lies over the edges is the shorter, the straighter the line
    has come to lie, and the person sinks by the rest.
    """
    laid = lay(section, depth_m, aside_m)
    if section.direct:
        beside, sunk = swing(aside_m, laid.free_m[-1])
        return laid, longer_m + sunk, beside
    along = section.load_at(depth_m)[1]
    plumb = plumb_along_m(section, laid)
    beside = abs(along + aside_m - plumb)
    if not isfinite(longer_m):
        return laid, longer_m, beside
    hanging = plumb_from(section, depth_m, plumb)
    end = depth_of(hanging, laid.length_m + longer_m, depth_m)
    return lay(hanging, end), end - depth_m, beside
