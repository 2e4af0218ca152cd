"""Rope that is held ready for a fault is there once that fault has come, for nobody else."""

from __future__ import annotations

import pytest

from edgewear.engine.results.depths import depths_by_step
from edgewear.findings.fates import End, Fate
from edgewear.job.faults import Injected
from edgewear.procedure.failures import failures
from edgewear.procedure.fates import fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.scenario import load_text
from edgewear.scenario.models.scenario import Scenario
from edgewear.study.model import ScenarioModel
from support.planted.sound import text_of

OPTION = "as written"
AT_LIP = {"out": "0.3 m", "along": "0 m", "up": "-0.6 m", "kind": "pair"}
JOBS = {
    "job/technician": [{"cross edge": "lip"}, {"descend": "8 m"}, {"work": "10 min"},
                       {"event": "back"}],
    "job/rescuer": [{"wait for": "back"}],
}  # fmt: skip
RE_ANCHOR = {**JOBS, "anchors/bolt": AT_LIP, "lines/technician/re-anchor": ["bolt"]}
"""A re-anchor at the lip: nobody ever hangs on the rope above it."""

DEVIATION = {**JOBS, "anchors/bolt": {**AT_LIP, "out": "0.9 m", "up": "-3 m"},
             "lines/technician/deviations": [{"anchor": "bolt", "sling": "0.3 m"}]}  # fmt: skip
ALONE = {"setting": "alpine", "lines/technician/safety line": None}
FAINTS = {"casualty unresponsive": "technician", "step": 3}
JAMS = {"device jammed": "technician", "step": 3}
GOES = {"anchor fails": "bolt", "step": 3}
FALLS_BACK = {"deviation fails": "bolt", "step": 3}


def made(change) -> Scenario:
    return load_text(text_of("pick-off", change), "made.yaml")


def played(scenario: Scenario, *names: str) -> dict[str, Fate]:
    """Everybody's fate with some faults together."""
    chosen = tuple(Injected(name, scenario.faults[name]) for name in names)
    runs = FaultRuns(scenario.source, "made.yaml", None, OPTION, 0, (chosen,), (1,))
    return {one.person: one for one in fates_of(runs.run_of(runs.nominal(chosen), chosen)).people}


@pytest.mark.parametrize("mishap", [FAINTS, JAMS], ids=["faints", "jams"])
@pytest.mark.parametrize(
    ("rigged", "ready"), [(RE_ANCHOR, GOES), (DEVIATION, FALLS_BACK)], ids=["anchor", "deviation"]
)
@pytest.mark.parametrize("more", [{}, ALONE], ids=["two lines", "one line"])
def test_a_fault_that_does_not_come_changes_nothing_of_another(rigged, ready, mishap, more) -> None:
    """The plan is the same whether or not its list of faults also names the bolt."""
    alone = made({**rigged, **more, "faults": {"mishap": mishap}})
    both = made({**rigged, **more, "faults": {"mishap": mishap, "bolt": ready}})
    assert played(both, "mishap") == played(alone, "mishap")


PLACES = {
    "free below": {}, "ground just below": {"below/ground": "-11.2 m"},
    "ground below": {"below/ground": "-12 m"}, "heavy": {"people/technician/mass": "140 kg"},
    "weak": {"anchors/west/strength": "2 kN"},
}  # fmt: skip


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("more", [{}, ALONE], ids=["two lines", "one line"])
def test_the_first_re_anchor_that_goes_leaves_the_rope_above_it(place, more) -> None:
    """As the table of single failures says, where the run said that nothing holds."""
    scenario = made({**RE_ANCHOR, **more, **PLACES[place], "faults": {"bolt": GOES}})
    runs = FaultRuns(scenario.source, "made.yaml", None, OPTION, 0, ((),), (1,))
    depth_m = depths_by_step(runs.nominal(()))["technician"][3]
    rows = failures(scenario, OPTION, {"technician": {3: depth_m}})
    row = next(one for one in rows if one.component == "bolt")
    fate = played(scenario, "bolt")["technician"]
    assert fate.end is not End.FALLS
    assert fate.catch_holds is row.holds


@pytest.mark.parametrize("at", ["1 s", "30 s"])
def test_who_gets_onto_the_rope_later_hangs_from_its_own_anchor(at: str) -> None:
    """The bolt goes before the technician is on the rope: nothing drops, and nobody falls."""
    job = {"job/technician": [{"rest": "2 min"}, *JOBS["job/technician"]]}
    scenario = made(
        {**RE_ANCHOR, **ALONE, **job, "faults": {"bolt": {"anchor fails": "bolt", "at": at}}}
    )
    fate = played(scenario, "bolt")["technician"]
    assert (fate.end, fate.drop_m) == (End.PLAN, None)


@pytest.mark.parametrize("more", [{}, ALONE], ids=["two lines", "one line"])
@pytest.mark.parametrize("setback", ["-1 m", "-40 m"])
@pytest.mark.parametrize(
    ("rigged", "ready"), [(RE_ANCHOR, GOES), (DEVIATION, FALLS_BACK)], ids=["anchor", "deviation"]
)
def test_no_edge_and_no_pad_that_only_a_fault_brings_in_counts_in_the_plan(
    rigged, ready, setback, more
) -> None:
    """What lies outside of what was observed, and what pads last, is that of the plan alone."""
    change = {**rigged, **more, "anchors/west/out": setback}
    told = []
    for faults in ({"mishap": FAINTS}, {"mishap": FAINTS, "bolt": ready}):
        scenario = made({**change, "faults": faults})
        model = ScenarioModel.of(scenario, 0)
        found = model.rigged(OPTION)
        told.append((found["outside"], found["covers_hold"], model.ready(OPTION).case.extrapolated))
    assert told[0] == told[1]
