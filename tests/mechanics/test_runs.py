"""Edges that slip alike, taken together: the same rates as by elimination, from any guess."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear.mechanics import scratch as r
from edgewear.mechanics.arrays import WORK_ROWS
from edgewear.mechanics.slip.slip import solve_any
from edgewear.mechanics.slip.slip_taut import solve_taut
from mechanics.test_slip import BOTH, System, answer, any_start, random_system, written

SAME = 1e-9
"""Of rates, relative to the largest (at least 1 mm/s); of tensions, relative to 1 N and more."""
SYSTEMS = 10_000


def by_runs(w: np.ndarray, system: System, rng: np.random.Generator) -> bool:
    """Solve from a guess that no step would leave behind; whether this way may be taken."""
    n = system.count
    written(w, system)
    any_start(w, n, rng)
    w[r.EASE : r.EASE + n + 1] = 1.0 / system.b
    w[r.GIVE : r.GIVE + n + 1] = system.a / system.b
    w[r.FALLS + 1 : r.FALLS + n + 1] = 1.0 / system.ratio
    return bool(solve_taut(n, w, system.feed, system.take, system.limited))


def test_runs_give_what_elimination_gives() -> None:
    w, solved = np.zeros(WORK_ROWS * 16), 0
    for seed in range(SYSTEMS):
        _, system = random_system(seed)
        if (system.b == 0.0).any() or (system.allowed != BOTH).any():
            continue  # slack spans and static friction never come this way
        n = system.count
        written(w, system)
        assert solve_any(n, w, system.take, system.limited) >= 0
        rates, tensions = answer(w, n)
        under_tension = tensions.min() > 0.0 and w[r.PIECE + n] != 4.0
        if not by_runs(w, system, np.random.default_rng(seed)):
            continue  # left to elimination: limp, at the device's limit, guessed too far off
        assert under_tension, seed
        solved += 1
        found, found_n = answer(w, n)
        largest = max(1e-3, np.abs(rates).max())
        assert found == pytest.approx(rates, abs=SAME * largest, rel=0.0), seed
        assert found_n == pytest.approx(tensions, rel=SAME, abs=SAME), seed
    assert solved > 0.3 * SYSTEMS
