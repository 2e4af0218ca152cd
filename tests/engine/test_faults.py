"""Every kind of fault on real lines: it comes, it does something, and the tape still replays."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.engine.results.outcome import outcome
from edgewear.engine.run_job import perform
from edgewear.job.faults import FROM_THE_START, Injected
from edgewear.procedure.fault_rigging import UNKNOWN, prepared
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed
from edgewear.scenario.text.quantities import Measured

SITE = """
edgewear: 1
title: two people, a re-anchor and a deviation
setting: industrial
anchors:
  post: {out: -6 m, up: 1 m, along: 0 m, kind: pair}
  rail: {out: -6 m, up: 1 m, along: 1.5 m, kind: pair}
  bolt: {out: 0.6 m, up: -5 m, along: 0 m, kind: pair}
  hook: {out: 1.2 m, up: -2 m, along: 0 m, kind: pair}
edges:
  lip:   {out: 0.2 m, up: 0 m, radius: 3 mm, surface: steel}
  ledge: {out: 0.6 m, up: -3 m, is: chamfered concrete}
ropes:
  store: {like: low-stretch 11, length: 60 m, stopper: yes}
  thin:  {like: low-stretch 9, length: 60 m, stopper: yes}
people:
  ann: {mass: 100 kg, technique: normal, system: pre-threaded}
  bob: {mass: 90 kg, technique: smooth, system: pre-threaded}
lines:
  ann:
    anchor: post
    rope: store
    WAY
    protect: {lip: roller, ledge: sleeve}
    safety line: {anchor: rail, rope: store, protect: {lip: pad, ledge: pad}}
  bob:
    anchor: rail
    rope: store
    protect: {lip: pad, ledge: pad}
    safety line: {anchor: post, rope: store, protect: {lip: pad, ledge: pad}}
options: {plain: {}}
job:
  ann:
    - cross edge: {edge: lip, protection: lifted}
    - descend: 9 m
    - work: 3 min
    - inspect: {by: edge attendant, protection: lifted}
    - ascend: 3 m
  bob: [rest: 4 min, cross edge: lip, descend: 4 m, rest: 30 s]
