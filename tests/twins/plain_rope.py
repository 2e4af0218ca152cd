"""A rope over given bends and the person on it, stepped in plain Python: lists, loops, no arrays.

Span i (0 .. n) holds unstretched rope s_i over the free length l_i; edge j (1 .. n) lies between
spans j-1 and j; q_j is the rate at which material crosses it, positive toward the load.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from edgewear.layout import TICK_S
from edgewear.terms import GRAVITY_M_S2
from twins.plain_slip import Friction

STRAIGHT = 1e-10
"""A span that is taut stays so down to minus this strain."""
CELL_M = 1e-3
FLOWS = ("device_j", "leaves_j", "feed_j", "viscous_j", "friction_j", "mixing_j")
"""Work at the device, elastic energy that leaves with the rope there, the same two at the anchor
end together, and what viscosity, friction and mixing take."""
RISE, DROP, STILL, PAYOUT, FEED = "rise", "drop", "still", "payout", "feed"


def minimum_jerk(share: float) -> float:
    """Rate of a minimum-jerk movement from 0 to 1, at a share of its duration."""
    if not 0.0 < share < 1.0:
        return 0.0
    return 30.0 * share**2 * (1.0 - share) ** 2


def ramped(time_s: float, duration_s: float, ramp_s: float) -> float:
    """Share of full speed of a movement that starts and stops within `ramp_s`."""
    from_end_s = min(time_s, duration_s - time_s)
    if from_end_s <= 0.0:
        return 0.0
    if from_end_s >= ramp_s:
        return 1.0
    x = from_end_s / ramp_s
    return 10.0 * x**3 - 15.0 * x**4 + 6.0 * x**5


@dataclass
class Phase:
    """What the mover is doing: one even stretch of a movement."""

    kind: str
    rate_m_s: float = 0.0  # full rate of taking in, or of feeding at the anchor
    duration_s: float = 0.0
    ramp_s: float = 0.0


@dataclass
class AtEdge:
    """What one edge did."""

    ratio: float  # exp(mu*theta)
    gain: float  # exposure per joule, newton and unit of (c + v/v0)
    window_m: float  # length of rope in contact
    severity: float  # of the edge, wet or dry
    area_m2: float  # of the contact
    slip_m: float = 0.0
    energy_j: float = 0.0
    exposure_j: float = 0.0
    peak_n: float = 0.0
    slips: int = 0
    way: int = 0
    travel_m: float = 0.0
    sawing_m: float = 0.0
    # the cycle under way
    low_m: float = 0.0
    high_m: float = 0.0
    cycle_slip_m: float = 0.0
    cycle_friction_n: float = 0.0
    cycle_peak_n: float = 0.0
    cycle_ticks: int = 0
    cells: dict[int, float] = field(default_factory=dict)  # cell -> exposure [J/m]


@dataclass
class Rates:
    """Everything that is integrated over a step."""

    depth: float
    speed: float
    part: float
    spans: list[float]
    slip: list[float]
    path: list[float]
    energy: list[float]
    exposure: list[float]
    drawn: float
    fed: float
    tension: list[float]
    flows: list[float]  # work and losses, in the order of FLOWS [W]


class PlainRope:
    """A line from its fixed point over n bends to the person."""

    def __init__(self, line: Any, edges: Any, person: Any, wear: Any) -> None:
        self.k = float(line["stiffness_n"])
        self.tau = float(line["viscous_s"])
        self.diameter_m = float(line["diameter_m"])
        self.person, self.wear = person, wear
        self.person_cv = float(person["amplitude_cv"]), float(person["timing_cv"])
        self.body_m = self.k / float(person["body_stiffness_n_m"])
        self.cold = float(wear["cold_share"])
        self.v0 = float(wear["reference_speed_m_s"])
        self.setbacks_m = [float(e["after_m"]) for e in edges]
        self.count = len(self.setbacks_m)
        self.edges = [self._edge(e) for e in edges]
        self.friction = Friction([edge.ratio for edge in self.edges], 0.0, 0.0)
        self.taut = [True] * (self.count + 1)
        self.depth_m = self.speed_m_s = self.part_s = 0.0
        self.spans_m: list[float] = []
        self.anchor_at_m = 0.0
        self.peak_n = self.anchor_peak_n = 0.0
        self.tick = 0
        self.ascended_m = self.mass_kg = 0.0
        self.last_tension_n = 0.0  # of the last span at the end of the last step
        self.flows_j = [0.0] * len(FLOWS)
        self.steps = 0
        self.halved = 0
        self.limp = False  # whether there was no tension anywhere at some instant

    def _edge(self, edge: Any) -> AtEdge:
        width_m = float(self.wear["width_share"]) * self.diameter_m
        seen_m = max(float(edge["radius_m"] + edge["thickness_m"]), float(edge["own_radius_m"]))
        radius_m = max(seen_m, float(self.wear["arc_share"]) * self.diameter_m)
        spared = max(float(edge["spares"]) - 1.0, 0.0)
        bare = float(edge["severity"])
        severity = 1.0 / (1.0 / bare + spared) if bare > 0.0 else 0.0
        severity *= float(edge["wet_factor"])
        window_m = max(seen_m * float(edge["bend_rad"]), self.diameter_m)
        return AtEdge(
            severity=severity,
            area_m2=width_m * window_m,
            window_m=window_m,
            ratio=math.exp(float(edge["friction"]) * float(edge["bend_rad"])),
            gain=severity / (width_m * radius_m * float(self.wear["reference_pressure_pa"])),
        )

    # what the mover does

    def take_in(self, phase: Phase, time_s: float, part_s: float) -> float:
        """Nominal rate of taking rope in at the device [m/s]."""
        if phase.kind == RISE:
            return phase.rate_m_s * minimum_jerk(part_s / phase.duration_s)
        if phase.kind == DROP:
            return phase.rate_m_s * minimum_jerk(time_s / phase.duration_s)
        if phase.kind == PAYOUT:
            return phase.rate_m_s * ramped(time_s, phase.duration_s, phase.ramp_s)
        return 0.0

    def feed_in(self, phase: Phase, time_s: float) -> float:
        """Rate at which rope comes in at the anchor end [m/s]."""
        if phase.kind == FEED:
            return phase.rate_m_s * ramped(time_s, phase.duration_s, phase.ramp_s)
        return 0.0

    # rope

    def lengths(self, depth_m: float) -> list[float]:
        """Free lengths [m]."""
        return [*self.setbacks_m, depth_m]

    def extra(self, i: int) -> float:
        """Rope that the body spring stands for, in the last span alone [m]."""
        return self.body_m if i == self.count else 0.0

    def strain(self, i: int, depth_m: float, material_m: float) -> float:
        """Strain of a span."""
        return (self.lengths(depth_m)[i] - material_m) / (material_m + self.extra(i))

    def rates(
        self, phase: Phase, depth: float, speed: float, part: float, spans: list[float], time: float
    ) -> Rates:
        """Rates of change of everything at one instant."""
        n = self.count
        take, feed = self.take_in(phase, time, part), self.feed_in(phase, time)
        limited = phase.kind == RISE
        a, b, strain = [0.0] * (n + 1), [0.0] * (n + 1), [0.0] * (n + 1)
        for i in range(n + 1):
            e = self.strain(i, depth, spans[i])
            if self.taut[i] and e > -STRAIGHT:
                strain[i] = e
                stretching = speed if i == n else 0.0
                whole = spans[i] + self.extra(i)
                a[i] = self.k * (e + self.tau * stretching / whole)
                b[i] = self.k * self.tau * (1.0 + e) / whole
        q, tension = self.friction.rates(a, b, feed, take, limited)
        share = self.friction.share_lifted(tension[n]) if limited else 1.0
        drawn = take * share
        q.append(drawn)
        slip, path, energy, exposure = [], [], [], []
        for j in range(1, n + 1):
            pace = (1.0 + 0.5 * (strain[j - 1] + strain[j])) * abs(q[j])
            power = abs(tension[j] - tension[j - 1]) * pace
            slip.append(q[j])
            path.append(pace)
            energy.append(power)
            highest = max(tension[j - 1], tension[j])
            exposure.append(self.worn(self.edges[j - 1], power, pace, highest))
        return Rates(
            depth=speed,
            speed=GRAVITY_M_S2 - tension[n] / self.mass_kg,
            part=share if limited else 0.0,
            spans=[q[i] - q[i + 1] for i in range(n + 1)],
            slip=slip, path=path, energy=energy, exposure=exposure,
            drawn=drawn, fed=feed, tension=tension,
            flows=self._powers(strain, tension, q, speed, energy),
        )  # fmt: skip

    def worn(self, edge: AtEdge, power: float, pace: float, tension: float) -> float:
        """Exposure a second by the law in force: weighted, plain energy, or its two rival parts."""
        law = int(self.wear["law"])
        if law == 0:
            return power * tension * edge.gain * (self.cold + pace / self.v0)
        if law == 1:
            return power * edge.severity
        beyond = power - float(self.wear["power_threshold_w_m2"]) * edge.area_m2
        return edge.severity * (self.cold * power + max(beyond, 0.0))

    def _powers(
        self,
        strain: list[float],
        tension: list[float],
        q: list[float],
        speed: float,
        friction: list[float],
    ) -> list[float]:
        """Where energy comes from and goes, in the order of FLOWS [W]."""
        n, k = self.count, self.k
        first, last = strain[0], strain[n]
        viscous = mixing = 0.0
        for i in range(n + 1):
            stretching = (speed if i == n else 0.0) - (1.0 + strain[i]) * (q[i] - q[i + 1])
            if tension[i] > 0.0 or strain[i] != 0.0:
                viscous += (tension[i] - k * strain[i]) * stretching
        for j in range(1, n + 1):
            before, after = strain[j - 1], strain[j]
            mean_n, mean = 0.5 * (tension[j - 1] + tension[j]), 0.5 * (before + after)
            mixing += (mean_n - k * mean) * (after - before) * q[j]
        return [
            tension[n] * (1.0 + last) * q[n + 1],
            0.5 * k * last**2 * q[n + 1],
            (0.5 * k * first**2 - tension[0] * (1.0 + first)) * q[0],
            viscous,
            sum(friction),
            mixing,
        ]

    # stepping

    def tried(self, phase: Phase, time_s: float, h: float) -> tuple[Rates, list[Rates]]:
        """Changes over a step of the classical Runge-Kutta method, and its four stages."""
        y, v, p, s = self.depth_m, self.speed_m_s, self.part_s, self.spans_m
        stages: list[Rates] = []
        for share in (0.0, 0.5, 0.5, 1.0):
            d = share * h
            if not stages:
                stages.append(self.rates(phase, y, v, p, s, time_s))
                continue
            k = stages[-1]
            moved = [x + d * rate for x, rate in zip(s, k.spans, strict=True)]
            stages.append(
                self.rates(
                    phase, y + d * k.depth, v + d * k.speed, p + d * k.part, moved, time_s + d
                )
            )
        return _mean(stages, h), stages

    def one_step(self, phase: Phase, phase_tick: int, ticks: int) -> None:
        """Take one step of the grid; stop where a span comes taut, halve what leaks energy."""
        time_s, left, unbooked = phase_tick * TICK_S, ticks * TICK_S, ticks
        size = left
        while left > 1e-12:
            change, stages = self.tried(phase, time_s, size)
            taken, which = size, self._comes_taut(change)
            if which is not None:
                taken = self._when_taut(phase, time_s, size, which)
                change, stages = self.tried(phase, time_s, taken)
            if taken >= 2.0 * TICK_S and self._uneven(stages) and self._leaks(change):
                size = 0.5 * taken
                self.halved += 1
                continue
            if taken > 0.0:
                self._book(change, stages, unbooked, taken)
                unbooked = 0
            time_s += taken
            left -= taken
            if which is not None:
                self.taut[which] = True
            size = min(left, 2.0 * size)
        self.steps += 1
        self.tick += ticks

    def _uneven(self, stages: list[Rates]) -> bool:
        """Whether tension changes much in a step or is none, or an edge starts, stops or turns."""
        first, last = stages[0], stages[3]
        before, after = first.tension[-1], last.tension[-1]
        if abs(after - before) > 0.1 * self.friction.weight_n or min(before, after) <= 0.0:
            return True
        return any(
            (a > 0.0) != (b > 0.0) or (a < 0.0) != (b < 0.0)
            for a, b in zip(first.slip, last.slip, strict=True)
        )

    def _stored_j(self, depth: float, speed: float, spans: list[float]) -> float:
        """Energy of rope, body spring, motion and height."""
        total = 0.5 * self.mass_kg * speed**2 - self.friction.weight_n * depth
        for i, material in enumerate(spans):
            stretch = max(self.lengths(depth)[i] - material, 0.0)
            total += 0.5 * self.k * stretch**2 / (material + self.extra(i))
        return total

    def _leaks(self, change: Rates) -> bool:
        """Whether a step loses or makes more energy than the weight sinking half a micrometre."""
        device, leaves, feed, viscous, friction, mixing = change.flows
        spans = [s + d for s, d in zip(self.spans_m, change.spans, strict=True)]
        after = self._stored_j(self.depth_m + change.depth, self.speed_m_s + change.speed, spans)
        before = self._stored_j(self.depth_m, self.speed_m_s, self.spans_m)
        flowed = device - leaves + feed - viscous - friction - mixing
        return abs(flowed - after + before) > 5e-7 * self.friction.weight_n

    def _over(self, i: int, change: Rates) -> float:
        """How much a span's free length exceeds its rope at the end of a step [m]."""
        end = self.lengths(self.depth_m + change.depth)[i]
        return end - self.spans_m[i] - change.spans[i]

    def _comes_taut(self, change: Rates) -> int | None:
        """The slack span that first comes taut in a step, by a straight line over it."""
        found, soonest = None, 2.0
        now = self.lengths(self.depth_m)
        for i in range(self.count + 1):
            end = self._over(i, change)
            if self.taut[i] or end <= 0.0:
                continue
            start = min(now[i] - self.spans_m[i], 0.0)
            share = -start / (end - start)
            if share < soonest:
                found, soonest = i, share
        return found

    def _when_taut(self, phase: Phase, time_s: float, h: float, i: int) -> float:
        """Halve the step until the instant at which a span comes taut is known to 1e-14 s."""
        if self.lengths(self.depth_m)[i] >= self.spans_m[i]:
            return 0.0
        low, high = 0.0, h
        while high - low > 1e-14:
            middle = 0.5 * (low + high)
            change, _ = self.tried(phase, time_s, middle)
            if self._over(i, change) > 0.0:
                high = middle
            else:
                low = middle
        return low

    def _book(self, change: Rates, stages: list[Rates], ticks: int, h: float) -> None:
        start, middle = stages[0].tension, stages[2].tension
        material_m = self.anchor_at_m
        for j, edge in enumerate(self.edges, 1):
            material_m += self.spans_m[j - 1]
            high = max(start[j - 1], start[j], middle[j - 1], middle[j])
            edge.peak_n = max(edge.peak_n, high)
            edge.cycle_peak_n = max(edge.cycle_peak_n, high)
            edge.cycle_ticks += ticks if high > 1.0 else 0
            edge.cycle_friction_n = max(edge.cycle_friction_n, abs(start[j] - start[j - 1]))
            way = 0
            if change.path[j - 1] > 0.0:
                slip = change.slip[j - 1]
                way = 1 if slip > 0.0 else -1
                edge.slip_m += change.path[j - 1]
                edge.cycle_slip_m += change.path[j - 1]
                edge.energy_j += change.energy[j - 1]
                edge.exposure_j += change.exposure[j - 1]
                edge.travel_m += slip
                edge.low_m = min(edge.low_m, edge.travel_m)
                edge.high_m = max(edge.high_m, edge.travel_m)
                lay_down(edge, material_m, [one.slip[j - 1] for one in stages],
                         [one.exposure[j - 1] for one in stages], h)  # fmt: skip
            if way not in (0, edge.way):
                edge.slips += 1
            edge.way = way
        self.limp = self.limp or min(max(stage.tension) for stage in stages) < 1e-9
        self.peak_n = max(self.peak_n, *start, *middle)
        self.anchor_peak_n = max(self.anchor_peak_n, start[0], middle[0])
        self.flows_j = [w + d for w, d in zip(self.flows_j, change.flows, strict=True)]
        self.depth_m += change.depth
        self.speed_m_s += change.speed
        self.part_s += change.part
        self.spans_m = [s + d for s, d in zip(self.spans_m, change.spans, strict=True)]
        self.anchor_at_m -= change.fed
        self.last_tension_n = stages[3].tension[-1]
        if min(stages[3].tension) <= 0.0:
            for i, length in enumerate(self.lengths(self.depth_m)):
                self.taut[i] = self.taut[i] and length > self.spans_m[i]

    def largest_exposure_j_m(self) -> float:
        """Exposure of the most worn cell, all edges together [J/m]."""
        total: dict[int, float] = {}
        for edge in self.edges:
            for cell, value in edge.cells.items():
                total[cell] = total.get(cell, 0.0) + value
        return max(total.values(), default=0.0)


