"""Wear laid down as travels that go on from each other, against each laid down for itself."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from edgewear.mechanics.arrays import SUMS, WORK_ROWS, Floats, Records
from edgewear.mechanics.device.field import SPARE, add_both
from edgewear.mechanics.device.parts import Parts
from edgewear.mechanics.wear import field as lying
from edgewear.mechanics.wear import worst_place

CELLS, ROOM = 400, 60.0
"""Cells of an edge, and how near to their ends no travel begins."""
ROUNDING = 1e-8
"""Two sums over 400 cells of numbers up to 1e5 times as large leave 1e-9 of them."""
PLAIN = Parts(lambda function: function, {})
travel_on, fold = PLAIN.of(lying.travel_on), PLAIN.of(lying.fold)
scan, scan_on = PLAIN.of(worst_place.scan), PLAIN.of(worst_place.scan_on)


def travels(rng: np.random.Generator, many: int) -> list[tuple[float, float, float, float]]:
    """Start, end, window [cells] and steepness: on, to and fro, in place, elsewhere, wider."""
    at, window, made = rng.uniform(ROOM, CELLS - ROOM), 11.0, []
    for _ in range(many):
        if rng.random() < 0.1:
            at = rng.uniform(ROOM, CELLS - ROOM)
        if rng.random() < 0.1:
            window = rng.uniform(1.0, 20.0)
        end = at + rng.choice([-1.0, 1.0]) * 10.0 ** rng.uniform(-6.0, 1.2)
        end = min(max(end, ROOM), CELLS - ROOM)
        made.append((at, end, window, rng.uniform(0.1, 5.0)))
        at = end + rng.uniform(-1e-11, 1e-11)  # as rounding has it
    return made


def blank(edges: int) -> tuple[Floats, Floats, Records, Floats]:
    """Fields and records in which nothing is worn."""
    sums = np.zeros(edges, SUMS).view(np.recarray)  # kernels name fields as attributes
    sums["pending_low"] = sums["worn_low"] = CELLS
    sums["pending_high"] = sums["worn_high"] = -1
    return np.zeros((edges, CELLS + 4)), np.zeros((edges, CELLS)), sums, np.zeros(WORK_ROWS * 16)


def each_alone(made: list[tuple[float, float, float, float]]) -> Floats:
    """What every travel leaves, by the integral over each cell."""
    cells = np.zeros(2 * (CELLS + SPARE))
    for start, end, window, steep in made:
        far = max(abs(end - start), lying.LEAST_CELLS)
        add_both(cells, 0, start, end, end, window, steep * window * far, 0.0)
    return cells[:CELLS]


@pytest.mark.parametrize("seed", range(12))
def test_travels_leave_what_each_leaves_alone(seed: int) -> None:
    made = travels(np.random.default_rng(seed), 80)
    pending, exposure, sums, _ = blank(1)
    for one in made:
        assert travel_on(pending[0], sums[0], *one)
    fold(pending, exposure, sums, 1.0)
    np.testing.assert_allclose(exposure[0], each_alone(made), atol=ROUNDING)
    assert not pending.any()


@pytest.mark.parametrize("seed", range(12))
def test_a_look_finds_the_worst_place_and_changes_nothing(seed: int) -> None:
    rng = np.random.default_rng(seed)
    made = travels(rng, 80)
    seen, unseen = blank(1), blank(1)
    for count, one in enumerate(made, 1):
        for pending, _, sums, _ in (seen, unseen):
            travel_on(pending[0], sums[0], *one)
        if rng.random() < 0.3:
            largest, cell = scan(*seen[:3], 1.0, seen[3])
            field = each_alone(made[:count])
            assert largest == pytest.approx(field.max(), abs=ROUNDING)
            assert field[cell] == pytest.approx(field.max(), abs=ROUNDING)
        if rng.random() < 0.1:
            fold(*seen[:3], 1.0)
            fold(*unseen[:3], 1.0)
    assert [part.tobytes() for part in seen[:3]] == [part.tobytes() for part in unseen[:3]]


def looked_on(fields: Any) -> float:
    """Look as the kernels do: what each edge has at its worst is kept for the next look."""
    pending, exposure, sums, w = fields
    largest: float = scan_on(pending, exposure, sums, 1.0, w)
    place = worst_place.r.SCAN_MOST
    sums["largest_j_m"] = w[place : place + len(sums)]
    return largest


@pytest.mark.parametrize("edges", [1, 2, 3])
@pytest.mark.parametrize("seed", range(8))
def test_looking_on_finds_what_looking_anew_finds(seed: int, edges: int) -> None:
    rng = np.random.default_rng(100 * edges + seed)
    fields = blank(edges)
    pending, exposure, sums, w = fields
    routes = [travels(rng, 120) for _ in range(edges)]
    for turn in range(120):
        row = int(rng.integers(edges))
        travel_on(pending[row], sums[row], *routes[row][turn])
        if rng.random() < 0.4:
            anew, _ = scan(pending, exposure, sums, 1.0, w)
            assert looked_on(fields) == pytest.approx(anew, rel=1e-9)  # rounding, as above
        if rng.random() < 0.05:
            fold(pending, exposure, sums, 1.0)


def test_a_travel_out_of_the_cells_is_told_and_leaves_nothing() -> None:
    pending, _, sums, _ = blank(1)
    assert not travel_on(pending[0], sums[0], 3.0, 9.0, 11.0, 1.0)
    assert not travel_on(pending[0], sums[0], CELLS - 9.0, CELLS - 3.0, 11.0, 1.0)
    assert not pending.any()
    assert sums["pending_high"][0] == -1
