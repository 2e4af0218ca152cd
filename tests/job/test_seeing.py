"""Who sees what, how long it takes to act, and what people do then."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from edgewear.job import log
from edgewear.job.chance import Nominal
from edgewear.job.detection import Detection
from edgewear.job.job import Job
from edgewear.job.reactions import RESCUE_CALLED
from edgewear.job.site import ATTENDANT
from edgewear.job.steps import CrossEdge, Descend, HangOn, Rest, WaitFor
from edgewear.job.worker import Station
from edgewear.layout import Kind
from edgewear.scenario.models.scenario import Reaction
from edgewear.scenario.text.quantities import Measured
from edgewear.terms import SAFETY
from support.job_fakes import SECOND, FakeLine, Stage


def seconds(value: float) -> Measured:
    return Measured.exact(value, "s")


def share(value: float) -> Measured:
    return Measured.exact(value, "1")


class Seeing(Stage):
    """A stage whose people can see an edge at 2 m depth, watched every 60 s."""

    def __init__(self, *names: str, when=None, strict=False) -> None:
        super().__init__(*names)
        scenario = self.site.scenario
        scenario.edges = {"lip": SimpleNamespace(start_m=(0.0, 0.0, -2.0))}
        scenario.when = {k: r for k, r in (when or {}).items() if isinstance(r, Reaction)}
        scenario.job = {}
        scenario.options = {"o": SimpleNamespace(lines={})}
        scenario.detection = SimpleNamespace(
            quarter_worn=share(0.2), half_worn=share(0.6), core_visible=share(0.95),
            again=seconds(60.0),
        )  # fmt: skip
        scenario.times = SimpleNamespace(
            react=seconds(10.0), call=seconds(5.0), swap_rope=seconds(600.0),
            place_protection=seconds(60.0),
        )  # fmt: skip
        self.detection = Detection(scenario, self.site, Nominal())
        self.job = Job(self.env, self.log, self.site, when, detection=self.detection, strict=strict)
        for worker in self.workers.values():
            worker.lines[SAFETY] = FakeLine(self.env)
            worker.stations[SAFETY] = (Station(9, "safety", 0.0, float("inf")),)

    def shows(self, tick: int, line: str = "line", edge: str = "lip") -> None:
        def core():
            yield self.env.timeout(tick)
            self.job.happened(log.Kind.CORE_VISIBLE, line, 1, edge)

        self.env.process(core())


@pytest.mark.parametrize(
    ("demand", "chance"),
    [(0.0, 0.0), (0.25, 0.2), (0.375, 0.4), (0.5, 0.6), (1.0, 0.95), (3, 0.95)],
)
def test_the_chance_of_a_look_grows_with_wear(demand, chance) -> None:
    # 0.2, 0.6 and 0.95 at wear 0.25, 0.5 and 1, straight in between: the library's figures
    assert Seeing("ann").detection.chance_seen(demand) == pytest.approx(chance)


def test_a_climber_below_an_edge_cannot_see_it() -> None:
    stage = Seeing("ann")
    stage.start("ann", HangOn(2.2), Descend(4.0))
    seen = []

    def ask():
        for _ in range(2):
            yield stage.env.timeout(1)
            seen.append(stage.detection.can_see("ann", "lip"))
            yield stage.env.timeout(30 * SECOND)

    stage.env.process(ask())
    stage.job.run()
    seen.append(stage.detection.can_see("ann", "lip"))
    assert seen[0] is True  # within reach of it
    assert seen[-1] is False


def test_a_watcher_takes_time_to_see_to_react_and_to_call() -> None:
    when = {"core visible": Reaction(do="stop", by=ATTENDANT, delay=seconds(20.0))}
    stage = Seeing("ann", when=when)
    stage.start("ann", CrossEdge("lip", 5.0, 600.0))
    stage.shows(100 * SECOND)
    stage.job.run()
    # the first look half way between two, 20 s as the scenario says, 5 s for the call
    assert stage.told("sees") == [(130 * SECOND, ATTENDANT, "sees")]
    assert stage.told("stops") == [(155 * SECOND, "ann", "stops")]


def test_without_a_delay_the_usual_time_to_react_is_taken() -> None:
    stage = Seeing("ann", when={"core visible": Reaction(do="stop", by=ATTENDANT)})
    stage.start("ann", CrossEdge("lip", 5.0, 600.0))
    stage.shows(100 * SECOND)
    stage.job.run()
    assert stage.told("stops") == [(145 * SECOND, "ann", "stops")]  # 30 + 10 + 5 s


@pytest.mark.parametrize("strict", [True, False])
def test_what_nobody_can_see_nobody_reacts_to_unless_the_plan_is_taken_at_its_word(strict) -> None:
    stage = Seeing("ann", when={"core visible": Reaction(do="stop")}, strict=strict)
    stage.start("ann", CrossEdge("lip", 5.0, 600.0))
    stage.shows(100 * SECOND)
    stage.job.run()
    assert [e.who for e in stage.log.entries if e.what == "sees"] == ["nobody"]
    assert bool(stage.told("stops")) is not strict


def test_an_attendant_who_is_away_sees_it_only_when_back() -> None:
    when = {"core visible": Reaction(do="stop", by=ATTENDANT)}
    stage = Seeing("ann", when=when)
    stage.site.attendant_back = 400 * SECOND
    stage.start("ann", CrossEdge("lip", 5.0, 600.0))
    stage.shows(100 * SECOND)
    stage.job.run()
    assert stage.told("sees") == [(430 * SECOND, ATTENDANT, "sees")]


def reacting(do: str) -> Seeing:
    stage = Seeing("ann", "bob", when={"core visible": do})
    stage.workers["ann"].start_m = 3.0
    stage.start("ann", HangOn(8.0), Rest(100.0), Rest(50.0))
    stage.start("bob", Rest(120.0))
    stage.shows(40 * SECOND, stage.workers["ann"].stations["working line"][0].name)
    stage.job.run()
    return stage


def test_swap_rope_hangs_on_the_safety_line_and_goes_on_with_a_fresh_one() -> None:
    stage = reacting("swap rope")
    kinds = [Kind(move.kind).name for move, _ in stage.lines["ann"].moves]
    assert kinds == ["LOAD", "HOLD", "UNLOAD", "SWAP", "LOAD", "HOLD", "HOLD"]
    held = stage.workers["ann"].lines[SAFETY].moves
    assert [Kind(move.kind).name for move, _ in held] == ["LOAD", "HOLD", "UNLOAD"]
    # 100 s and 50 s of rest, the swap in between
    assert (750 * SECOND, "ann", "ends") in stage.told("ends")


def test_retreat_climbs_back_to_the_start_on_the_safety_line() -> None:
    stage = reacting("retreat on safety line")
    held = stage.workers["ann"].lines[SAFETY].moves
    assert [Kind(move.kind).name for move, _ in held] == ["LOAD", "STROKES"]
    assert held[-1][0].length_m == pytest.approx(5.0)  # from 8 m to 3 m
    assert [e.who for e in stage.log.entries if e.what == "stops"] == ["ann"]
    assert (120 * SECOND, "bob", "ends") in stage.told("ends")


def test_a_call_for_rescue_stops_the_one_concerned_and_others_can_wait_for_it() -> None:
    stage = Seeing("ann", "bob", when={"core visible": "call rescue"})
    stage.start("ann", HangOn(8.0), Rest(100.0))
    stage.start("bob", WaitFor(RESCUE_CALLED), Rest(1.0))
    stage.shows(40 * SECOND, "line")
    stage.job.run()
    assert stage.told("stops") == [(40 * SECOND, "ann", "stops")]
    assert (41 * SECOND, "bob", "ends") in stage.told("ends")


def test_re_rig_holds_everybody_until_the_edge_is_right_again() -> None:
    stage = reacting("re-rig")
    # placing protection takes 60 s of ann's 150 and of bob's 120
    assert (210 * SECOND, "ann", "ends") in stage.told("ends")
    assert (180 * SECOND, "bob", "ends") in stage.told("ends")
    assert stage.workers["ann"].account.times.waiting == 60 * SECOND
