"""A rope over bends, a person and their strokes, integrated by scipy: an independent reference.

Written apart from the kernels: unstretched lengths, depth and speed are the state; the slips at
the bends are found by solving each bend in turn until nothing changes; phases of a stroke end, and
bends with static friction let go and stop, by scipy's own event location. Slow, and good to about
1e-8.
"""

from __future__ import annotations

from dataclasses import dataclass

import numba
import numpy as np
from scipy.integrate import solve_ivp

G = 9.81
TICK_S = 1e-4
"""A person goes on to the next phase at a whole tick of the clock."""

TO_NEXT_TICK = -1.0
ANY, HOLDS = 2, 0
"""How a bend may slip: either way, or not at all; 1 and -1: only toward the load or the anchor."""
STILL_M_S = 1e-12
"""A slip that has fallen to this has stopped."""


@dataclass(frozen=True)
class System:
    """Everything a run depends on; lengths from the anchor, SI."""

    after_m: tuple[float, ...]
    bends_rad: tuple[float, ...]
    frictions: tuple[float, ...]
    stiffness_n: float
    tau_s: float
    mass_kg: float
    body_n_m: float
    force_ratio: float
    depth_m: float
    rise_m: float
    back_m: float
    rise_s: float
    drop_s: float
    pause_s: float
    strokes: int
    contact_m: float = 0.011
    exponents: tuple[float, ...] = ()
    """n of the friction a*N^n a metre, `frictions` being a; none: all 1."""
    radii_m: tuple[float, ...] = ()
    static_ratios: tuple[float, ...] = ()
    """Static over kinetic friction of each bend; none: all 1."""
    out_m: float = 0.0
    """The person's upright track lies so far out from the one edge, `depth_m` counted from it."""
    falls_rad: float | None = None
    """Slope of the rope that comes to that edge, downwards; its bend follows from the depth."""

    @property
    def laws(self) -> np.ndarray:
        """Friction, exponent, radius and bend of each bend (n, 4)."""
        ones = np.ones(len(self.after_m))
        columns = (self.frictions, self.exponents or ones, self.radii_m or ones, self.bends_rad)
        return np.array(columns, float).T.copy()

    @property
    def static(self) -> np.ndarray:
        """Laws with static in place of kinetic friction (n, 4)."""
        laws = self.laws
        laws[:, 0] *= self.static_ratios or np.ones(len(laws))
        return laws

    @property
    def slant(self) -> tuple[float, float]:
        """Offset of the track, and slope of the rope before the edge (nan: bends are given)."""
        return self.out_m, np.nan if self.falls_rad is None else self.falls_rad


@dataclass(frozen=True)
class Answer:
    """What a run came to."""

    slip_m: np.ndarray
    energy_j: np.ndarray
    peak_n: float
    worst_j_m: float
    depth_m: float
    evaluations: int


@numba.njit
def _side(length, material, extra, rate, k, tau):
    """Strain of a span, and its tension as c0 + c1*(material that flows in a second)."""
    if length <= material:
        return 0.0, 0.0, 0.0
    strain = (length - material) / (material + extra)
    c0 = k * strain + k * tau * rate / (material + extra)
    c1 = -k * tau * (1.0 + strain) / (material + extra)
    return strain, c0, c1


@numba.njit
def most(low, law):
    """The largest tension that `low` holds round a bend: T^(1-n) grows by (1-n)*a*r^(1-n)*bend."""
    grip, exponent, radius, bend = law
    if exponent == 1.0:
        return low * np.exp(grip * bend)
    less = 1.0 - exponent
    return (low**less + less * grip * radius**less * bend) ** (1.0 / less)


@numba.njit
def _over(a, b, c, d, law):
    """Rate at which low tension a + b*q holds just c - d*q, c being more than a holds.

    Below nothing a tension is nothing. Where that is no line: halving, and Newton where it helps.
    """
    if law[1] == 1.0:
        ratio = np.exp(law[0] * law[3])
        q = (c - ratio * a) / (d + ratio * b)
        return q if a + b * q >= 0.0 else c / d
    low, high = 0.0, c / d
    q = 0.0
    for _ in range(200):
        lower, upper = max(a + b * q, 0.0), max(c - d * q, 0.0)
        held = most(lower, law)
        if held < upper:
            low = q
        else:
            high = q
        before, q = q, 0.5 * (low + high)
        if lower > 0.0:
            newton = before - (held - upper) / ((held / lower) ** law[1] * b + d)
            if low < newton < high:
                q = newton
        if abs(q - before) <= 1e-16 + 1e-15 * q:
            break
    return q


