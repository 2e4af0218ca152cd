"""One line over given bends in plain Python: slow and obvious, to hold the kernels against.

It covers lines whose free lengths and bends are given, kinetic friction, all wear laws, strokes
that tire and that wait for the bounce, and the movements LOAD, HOLD, STROKES, PAYOUT and FEED.
"""

from __future__ import annotations

import math
from typing import Any

from edgewear.layout import TICK_S, Kind
from edgewear.terms import GRAVITY_M_S2
from twins.plain_rope import DROP, FEED, PAYOUT, RISE, STILL, Phase, PlainRope, deposit

LONGEST_STEP_S = 0.015
STEADY_RAD = 0.1
GENTLE_RAD = 0.2
GENTLE_M_S = 0.5
"""Of a bounce in a step, unless that is two thirds of the longest or less."""
JERKY = {"rise_m": 0.40, "sit_back_m": 0.10, "rise_s": 0.40, "drop_s": 0.15, "pause_s": 0.25}
"""What the strokes of a tired person drift toward."""
STILL_M_S = 0.02
"""Bounce below which nobody waits for it [m/s]."""
END_S = 1e-9
"""A rise is over when its progress is this close to its duration [s]."""


def ticks_of(seconds: float) -> int:
    """Whole ticks nearest to a duration."""
    return math.floor(seconds / TICK_S + 0.5)


def varied(value: float, cv: float, normal: float) -> float:
    """Log-normal variation with mean `value` and coefficient of variation `cv`."""
    variance = math.log(1.0 + cv**2)
    return value * math.exp(math.sqrt(variance) * normal - 0.5 * variance)


