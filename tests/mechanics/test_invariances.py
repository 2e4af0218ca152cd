"""What must not change a result: laws of the equations, on random lines and tapes.

One to six edges, 0.5 to 60 m behind the last one, bends of 1 to 170 degrees, every technique.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from edgewear import mechanics
from edgewear.layout import EDGE, LINE, PERSON, WEAR, Kind, Status
from support.lines import (
    EDGE_VALUES,
    LINE_VALUES,
    PERSON_VALUES,
    TECHNIQUES,
    WEAR_VALUES,
    direct,
    move,
)

FEW = settings(max_examples=50, deadline=None, derandomize=True)
MANY = settings(max_examples=1000, deadline=None, suppress_health_check=list(HealthCheck))

STEPPED = 1e-3
"""Relative. Rope in one span or in two is the same rope, but each is stepped on its own, by at
most 15 ms: as far from the solution as random lines are allowed to be."""
SMALL_M, SMALL_J = 1e-4, 0.02
"""Sliding path and energy below which the relative difference says nothing: as the random lines."""


@dataclass(frozen=True)
class Rig:
    """A line whose bends are given, and what is done with it."""

    setbacks_m: tuple[float, ...]
    bends_deg: tuple[float, ...]
    frictions: tuple[float, ...]
    values: dict[str, Any]
    tape: tuple[tuple[Kind, dict[str, Any]], ...]

    def begun(self, **changed: Any) -> mechanics.Buffers:
        """Buffers, nothing played; some values changed."""
        return direct(
            list(self.setbacks_m), list(self.bends_deg), list(self.frictions),
            **({"behind_m": 2.0} | self.values | changed),
        )  # fmt: skip

    def played(self, **changed: Any) -> mechanics.Buffers:
        """The same, with the whole tape played."""
        buffers = self.begun(**changed)
        for kind, fields in self.tape:
            assert mechanics.advance(buffers, move(kind, **fields), NORMALS) == Status.DONE
        return buffers


NORMALS = np.random.default_rng(7).standard_normal((60, 2))


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, width=64)


@st.composite
def movements(draw: Any) -> tuple[tuple[Kind, dict[str, Any]], ...]:
    """Hanging on, then a few movements of any kind."""
    tape: list[tuple[Kind, dict[str, Any]]] = [(Kind.LOAD, {"depth_m": draw(floats(4.0, 15.0))})]
    for kind in draw(st.lists(st.sampled_from(sorted(MOVEMENTS)), min_size=1, max_size=3)):
        tape.append((Kind(kind), draw(MOVEMENTS[kind])))
    return tuple(tape)


STROKES = st.sampled_from(TECHNIQUES).flatmap(
    lambda technique: st.builds(
        lambda length_m: technique | {"length_m": length_m}, floats(0.3, 1.2)
    )
)
MOVEMENTS: dict[Kind, st.SearchStrategy[dict[str, Any]]] = {
    Kind.STROKES: STROKES,
    Kind.PAYOUT: st.fixed_dictionaries(
        {"length_m": floats(0.2, 1.5), "speed_m_s": floats(0.2, 1.0), "stop_s": floats(0.1, 0.5)}
    ),
    Kind.FEED: st.fixed_dictionaries(
        {"length_m": floats(-0.4, 0.4), "speed_m_s": floats(0.1, 0.4), "stop_s": floats(0.1, 0.5),
         "cycles": st.integers(0, 2)}
    ),
    Kind.HOLD: st.fixed_dictionaries({"duration_ticks": st.integers(1_000, 20_000)}),
    Kind.WORK: st.fixed_dictionaries(
        {"duration_ticks": st.integers(5_000, 60_000), "bounce_m": floats(0.005, 0.03),
         "bounce_hz": floats(0.3, 1.0), "tool_n": floats(0.0, 150.0)}
    ),
}  # fmt: skip


@st.composite
def rigs(draw: Any) -> Rig:
    """Any line."""
    count = draw(st.integers(1, 6))
    setback_m = draw(floats(0.5, 60.0))
    shares = np.array(draw(st.lists(floats(0.1, 1.0), min_size=count, max_size=count)))
    bends = draw(st.lists(floats(1.0, 170.0), min_size=count, max_size=count))
    frictions = draw(st.lists(floats(0.03, 0.45), min_size=count, max_size=count))
    values = {
        "stiffness_n": draw(floats(25e3, 80e3)),
        "viscous_s": draw(floats(0.015, 0.06)),
        "mass_kg": draw(floats(70.0, 130.0)),
        "body_stiffness_n_m": draw(st.sampled_from([5e3, 10e3, 15e3, math.inf])),
        "force_ratio": draw(floats(1.3, 1.8)),
        "static_ratio": draw(st.sampled_from([1.0, 1.0, 1.0, 1.1])),
        "amplitude_cv": draw(st.sampled_from([0.0, 0.2])),
        "timing_cv": draw(st.sampled_from([0.0, 0.15])),
        "skill": draw(st.sampled_from([0.0, 0.5, 1.0])),
        "fatigue_per_stroke": draw(st.sampled_from([0.0, 0.1])),
        "law": draw(st.sampled_from([0, 1, 2])),
    }
    setbacks = tuple(float(x) for x in np.maximum(setback_m * shares / shares.sum(), 0.1))
    return Rig(setbacks, tuple(bends), tuple(frictions), values, draw(movements()))


def often(
    law: Callable[..., None], *given_: st.SearchStrategy[Any]
) -> tuple[Callable[[], None], Callable[[], None]]:
    """A few examples by default, a thousand under `-m long`."""
    return FEW(given(*given_)(law)), pytest.mark.long(MANY(given(*given_)(law)))


def doubled_forces(rig: Rig) -> None:
    """K, mass, body spring, tool and every limit of force doubled: forces and energies double."""
    once = rig.played()
    values = rig.values
    names = ("stiffness_n", "mass_kg", "body_stiffness_n_m")
    heavier = replace(
        rig,
        tape=tuple(
            (kind, fields | ({"tool_n": 2.0 * fields["tool_n"]} if "tool_n" in fields else {}))
            for kind, fields in rig.tape
        ),
    )
    twice = heavier.played(**{name: 2.0 * values[name] for name in names})
    # doubling is exact in binary; what is not doubled are the solver's own absolute tolerances,
    # of 1e-12 N, and what rounding makes of them over some thousand steps
    near = {"rel": 1e-7, "abs": 1e-9}
    assert twice.state["tick"] == once.state["tick"]
    assert twice.sums["slip_m"] == pytest.approx(once.sums["slip_m"], **near)
    assert twice.sums["energy_j"] == pytest.approx(2.0 * once.sums["energy_j"], **near)
    assert twice.sums["peak_n"] == pytest.approx(2.0 * once.sums["peak_n"], **near)
    assert twice.state["depth_m"] == pytest.approx(once.state["depth_m"], **near)


def pieces(rig: Rig, stops: list[int]) -> None:
    """Stopped on the grid and gone on with, as often as one likes: bit for bit the whole."""
    whole, cut = rig.played(), rig.begun()
    for kind, fields in rig.tape:
        begun = int(cut.state["tick"][0])
        for until in [*(begun + stop for stop in sorted(stops)), 2**62]:
            if mechanics.advance(cut, move(kind, **fields), NORMALS, until) == Status.DONE:
                break
    for name in ("state", "sums", "exposure"):
        assert getattr(cut, name).tobytes() == getattr(whole, name).tobytes(), name


def nothing_at_an_edge(rig: Rig, row: int, bend_deg: float, no_bend: bool) -> None:
    """A bend without friction, or friction without a bend, dissipates nothing at all."""
    row %= len(rig.setbacks_m)
    bends, frictions = list(rig.bends_deg), list(rig.frictions)
    bends[row], frictions[row] = (0.0, frictions[row]) if no_bend else (bend_deg, 0.0)
    buffers = replace(rig, bends_deg=tuple(bends), frictions=tuple(frictions)).played()
    flows = float(buffers.state["flows_j"][0])
    # tensions on both sides are equal to the solver's 1e-12
    assert buffers.sums["energy_j"][row] <= 1e-10 * (1.0 + flows)


def a_straight_edge(rig: Rig, row: int, share: float) -> None:
    """An edge without a bend somewhere on the line is no edge."""
    row %= len(rig.setbacks_m)
    plain = rig.played()
    setbacks = list(rig.setbacks_m)
    setbacks[row : row + 1] = [share * setbacks[row], (1.0 - share) * setbacks[row]]
    bends, frictions = list(rig.bends_deg), list(rig.frictions)
    bends.insert(row, 0.0)
    frictions.insert(row, 0.3)
    more = replace(
        rig, setbacks_m=tuple(setbacks), bends_deg=tuple(bends), frictions=tuple(frictions)
    ).played()
    others = [k for k in range(len(bends)) if k != row]
    assert more.sums["slip_m"][others] == pytest.approx(
        plain.sums["slip_m"], rel=STEPPED, abs=SMALL_M
    )
    assert more.sums["energy_j"][others] == pytest.approx(
        plain.sums["energy_j"], rel=STEPPED, abs=SMALL_J
    )
    assert more.state["peak_n"] == pytest.approx(plain.state["peak_n"], rel=STEPPED, abs=0.1)
    assert more.state["depth_m"] == pytest.approx(plain.state["depth_m"], abs=SMALL_M)


@dataclass(frozen=True)
class Site:
    """A line in space by coordinates: anchor, edges askew, the load's track."""

    anchor_m: tuple[float, float, float]
    starts_m: tuple[tuple[float, float, float], ...]
    ends_m: tuple[tuple[float, float, float], ...]
    out_m: float
    along_m: float

    def mirrored(self) -> Site:
        """Left for right, along the face."""

        def other(point: tuple[float, float, float]) -> tuple[float, float, float]:
            return point[0], -point[1], point[2]

        return Site(
            other(self.anchor_m), tuple(map(other, self.starts_m)),
            tuple(map(other, self.ends_m)), self.out_m, -self.along_m,
        )  # fmt: skip

    def played(self, depth_m: float, technique: dict[str, float]) -> mechanics.Buffers:
        """Hang on, climb, and work with sway."""
        line, edges = np.zeros(1, LINE), np.zeros(len(self.starts_m), EDGE)
        person, wear = np.zeros(1, PERSON), np.zeros(1, WEAR)
        tables = ((line, LINE_VALUES), (edges, EDGE_VALUES), (person, PERSON_VALUES),
                  (wear, WEAR_VALUES))  # fmt: skip
        for records, values in tables:
            for name, value in values.items():
                records[name] = value
        line["edge_count"], line["anchor_m"] = len(edges), self.anchor_m
        line["load_out_m"], line["load_along_m"] = self.out_m, self.along_m
        edges["start_m"], edges["end_m"] = self.starts_m, self.ends_m
        table = mechanics.route(line, edges)
        buffers = mechanics.allocate(line, edges, person, wear, table)
        work = {"duration_ticks": 30_000, "bounce_m": 0.02, "bounce_hz": 0.5, "sway_m": 0.1,
                "sway_hz": 0.25}  # fmt: skip
        for movement in (
            move(Kind.LOAD, depth_m=depth_m),
            move(Kind.STROKES, length_m=0.8, **technique),
            move(Kind.WORK, **work),
        ):
            assert mechanics.advance(buffers, movement) == Status.DONE
        return buffers