@numba.njit
def _slips(n, c0, c1, laws, modes, take, highest, weight, limited, q):
    """Slips q[0..n+1] (0 at the anchor): every bend in turn, again until none changes."""
    q[0] = 0.0
    for _ in range(20000):
        change = 0.0
        # the device takes in q[n+1]; the legs yield towards `highest`
        flat = c0[n] + c1[n] * q[n]
        if not limited:
            drawn = take
        else:
            width = highest - weight
            drawn = take
            if flat - c1[n] * take > weight:
                pull = (flat - c1[n] * take * highest / width) / (1.0 - c1[n] * take / width)
                drawn = take * min(max((highest - pull) / width, 0.0), 1.0)
        change = max(change, abs(drawn - q[n + 1]))
        q[n + 1] = drawn
        for j in range(1, n + 1):
            a, b = c0[j - 1] + c1[j - 1] * q[j - 1], -c1[j - 1]  # before: a + b*q
            c, d = c0[j] - c1[j] * q[j + 1], -c1[j]  # after: c - d*q
            before, after = max(a, 0.0), max(c, 0.0)
            law, mode = laws[j - 1], modes[j - 1]
            found = 0.0
            if mode in (ANY, 1) and after > most(before, law):
                found = _over(a, b, c, d, law)
            elif mode in (ANY, -1) and before > most(after, law):
                found = -_over(c, d, a, b, law)
            change = max(change, abs(found - q[j]))
            q[j] = found
        if change < 1e-15:
            break


@numba.njit
def _rates(state, n, free, laws, modes, slant, p, phase, out, q, tension):
    """Time derivative of (y, v, part, s_0..s_n, slip_1.., energy_1..), slips and tensions.

    p: k, tau, mass, body length, highest force, rate of the phase, its duration, time in it.
    """
    k, tau, mass, extra, highest, amount, duration, time = p
    y, v, part = state[0], state[1], state[2]
    weight = mass * G
    strain = np.zeros(n + 1)
    c0 = np.zeros(n + 1)
    c1 = np.zeros(n + 1)
    for i in range(n):
        strain[i], c0[i], c1[i] = _side(free[i], state[3 + i], 0.0, 0.0, k, tau)
    outward, falls = slant
    length = np.hypot(y, outward)
    upright = y / length
    strain[n], c0[n], c1[n] = _side(length, state[3 + n], extra, upright * v, k, tau)
    if not np.isnan(falls):
        laws[n - 1, 3] = np.arctan2(y, outward) - falls
    x = part / duration if phase == 0 else time / duration
    shape = 0.0
    if 0.0 < x < 1.0:
        shape = 30.0 * x**2 - 60.0 * x**3 + 30.0 * x**4
    take = amount / duration * shape
    q[:] = 0.0
    _slips(n, c0, c1, laws, modes, take, highest, weight, phase == 0, q)
    for i in range(n + 1):
        tension[i] = max(c0[i] + c1[i] * (q[i] - q[i + 1]), 0.0)
        out[3 + i] = q[i] - q[i + 1]
    out[0], out[1] = v, G - tension[n] * upright / mass
    out[2] = 0.0
    if phase == 0:
        out[2] = min(max((highest - tension[n]) / (highest - weight), 0.0), 1.0)
    for j in range(1, n + 1):
        stretched = 1.0 + 0.5 * (strain[j - 1] + strain[j])
        out[3 + n + j] = stretched * abs(q[j])
        out[3 + 2 * n + j] = abs(tension[j] - tension[j - 1]) * stretched * abs(q[j])


