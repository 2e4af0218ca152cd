"""A bypass sling takes the wear, the rope none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.engine.batch import play_batch, varied
from edgewear.engine.results.outcome import outcome
from edgewear.engine.results.slings import sling_wear
from edgewear.engine.run_job import perform
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
