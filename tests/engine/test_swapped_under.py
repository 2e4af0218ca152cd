"""What a rope that is swapped out went through stays its own, whatever is placed or taken off.

All up to the swap is one course, so each figure of that rope is that of a job that ends there.
"""

from __future__ import annotations

import numpy as np
import pytest

from edgewear.case import Records, compile_case
from edgewear.engine.results.outcome import edge_rows
from edgewear.engine.run_job import perform
from edgewear.scenario import load_text
from engine.test_heat_of_covers import CLIMB, OFF, ON, SITES, TEXT

SWAP = "swap rope"
BEFORE = [(CLIMB,), (CLIMB, OFF), (CLIMB, OFF, CLIMB), (OFF, CLIMB)]
AFTER = [(), (CLIMB,), ("descend: 4 m", CLIMB)]


def ropes_of(site: tuple[str, str, str], cover: str, *steps: str) -> Records:
    """EDGE (ropes,): what each rope of the line did at the edge, in the order they were used."""
    radius, surface, bend = site
    job = "".join(f"  - {step}\n" for step in steps)
    rig = f"protect: {{arris: {cover}}},"
    text = TEXT.format(radius=radius, surface=surface, bend=bend, rig=rig, job=job)
    scenario = load_text(text, "swapped")
    return edge_rows(perform(scenario, compile_case(scenario, "one")).player)


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("before", BEFORE)
@pytest.mark.parametrize("after", AFTER)
def test_what_comes_after_a_swap_changes_nothing_of_the_rope_before_it(site, before, after) -> None:
    [alone] = ropes_of(site, "pad", *before)
    changed = () if OFF in before else (OFF,)
    for then in ((), changed):
        first, *_ = ropes_of(site, "pad", *before, SWAP, *then, *after)
        for name in ("flash_temperature_c", "cover_energy_j", "cover_slip_m", "slip_m"):
            np.testing.assert_equal(first[name], alone[name], err_msg=name)  # nan: none, in both


@pytest.mark.parametrize("site", SITES)
def test_a_fresh_rope_has_nothing_of_what_the_one_before_it_went_through(site) -> None:
    """Of the same kind, and where it lies over nothing but the bare edge: no cover was used."""
    first, fresh = ropes_of(site, "pad", CLIMB, OFF, SWAP, CLIMB)
    assert fresh["cover_energy_j"] == fresh["cover_slip_m"] == 0.0
    assert first["cover_energy_j"] > 0.0
    _, covered = ropes_of(site, "pad", CLIMB, OFF, SWAP, ON, CLIMB)
    assert covered["cover_slip_m"] == covered["slip_m"]
