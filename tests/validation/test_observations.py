"""The observations with the shipped defaults; common practice, no published source."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from edgewear.validation.observations import Observations, percentiles, row_of
from edgewear.validation.trade_tests import OBSERVED, T1, T2, T3_JERKY, T3_SMOOTH, T4, T5, T6, T7
from edgewear.validation.trials import compiled, nominal


def outcome(one) -> np.void:
    case, tape = compiled(one.text)
    return nominal(case, tape)[0]


def test_t1_core_shows_at_3_to_4_m() -> None:
    assert 3.0 <= outcome(T1)["core_visible_ascended_m"] <= 4.0


def test_t2_smooth_leaves_the_sheath_usable_after_5_m() -> None:
    assert 0.0 < outcome(T2)["sheath_demand_max"] < 0.5


def test_t3_the_ascent_system_matters_little() -> None:
    own, other = outcome(T1), outcome(T3_JERKY)
    assert abs(other["core_visible_ascended_m"] - own["core_visible_ascended_m"]) < 1.0
    assert outcome(T3_SMOOTH)["sheath_demand_max"] < 0.6


def test_t4_9_mm_breaks_within_3_m() -> None:
    assert outcome(T4)["core_visible_ascended_m"] <= 3.0


def test_t5_after_20_m_a_quarter_of_the_core_is_gone_and_the_rope_holds() -> None:
    after = outcome(T5)
    assert 0.15 <= after["core_loss"] <= 0.35
    assert np.isnan(after["parted_time_s"])


def test_t6_a_reinforced_sheath_is_in_great_shape_after_5_m() -> None:
    assert outcome(T6)["sheath_demand_max"] < 0.5


def test_t7_a_bypass_sling_leaves_the_rope_untouched() -> None:
    assert outcome(T7)["sheath_demand_max"] == 0.0


def test_no_case_has_settings_of_its_own() -> None:
    # one text for all: what differs is the rope, the way of climbing, the distance, the sling
    alike = {replace(one, rope="", technique="", system="", times=1, bypass=None, name="").text
             for one in OBSERVED}  # fmt: skip
    assert len(alike) == 1


def test_intervals_reach_what_was_seen() -> None:
    # 64 worlds: a quantile at 5 % is the third smallest; full count below
    for one in (T1, T2, T4, T5, T6):
        row = row_of(one, 64, 0)
        assert row.ok, row


@pytest.mark.long
def test_intervals_reach_what_was_seen_and_t1_spans_a_factor_of_4_at_most() -> None:
    for one in OBSERVED:
        assert row_of(one, 2000, 1).ok, one.name
    first = row_of(T1, 2000, 1)
    assert first.p5 is not None
    assert first.p95 is not None
    assert first.p5 <= 3.0 <= 4.0 <= first.p95
    assert first.p95 / first.p5 <= 4.0


def test_the_document_has_what_scripts_read() -> None:
    found = Observations(4, 0, (row_of(T1, 4, 0), row_of(T7, 4, 0)))
    document = json.loads(json.dumps(found.as_json(), allow_nan=False))
    assert document["schema"] == "edgewear.observations/1"
    keys = {"name", "source", "used_to_fit", "observed", "p5", "p50", "p95", "ok"}
    assert all(keys <= set(row) for row in document["observations"])
    assert document["observations"][0]["name"].startswith("T1")
    assert not document["observations"][1]["used_to_fit"]
    assert "used to fit" in found.summary()


def test_a_percentile_of_what_never_came_is_none() -> None:
    # of ten, one never showed it: the 95th percentile is the largest value, which is never
    values = np.array([*range(1, 10), np.inf], float)
    assert percentiles(values)[:2] == (1.0, 5.0)
    assert percentiles(values)[2] == np.inf


def test_what_no_observation_determines_has_an_interval_and_a_test() -> None:
    from edgewear.scenario import load_text
    from edgewear.validation.undetermined import undetermined

    rows = {row.address: row for row in undetermined(load_text(T6.text, "observation"))}
    assert {"wear/cold share", "weather/wet", "sheaths/reinforced/toughness"} <= set(rows)
    for row in rows.values():
        assert row.low <= row.value <= row.high
        assert row.test


def test_the_shipped_law_does_better_than_plain_energy() -> None:
    from edgewear.validation.rivals import rivals

    of = {rival.law: rival for rival in rivals()}
    assert of["energy"].smooth > 1.0  # it breaks a rope that was seen whole
    for law in ("weighted", "threshold"):
        assert of[law].smooth < 0.5
        assert of[law].thin > 1.0
    # the threshold does not tell a smooth climber from a normal one; the shipped law does
    assert of["weighted"].normal > 1.2 * of["weighted"].smooth


@pytest.mark.long
def test_the_page_is_what_the_model_says() -> None:
    from pathlib import Path

    from edgewear.validation.observations import observations
    from edgewear.validation.observations_page import page

    path = Path(__file__).parents[2] / "docs" / "reference" / "observations.md"
    assert path.read_text(encoding="utf-8") == page(observations())
