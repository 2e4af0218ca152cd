"""Every shipped scenario rigs, and says so in plain JSON."""

from __future__ import annotations

import json
import math
from itertools import pairwise
from pathlib import Path

import pytest

from edgewear.rigging import problems, rig, single_failures
from edgewear.scenario import load_scenario
from edgewear.terms import LEVELS
from support.site import facts

FILES = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_a_shipped_scenario_rigs(file):
    scenario = load_scenario(file)
    assert problems(scenario) == []
    for name, option in scenario.options.items():
        rigged, said = rig(scenario, name), facts(scenario, name)
        assert json.loads(json.dumps(said, allow_nan=False)) == said
        assert rigged.control in LEVELS
        if rigged.shared:
            assert "independent" not in said["independence"]
        for line in said["drawing"]["lines"]:
            for before, after in pairwise(line["path"]):
                if not said["drawing"]["direct"]:
                    gap = math.dist(before["at"], after["at"])
                    assert after["after_m"] == pytest.approx(gap, abs=1e-9)
        for row in said["ropes"]:
            assert row["tail_m"] >= 0.0
        for who in option.lines:
            for row in single_failures(scenario, name, who, {1: rigged.starts_m[who]}):
                assert row.why
                assert row.reachable is False or row.holds is not False