def _mean(stages: list[Rates], h: float) -> Rates:
    """Weighted sum of four stages times the step: changes over the step."""
    weights = (h / 6.0, h / 3.0, h / 3.0, h / 6.0)

    def scalar(name: str) -> float:
        return sum(w * getattr(k, name) for w, k in zip(weights, stages, strict=True))

    def vector(name: str) -> list[float]:
        columns = zip(*(getattr(k, name) for k in stages), strict=True)
        return [sum(w * x for w, x in zip(weights, column, strict=True)) for column in columns]

    single = {name: scalar(name) for name in ("depth", "speed", "part", "drawn", "fed")}
    several = {
        name: vector(name)
        for name in ("spans", "slip", "path", "energy", "exposure", "tension", "flows")
    }
    return Rates(**single, **several)


def lay_down(edge: AtEdge, at_m: float, slips: list[float], worn: list[float], h: float) -> None:
    """Deposit a step's exposure in two halves, each by the parabola through start, middle, end."""
    slip, first_m = whole_and_half(slips, h)
    amount, early = whole_and_half(worn, h)
    if slips[0] * slips[3] >= 0.0:
        first_m = min(max(first_m, min(slip, 0.0)), max(slip, 0.0))
    early = min(max(early, 0.0), amount)
    if early > 0.0:
        deposit(edge, at_m, at_m - first_m, early)
    if amount - early > 0.0:
        deposit(edge, at_m - first_m, at_m - slip, amount - early)