class PlainLine(PlainRope):
    """A line from its fixed point over n bends to the person, and what is done with it."""

    def step_ticks(self, even: bool = False) -> int:
        """Ticks of a step: not above 15 ms, the rope's tau, nor what is stable; 10 ms if quick.

        even: the load is moved evenly or not at all; then up to 30 ms, unless it comes in fast.
        """
        omega = self.sliding_omega()
        steady = min(LONGEST_STEP_S, STEADY_RAD / omega)
        if even and abs(self.speed_m_s) < GENTLE_M_S:
            steady = max(steady, min(2.0 * LONGEST_STEP_S, GENTLE_RAD / omega))
        damping = self.k * self.tau / (self.mass_kg * (self.spans_m[-1] + self.body_m))
        longest = min(max(LONGEST_STEP_S / 1.5, steady), self.tau, 1.5 / damping)
        return max(1, math.floor(longest / TICK_S + 1e-6))

    def through(self, phase: Phase, ticks: int, even: bool = False) -> None:
        """Make a phase of so many ticks."""
        self.part_s = 0.0
        step, done = self.step_ticks(even), 0
        while done < ticks:
            now = min(step, ticks - done)
            self.one_step(phase, done, now)
            done += now

    def rise(self, rise_m: float, rise_s: float) -> None:
        """Make a rise; it ends at the first tick at which its progress is complete."""
        phase = Phase(RISE, rise_m / rise_s, rise_s)
        self.part_s = 0.0
        step, done = self.step_ticks(), 0

        def complete(ticks: int) -> bool:
            change, _ = self.tried(phase, done * TICK_S, ticks * TICK_S)
            return self.part_s + change.part >= rise_s - END_S

        while self.part_s < rise_s - END_S:
            ticks = step
            # progress is at most what passes of time
            if self.part_s + step * TICK_S >= rise_s - END_S and complete(step):
                low = 0
                while ticks - low > 1:
                    middle = (low + ticks) // 2
                    low, ticks = (low, middle) if complete(middle) else (middle, ticks)
            self.one_step(phase, done, ticks)
            done += ticks

    # movements

    def make(self, movement: Any, variation: Any = ()) -> None:
        """Make one movement from beginning to end."""
        kind = int(movement["kind"])
        if kind == Kind.LOAD:
            self.hang(movement)
        elif kind == Kind.HOLD:
            self.through(Phase(STILL), int(movement["duration_ticks"]), even=True)
        elif kind == Kind.STROKES:
            self.climb(movement, variation)
        elif kind == Kind.PAYOUT:
            self.move_evenly(PAYOUT, -float(movement["length_m"]), movement)
        elif kind == Kind.FEED:
            self.feed(movement)
        else:
            raise ValueError(f"movement {kind} is not covered")

    def hang(self, movement: Any) -> None:
        """Put the load on slowly: the rope slips toward the load at every edge."""
        self.mass_kg = float(movement["mass_kg"]) or float(self.person["mass_kg"])
        self.depth_m, self.speed_m_s = float(movement["depth_m"]), 0.0
        weight_n = self.mass_kg * GRAVITY_M_S2
        self.friction.weight_n = weight_n
        self.friction.most_n = float(self.person["force_ratio"]) * weight_n
        tension = [weight_n]
        for edge in reversed(self.edges):
            edge.peak_n = max(edge.peak_n, tension[0])
            tension.insert(0, tension[0] / edge.ratio)
        self.spans_m = []
        for i, length in enumerate(self.lengths(self.depth_m)):
            e = tension[i] / self.k
            self.spans_m.append((length - self.extra(i) * e) / (1.0 + e))
        self.taut = [True] * (self.count + 1)
        self.peak_n = max(self.peak_n, tension[-1])
        self.anchor_peak_n = max(self.anchor_peak_n, tension[0])
        for edge in self.edges:
            edge.way = 0

    def climb(self, movement: Any, variation: Any) -> None:
        """Climb in strokes: rise against the limit of force, sit back, pause."""
        gained_m, stroke = 0.0, 0
        amplitude_cv, timing_cv = self.person_cv
        while float(movement["length_m"]) - gained_m > 1e-9:
            amplitude = timing = 0.0
            if amplitude_cv > 0.0 or timing_cv > 0.0:
                ordinal = int(movement["first_stroke"]) + stroke
                amplitude, timing = (float(x) for x in variation[ordinal])
            meant = self.tired(movement, stroke)
            left_m = float(movement["length_m"]) - gained_m
            net_m = min(varied(meant["rise_m"], amplitude_cv, amplitude), left_m)
            back_m = varied(meant["sit_back_m"], amplitude_cv, amplitude)
            rise_s, drop_s, pause_s = (
                varied(meant[name], timing_cv, timing) for name in ("rise_s", "drop_s", "pause_s")
            )
            self.open_cycle()
            self.rise(net_m + back_m, rise_s)
            if back_m > 0.0:
                ticks = max(1, ticks_of(drop_s))
                self.through(Phase(DROP, -back_m / (ticks * TICK_S), ticks * TICK_S), ticks)
            self.through(Phase(STILL), ticks_of(pause_s))
            self.wait(rise_s)
            self.close_cycle()
            gained_m += net_m
            self.ascended_m += net_m
            stroke += 1

    def tired(self, movement: Any, stroke: int) -> dict[str, float]:
        """What a stroke is meant to be: so far from what was asked toward jerky."""
        share = float(movement["fatigue"]) + stroke * float(self.person["fatigue_per_stroke"])
        share = min(max(share, 0.0), 1.0)
        return {
            name: float(movement[name]) + share * (jerky - float(movement[name]))
            for name, jerky in JERKY.items()
        }

    def wait(self, rise_s: float) -> None:
        """Wait with the next push until its middle will meet the upper turning point.

        There the speed passes from upwards (negative) to downwards. Nobody waits longer than their
        skill's share of a bounce, nor for a bounce that they hardly feel.
        """
        speed, bounce, period_s = self.foreseen(rise_s, self.speed_m_s, self.last_tension_n)
        longest = ticks_of(float(self.person["skill"]) * period_s)
        if bounce <= STILL_M_S or longest <= 0:
            return
        phase = Phase(STILL)
        step, done = self.step_ticks(), 0
        upwards = speed < 0.0

        def speed_after(ticks: int) -> float:
            change, stages = self.tried(phase, done * TICK_S, ticks * TICK_S)
            tension = stages[3].tension[-1]
            return self.foreseen(rise_s, self.speed_m_s + change.speed, tension)[0]

        while done < longest:
            ticks = min(step, longest - done)
            turned = speed_after(ticks) >= 0.0
            if upwards and turned:
                low = 0
                while ticks - low > 1:
                    middle = (low + ticks) // 2
                    low, ticks = (low, middle) if speed_after(middle) >= 0.0 else (middle, ticks)
                self.one_step(phase, done, ticks)
                return
            upwards = not turned
            self.one_step(phase, done, ticks)
            done += ticks

    def sliding_omega(self) -> float:
        """Angular frequency of a bounce with the rope sliding at every bend [rad/s]."""
        return math.sqrt(self.k / (sum(self.spans_m) + self.body_m) / self.mass_kg)

    def foreseen(
        self, rise_s: float, speed_m_s: float, tension_n: float
    ) -> tuple[float, float, float]:
        """Speed in the middle of a rise begun now, largest speed and period of the bounce.

        An undamped bounce about the weight, with the rope sliding at every bend.
        """
        omega = self.sliding_omega()
        over = (tension_n - self.mass_kg * GRAVITY_M_S2) / (self.mass_kg * omega)
        angle = 0.5 * omega * rise_s
        speed = speed_m_s * math.cos(angle) - over * math.sin(angle)
        return speed, math.hypot(speed_m_s, over), 2.0 * math.pi / omega

    def move_evenly(self, kind: str, length_m: float, movement: Any) -> None:
        """Move rope at the device or at the anchor end, starting and stopping evenly."""
        ramp_s = max(float(movement["stop_s"]), TICK_S)
        speed_m_s = min(float(movement["speed_m_s"]), abs(length_m) / ramp_s)
        ticks = max(2, ticks_of(abs(length_m) / speed_m_s + ramp_s))
        duration_s = ticks * TICK_S
        ramp_s = min(ramp_s, 0.5 * duration_s)
        self.through(
            Phase(kind, length_m / (duration_s - ramp_s), duration_s, ramp_s), ticks, even=True
        )

    def feed(self, movement: Any) -> None:
        """Haul or lower at the anchor end, once or to and fro."""
        length_m = -float(movement["length_m"])
        self.open_cycle()
        for half in range(max(1, 2 * int(movement["cycles"]))):
            self.move_evenly(FEED, -length_m if half % 2 else length_m, movement)
            if half % 2:
                self.close_cycle()
                self.open_cycle()

    def open_cycle(self) -> None:
        """Begin counting a cycle at every edge."""
        for edge in self.edges:
            edge.low_m = edge.high_m = edge.travel_m
            edge.cycle_slip_m = edge.cycle_friction_n = edge.cycle_peak_n = 0.0
            edge.cycle_ticks = 0

    def close_cycle(self) -> None:
        """End a cycle: how far the rope sawed, and its creep where it did not slide enough."""
        material_m = self.anchor_at_m
        for j, edge in enumerate(self.edges, 1):
            material_m += self.spans_m[j - 1]
            if edge.cycle_ticks == 0:
                continue
            edge.sawing_m = max(edge.sawing_m, edge.high_m - edge.low_m)
            creep_m = max(0.0, float(self.wear["presliding_m"]) - edge.cycle_slip_m)
            if creep_m > 0.0:
                pace = creep_m / (edge.cycle_ticks * TICK_S)
                power = edge.cycle_friction_n * pace
                worn = self.worn(edge, power, pace, edge.cycle_peak_n) * creep_m / pace
                deposit(edge, material_m - 0.5 * creep_m, material_m + 0.5 * creep_m, worn)
