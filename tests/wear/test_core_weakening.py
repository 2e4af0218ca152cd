"""The core weakens while only the sheath is rubbed: off as shipped, a straight line where asked."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear.layout import WEAR
from edgewear.mechanics.wear.wear import strength_n
from edgewear.scenario import load_text
from edgewear.validation.trade_tests import T1


def rope(weakening: float) -> np.ndarray:
    """WEAR (1,): 20 kN, sheath through at 1000 J/m, core at 2000 J/m more, 60 % in the core."""
    wear = np.zeros(1, WEAR)
    wear["sheath_j_m"], wear["core_j_m"], wear["core_exponent"] = 1000.0, 2000.0, 1.0
    wear["breaking_n"], wear["core_strength_share"] = 20_000.0, 0.6
    wear["core_weakening"] = weakening
    return wear


def test_it_is_off_as_shipped() -> None:
    law = load_text(T1.text, "library").wear
    assert (law.core_weakening.value, law.core_weakening.distribution) == (0.0, "fixed")


@pytest.mark.parametrize("weakening", [0.0, 0.1, 0.4])
@pytest.mark.parametrize("worn", [0.0, 0.25, 0.5, 1.0, 1.5])
def test_what_the_core_holds_falls_evenly_until_the_sheath_is_through(
    weakening: float, worn: float
) -> None:
    found = strength_n(1000.0 * worn, rope(weakening)[0])
    sheath = max(0.0, 1.0 - worn)
    # a = 1: the core's section falls with the root of what is left of its energy
    section = 1.0 if worn <= 1.0 else np.sqrt(1.0 - 1000.0 * (worn - 1.0) / 2000.0)
    core = section * (1.0 - weakening * min(worn, 1.0))
    assert found == pytest.approx(20_000.0 * (0.4 * sheath + 0.6 * core), rel=1e-12)  # rounding
