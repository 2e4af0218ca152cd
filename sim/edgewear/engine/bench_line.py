"""One line on a test stand: the same step function as every job, without a scenario around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from edgewear import mechanics
from edgewear.errors import RunFailed
from edgewear.layout import EDGE, LINE, MOVEMENT, PERSON, WEAR, Kind, Status


@dataclass(frozen=True)
class Bend:
    """A bend over a cylinder on the stand."""

    friction: float  # mu, kinetic
    wrap_rad: float
    after_m: float = 1.0  # free length from the anchor or the bend before it
    radius_m: float = 0.01
    static_ratio: float = 1.0
    exponent: float = 1.0  # n of F = a*N^n


class BenchLine:
    """A rope from an anchor over bends to a weight.

    Parameters:
        stiffness_n: K [N per unit strain]; viscous_s: tau [s].
        mass_kg: of the weight; body_stiffness_n_m: of a spring between rope and weight.
        bends: from the anchor on, bends and lengths given.
        cell_m: of the exposure field.
        step_s: longest step of the kernel [s].
    """

    def __init__(
        self,
        stiffness_n: float,
        viscous_s: float,
        mass_kg: float,
        bends: Sequence[Bend] = (),
        *,
        body_stiffness_n_m: float = inf,
        rope_m: float = 100.0,
        diameter_m: float = 0.011,
        samples: int = 0,
        sample_ticks: int = 10,
        cell_m: float = 1e-3,
        step_s: float = 0.015,
    ) -> None:
        line = np.zeros(1, LINE)
        line["direct"], line["edge_count"], line["rope_m"] = 1, len(bends), rope_m
        line["stiffness_n"], line["viscous_s"] = stiffness_n, viscous_s
        line["diameter_m"], line["device_slip_n"] = diameter_m, inf
        person = np.zeros(1, PERSON)
        person["mass_kg"], person["body_stiffness_n_m"] = mass_kg, body_stiffness_n_m
        person["force_ratio"] = 1.5
        self.tick = 0
        edges = _edges(bends)
        self.buffers = mechanics.allocate(
            line, edges, person, _unworn(), mechanics.route(line, edges),
            cell_m=cell_m, behind_m=rope_m, trace=samples, trace_ticks=sample_ticks,
            step_s=step_s,
        )  # fmt: skip

    def make(self, kind: Kind, **fields: float) -> None:
        """Make a movement whole.

        Parameters:
            kind: of the movement; fields: of `layout.MOVEMENT`.

        Raises:
            RunFailed: the kernel met something that is not a number.
        """
        movement = np.zeros(1, MOVEMENT)
        movement["kind"] = kind
        for name, value in fields.items():
            movement[name] = value
        self.buffers.state["tick"] = self.tick
        if mechanics.advance(self.buffers, movement) & Status.FAILED:
            raise RunFailed("the line's state is no longer a number")
        self.tick = int(self.buffers.state["tick"][0])

    def tensions_n(self) -> tuple[float, ...]:
        """Tension in each free length, from the anchor to the weight [N]."""
        state = self.buffers.state[0]
        return tuple(float(t) for t in state["tension_n"][: int(state["count"]) + 1])

    def get(self, field: str) -> float:
        """A number of the line's state."""
        return float(self.buffers.state[field][0])

    def residual(self) -> float:
        """Energy residual [1]."""
        return mechanics.residual(self.buffers)

    def worst_j_m(self) -> float:
        """Largest exposure of the rope, plain friction energy per metre [J/m]."""
        return mechanics.worst(self.buffers)[0]

    def samples(self) -> np.ndarray:
        """The samples of the timeline taken so far, TRACE records."""
        return self.buffers.trace[: int(self.buffers.state["samples"][0])]


def vertex(time_s: np.ndarray, values: np.ndarray, k: int) -> tuple[float, float]:
    """Time and value of the parabola's vertex through a sample and its neighbours.

    Parameters:
        time_s: (n,), evenly spaced there; values: (n,); k: the sample.
    """
    parabola = np.polyfit(time_s[k - 1 : k + 2] - time_s[k], values[k - 1 : k + 2], 2)
    top_s = -parabola[1] / (2.0 * parabola[0])
    return float(time_s[k] + top_s), float(np.polyval(parabola, top_s))


def _edges(bends: Sequence[Bend]) -> np.ndarray:
    edges = np.zeros(len(bends), EDGE)
    for row, bend in enumerate(bends):
        edges["friction"][row], edges["bend_rad"][row] = bend.friction, bend.wrap_rad
        edges["after_m"][row], edges["radius_m"][row] = bend.after_m, bend.radius_m
        edges["static_ratio"][row], edges["power_exponent"][row] = bend.static_ratio, bend.exponent
    edges["severity"] = edges["wet_factor"] = 1.0
    return edges


def _unworn() -> np.ndarray:
    """A sheath that lasts: the stand measures forces; exposure is plain friction energy."""
    wear = np.zeros(1, WEAR)
    for field in ("sheath_j_m", "core_j_m", "breaking_n"):
        wear[field] = 1e30
    for field in ("core_exponent", "reference_pressure_pa", "reference_speed_m_s"):
        wear[field] = 1.0
    wear["width_share"] = wear["arc_share"] = 0.5
    wear["law"] = 1
    return wear