faults: {none yet: {attendant away: 1 s}}
when: {parted: retreat on safety line}
"""


@cache
def site(way: str = "re-anchor: [bolt]"):
    return load_text(SITE.replace("WAY", way), "site.yaml")


EVERY = {
    "displaced": typed.ProtectionDisplaced(edge="lip"),
    "worn through": typed.ProtectionWornThrough(edge="lip"),
    "not refitted": typed.ProtectionNotRefitted(edge="lip"),
    "wrong side": typed.SleeveOnWrongSide(edge="ledge"),
    "off the roller": typed.RopeOffRoller(edge="lip"),
    "rain": typed.Weather(weather="wet"),
    "jerky": typed.JerkyPerson(person="ann"),
    "heavier": typed.HeavierPerson(person="ann"),
    "second": typed.SecondPerson(person="ann"),
    "wrong rope": typed.WrongRope(rope="thin", person="ann"),
    "unknown": typed.UnknownEdge(below="lip"),
    "skipped": typed.InspectionSkipped(person="ann"),
    "away": typed.AttendantAway(),
    "late": typed.LateReaction(),
    "anchor": typed.AnchorFails(anchor="post"),
    "re-anchor": typed.AnchorFails(anchor="bolt"),
    "fast": typed.FastDescent(person="ann"),
    "no stopper": typed.StopperMissing(person="ann"),
    "wind": typed.RopeInWind(person="bob"),
    "unresponsive": typed.CasualtyUnresponsive(person="ann"),
    "jammed": typed.DeviceJammed(person="ann"),
    "dropped": typed.DeviceDropped(person="ann", for_=Measured.exact(600.0, "s")),
    "silent": typed.CommunicationLost(),
}


def run(name: str, fault, tick: int | None = 1_500_000, way: str = "re-anchor: [bolt]"):
    """Run the site with one fault 150 s after the start, when Ann works at her place."""
    one = Injected(name, fault, tick=None if isinstance(fault, FROM_THE_START) else tick)
    scenario = site(way).model_copy(update={"faults": {name: fault}})
    scenario = prepared(scenario, "plain", [one])
    case = compile_case(scenario, "plain")
    done = perform(scenario, case, scenario.when, faults=[one])
    player = Player(case)
    assert play(player, case.batch(done.tape, {}, 1)) == done.ticks
    first, again = outcome(done.player, done.ticks), outcome(player, done.ticks)
    for column in ("demand_max", "slip_m", "peak_tension_n"):
        np.testing.assert_array_equal(first.edges[column], again.edges[column])
    return done, first


@cache
def untroubled():
    return run("nothing", typed.LateReaction(), tick=0)


def row(found, line: str, edge: str):
    return next(e for e in found.edges if (e["line"], e["edge"]) == (line, edge))


@pytest.mark.parametrize("name", EVERY)
def test_every_fault_comes_and_the_tape_replays(name) -> None:
    done, _ = run(name, EVERY[name])
    assert [(e.who, e.detail) for e in done.log if e.what == "fault"] == [(name, EVERY[name].fault)]


@pytest.mark.parametrize("step", [1, 2, 3])
@pytest.mark.parametrize("name", [n for n in EVERY if not isinstance(EVERY[n], FROM_THE_START)])
def test_a_fault_of_a_step_comes_as_that_step_begins_the_first_too(name, step) -> None:
    """Of the person named, or of whoever begins it first where nobody is."""
    fault = EVERY[name].model_copy(update={"step": step})
    one = Injected(name, fault)
    scenario = prepared(site().model_copy(update={"faults": {name: fault}}), "plain", [one])
    done = perform(scenario, compile_case(scenario, "plain"), scenario.when, faults=[one])
    who = getattr(fault, "person", None)
    began = min(
        e.tick for e in done.log
        if e.what == "begins" and e.step == step and who in (None, e.who)
    )  # fmt: skip
    assert [e.tick for e in done.log if e.what == "fault"] == [began]


def test_no_kind_of_fault_is_left_out() -> None:
    tried = {type(fault) for fault in EVERY.values()} | {typed.DeviationFails}
    assert tried == set(typed.FAULTS)


def test_weight_on_the_line_is_felt_at_the_anchor() -> None:
    _, plain = untroubled()
    _, heavy = run("second", EVERY["second"])
    assert (
        heavy.run["anchor_peak_n"][0] > plain.run["anchor_peak_n"][0] + 500.0
    )  # 100 kg, over edges


@pytest.mark.parametrize(
    ("name", "tick", "caught_on"),
    [
        # on the rope from the post, still above the bolt: only the safety line is left
        ("anchor", 1_000_000, "ann safety line"),
        # gone before anybody hangs on it: found out at the first load
        ("anchor", 0, "ann safety line"),
        # below the bolt: the rope above it is left
        ("re-anchor", 3_000_000, "ann working line"),
    ],
)
def test_whoever_hangs_on_what_gives_way_is_caught(name, tick, caught_on) -> None:
    done, found = run(name, EVERY[name], tick)
    assert [(e.who, e.detail) for e in done.log if e.what == "caught"] == [("ann", caught_on)]
    caught = [e for e in found.edges if e["line"] == caught_on]
    assert max(e["peak_tension_n"] for e in caught) > 100.0 * 9.81


def test_the_wrong_rope_lies_on_the_line() -> None:
    scenario = prepared(site(), "plain", [Injected("w", EVERY["wrong rope"])])
    case = compile_case(scenario, "plain")
    used = {s.rope for s in case.rigged.sections if s.person == "ann" and s.role == "working line"}
    assert used == {"thin"}


def test_an_unknown_edge_bends_the_line() -> None:
    _, found = run("unknown", EVERY["unknown"])
    assert any(e["edge"] == UNKNOWN and e["wrap_deg"] > 0 for e in found.edges)


def test_an_unresponsive_person_makes_no_further_step() -> None:
    done, _ = run("unresponsive", EVERY["unresponsive"])
    after = [e for e in done.log if e.who == "ann" and e.tick > 1_500_000]
    assert not [e for e in after if e.what == "begins"]


def ended(done, who: str, step: int) -> int:
    return next(e.tick for e in done.log if (e.who, e.what, e.step) == (who, "ends", step))


def test_a_device_that_is_put_right_holds_its_person_up_for_as_long_as_typed() -> None:
    done, plain = run("dropped", EVERY["dropped"])[0], untroubled()[0]
    step = next(e.step for e in done.log if e.who == "ann" and e.what == "pauses")
    # to the tick: a pause cuts a movement at whole ticks, and the rest of it is made after
    assert ended(done, "ann", step) - ended(plain, "ann", step) == 6_000_000


def test_whoever_has_a_jammed_device_makes_no_further_step() -> None:
    done, _ = run("jammed", EVERY["jammed"])
    after = [e for e in done.log if e.who == "ann" and e.tick >= 1_500_000]
    assert not [e for e in after if e.what == "begins"]
    assert next(e.value for e in after if e.what == "stops") > 0.0


def test_an_anchor_that_goes_under_somebody_who_has_fainted_lets_them_fall_on_the_other_line():
    faints = Injected("faints", EVERY["unresponsive"], tick=900_000)
    goes = Injected("goes", EVERY["anchor"], tick=1_000_000)
    faults = {"faints": faints.fault, "goes": goes.fault}
    scenario = site().model_copy(update={"faults": faults})
    done = perform(
        scenario, compile_case(scenario, "plain"), scenario.when, faults=[faints, goes]
    )  # fmt: skip
    told = [(e.what, e.detail) for e in done.log if e.who == "ann" and e.tick > 900_000]
    assert ("caught", "ann safety line") in told
    assert not [what for what, _ in told if what in ("begins", "retreated")], "acts, though fainted"


def test_wind_saws_the_line_nobody_hangs_on_until_somebody_takes_it() -> None:
    done, found = run("wind", EVERY["wind"])
    taken = [e.tick for e in done.log if e.what == "takes the line"]
    assert taken == [2_400_000]  # Bob crosses the edge after his rest of 4 min
    assert row(found, "bob working line", "lip")["slip_m"] > 0.0


def test_a_deviation_that_gives_way_drops_the_person_onto_the_straight_line() -> None:
    way = "deviations: [{anchor: hook, sling: 0.4 m}]"
    done, found = run("hook goes", typed.DeviationFails(anchor="hook"), way=way)
    assert [e.who for e in done.log if e.what == "caught"] == ["ann"]
    without = [e for e in found.edges if "without hook" in e["line"]]
    assert without
    assert max(e["peak_tension_n"] for e in without) > 0.0


def test_lifting_protection_lays_the_edge_bare_and_refits_it() -> None:
    done, _ = untroubled()
    told = [e.what for e in done.log if e.detail == "lip" and e.what.startswith("protection")]
    assert told == ["protection lifted", "protection refitted"]
    way = "attendant: edge attendant"  # no re-anchor: the work loads the edge
    _, left_off = run("not refitted", EVERY["not refitted"], tick=0, way=way)
    _, plain = run("nothing", typed.LateReaction(), tick=0, way=way)
    assert (
        row(left_off, "ann working line", "lip")["demand_max"]
        > row(plain, "ann working line", "lip")["demand_max"]
    )
