"""A bypass sling takes the wear, the rope none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.dataset.ranking.parts import parts_of
from edgewear.engine.batch import play_batch, varied
from edgewear.engine.results.outcome import outcome
from edgewear.engine.results.slings import sling_wear
from edgewear.engine.run_job import perform
from edgewear.findings.plain import plain
from edgewear.rigging.findings.facts import facts
from edgewear.scenario import load_text
from edgewear.validation.trade_tests import T1, T7


def test_the_rope_is_untouched_and_the_sling_is_retired() -> None:
    # common practice, no published source
    scenario = load_text(T7.text, "sling")
    case = compile_case(scenario, "bare")
    done = perform(scenario, case)
    assert outcome(done.player, done.ticks).run["sheath_demand_max"][0] == 0.0
    [sling] = sling_wear(scenario, case, done.tape)
    assert sling.retire
    assert 0 < sling.peak_n < sling.holds_n


def test_a_sling_wears_as_the_rope_would_have() -> None:
    # a sling of the sheath's material on the same edge moves as the rope does: same exposure
    scenario = load_text(T7.text, "sling")
    case = compile_case(scenario, "bare")
    [sling] = sling_wear(scenario, case, perform(scenario, case).tape)
    bare = load_text(replace(T1, times=1).text, "bare")
    bare_case = compile_case(bare, "bare")
    done = perform(bare, bare_case)
    demand = outcome(done.player, done.ticks).run["sheath_demand_max"][0]
    severity = scenario.options["bare"].lines["climber"].working.bypass["arris"].severity.value
    # the same kernel on the same movements: rounding only
    assert sling.wear == pytest.approx(severity * demand, rel=1e-9)


def test_a_trial_says_what_its_sling_kept_from_the_rope() -> None:
    scenario = load_text(T7.text, "sling")
    case = compile_case(scenario, "bare")
    tape = perform(scenario, case).tape
    _, edges = play_batch(case, tape, {}, np.array([3, 4]), seed=5)
    wears = facts(scenario, "bare").slings[0].wears
    for run, replicate in enumerate((3, 4)):
        [sling] = sling_wear(scenario, case, tape, varied(case, 5, replicate))
        # the same kernel on the same movements: rounding only
        assert edges["bypassed_demand"][run] * wears == pytest.approx(sling.wear, rel=1e-9)


def test_no_sling_no_wear() -> None:
    scenario = load_text(replace(T1, times=1).text, "bare")
    case = compile_case(scenario, "bare")
    assert sling_wear(scenario, case, perform(scenario, case).tape) == []


@pytest.mark.parametrize("clamps", [(2.0, 3.0, 4.0), (4.0, 5.2, 6.5), (30.0, 40.0, 50.0)])
@pytest.mark.parametrize("strength", [(20.0, 22.0, 25.0), (1.0, 6.0, 9.0)])
@pytest.mark.parametrize("peak_kn", [0.5, 2.5, 5.0])
def test_every_place_judges_a_sling_by_the_low_end_of_its_weakest_part(clamps, strength, peak_kn):
    clamped, woven = (
        f"{{value: {middle} kN, low: {low} kN, high: {high} kN}}"
        for low, middle, high in (clamps, strength)
    )
    text = T7.text.replace("bypass: {arris: sling}", "bypass: {arris: SLING}")
    assert "SLING" in text
    sling = f"{{is: sling, clamps: {clamped}, strength: {woven}}}"
    scenario = load_text(text.replace("SLING", sling), "sling")
    weakest_kn = min(clamps[0], strength[0])
    [told] = facts(scenario, "bare").slings
    assert told.holds_n == pytest.approx(1e3 * weakest_kn)
    [remark] = [w for w in facts(scenario, "bare").warnings if "weakest part" in w]
    assert f"weakest part, {weakest_kn:.1f} kN" in remark
    case = compile_case(scenario, "bare")
    [run] = sling_wear(scenario, case, perform(scenario, case).tape)
    assert run.holds_n == told.holds_n
    part = _load_part(plain(told), 1e3 * peak_kn)
    assert part.over is (peak_kn > weakest_kn)
    assert f"holds {weakest_kn:.1f} kN" in part.words


def _load_part(sling, peak_n: float):
    edges = {
        "run": np.arange(3), "line": np.array([sling["line"]] * 3),
        "edge": np.array([sling["edge"]] * 3), "bypassed_demand": np.zeros(3),
        "peak_tension_n": np.full(3, peak_n),
    }  # fmt: skip
    runs = {"run": np.arange(3), "status": np.array(["ok"] * 3)}
    [part] = [p for p in parts_of(runs, edges, {"slings": [sling]}) if p.how == "load"]
    return part
