"""Numbers of the library hold unless a scenario says otherwise, one by one."""

from __future__ import annotations

import pytest

from edgewear.scenario import load_text
from edgewear.scenario.models.base import spelled
from support.planted.sound import text_of

SECTIONS = {
    "wear": {"sheath energy": ("2e9 J/m3", None), "cold share": ("0.4", 0.4)},
    "times": {"cross edge": ("45 s", 45.0), "take over": ("4 min", 240.0)},
    "work": {"sway": ("7 cm", 0.07), "duty": ("26 %", 0.26)},
    "detection": {"half worn": ("0.7", 0.7), "again": ("11 min", 660.0)},
}  # fmt: skip


def built(change):
    return load_text(text_of("pick-off", change), "made.yaml")


@pytest.mark.parametrize(
    ("section", "key", "text", "value"),
    [(section, key, *typed) for section, some in SECTIONS.items() for key, typed in some.items()],
)
def test_one_number_is_the_scenario_s_and_all_others_the_library_s(section, key, text, value):
    usual = getattr(built({}), section)
    found = getattr(built({f"{section}/{key}": text}), section)
    assert type(found) is type(usual)
    for name in type(usual).model_fields:
        mine, theirs = getattr(found, name), getattr(usual, name)
        if spelled(name) == key:
            assert mine.typed == text
            assert value is None or mine.value == pytest.approx(value, rel=1e-15)  # one rounding
            assert mine.value != theirs.value
        else:
            assert mine == theirs
