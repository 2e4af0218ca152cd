"""A whole procedure on real lines: its log, its tape, faults in it, people who add up."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.engine.results.outcome import outcome
from edgewear.engine.run_job import RunInputs, perform
from edgewear.engine.trial_chance import Drawn
from edgewear.job.faults import Injected
from edgewear.layout import MOVEMENT
from edgewear.scenario import load_scenario
from edgewear.scenario.models.faults import ProtectionDisplaced, SecondPerson, Weather
from edgewear.scenario.text.quantities import Measured
from engine.make_procedure_log import log_now, read

FILE = Path(__file__).parents[2] / "scenarios" / "procedure.yaml"
OPTION = "as written"


@cache
def procedure():
    scenario = load_scenario(FILE)
    return scenario, compile_case(scenario, OPTION)


def played_again(case, done):
    player = Player(case)
    ticks = play(player, case.batch(done.tape, {}, 1))
    return outcome(player, ticks), ticks


def assert_same(first, second) -> None:
    for one, other in ((first.run, second.run), (first.edges, second.edges)):
        for name in one.dtype.names:
            if one.dtype[name].kind == "f":
                np.testing.assert_array_equal(one[name], other[name])
            else:
                assert one[name].tolist() == other[name].tolist()


def test_the_demo_is_a_procedure_worth_the_name() -> None:
    scenario, case = procedure()
    assert sum(map(len, scenario.job.values())) >= 15
    assert len(case.person_names) == 2
    roles = {(s.person, s.role) for s in case.rigged.sections}
    assert len(roles) == 4
    assert len(scenario.edges) == 3
    assert any(s.step == "take over" for steps in scenario.job.values() for s in steps)


def test_its_whole_log_is_the_one_pinned() -> None:
    """Every (tick, who, what) in its order: a pin, so that any change shows, no check of physics.

    `make_procedure_log.py` beside this file writes it anew where a change is meant.
    """
    pin, now = read(), log_now()
    assert [row[2:] for row in now] == [row[2:] for row in pin]
    late = {
        row: tick for row, (tick, *_) in zip(pin, now, strict=True) if abs(tick - row[0]) > row[1]
    }
    assert late == {}
    exact = [row for row in pin if row[1] == 0]
    assert len(exact) > len(pin) / 3  # most of the first half hour follows from typed durations


def test_its_log_is_in_the_order_of_its_causes() -> None:
    """By hand: what follows from typed durations alone, and in which order things come about."""
    scenario, case = procedure()
    done = perform(scenario, case, scenario.when)
    log = [(e.tick, e.who, e.what, e.detail) for e in done.log]
    minute = 600_000
    exact = [
        (0, "technician", "begins", "place protection parapet"),
        (0, "rescuer", "begins", "place protection parapet"),
        (minute, "technician", "protection placed", "parapet"),
        (minute, "rescuer", "protection placed", "parapet"),
        # each fetches two pieces for the gutter, one a line; in the order in which they began
        (2 * minute, "technician", "protection placed", "gutter"),
        (2 * minute, "rescuer", "protection placed", "gutter"),
        (3 * minute, "technician", "ends", "cross edge gutter"),
        (12 * minute, "rescuer", "ends", "rest 10 min"),
    ]
    assert [entry for entry in log if entry in exact] == exact
    story = [
        ("technician", "event", "hanging"),
        ("rescuer", "hangs on", "rescuer working line"),
        ("rescuer", "takes over", "technician"),
        ("rescuer", "event", "taken over"),
        ("rescuer", "event", "grounded"),
        ("technician", "ends", "wait for grounded"),
    ]
    assert [entry[1:] for entry in log if entry[1:] in story] == story
    assert [e.tick for e in done.log] == sorted(e.tick for e in done.log)
    again = perform(scenario, case, scenario.when)
    assert [e[:5] for e in again.log] == [e[:5] for e in done.log]


def test_everybodys_time_adds_up_to_their_shift() -> None:
    scenario, case = procedure()
    done = perform(scenario, case, scenario.when)
    assert all(t.activity + t.waiting + t.rest == t.shift for t in done.times.values())
    rested = done.times["rescuer"].rest
    assert rested == (10 + 5 + 1) * 600_000  # the rests the procedure names
    assert max(t.shift for t in done.times.values()) == done.ticks


@pytest.mark.parametrize("name", ["nothing", *load_scenario(FILE).faults])
def test_the_tape_gives_the_bits_of_the_job_whatever_went_wrong(name) -> None:
    scenario, case = procedure()
    faults = [] if name == "nothing" else [Injected(name, scenario.faults[name])]
    done = perform(scenario, case, scenario.when, faults=faults)
    again, ticks = played_again(case, done)
    assert ticks == done.ticks
    assert_same(outcome(done.player, done.ticks), again)


@pytest.mark.parametrize("count", [6, pytest.param(200, marks=pytest.mark.long)])
def test_edges_that_change_at_random_ticks_replay_bit_for_bit(count) -> None:
    scenario, case = procedure()
    edges = list(scenario.edges)
    for seed in range(count):
        rng = np.random.default_rng(seed)
        faults = [
            Injected(f"f{k}", ProtectionDisplaced(edge=edges[int(rng.integers(3))]),
                     tick=int(rng.integers(0, 17_000_000)))
            for k in range(3)
        ]  # fmt: skip
        faults.append(
            Injected("rain", Weather(weather="wet"), tick=int(rng.integers(0, 9_000_000)))
        )
        heavier = SecondPerson(person="technician", mass=Measured.exact(20.0, "kg"))
        faults.append(Injected("heavy", heavier, tick=int(rng.integers(2_000_000, 9_000_000))))
        done = perform(scenario, case, scenario.when, faults=faults)
        again, ticks = played_again(case, done)
        assert ticks == done.ticks
        assert_same(outcome(done.player, done.ticks), again)


def test_protection_off_a_loaded_edge_wears_more_rope_there() -> None:
    scenario, case = procedure()
    fault = Injected("off", ProtectionDisplaced(edge="gutter"), tick=3_000_000)
    with_it = outcome(*_played(perform(scenario, case, faults=[fault]))).edges
    without = outcome(*_played(perform(scenario, case))).edges
    mine = [
        (w["demand_max"], o["demand_max"])
        for w, o in zip(with_it, without, strict=True)
        if (w["line"], w["edge"]) == ("technician working line", "gutter")
    ]
    assert all(bare > covered for bare, covered in mine)


def _played(done):
    return done.player, done.ticks


def test_a_trial_is_a_function_of_seed_and_replicate_alone() -> None:
    scenario, case = procedure()
    batch = case.batch(np.zeros(0, MOVEMENT), {}, 3)
    fault = Injected("off", scenario.faults["pad left off"])

    def once(replicate, run):
        world = RunInputs(batch, run, chance=Drawn(5, replicate))
        done = perform(scenario, case, scenario.when, world=world, faults=[fault], strict=True)
        return [(e.tick, e.who, e.what) for e in done.log]

    assert once(2, 0) == once(2, 1)
    looks = {tuple(e for e in once(k, 0) if e[2] == "sees") for k in range(3)}
    assert len(looks) > 1  # when the attendant looks differs from trial to trial
