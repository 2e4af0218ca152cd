"""Two people on one line: whatever hauls or lowers it moves both, at one time."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest

from edgewear.findings.fates import End
from edgewear.findings.rescue import STAGES
from edgewear.job.faults import Injected
from edgewear.procedure.fates import fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed
from support.planted.sound import text_of

OPTION = "as written"
KIT = {
    "lower": {"anchors/mid east/releasable": "yes"},
    "haul": {"kit/haul kit": 1, "limits/hands": "900 N"},
    "either": {"anchors/mid east/releasable": "yes", "kit/haul kit": 1, "limits/hands": "900 N"},
}
DEEP_M = (2, 6, 12)
FAULTS = {
    "jams": typed.DeviceJammed(person="rescuer"),
    "drops it": typed.DeviceDropped(person="rescuer"),
    "faints": typed.CasualtyUnresponsive(person="rescuer"),
}


@cache
def told(kit: str, deep_m: int, fault: str):
    change = {
        **KIT[kit],
        "people/ann": {"mass": "80 kg"},
        "job": {
            "technician": [{"cross edge": "lip"}, {"descend": f"{deep_m} m"}, {"event": "hangs"},
                           {"wait for": "taken"}, {"wait for": "down"}],
            "rescuer": [{"wait for": "hangs"}, {"cross edge": "lip"}, {"descend": f"{deep_m} m"},
                        {"take over": "technician"}, {"event": "taken"}, {"descend": "3 m"},
                        {"rest": "5 min"}, {"event": "down"}],
            "ann": [{"rest": "60 min"}],
        },
        "faults": {},
    }  # fmt: skip
    scenario = load_text(text_of("pick-off", change), "made.yaml")
    runs = FaultRuns(scenario.source, scenario.path, scenario.library_source, OPTION, 0, (), ())
    faults = (Injected(fault, FAULTS[fault], person="rescuer", step=7),)
    found = fates_of(runs.run_of(runs.nominal(faults), faults))
    return {one.person: one for one in found.people}


@pytest.mark.parametrize(("kit", "deep_m", "fault"), list(product(KIT, DEEP_M, FAULTS)))
def test_who_hangs_on_one_line_is_rescued_at_one_time(kit, deep_m, fault) -> None:
    people = told(kit, deep_m, fault)
    both = [people["technician"], people["rescuer"]]
    assert {one.end for one in both} == {End.HANGS}
    first, second = (one.rescue for one in both)
    assert first is not None
    assert second is not None
    assert first.method == second.method
    assert kit in (first.method, "either")
    apart_s = [abs(first.careful_s(stage) - second.careful_s(stage)) for stage in STAGES]
    if fault != "faints":  # of two who can call, both are heard when they begin to hang
        assert apart_s == [0.0] * len(STAGES)
    assert max(apart_s) == apart_s[0]  # later by what it takes to be noticed, and by no more