def whole_and_half(rates: list[float], h: float) -> tuple[float, float]:
    """Integrals over h and over its first half, of a parabola; the middle is there twice."""
    start, middle, end = rates[0], 0.5 * (rates[1] + rates[2]), rates[3]
    return h / 6.0 * (start + 4.0 * middle + end), h / 24.0 * (5.0 * start + 8.0 * middle - end)


def deposit(edge: AtEdge, from_m: float, to_m: float, amount_j: float) -> None:
    """Spread exposure over the rope that an evenly moving contact swept, cell by cell.

    The contact, `window_m` long, moves its middle from one place to another: what it leaves is a
    trapezoid, whose integral over each cell divided by the cell's length is added to the cell.
    """
    travel_m = max(abs(to_m - from_m), 1e-3 * CELL_M)
    left_m = min(from_m, to_m) - 0.5 * edge.window_m
    short_m, long_m = sorted((travel_m, edge.window_m))
    slope = amount_j / (travel_m * edge.window_m)  # of the density [J/m2]

    def before(x_m: float) -> float:
        """Exposure left of a place [J]."""
        corners = ((0.0, 1.0), (short_m, -1.0), (long_m, -1.0), (short_m + long_m, 1.0))
        return sum(sign * 0.5 * slope * max(x_m - at, 0.0) ** 2 for at, sign in corners)

    first = math.floor(left_m / CELL_M)
    last = math.floor((left_m + travel_m + edge.window_m) / CELL_M)
    for cell in range(first, last + 1):
        share = before((cell + 1) * CELL_M - left_m) - before(cell * CELL_M - left_m)
        edge.cells[cell] = edge.cells.get(cell, 0.0) + share / CELL_M
