"""Loads, drops, swings and hauls worked by hand, beside what edgewear gives for the same site.

What is worked by hand uses nothing but the numbers at the top and the formula that stands beside
it; what edgewear gives comes from the scenario, through the code of every answer: the statics of
the rigged line, and a run of the job.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import atan2, cos, degrees, exp, hypot, pi, radians, sin, sqrt
from typing import TYPE_CHECKING

from edgewear.terms import GRAVITY_M_S2, SAFETY, WORKING

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance
    from edgewear.rigging.findings.figures import Hung, Transfer
    from edgewear.rigging.model import Section
    from edgewear.scenario.models.scenario import Scenario

SITE = """\
edgewear: 1
title: One edge, worked by hand
setting: test
anchors:
  post: {out: -4 m, along: 0 m, up: 1 m, kind: pair, releasable: yes}
  rail: {out: -4 m, along: 0.5 m, up: 1 m, kind: y-hang}
edges:
  lip: {out: 0 m, up: 0 m, radius: 60 mm, surface: steel, friction: MU}
ropes:
  store: {like: low-stretch 11, stiffness: 30 kN, dynamic ratio: 1.5, damping: TAU, length: 60 m}
people:
  ann: {mass: 90 kg, body stiffness: 10 kN/m, start: 10 m, out: 0.3 m, along: 0 m}
lines:
  ann:
    anchor: post
    rope: store
    safety line: {anchor: rail, rope: store, backup: {slips: SLIPS, arrest: 0.6 m}}
options: {as worked: {}}
job:
  ann: [work: 30 s, haul: {height: 6 m, speed: 0.1 m/s}]
faults:
  post goes: {anchor fails: post, at: 10 s}
