"""How likely a look is to show what is wrong, how long it takes until somebody acts."""

from __future__ import annotations

from functools import cache
from math import sqrt
from pathlib import Path
from types import SimpleNamespace

import pytest
import simpy

from edgewear.case import compile_case
from edgewear.engine.trial_chance import Drawn
from edgewear.job.detection import Detection
from edgewear.job.job import Job
from edgewear.job.log import Log
from edgewear.job.site import ATTENDANT, Place, Site
from edgewear.job.steps import CrossEdge, Inspect
from edgewear.scenario import load_scenario
from edgewear.scenario.models.scenario import Reaction
from edgewear.scenario.text.quantities import Measured
from job.test_seeing import Seeing, seconds, share
from support.job_fakes import SECOND, FakeLine

LOOKS = 4000
FILE = Path(__file__).parents[2] / "scenarios" / "procedure.yaml"


def times(value: float, low: float, high: float) -> Measured:
    return Measured(
        value=value, low=low, high=high, unit="s", typed="", distribution="lognormal",
        pedigree="assumed",
    )  # fmt: skip


def seen_share(demand: float, through: float, lifted: bool) -> float:
    """Share of looks, each in a world of its own, that show the wear at an edge."""
    told: list[str] = []
    scenario = SimpleNamespace(
        when={}, job={}, options={}, edges={"lip": None},
        detection=SimpleNamespace(
            quarter_worn=share(0.2), half_worn=share(0.6), core_visible=share(0.95),
            again=seconds(60.0),
        ),
    )  # fmt: skip
    site = SimpleNamespace(
        scenario=scenario, workers={}, attendant_back=0, env=SimpleNamespace(now=0),
        places=lambda edge: [Place(0, 0)], missing=lambda edge: False,
        lines={0: SimpleNamespace(demand=lambda row, least: {"lip": demand})},
        case=SimpleNamespace(line_names=("line",)), seen_through=lambda edge, line: through,
        tell_seen=lambda what, line, step, edge, by: told.append(what),
    )  # fmt: skip
    worker = SimpleNamespace(log=Log(), env=site.env, step=1)
    for replicate in range(LOOKS):
        Detection(scenario, site, Drawn(3, replicate)).look(worker, ATTENDANT, None, lifted)
    return len(told) / LOOKS


@pytest.mark.parametrize(
    ("demand", "through", "lifted", "chance"),
    [
        (0.2, 1.0, False, 0.0),  # below a quarter nothing is reported
        (0.25, 1.0, False, 0.2),
        (0.5, 1.0, False, 0.6),
        (1.0, 1.0, False, 0.95),
        (0.5, 0.1, False, 0.06),  # under a pad a tenth of it
        (1.0, 0.1, False, 0.095),
        (0.5, 0.1, True, 0.6),  # but not if the pad is lifted
    ],
)
def test_so_many_looks_show_it(demand, through, lifted, chance) -> None:
    # four standard deviations of a share among 4,000: one test in 16,000 would fail by chance
    within = 4.0 * sqrt(chance * (1.0 - chance) / LOOKS)
    assert seen_share(demand, through, lifted) == pytest.approx(chance, abs=within)


@cache
def site_of_the_procedure() -> Site:
    scenario = load_scenario(FILE)
    case = compile_case(scenario, "as written")
    env = simpy.Environment()
    return Site(env, scenario, case, {k: FakeLine(env) for k in range(len(case.line_names))})


def test_what_lies_on_the_rope_that_is_looked_at_decides() -> None:
    site = site_of_the_procedure()
    pad = site.scenario.protections["pad"].seen_through.value
    assert pad == 0.1
    assert site.seen_through("parapet") == 1.0  # bare until somebody places a pad
    site.fit("parapet", "technician")
    assert site.seen_through("parapet", "technician working line") == pad
    assert site.seen_through("parapet", "rescuer working line") == 1.0
    assert site.seen_through("parapet") == pad  # the least where nobody says whose
    site.put("parapet", None)
    assert site.seen_through("parapet", "technician working line") == 1.0


def acting_times(when: Reaction, worlds: int = 200) -> list[float]:
    """Time from the core showing to the person stopping, in many worlds [s]."""
    found = []
    for replicate in range(worlds):
        stage = Seeing("ann", when={"core visible": when})
        scenario, chance = stage.site.scenario, Drawn(11, replicate)
        scenario.times.react, scenario.times.call = times(10.0, 3.0, 60.0), times(5.0, 2.0, 20.0)
        scenario.detection.again = times(60.0, 20.0, 180.0)
        stage.detection = Detection(scenario, stage.site, chance)
        stage.job = Job(
            stage.env, stage.log, stage.site, {"core visible": when}, chance, stage.detection
        )
        stage.start("ann", CrossEdge("lip", 5.0, 36000.0))
        stage.shows(100 * SECOND)
        stage.job.run()
        ((stopped, _, _),) = stage.told("stops")
        ((sees, _, _),) = stage.told("sees")
        assert sees > 100 * SECOND
        found.append((stopped - sees) / SECOND)
    return found


@pytest.mark.parametrize("delay", [seconds(0.0), times(20.0, 5.0, 60.0)])
def test_acting_always_takes_time_and_never_the_same(delay) -> None:
    found = acting_times(Reaction(do="stop", by=ATTENDANT, delay=delay))
    assert min(found) > 1.0  # a reaction of 3 s and a call of 2 s are the low ends of 90 %
    assert len({round(one, 3) for one in found}) == len(found)
    middle = sorted(found)[len(found) // 2]
    # medians of 10 s or 20 s to react and 5 s to call; twice either way covers the sum's skew
    assert 7.0 < middle < 50.0


def test_an_attendant_who_is_away_makes_no_inspection() -> None:
    stage = Seeing("ann")
    stage.site.attendant_back = 400 * SECOND
    stage.start(
        "ann", Inspect(ATTENDANT, 30.0), CrossEdge("lip", 5.0, 500.0), Inspect(ATTENDANT, 30.0)
    )
    stage.job.run()
    told = [(e.tick, e.what) for e in stage.log.entries if e.what.startswith("inspect")]
    assert told == [(0, "inspection skipped"), (530 * SECOND, "inspected")]
