"""Random lines and tapes: nothing fails, energy closes, pieces on the grid equal the whole."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.layout import Kind, Status
from support.lines import JERKY, SMOOTH, climbed, direct, move, random_case, random_catch

BALANCE = 3e-5
"""Of the energy flows, asked of every run; a step that leaves too much open is halved."""


def played(seed: int) -> mechanics.Buffers:
    """A random case played movement by movement."""
    buffers, tape, variation = random_case(seed)
    for movement in tape:
        assert mechanics.advance(buffers, movement, variation) == Status.DONE
    return buffers


def in_pieces(seed: int) -> mechanics.Buffers:
    """The same, each movement stopped on the grid at random ticks."""
    buffers, tape, variation = random_case(seed)
    rng = np.random.default_rng(seed)
    for movement in tape:
        status, until = Status.UNTIL, int(buffers.state["tick"][0])
        while status == Status.UNTIL:
            until += int(rng.integers(1, 30_000))
            status = Status(mechanics.advance(buffers, movement, variation, until))
        assert status == Status.DONE
    return buffers


@pytest.mark.parametrize("seed", range(12))
def test_energy_closes_and_pieces_equal_the_whole(seed: int) -> None:
    whole, pieces = played(seed), in_pieces(seed)
    assert mechanics.residual(whole) <= BALANCE
    assert whole.state.tobytes() == pieces.state.tobytes()
    assert whole.sums.tobytes() == pieces.sums.tobytes()
    np.testing.assert_array_equal(whole.exposure, pieces.exposure)
    np.testing.assert_array_equal(whole.travel, pieces.travel)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(1000, 1400))
def test_many_random_cases(seed: int) -> None:
    test_energy_closes_and_pieces_equal_the_whole(seed)


@pytest.mark.parametrize("seed", range(12))
def test_energy_closes_in_a_catch(seed: int) -> None:
    """Nothing is as hard on a step as a rope that comes tight, slips and is thrown slack again."""
    buffers, fall = random_catch(seed)
    assert mechanics.advance(buffers, fall) == Status.DONE
    assert buffers.state["peak_n"][0] <= buffers.line["device_slip_n"][0]
    assert mechanics.residual(buffers) <= BALANCE


@pytest.mark.long
@pytest.mark.parametrize("seed", range(1000, 1400))
def test_energy_closes_in_many_catches(seed: int) -> None:
    test_energy_closes_in_a_catch(seed)


def test_work_in_closed_form_is_what_stepping_through_gives() -> None:
    """Ten minutes at once, and stepped through: an armed level far off keeps nothing from it."""
    work: dict[str, Any] = {"bounce_m": 0.02, "bounce_hz": 0.5, "tool_n": 120.0}
    both = [direct([6.0], [40.0], 0.1) for _ in range(2)]
    for buffers in both:
        mechanics.advance(buffers, move(Kind.LOAD, depth_m=12.0))
    long, short = both
    mechanics.advance(long, move(Kind.WORK, duration_ticks=6_000_000, **work))
    for _ in range(300):  # one period a movement: nothing to skip
        mechanics.advance(short, move(Kind.WORK, duration_ticks=20_000, **work))
    assert long.state["steps"][0] < short.state["steps"][0] / 3
    for name in ("slip_m", "energy_j", "exposure_j"):
        # periods repeat to 1e-9 m of rope; the transient at the start is a thousandth of it all
        assert long.sums[name][0] == pytest.approx(short.sums[name][0], rel=1e-4)


def test_deposited_energy_is_the_friction_energy() -> None:
    """Unweighted law: what lies in the rope is what friction gave."""
    buffers = direct([10.0, 5.0], [30.0, 50.0], law=1, presliding_m=0.0)
    climbed(buffers, 9.0, 2.0, **JERKY)
    lying = mechanics.exposure_by_edge(buffers).sum(axis=1) * float(buffers.cells[0])
    assert lying == pytest.approx(buffers.sums["energy_j"], rel=1e-9)


@pytest.mark.parametrize("bends", [[0.0], [30.0]])
def test_an_edge_without_bend_or_friction_does_nothing(bends: list[float]) -> None:
    """It dissipates nothing, and the climber notices nothing."""
    bare = direct([], [])
    edge = direct([20.0], bends, 0.0)
    climbed(bare, 28.0, 2.0, **SMOOTH)
    climbed(edge, 8.0, 2.0, **SMOOTH)
    assert edge.sums["energy_j"][0] == pytest.approx(0.0, abs=1e-9)
    # the same rope in one span or two: material is mixed at the edge as one span does at once,
    # which differs by the viscous part of the strain alone
    assert edge.state["peak_n"][0] == pytest.approx(bare.state["peak_n"][0], rel=1e-3)


def test_twice_the_stiffness_and_the_mass_change_forces_alone() -> None:
    """Everything is a force over K or m: lengths stay, forces and energies double."""
    once = direct([20.0], [30.0])
    twice = direct([20.0], [30.0], stiffness_n=92e3, mass_kg=180.0, body_stiffness_n_m=20e3)
    for buffers in (once, twice):
        climbed(buffers, 8.0, 2.0, **JERKY)
    assert twice.sums["slip_m"] == pytest.approx(once.sums["slip_m"], rel=1e-9)
    assert twice.sums["energy_j"] == pytest.approx(2.0 * once.sums["energy_j"], rel=1e-9)
    assert twice.state["peak_n"] == pytest.approx(2.0 * once.state["peak_n"], rel=1e-9)


def test_a_rope_without_damping_is_the_limit_of_little_damping() -> None:
    """Rates exist for tau > 0 alone, so tau = 0 over an edge stands for two ticks."""

    def slip_m(viscous_s: float) -> float:
        buffers = direct([20.0], [30.0], viscous_s=viscous_s)
        climbed(buffers, 8.0, 0.8, **JERKY)
        return float(buffers.sums["slip_m"][0])

    limit = 2.0 * slip_m(1e-3) - slip_m(2e-3)  # linear in tau when tau is small
    assert slip_m(0.0) == pytest.approx(limit, rel=4e-3)


def test_whole_periods_of_work_end_without_another_sway() -> None:
    """Stepped through to its end or looked at on the way, so many sways wear as were made."""
    work = move(
        Kind.WORK, duration_ticks=1_200_000, bounce_m=0.02, bounce_hz=0.5, sway_m=0.3, sway_hz=0.2
    )  # fmt: skip
    whole, looked = (direct([6.0], [40.0], 0.1) for _ in range(2))
    for buffers in (whole, looked):
        mechanics.advance(buffers, move(Kind.LOAD, depth_m=4.0))
    mechanics.advance(whole, work)
    for until in (300_000, 700_000, 2**62):
        mechanics.advance(looked, work, until_tick=until)
    assert whole.state["tick"][0] == looked.state["tick"][0] == 1_200_000
    once = direct([6.0], [40.0], 0.1)
    mechanics.advance(once, move(Kind.LOAD, depth_m=4.0))
    work["duration_ticks"] = 100_000
    mechanics.advance(once, work)
    assert whole.sums["lateral_m"][0] > 0.0
    # twelve periods of two sways, as many times what one takes; it varies with the bounce's start
    assert whole.sums["lateral_m"] == pytest.approx(12.0 * once.sums["lateral_m"], rel=1e-2)
    assert whole.sums["lateral_m"] == pytest.approx(looked.sums["lateral_m"], rel=1e-9)
