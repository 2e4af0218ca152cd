"""A line that is lost in some trials alone is told among what becomes of people."""

from __future__ import annotations

from functools import cache

import pytest

from edgewear.procedure.faults import faults
from edgewear.report.procedure.fate_words import consequence, is_grave
from edgewear.scenario import load_text
from support.planted.sound import text_of

WORK = ("2 min", "20 min", "60 min")
RADII = ("1.2 mm", "3 mm", "8 mm")


@cache
def found(radius: str, work: str):
    change = {
        "edges/lip/radius": radius,
        "job": {"technician": [{"cross edge": "lip"}, {"descend": "8 m"},
                               {"work": {"for": work, "sway": "10 cm"}}, {"ascend": "8 m"}],
                "rescuer": [{"rest": "10 min"}]},
        "faults": {"pad off": {"protection displaced": "lip", "step": 2},
                   "rain": {"weather": "wet", "step": 2}},
        "when": {"parted": "retreat on safety line"},
    }  # fmt: skip
    return faults(load_text(text_of("pick-off", change), "made.yaml"), replicates=12, workers=1)


@pytest.mark.parametrize("work", WORK)
@pytest.mark.parametrize("radius", RADII)
def test_a_fault_after_which_a_core_shows_is_not_said_to_lose_no_line(radius, work) -> None:
    whole = found(radius, work)
    told = {one.names: one for one in whole.fates if not one.step}
    for row in whole.faults:
        fates = told[row.names]
        if row.p_core_visible:
            assert is_grave(fates)
            assert "core shows" in consequence(fates) or "falls" in consequence(fates)
            assert fates.as_grave <= row.trials
            shown = round(row.p_core_visible * row.trials)
            assert fates.as_grave <= shown or not any(p.lost for p in fates.people)


def test_in_some_of_these_the_core_shows_in_some_trials_alone() -> None:
    shares = [row.p_core_visible for r in RADII for w in WORK for row in found(r, w).faults]
    assert any(share == 0.0 for share in shares)
    assert any(share and share < 1.0 for share in shares)