class Run:
    """A system in motion: what bends may do now, and room for its rates."""

    def __init__(self, system: System) -> None:
        self.system = system
        n = self.n = len(system.after_m)
        self.free = np.array(system.after_m)
        self.laws, self.static = system.laws, system.static
        self.kept = self.static[:, 0] > self.laws[:, 0]
        self.modes = np.where(self.kept, HOLDS, ANY)
        self.out = np.zeros(4 + 3 * n)
        self.q, self.tension = np.zeros(n + 2), np.zeros(n + 1)
        self.peak, self.evaluations = 0.0, 0

    def hung(self) -> np.ndarray:
        """State of a rope that the weight was put on slowly."""
        system, n = self.system, self.n
        state = np.zeros(4 + 3 * n)
        length = float(np.hypot(system.depth_m, system.out_m))
        tension = system.mass_kg * G * length / system.depth_m
        extra = system.stiffness_n / system.body_n_m
        strain = tension / system.stiffness_n
        state[0] = system.depth_m
        state[3 + n] = (length - extra * strain) / (1.0 + strain)
        if system.falls_rad is not None:
            self.laws[-1, 3] = np.arctan2(system.depth_m, system.out_m) - system.falls_rad
        for j in range(n - 1, -1, -1):
            grip, exponent, radius, bend = self.laws[j]
            less = 1.0 - exponent
            if less:
                tension = (tension**less - less * grip * radius**less * bend) ** (1.0 / less)
            else:
                tension /= np.exp(grip * bend)
            state[3 + j] = self.free[j] / (1.0 + tension / system.stiffness_n)
        return state

    def look(self, time, state, move) -> np.ndarray:
        """Rates at a time of a movement; slips and tensions are left in place."""
        phase, amount, duration = move
        weight = self.system.mass_kg * G
        numbers = (
            self.system.stiffness_n, self.system.tau_s, self.system.mass_kg,
            self.system.stiffness_n / self.system.body_n_m, self.system.force_ratio * weight,
            amount, duration, time,
        )  # fmt: skip
        _rates(
            np.ascontiguousarray(state), self.n, self.free, self.laws, self.modes,
            self.system.slant, numbers, phase, self.out, self.q, self.tension,
        )  # fmt: skip
        return self.out.copy()

    def beyond(self, j) -> tuple[float, int]:
        """How far bend j is over its static limit [N], and the way that it would slip."""
        self.static[j, 3] = self.laws[j, 3]
        before, after = self.tension[j], self.tension[j + 1]
        to_load = after - most(before, self.static[j])
        to_anchor = before - most(after, self.static[j])
        return (to_load, 1) if to_load > to_anchor else (to_anchor, -1)

    def switch(self, j, move):
        """Event of bend j: it goes over its static limit, or its slip has stopped."""

        def value(time, state):
            self.look(time, state, move)
            if self.modes[j] == HOLDS:
                return self.beyond(j)[0]
            return STILL_M_S - self.q[j + 1] * self.modes[j]

        value.terminal, value.direction = True, 1.0
        return value

    def turn(self, j, time, state, move) -> None:
        """Bend j stops or lets go; bends that this stops hold, those it overloads let go.

        One at a time, the worst first; j itself again, where its slip stopped with a jerk as slack
        rope came tight.
        """
        self.look(time, state, move)
        self.modes[j] = self.beyond(j)[1] if self.modes[j] == HOLDS else HOLDS
        while True:
            self.look(time, state, move)
            sliding = self.kept & (self.modes != HOLDS)
            self.modes[sliding & (self.q[1:-1] * self.modes <= STILL_M_S)] = HOLDS
            resting = np.flatnonzero(self.kept & (self.modes == HOLDS))
            worst = max(((*self.beyond(i), i) for i in resting), default=(0.0, 0, 0))
            if worst[0] <= 0.0:
                return
            self.modes[worst[2]] = worst[1]

    def phase(self, state, move) -> tuple[float, np.ndarray]:
        """Integrate one phase; a rise ends when all of it is taken in."""
        rising, time = move[0] == 0, 0.0
        end = 30.0 if rising else move[2]
        bends = np.flatnonzero(self.kept)

        def done(_, now):
            return now[2] - move[2]

        done.terminal = True
        events = [*(self.switch(j, move) for j in bends), *([done] if rising else [])]
        parts = [state[:, None]]
        while True:
            found = solve_ivp(
                lambda at, now: self.look(at, now, move), (time, end), parts[-1][:, -1],
                method="LSODA", rtol=1e-10, atol=1e-12, max_step=2e-3, events=events or None,
            )  # fmt: skip
            self.evaluations += found.nfev
            for at, now in zip(found.t, found.y.T, strict=True):
                self.look(at, now, move)
                self.peak = max(self.peak, self.tension.max())
            parts.append(found.y[:, 1:])
            time = found.t[-1]
            turned = [j for j, at in zip(bends, found.t_events or (), strict=False) if len(at)]
            if not turned:
                return time, np.concatenate(parts[1:], axis=1)
            for j in turned:
                self.turn(j, time, found.y[:, -1], move)


def run(system: System) -> Answer:
    """Hang the person on slowly and let them climb."""
    going = Run(system)
    n = going.n
    state = going.hung()
    states, rose_s = [state[:, None]], 0.0
    for _ in range(system.strokes):
        for move in (
            (0, system.rise_m + system.back_m, system.rise_s),
            (2, 0.0, TO_NEXT_TICK),
            (1, -system.back_m, system.drop_s),
            (2, 0.0, system.pause_s),
        ):
            if move[2] == TO_NEXT_TICK:
                move = (2, 0.0, max(-rose_s % TICK_S, 1e-12))
            rose_s, found = going.phase(state, move)
            state = found[:, -1].copy()
            state[2] = 0.0
            states.append(found)
    table = np.concatenate(states, axis=1).T
    return Answer(
        slip_m=state[4 + n : 4 + 2 * n],
        energy_j=state[4 + 2 * n :],
        peak_n=going.peak,
        worst_j_m=_worst(system, n, table),
        depth_m=float(state[0]),
        evaluations=going.evaluations,
    )


def _worst(system, n, table, parts=24):
    """Largest friction energy per metre of rope, each bend's contact a window on the material.

    Between two steps material and energy are taken to grow evenly, in `parts` deposits.
    """
    cell = 2e-5
    half = system.contact_m / 2.0
    material = table[:, 3 : 3 + n].cumsum(axis=1)
    energy = table[:, 4 + 2 * n :]
    low = material.min() - half - cell
    cells = int((material.max() + half - low) / cell) + 3
    field = np.zeros(cells)
    for j in range(n):
        amount = np.diff(energy[:, j]) / system.contact_m / parts
        for part in range(parts):
            share = (part + 0.5) / parts
            middle = material[:-1, j] + share * np.diff(material[:, j]) - low
            field += np.bincount(np.rint((middle - half) / cell).astype(int), amount, cells)
            field -= np.bincount(np.rint((middle + half) / cell).astype(int), amount, cells)
    return float(field.cumsum().max())