"""
"""The site; damping, friction and the force at which the backup slips are filled in."""

OPTION = "as worked"

MASS_KG, BACK_M, ABOVE_M, DEPTH_M, OUT_M, ASIDE_M = 90.0, 4.0, 1.0, 10.0, 0.3, 0.5
FRICTION, STIFFNESS_N, DYNAMIC_RATIO, BODY_N_M = 0.2, 30e3, 1.5, 10e3
SLACK_M, ARREST_M, SLIPS_N, HARD_N = 0.2, 0.6, 2e3, 50e3
HAUL_M_S, RAMP_S = 0.1, 0.5

WEIGHT_N = MASS_KG * GRAVITY_M_S2
DYNAMIC_N = STIFFNESS_N * DYNAMIC_RATIO
SETBACK_M = hypot(BACK_M, ABOVE_M)
BELOW_M = hypot(DEPTH_M, OUT_M)
BEND_RAD = atan2(DEPTH_M, OUT_M) + atan2(-ABOVE_M, BACK_M)
RATIO = exp(FRICTION * BEND_RAD)
BEARS_M = BELOW_M + SETBACK_M / RATIO


@dataclass(frozen=True)
class Worked:
    """One number by hand and as edgewear gives it."""

    name: str
    formula: str
    numbers: str  # put into the formula
    unit: str
    by_hand: float
    found: float

    @property
    def off(self) -> float:
        """How far apart they are, as a share of what is worked by hand [1]."""
        return abs(self.found / self.by_hand - 1.0)


class Site:
    """The site as edgewear lays it out and plays it."""

    def __init__(
        self, slips_n: float = SLIPS_N, friction: float = FRICTION, damping_s: float = 0.03
    ) -> None:
        self.text = SITE
        for key, value in (
            ("SLIPS", f"{slips_n:g} N"), ("MU", f"{friction:g}"), ("TAU", f"{damping_s:g} s"),
        ):  # fmt: skip
            self.text = self.text.replace(key, value)

    @cached_property
    def scenario(self) -> Scenario:
        """The scenario, read."""
        from edgewear.scenario import load_text

        return load_text(self.text, "by-hand.yaml")

    def section(self, role: str) -> Section:
        """One of the two lines."""
        from edgewear.rigging.rig import Layout

        sections = Layout(self.scenario, self.scenario.options[OPTION], ["ann"]).sections
        return next(s for s in sections if s.role == role)

    def hung(self, slippery: bool = False) -> Hung:
        """The person at rest on the working line."""
        from edgewear.rigging.findings.figures import hang

        section = self.section(WORKING)
        return hang(
            self.scenario, self.scenario.options[OPTION], section, DEPTH_M, slippery=slippery
        )

    def caught(self) -> Transfer:
        """The person caught by the safety line."""
        from edgewear.rigging.findings.figures import transfer

        option = self.scenario.options[OPTION]
        return transfer(self.scenario, option, self.section(SAFETY), DEPTH_M)

    def played(self, fails: bool = False) -> Performance:
        """The job played, as planned or with the post giving way."""
        from edgewear.case import compile_case
        from edgewear.engine.results.nominal_tables import FULL
        from edgewear.engine.run_job import perform
        from edgewear.job.faults import Injected

        faults = [Injected(n, f) for n, f in self.scenario.faults.items()] if fails else []
        return perform(
            self.scenario, compile_case(self.scenario, OPTION), recording=FULL, faults=faults
        )


def by_hand() -> Iterator[Worked]:
    """Everything that is worked by hand, in the order of the page."""
    site = Site()
    yield from _lengths(site)
    yield from _loads(site)
    yield from _catch(site)
    yield from _haul(site)


def _lengths(site: Site) -> Iterator[Worked]:
    laid = site.hung().laid
    yield Worked("rope from post to lip", "sqrt(back^2 + above^2)", "sqrt(4^2 + 1^2)", "m",
                 SETBACK_M, laid.free_m[0])  # fmt: skip
    yield Worked("rope from lip to person", "sqrt(depth^2 + out^2)", "sqrt(10^2 + 0.3^2)", "m",
                 BELOW_M, laid.free_m[1])  # fmt: skip
    yield Worked("bend at the lip", "atan(depth/out) - atan(above/back)",
                 "atan(10/0.3) - atan(1/4)", "deg", degrees(BEND_RAD),
                 degrees(laid.bends_rad[0]))  # fmt: skip


def _loads(site: Site) -> Iterator[Worked]:
    from edgewear.geometry.loads import fixing_loads_n
    from edgewear.rigging.findings import figures

    hung, slippery = site.hung(), site.hung(slippery=True)
    held_n = WEIGHT_N / RATIO
    played = _rows(site.played())
    rest = [float(r["anchor_n"]) for r in played if 20.0 < r["time_s"] < 29.0]
    yield Worked("load on the post after a slow start", "m*g/exp(mu*bend)",
                 "90*9.81/exp(0.2*1.2958)", "N", held_n, hung.tensions_n[0])  # fmt: skip
    yield Worked("the same in a run, at rest", "m*g/exp(mu*bend)", "90*9.81/exp(0.2*1.2958)", "N",
                 held_n, sum(rest) / len(rest))  # fmt: skip
    yield Worked("load on the post for choosing it", "m*g, friction left out", "90*9.81", "N",
                 WEIGHT_N, slippery.tensions_n[0])  # fmt: skip
    yield Worked("of this each fixing of a pair", "m*g/2", "883/2", "N", WEIGHT_N / 2.0,
                 fixing_loads_n("pair", slippery.tensions_n[0])[0])  # fmt: skip
    yield Worked("each leg of a Y-hang of 60 degrees", "m*g/(2*cos(60/2))", "883/(2*cos 30)", "N",
                 WEIGHT_N / (2.0 * cos(radians(30.0))),
                 fixing_loads_n("y-hang", slippery.tensions_n[0])[0])  # fmt: skip
    yield Worked("load on the lip", "sqrt(T0^2 + T1^2 - 2*T0*T1*cos(bend))",
                 "sqrt(681^2 + 883^2 - 2*681*883*cos 74.2)", "N",
                 sqrt(held_n**2 + WEIGHT_N**2 - 2.0 * held_n * WEIGHT_N * cos(BEND_RAD)),
                 hung.at(0).size_n)  # fmt: skip
    yield Worked("load on a deviation that turned it as much", "2*T*sin(bend/2)",
                 "2*883*sin(74.2/2)", "N", 2.0 * WEIGHT_N * sin(BEND_RAD / 2.0),
                 slippery.at(0).size_n)  # fmt: skip
    yield Worked("stretch at the person", "m*g*(below + setback/R)/K",
                 "883*(10.0045 + 4.1231/1.2959)/30000", "m", WEIGHT_N * BEARS_M / STIFFNESS_N,
                 figures.hang_stretch_m(site.scenario, hung))  # fmt: skip


def _catch(site: Site) -> Iterator[Worked]:
    """Onto the safety line: slack, device, stretch to the slip force, slip; then the swing."""
    caught, fall_m = site.caught(), SLACK_M + ARREST_M
    length_m = hypot(SETBACK_M + BELOW_M, ASIDE_M)
    bears_m = length_m * (BELOW_M + SETBACK_M / RATIO) / (SETBACK_M + BELOW_M)
    sunk_m = SLIPS_N * bears_m / DYNAMIC_N
    slip_m = (WEIGHT_N * (fall_m + sunk_m) - SLIPS_N * sunk_m / 2.0) / (SLIPS_N - WEIGHT_N)
    hard = Site(HARD_N).caught()
    peak_n = WEIGHT_N + sqrt(WEIGHT_N**2 + 2.0 * WEIGHT_N * DYNAMIC_N * fall_m / bears_m)
    yield Worked("peak of a catch by a device that does not slip",
                 "m*g + sqrt((m*g)^2 + 2*m*g*K*fall/length)",
                 "883 + sqrt(883^2 + 2*883*45000*0.8/13.19)", "N", peak_n,
                 hard.peak_n)  # fmt: skip
    yield Worked("rope that a device of 2 kN lets through",
                 "(m*g*(fall + x) - F*x/2)/(F - m*g), x = F*length/K",
                 "(883*(0.8 + 0.586) - 2000*0.586/2)/(2000 - 883)", "m", slip_m,
                 caught.slip_m)  # fmt: skip
    total_m = fall_m + sunk_m + slip_m
    ends_m = sqrt((length_m + total_m - SETBACK_M) ** 2 - OUT_M**2)
    yield Worked("drop in all, swing included",
                 "sqrt((length + fall + x + slip - setback)^2 - out^2) - depth",
                 "sqrt((14.136 + 0.8 + 0.586 + slip - 4.123)^2 - 0.3^2) - 10", "m",
                 ends_m - DEPTH_M, caught.drop_m)  # fmt: skip
    yield Worked("swing, to below the rail", "along of the rail - along of the person", "0.5 - 0",
                 "m", ASIDE_M, caught.swing_m)  # fmt: skip
    yield from _played_catch()


def _played_catch() -> Iterator[Worked]:
    """In a run of the job, over a lip without friction: how deep the person hangs afterwards.

    With friction it depends on which way the rope slid last; without, the springs alone tell. The
    rope is damped so far that the bounce has died down when the run looks.
    """
    from edgewear.job.log import Kind

    log = Site(HARD_N, friction=0.0, damping_s=0.3).played(fails=True).log
    lost = next(e for e in log if e.kind is Kind.LINE_LOST)
    caught = next(e for e in log if e.kind is Kind.CAUGHT)
    fall_m = SLACK_M + ARREST_M
    length_m = hypot(DEPTH_M + fall_m, OUT_M) + SETBACK_M
    springs_m = WEIGHT_N * (length_m / DYNAMIC_N + 1.0 / BODY_N_M)
    yield Worked("drop in a run without friction, at rest", "fall + m*g*(length/K + 1/k_body)",
                 f"0.2 + 0.6 + 883*({length_m:.3f}/45000 + 1/10000)", "m", fall_m + springs_m,
                 caught.value - lost.value)  # fmt: skip


def _haul(site: Site) -> Iterator[Worked]:
    from edgewear.engine.results.outcome import run_row
    from edgewear.rigging.findings.figures import haul_at_top_n

    haul_n, done = WEIGHT_N * RATIO, site.played()
    rows = _rows(done)
    # from where the start has died down; the bend is a little less as the person comes up
    steady = [r for r in rows if 45.0 < r["time_s"] < 55.0]
    middle_m = sum(float(r["depth_m"]) for r in steady) / len(steady)
    bend_rad = atan2(middle_m, OUT_M) + atan2(-ABOVE_M, BACK_M)
    yield Worked("pull that raises the person", "m*g*exp(mu*bend)", "90*9.81*exp(0.2*1.2958)", "N",
                 haul_n, haul_at_top_n(site.hung()))  # fmt: skip
    yield Worked("the same in a run, under way", "m*g*exp(mu*bend there)",
                 f"90*9.81*exp(0.2*{bend_rad:.4f})", "N", WEIGHT_N * exp(FRICTION * bend_rad),
                 sum(float(r["anchor_n"]) for r in steady) / len(steady))  # fmt: skip
    yield Worked("its peak in a run, at the start", "R*(m*g + largest spring force)", "see below",
                 "N", RATIO * start_n(), float(run_row(done.player, done.ticks)[0]["anchor_peak_n"])
                 )  # fmt: skip


def start_n() -> float:
    """Tension at the person when a haul sets off, at most [N].

    A weight on a spring whose upper end is brought up to speed: v(t) = V*z^3*(10 - 15*z + 6*z^2),
    z = t/ramp. While the rope slides over the lip, the spring is 1/k = (below + R*setback)/K +
    1/k_body. Worked step by step; a step is a thousandth of the spring's period.
    """
    spring_n_m = 1.0 / ((BELOW_M + RATIO * SETBACK_M) / DYNAMIC_N + 1.0 / BODY_N_M)
    step_s = 2.0 * pi * sqrt(MASS_KG / spring_n_m) / 1000.0
    stretch_m = speed_m_s = most_n = 0.0
    for number in range(2000):
        share = min(number * step_s / RAMP_S, 1.0)
        upper_m_s = HAUL_M_S * share**3 * (10.0 - 15.0 * share + 6.0 * share**2)
        speed_m_s += spring_n_m * stretch_m / MASS_KG * step_s
        stretch_m += (upper_m_s - speed_m_s) * step_s
        most_n = max(most_n, spring_n_m * stretch_m)
    return WEIGHT_N + most_n


def _rows(done: Performance) -> list[dict[str, float]]:
    """Samples of the working line over time."""
    from edgewear.engine.results.nominal_tables import timeline_of

    found = timeline_of(done, OPTION)
    names = ("time_s", "depth_m", "anchor_n")
    return [{name: float(row[name]) for name in names} for row in found if row["line"] == WORKING]