@st.composite
def sites(draw: Any) -> Site:
    """One to three edges down a face, askew or not, anchored aside."""
    count = draw(st.integers(1, 3))
    starts, ends, down = [], [], 0.0
    for j in range(count):
        out, skew = 0.2 * j, draw(floats(-0.3, 0.3))
        starts.append((out - 20.0 * skew, -20.0, -down + 20.0 * draw(floats(-0.05, 0.05))))
        ends.append((out + 20.0 * skew, 20.0, -2.0 * down - starts[-1][2]))
        down += draw(floats(2.0, 5.0))
    anchor = (-draw(floats(2.0, 15.0)), draw(floats(-5.0, 5.0)), draw(floats(0.2, 1.5)))
    return Site(anchor, tuple(starts), tuple(ends), 0.2 * count + 0.3, draw(floats(-2.0, 2.0)))


def left_for_right(site: Site, below_m: float, technique: dict[str, float]) -> None:
    """A site and its mirror image give the same."""
    depth_m = -min(z for _, _, z in (*site.starts_m, *site.ends_m)) + below_m
    one, other = site.played(depth_m, technique), site.mirrored().played(depth_m, technique)
    for name in ("slip_m", "energy_j", "exposure_j", "peak_n", "wrap_rad"):
        # laid by the same search from the other side: the table's pieces agree to rounding
        assert other.sums[name] == pytest.approx(one.sums[name], rel=1e-6, abs=1e-9), name
    assert other.state["depth_m"] == pytest.approx(one.state["depth_m"], rel=1e-9)


ROW, SHARE = st.integers(0, 5), floats(0.1, 0.9)
STOPS = st.lists(st.integers(1, 60_000), min_size=1, max_size=6, unique=True)

test_doubled_forces, test_doubled_forces_1000 = often(doubled_forces, rigs())
test_pieces, test_pieces_1000 = often(pieces, rigs(), STOPS)
test_nothing_at_an_edge, test_nothing_at_an_edge_1000 = often(
    nothing_at_an_edge, rigs(), ROW, floats(1.0, 170.0), st.booleans()
)
test_a_straight_edge, test_a_straight_edge_1000 = often(a_straight_edge, rigs(), ROW, SHARE)
test_left_for_right, test_left_for_right_1000 = often(
    left_for_right, sites(), floats(0.5, 8.0), st.sampled_from(TECHNIQUES)
)
