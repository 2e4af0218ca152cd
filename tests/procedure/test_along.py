"""Whoever picks somebody off is on the way down with them, and told nowhere as left hanging."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest

from edgewear.findings.fates import End
from edgewear.job.faults import Injected
from edgewear.procedure.fates import PICK_OFF, fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.report.procedure.fate_words import fate as said_of
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed
from support.planted.sound import text_of

OPTION = "as written"
FROM_TOP = {
    "nobody": {},
    "a haul": {"kit/haul kit": 1, "limits/hands": "900 N"},
    "a lower": {"anchors/mid east/releasable": "yes"},
}
"""What could be done from the top for the one who waits."""

WAITS_M = (2, 4, 12)
FAULTS = {
    "faints": typed.CasualtyUnresponsive(person="technician"),
    "jams": typed.DeviceJammed(person="technician"),
    "drops it": typed.DeviceDropped(person="technician"),
}
CASES = list(product(FROM_TOP, WAITS_M, FAULTS))


@cache
def told(top: str, waits_m: int, fault: str, suspension: str = "45 min"):
    change = {
        **FROM_TOP[top],
        "limits/suspension": suspension,
        "job": {
            "technician": [{"cross edge": "lip"}, {"descend": "8 m"}, {"work": "10 min"},
                           {"event": "done"}, {"ascend": "8 m"}],
            "rescuer": [{"cross edge": "lip"}, {"descend": f"{waits_m} m"}, {"wait for": "done"},
                        {"ascend": f"{waits_m} m"}],
        },
        "faults": {},
    }  # fmt: skip
    scenario = load_text(text_of("carried", change), "made.yaml")
    runs = FaultRuns(scenario.source, scenario.path, scenario.library_source, OPTION, 0, (), ())
    faults = (Injected(fault, FAULTS[fault], person="technician", step=3),)
    found = fates_of(runs.run_of(runs.nominal(faults), faults))
    return {one.person: one for one in found.people}


@pytest.mark.parametrize(("top", "waits_m", "fault"), CASES)
def test_nobody_is_picked_off_by_somebody_who_is_left_hanging(top, waits_m, fault) -> None:
    people = told(top, waits_m, fault)
    way = people["technician"].rescue
    assert way is not None
    rescuer = people["rescuer"]
    picks_off = way.method == PICK_OFF
    assert picks_off == (rescuer.end is End.ALONG)
    assert (End.HANGS.value in said_of(rescuer)) != picks_off
    if picks_off:
        assert way.rescuer == "rescuer"


@pytest.mark.parametrize(("waits_m", "fault"), list(product(WAITS_M, FAULTS)))
def test_who_waits_comes_down_when_the_casualty_does(waits_m, fault) -> None:
    people = told("nobody", waits_m, fault)
    rescuer, way = people["rescuer"], people["technician"].rescue
    assert rescuer.rescue is not None
    assert rescuer.missing == ()
    # both count from the one fault; a zero is rounded to ticks: exact
    assert rescuer.rescue.times["ground"] == way.times["ground"]
    assert rescuer.hangs_to_s == people["technician"].hangs_to_s
    assert said_of(rescuer) == (
        f"rescuer {End.ALONG.value}; {said_of(people['technician']).split(', ')[-3]}"
    )


@pytest.mark.parametrize(("waits_m", "fault"), list(product(WAITS_M, FAULTS)))
def test_what_lies_on_top_takes_nothing_from_a_pick_off(waits_m, fault) -> None:
    """Nobody is hauled who is on the way to somebody else: the pick-off keeps its times."""
    alone = told("nobody", waits_m, fault)["technician"].rescue
    for top in FROM_TOP:
        way = told(top, waits_m, fault)["technician"].rescue
        assert way is not None
        if way.method == PICK_OFF:
            assert way.times == alone.times


@pytest.mark.parametrize(("fault", "suspension"), list(product(FAULTS, ("2 min", "90 min"))))
def test_who_comes_down_late_hung_too_long_as_well(fault, suspension) -> None:
    people = told("nobody", 4, fault, suspension)
    grave = [people[name].gravity for name in ("technician", "rescuer")]
    # no rescue here takes less than the two minutes, none more than an hour and a half
    assert grave == [3, 3] if suspension == "2 min" else grave == [2, 2]
