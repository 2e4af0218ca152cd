"""How long things take varies from trial to trial where a range is given, typed or assumed."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.engine.results.outcome import outcome
from edgewear.engine.run_job import RunInputs, perform, record_tape
from edgewear.engine.trial_chance import Drawn
from edgewear.layout import MOVEMENT, TICK_S, Kind
from edgewear.scenario import load_text

SITE = """
edgewear: 1
title: somebody who works for a while
setting: industrial
anchors:
  post: {out: -6 m, up: 1 m, kind: pair}
  rail: {out: -6 m, up: 1 m, along: 1.5 m, kind: pair}
edges:
  lip: {out: 0.2 m, up: 0 m, radius: 3 mm, surface: steel}
ropes:
  store: {like: low-stretch 11, length: 60 m, stopper: yes}
people:
  ann: {mass: 100 kg, technique: normal, system: pre-threaded}
options:
  padded:
    anchor: post
    rope: store
    protect: {lip: pad}
    safety line: {anchor: rail, rope: store}
job:
  - cross edge: lip
  - descend: 6 m
  - work: {for: WORK, sway: 5 cm}
  - rest: REST
"""


@cache
def site(work: str = "10 min", rest: str = "1 min"):
    scenario = load_text(SITE.replace("WORK", work).replace("REST", rest), "site.yaml")
    return scenario, compile_case(scenario, "padded")


def lasting_s(replicate: int, step: int, **typed: str) -> float:
    """How long one step of a live trial takes [s]."""
    scenario, case = site(**typed)
    world = RunInputs(case.batch(np.zeros(0, MOVEMENT), {}, 1), chance=Drawn(1, replicate))
    log = perform(scenario, case, world=world).log
    begins = next(e.tick for e in log if (e.what, e.step) == ("begins", step))
    ends = next(e.tick for e in log if (e.what, e.step) == ("ends", step))
    return (ends - begins) * TICK_S


def test_a_typed_duration_is_kept_in_every_trial() -> None:
    assert {lasting_s(k, 3) for k in range(5)} == {600.0}
    assert {lasting_s(k, 4) for k in range(5)} == {60.0}


@pytest.mark.parametrize(("step", "typed"), [(3, {"work": "5 min to 20 min"}),
                                             (4, {"rest": "5 min to 20 min"})])  # fmt: skip
def test_a_range_is_drawn_anew_for_each_trial(step, typed) -> None:
    found = [lasting_s(k, step, **typed) for k in range(12)]
    assert len(set(found)) == len(found)
    # the range typed is the central 90 % of a flat one: a twentieth of its width beyond each end
    assert all(300.0 - 50.0 < one < 1200.0 + 50.0 for one in found)
    assert max(found) - min(found) > 300.0  # 12 of a flat 900 s: less once in 10,000
    again = lasting_s(3, step, **typed)
    assert again == found[3]


def test_what_nobody_timed_takes_the_librarys_range() -> None:
    found = [lasting_s(k, 1) for k in range(12)]  # crossing an edge: 20 to 180 s, assumed
    assert len(set(found)) == len(found)
    assert min(found) > 0.0


def test_nominal_runs_take_the_middle() -> None:
    scenario, case = site(work="5 min to 20 min")
    log = perform(scenario, case).log
    spans = {(e.what, e.step): e.tick * TICK_S for e in log if e.what in ("begins", "ends")}
    assert spans["ends", 3] - spans["begins", 3] == 750.0
    assert spans["ends", 1] - spans["begins", 1] == 60.0


def test_work_in_a_range_is_an_uncertainty_that_tapes_carry_too() -> None:
    scenario, case = site(work="5 min to 20 min")
    (found,) = [u for u in case.uncertainties if u.name == "job/ann/3/for"]
    assert (found.low, found.median, found.high) == (300.0, 750.0, 1200.0)
    assert not [u for u in site()[1].uncertainties if u.name.startswith("job/")]
    tape = record_tape(scenario, case)
    values = {found.name: np.array([375.0, 750.0, 1125.0])}
    batch, player = case.batch(tape, values, 3), Player(case)
    ends, worn = [], []
    for run in range(3):
        ends.append(play(player, batch, run) * TICK_S)
        worn.append(outcome(player, round(ends[-1] / TICK_S)).run["sheath_demand_max"][0])
    assert np.diff(ends) == pytest.approx([375.0, 375.0], abs=TICK_S)
    assert worn[0] < worn[1] < worn[2]  # longer work wears more
    np.testing.assert_array_equal(batch.tape[1], tape)


def test_a_climb_is_made_with_the_system_its_step_names() -> None:
    """Longer strokes with the chest and hand ascender: the library's net rise is larger."""
    text = SITE.replace("WORK", "1 min").replace("REST", "1 min")
    plain = text + "  - ascend: 4 m\n"
    other = text + "  - ascend: {height: 4 m, system: chest and hand ascender}\n"
    rises = []
    for one in (plain, other):
        scenario = load_text(one, "site.yaml")
        tape = record_tape(scenario, compile_case(scenario, "padded"))
        rises.append(set(tape[tape["kind"] == Kind.STROKES]["rise_m"].tolist()))
    systems = load_text(text, "site.yaml").systems
    ratio = systems["chest and hand ascender"].rise_factor.value
    assert ratio != 1.0
    assert rises[1].pop() == pytest.approx(rises[0].pop() * ratio)
