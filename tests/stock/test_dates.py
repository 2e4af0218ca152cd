"""No entry of a rope is dated before the rope was made, nor ahead of today."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from edgewear.errors import ScenarioError
from support.ropes import draft, stock_in

MADE = "2020-06-15"
EVE = "2020-06-14"
BODIES: dict[str, dict[str, Any]] = {
    "job": {}, "inspection": {}, "event": {}, "decision": {},
    "correction": {"entry": 2, "reason": "another rope's"},
}  # fmt: skip
AHEAD = (datetime.now(UTC) + timedelta(days=3)).date().isoformat()


def problems_at(folder: Path, kind: str, on: str) -> list[tuple[str, str]]:
    """What an entry about a rope made in June is refused for; nothing: it is entered."""
    begun = [draft("register", on="2020-07-01", made=MADE), draft("event", on="2020-07-02")]
    with stock_in(folder, None, *begun) as stock:
        try:
            stock.append(draft(kind, on=on, **BODIES[kind]))
        except ScenarioError as error:
            return [(one.address, one.message) for one in error.problems]
    return []


@pytest.mark.parametrize("kind", BODIES)
@pytest.mark.parametrize(("on", "right"), [(EVE, False), (MADE, True), ("2020-08-01", True),
                                           (AHEAD, False), ("1900-01-01", False)])  # fmt: skip
def test_nothing_happened_before_a_rope_was_made_or_ahead_of_today(
    tmp_path: Path, kind: str, on: str, right: bool
) -> None:
    found = problems_at(tmp_path, kind, on)
    assert [field for field, _ in found] == ([] if right else ["on"])
    assert all(on in message for _, message in found)
    with stock_in(tmp_path) as stock:
        assert len(list(stock.every_entry())) == (3 if right else 2)


@pytest.mark.parametrize(
    ("dates", "wrong"),
    [
        ({"made": MADE, "first_use": MADE, "on": MADE}, []),
        ({"made": MADE, "first_use": EVE, "on": MADE}, ["first_use"]),
        ({"made": MADE, "on": EVE}, ["on"]),
        ({"first_use": MADE, "on": EVE}, ["first_use"]),
        ({"first_use": EVE, "on": MADE}, []),
        ({"on": AHEAD}, ["on"]),
        ({"made": AHEAD, "on": MADE}, ["on", "made"]),
        ({"first_use": AHEAD, "on": MADE}, ["first_use"]),
    ],
)
def test_dates_of_a_registered_rope_are_in_order(
    tmp_path: Path, dates: dict[str, str], wrong: list[str]
) -> None:
    with stock_in(tmp_path, None, draft("register", "R0")) as stock:
        if not wrong:
            stock.append(draft("register", **dates))
            return
        with pytest.raises(ScenarioError) as caught:
            stock.append(draft("register", **dates))
    assert sorted(one.address for one in caught.value.problems) == sorted(wrong)


def test_a_copy_of_an_older_record_is_taken_as_it_was_written(tmp_path: Path) -> None:
    """What was entered before dates were held to anything is not lost for it."""
    from edgewear.scenario.read.rope_rules import built_in_rules
    from edgewear.stock.store import open_stock
    from support.ropes import chained

    entries = chained([draft("register", made=MADE), draft("inspection", on=EVE)])
    with open_stock(tmp_path / "copy.ropes", built_in_rules(), make=True) as stock:
        stock.restore(entries)
        assert list(stock.every_entry()) == entries
