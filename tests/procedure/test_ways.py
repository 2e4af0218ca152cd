"""Every way of a rescue, leg by leg and lack by lack, against the same sums made here."""

from __future__ import annotations

import json
from functools import cache
from math import ceil, degrees, radians, tan

import numpy as np
import pytest
from scipy.stats import binom

from edgewear.findings.rescue import Rescue
from edgewear.job.build import HAUL_SPEED_M_S
from edgewear.job.travel import REST_AT_STOP_S
from edgewear.procedure.rescue_ways import ways as assumed
from edgewear.procedure.rescue_ways import worn
from edgewear.procedure.rescue_ways.bears import Draft
from edgewear.procedure.rescue_ways.call import Call
from edgewear.procedure.rescue_ways.legs import _stage, fixed
from edgewear.procedure.rescue_ways.moment import Moment, Someone
from edgewear.procedure.rescue_ways.rescues import lack, limits_of, ways_of
from edgewear.procedure.rescue_ways.scene import ARM_M, Engaged, Scene
from edgewear.procedure.rescue_ways.ways import BELOW_EDGE_M, RIGGING, every_way
from edgewear.procedure.rescue_ways.worn import DONE, _fed, _pick_off, _starting, worn_by
from edgewear.rigging import rig
from edgewear.rigging.reach import WITHIN_REACH_M
from edgewear.rigging.sections import PASSED_BELOW_M
from edgewear.scenario import load_text
from edgewear.scenario.models import steps as planned
from edgewear.terms import GRAVITY_M_S2
from support.planted.sound import text_of
from support.scenario_files import ROOT

OPTION, GROUND_M, KG = "as written", 30.0, 90.0
HELPERS = ("ann", "bob")


@cache
def planned_for(helpers: int, changes: str):
    """A procedure with so many more on top and changes as JSON, and its rigging."""
    change = {"kit/haul kit": 1, "kit/rescue sling": {"carried by": "rescuer"}}
    for name in HELPERS[:helpers]:
        change |= {f"people/{name}": {"mass": "80 kg"}, f"job/{name}": [{"rest": "30 min"}]}
    scenario = load_text(text_of("pick-off", {**change, **json.loads(changes)}), "made.yaml")
    return scenario, tuple(rig(scenario, OPTION).sections)


def scene(at_m=8.0, rescuer=None, helpers=0, engaged=None, extra=None, moment=None, **changes):
    """The technician hangs; the rescuer stands on top, or is as given."""
    scenario, sections = planned_for(
        helpers, json.dumps({key.replace("__", "/"): value for key, value in changes.items()})
    )
    people = {name: Someone(name) for name in scenario.job}
    people["technician"] = Someone("technician", hangs=True, depth_m=at_m, able=False)
    if rescuer is not None:
        people["rescuer"] = Someone("rescuer", **rescuer)
    there = Moment(0, people, **(moment or {}))
    return Scene(scenario, OPTION, sections, there, "technician", extra or {},
                 engaged or Engaged())  # fmt: skip


def ways(there: Scene) -> dict[str, Draft]:
    return {draft.row.method: draft for draft in every_way(there)}


def legs(draft: Draft) -> list[tuple[str, str, float]]:
    return [(leg.stage, leg.what, leg.middle_s) for leg in draft.legs]


ON_TOP, AT_LIP = None, {"hangs": True, "depth_m": 1.0}
TAKEN_OVER = ("release", "taking over")


@pytest.mark.parametrize("at_m", [2.0, 8.0, 12.0, 20.0])
@pytest.mark.parametrize(
    "rescuer", [ON_TOP, {"hangs": True, "depth_m": 3.0}, {"hangs": True, "depth_m": 12.0}]
)
@pytest.mark.parametrize(("busy_s", "waits_s"), [(0.0, 0.0), (40.0, 0.0), (0.0, 70.0)])
def test_a_pick_off_is_the_way_there_the_casualty_and_the_way_down(
    at_m, rescuer, busy_s, waits_s
) -> None:
    engaged = Engaged(hands=frozenset({"rescuer"}), until_s=waits_s)
    there = scene(at_m, rescuer, engaged=engaged, moment={"busy_s": {"rescuer": busy_s}})
    times, one = there.scenario.times, there.chosen.people["rescuer"].technique
    stop_m, speed = one.stop_every.value, one.descent_speed.value
    expected = []
    if waits_s:
        expected.append(("reach", "until free", waits_s))
    if busy_s:
        expected.append(("reach", "finishing a step", busy_s))
    from_m = BELOW_EDGE_M if rescuer is None else rescuer["depth_m"]
    if rescuer is None:
        expected.append(("reach", "crossing the edge", times.cross_edge.value))

    def down(stage, way_m):
        return [(stage, "rescuer descends", way_m / speed),
                (stage, "stops", ceil(way_m / stop_m) * REST_AT_STOP_S)]  # fmt: skip

    if at_m > from_m:
        expected += down("reach", at_m - from_m)
    elif at_m < from_m:  # beside the casualty there is no way
        cycle_s = one.rise_time.value + one.drop_time.value + one.pause_time.value
        strokes = (from_m - at_m) / one.rise.value
        expected.append(("reach", "rescuer climbs", strokes * cycle_s))
    expected += [(*TAKEN_OVER, times.take_over.value), *down("ground", GROUND_M - at_m)]
    draft = ways(there)["pick-off"]
    assert draft.lacks == []
    found = legs(draft)
    assert [leg[:2] for leg in found] == [leg[:2] for leg in expected]
    assert [leg[2] for leg in found] == pytest.approx([leg[2] for leg in expected], rel=1e-12)
    row = draft.row
    assert (row.load_kg, row.ends_at) == (2 * KG, "ground, 30.0 m deep")
    # each hangs plumb below an anchor of their own: west at 0 m, mid east at 1.6 m
    assert row.sideways_m == pytest.approx(1.6, abs=1e-9)
    assert row.rope_has_m == 60.0


@pytest.mark.parametrize(("typed", "due_s"), [({}, None), ({"for": "2 min"}, 120.0)])
def test_who_comes_over_the_edge_takes_as_long_as_the_plan_says_they_do(typed, due_s) -> None:
    crossing = {"cross edge": {"edge": "lip", **typed}}
    there = scene(job__rescuer=[{"rest": "1 min"}, crossing, {"descend": "1 m"}])
    [found_s] = [leg[2] for leg in legs(ways(there)["pick-off"]) if leg[1] == "crossing the edge"]
    assert found_s == (due_s or there.scenario.times.cross_edge.value)


LEDGE = {"edges__ledge": {"out": "0.5 m", "up": "-1 m", "radius": "60 mm", "surface": "steel"}}


def test_two_are_drawn_together_below_the_last_edge_that_they_hang_over() -> None:
    """Each so far out of plumb: 7 m below the ledge, and less than from the lip, 8 m above."""
    far = {"anchors__mid east__along": "12 m", **LEDGE}
    [said] = [one for one in ways(scene(**far))["pick-off"].lacks if " aside; " in one]
    most_m = float(said.partition("at most ")[2].partition(" m")[0])
    assert 2 * 7.0 * tan(radians(25.0)) < most_m < 2 * 8.0 * tan(radians(25.0))


@pytest.mark.parametrize(("knot", "stage"), [("10 m", "reach"), ("20 m", "ground"), ("55 m", "")])
def test_a_knot_is_passed_where_the_way_leads_over_it(knot: str, stage: str) -> None:
    """From the anchor 4 m back and 1 m up; 10 m of rope end 5.9 m deep, above the casualty."""
    there = scene(lines__rescuer__knots=[knot])
    passed = [leg for leg in legs(ways(there)["pick-off"]) if leg[1].startswith("passing")]
    assert [leg[0] for leg in passed] == ([stage] if stage else [])
    assert all(leg[2] == there.scenario.times.pass_knot.value for leg in passed)


def test_what_a_pick_off_lacks_is_listed() -> None:
    assert ways(scene(below=None))["pick-off"].lacks == [
        "nothing is named below (`below`) where they could stand"]  # fmt: skip
    short = ways(scene(ropes={"store": {"like": "low-stretch 11", "length": "25 m",
                                        "stopper": "yes"}}))["pick-off"]  # fmt: skip
    assert any("25 m of rope, the way down takes" in one for one in short.lacks)
    far = {"anchors__mid east__along": "12 m"}
    assert any(one.startswith("rescuer hangs 12.0 m aside") for one in
               ways(scene(**far))["pick-off"].lacks)  # fmt: skip
    spent = ways(scene(moment={"gone": {"mid east"}}))["pick-off"]
    assert any(one.endswith("does not hold any more") for one in spent.lacks)
    gone = ways(scene(moment={"gone": {"west"}}))
    assert gone["pick-off"].lacks == []
    for method in ("haul", "lower"):
        assert any(one.endswith("does not hold any more") for one in gone[method].lacks)


@pytest.mark.parametrize("heavier", [0.0, 35.0])
def test_what_a_fault_has_added_is_carried_too(heavier) -> None:
    there = scene(extra={"technician": heavier})
    found = ways(there)
    assert found["pick-off"].row.load_kg == 2 * KG + heavier
    assert found["haul"].row.load_kg == KG + heavier


@pytest.mark.parametrize("at_m", [3.0, 8.0, 20.0])
@pytest.mark.parametrize("hands_n", [80, 250, 900])
def test_those_on_top_share_the_pull_of_a_haul(at_m, hands_n) -> None:
    pulls, limit = [], {"limits__hands": f"{hands_n} N"}
    for helpers in (0, 1, 2):
        draft = ways(scene(at_m, helpers=helpers, **limit))["haul"]
        row, count = draft.row, helpers + 2  # the rescuer and the attendant stand there too
        assert sorted(row.hands) == sorted(("rescuer", "edge attendant", *HELPERS[:helpers]))
        pulls.append(row.pull_n * count)
        over = f"each of {count} on top would pull {row.pull_n:.0f} N, more than {hands_n} N"
        assert draft.lacks == ([over] if row.pull_n > hands_n else [])
        assert legs(draft) == [
            ("reach", "rigging a haul", RIGGING.value),
            ("ground", "hauling", (at_m - BELOW_EDGE_M) / HAUL_SPEED_M_S),
            ("ground", "over the edge", planned_for(0, "{}")[0].times.cross_edge.value),
        ]
    assert pulls == pytest.approx([pulls[0]] * 3, rel=1e-12)
    # 3:1, and friction over the lip can only add to the weight
    assert pulls[0] > KG * GRAVITY_M_S2 / 3.0


def test_a_pull_and_a_rope_may_be_just_what_they_can_be() -> None:
    """What a person keeps up, and what a rope has, may be used to the last of it."""
    pull_n = ways(scene())["haul"].row.pull_n
    for most_n, over in ((pull_n, False), (pull_n * (1 - 1e-9), True)):
        lacks = ways(scene(limits__hands=f"{most_n!r} N"))["haul"].lacks
        assert any("would pull" in one for one in lacks) == over
    long = {"like": "low-stretch 11", "length": "60 m", "stopper": "yes"}
    safety = {"lines__rescuer__safety line__rope": "more"}  # runs a longer way than the other
    opens = {"anchors__west__releasable": "yes"}
    for method, change in (("pick-off", safety), ("lower", opens)):
        there = scene(ropes={"store": long, "more": long}, **change)
        needed_m = ways(there)[method].row.rope_needed_m
        for has_m, short in ((needed_m, False), (needed_m * (1 - 1e-9), True)):
            ropes = {"store": {**long, "length": f"{has_m!r} m"}, "more": long}
            draft = ways(scene(ropes=ropes, **change))[method]
            assert (draft.row.rope_has_m, draft.row.rope_needed_m) == (has_m, needed_m)
            assert any("of rope, the way down takes" in one for one in draft.lacks) == short


def test_one_alone_on_top_pulls_alone_and_nobody_pulls_nothing() -> None:
    alone = {"moment": {"away_until": 99.0}, "limits__hands": "80 N"}  # the attendant is away
    draft = ways(scene(**alone))["haul"]
    assert draft.row.hands == ("rescuer",)
    [said] = draft.lacks
    assert said.startswith("rescuer, alone on top, would pull")
    nobody = ways(scene(rescuer=AT_LIP, **alone))["haul"]
    assert nobody.row.rescuer is None
    assert nobody.lacks == ["nobody who is free stands on top"]


@pytest.mark.parametrize("releasable", [True, False])
@pytest.mark.parametrize("below", [True, False])
@pytest.mark.parametrize("at_m", [3.0, 20.0])
def test_a_lower_takes_an_anchor_that_opens_and_something_to_stand_on(
    releasable, below, at_m
) -> None:
    changes = {} if below else {"below": None}
    if releasable:
        changes["anchors__west__releasable"] = "yes"
    draft = ways(scene(at_m, **changes))["lower"]
    lacks = [] if releasable else ["west is not releasable"]
    expected = [("reach", "rigging a lower", RIGGING.value)]
    if below:
        expected.append(("ground", "lowering", (GROUND_M - at_m) / HAUL_SPEED_M_S))
    else:
        lacks.append("nothing is named below (`below`) where they could stand")
    assert draft.lacks == lacks
    assert legs(draft) == expected
    assert draft.row.ends_at == ("ground, 30.0 m deep" if below else "")


def test_what_others_hang_on_an_anchor_is_added_to_the_pull() -> None:
    """The rescuer's 90 kg hang beside the casualty's on one anchor, or on another."""
    said = {}
    for anchor in ("west", "mid east"):
        weak = {"anchors__west__strength": "500 N", "lines__rescuer__anchor": anchor}
        draft = ways(scene(rescuer={"hangs": True, "depth_m": 8.0}, **weak))["lower"]
        [words] = [one for one in draft.lacks if "is more than west holds" in one]
        said[anchor] = float(words.partition(" kN")[0])
    more_kn = KG * GRAVITY_M_S2 / 1000.0
    assert said["west"] - said["mid east"] == pytest.approx(more_kn, abs=0.11)  # two roundings


@pytest.mark.parametrize("friction", ["0.1", "0.9"])
def test_a_fixed_point_is_held_against_the_whole_weight_whatever_the_friction(friction) -> None:
    """The careful end: an edge may be wet when it matters."""
    weak = {"anchors__west__strength": "10 N", "edges__lip__friction": friction,
            "anchors__mid east__strength": "10 N", "lines__technician__protect": {}}  # fmt: skip
    found = ways(scene(**weak))
    for method, point, people in (("lower", "west", 1), ("haul", "west", 1),
                                  ("pick-off", "mid east", 2)):  # fmt: skip
        said = f"{people * KG * GRAVITY_M_S2 / 1000.0:.1f} kN in all is more than {point} holds"
        assert said in found[method].lacks


def test_a_lack_has_the_name_of_its_way_and_of_who_would_come() -> None:
    for method, by in (("pick-off", " by rescuer"), ("haul", ""), ("lower", "")):
        row = Rescue("technician", method, 8.0, "rescuer", missing=("no way", "no kit"))
        assert lack(Draft(row)) == f"{method}{by}: no way; no kit"


@pytest.mark.parametrize("ground", [None, "30 min", "60 min"])
@pytest.mark.parametrize("hanging", [None, "45 min"])
def test_being_down_and_hanging_still_are_each_held_to_their_own_limit(ground, hanging) -> None:
    typed = {"ground": ground, "suspension": hanging}
    limits = {key: value for key, value in typed.items() if value}
    scenario, _ = planned_for(0, json.dumps({"limits": limits}))
    found = dict(limits_of(scenario.limits))
    assert found == {key: 60.0 * float(value.split()[0]) for key, value in limits.items()}


@pytest.mark.parametrize("at_m", [1.05, 3.5, 8.0, 29.95, 31.0])
@pytest.mark.parametrize("from_m", [None, 3.0, 12.0])
@pytest.mark.parametrize("below", [True, False])
def test_a_rescue_is_played_from_where_people_are_to_where_they_can_stand(
    at_m, from_m, below
) -> None:
    rescuer = None if from_m is None else {"hangs": True, "depth_m": from_m}
    there = scene(at_m, rescuer, **({} if below else {"below": None}))
    row = ways(there)["pick-off"].row
    plan, starts = _pick_off(there, row)
    begin_m = BELOW_EDGE_M if from_m is None else from_m
    assert starts == {"technician": at_m, "rescuer": begin_m}
    down_m = max(GROUND_M - at_m, 0.1) if below and at_m < GROUND_M else 0.1
    *way, taken, down, done = plan["rescuer"]
    if abs(at_m - begin_m) <= 0.1:
        assert way == []
    else:
        [step] = way
        assert isinstance(step, planned.Descend if at_m > begin_m else planned.Ascend)
        assert step.height.value == abs(at_m - begin_m)
    assert isinstance(taken, planned.TakeOver)
    assert down.height.value == down_m
    assert (done.name, plan["technician"][0].name) == (DONE, DONE)
    for method, length_m in (("haul", max(at_m - BELOW_EDGE_M, 0.1)), ("lower", down_m)):
        fed, starts = _fed(there, Rescue("technician", method, at_m))
        assert fed["technician"][0].height.value == pytest.approx(length_m, rel=1e-12)
        assert (fed["rescuer"], starts) == ((), {"technician": at_m})


@pytest.mark.parametrize("lip_m", [0.0, 3.0])
@pytest.mark.parametrize("at_m", [-1.0, 2.0, 5.0])
def test_somebody_starts_to_be_played_as_far_below_their_last_edge_as_they_are(lip_m, at_m) -> None:
    """A place above the edge is one at it: nobody starts on the way over."""
    scenario = scene(edges__lip__up=f"-{lip_m} m").scenario
    found = _starting(scenario, OPTION, {"technician": at_m}).options[OPTION].people
    assert found["technician"].start.value == max(at_m - lip_m, 0.0)
    assert found["rescuer"] == scenario.options[OPTION].people["rescuer"]


@pytest.mark.parametrize("at_m", [20.0, 25.0])
@pytest.mark.parametrize("down_m", [0.5, 1.5, 2.9, 3.1, 5.0, 14.0])
def test_whoever_hauls_from_the_top_pads_no_edge_that_lies_far_down_the_face(at_m, down_m) -> None:
    """The casualty's line lies bare over a ledge; the rescuer's own line has a pad for it.

    At most 3 m is within reach of where somebody is, as for a step of the plan.
    """
    ledge = {"out": "1 m", "up": f"-{down_m} m", "radius": "4 mm", "surface": "steel"}
    pads = {"lip": "pad", "ledge": "pad"}
    there = scene(
        at_m, kit__pad=6, edges__ledge=ledge, anchors__west__releasable="yes",
        lines__rescuer__protect=pads,
    )  # fmt: skip
    found = ways(there)
    for method in ("haul", "lower"):
        placed = [leg for leg in legs(found[method]) if leg[1] == "placing protection at ledge"]
        lacks = "ledge would be loaded bare" in found[method].lacks
        assert (len(placed), lacks) == ((1, False) if down_m <= 3.0 else (0, True))
        assert [edge.edge for edge in found[method].row.edges][-1] == "ledge"
    assert "ledge would be loaded bare" not in found["pick-off"].lacks  # on the way down their line


@pytest.mark.parametrize("draws", [1, 2, 10, 60])
def test_of_few_draws_the_careful_time_is_known_as_far_as_they_go(draws: int) -> None:
    """With fewer than 73 none lies surely above it: the interval ends at the longest."""
    found = _stage(np.arange(draws, dtype=float), 0.5 * draws, None)
    assert found.p95_high_s == draws - 1
    assert 0 <= found.p95_low_s <= found.p95_s <= draws - 1


@pytest.mark.parametrize("draws", [19, 20, 39, 50, 99, 199, 16_000])
def test_a_next_draw_stays_below_the_careful_time_as_often_as_is_said(draws: int) -> None:
    """The rank k of n draws has the next one below it with k in n + 1: the least with 19 in 20."""
    rank = next(k for k in range(1, draws + 1) if 20 * k >= 19 * (draws + 1))
    assert _stage(np.arange(draws, dtype=float), 0.0, None).p95_s == rank - 1


BOLTS = {
    f"anchors__{name}": {"out": "0.1 m", "up": f"-{deep} m", "kind": "pair", "along": "1.6 m",
                         "is": "structural steel"}
    for name, deep in (("high", 4), ("low", 12), ("aside", 6))
}  # fmt: skip


@pytest.mark.parametrize("re_anchors", [[], ["high"], ["high", "low"]])
@pytest.mark.parametrize("led", [False, True])
@pytest.mark.parametrize("at_m", [3.0, 9.0, 20.0])
@pytest.mark.parametrize("from_m", [None, 15.0])
def test_fixed_points_on_the_way_are_passed_there_and_down(re_anchors, led, at_m, from_m) -> None:
    """Each where it lies: a re-anchor half a metre below it, a deviation at its own height."""
    line = {"lines__rescuer__re-anchor": re_anchors} if re_anchors else {}
    if led:
        line["lines__rescuer__deviations"] = [{"anchor": "aside", "sling": "0.3 m"}]
    there = scene(at_m, from_m and {"hangs": True, "depth_m": from_m}, **BOLTS, **line)
    times = there.scenario.times
    deep = {"high": 4.0 + PASSED_BELOW_M, "low": 12.0 + PASSED_BELOW_M, "aside": 6.0}
    points = [(name, times.pass_re_anchor.value) for name in re_anchors]
    points += [("aside", times.pass_deviation.value)] if led else []
    expected = [
        (stage, f"passing {name}", lasting)
        for stage, *ends in (("reach", from_m or 1.0, at_m), ("ground", at_m, GROUND_M))
        for name, lasting in points if min(ends) < deep[name] <= max(ends)
    ]  # fmt: skip
    found = [leg for leg in legs(ways(there)["pick-off"]) if leg[1].startswith("passing")]
    assert found == expected


@pytest.mark.parametrize(
    ("state", "lacks"),
    [({"lost": {"safety line"}}, "rescuer hangs on one line, the other is lost"),
     ({"stuck": "device jammed"}, "rescuer cannot go on: device jammed")],
)  # fmt: skip
def test_who_is_kept_by_anything_comes_along_no_line(state, lacks) -> None:
    draft = ways(scene(rescuer={"hangs": True, "depth_m": 3.0, **state}))["pick-off"]
    assert (draft.lacks, draft.row.missing, draft.legs) == ([lacks], (lacks,), [])


@pytest.mark.parametrize("method", ["pick-off", "haul", "lower"])
def test_a_rescue_that_can_be_played_tells_what_it_wears(method, monkeypatch) -> None:
    """Whoever hangs on a line wears it over the lip; what cannot be played tells nothing."""
    there = scene(anchors__west__releasable="yes")
    row = ways(there)[method].row
    found = {one.line: one for one in worn_by(there, row)}
    line = "rescuer working line" if method == "pick-off" else "technician working line"
    people = 2 if method == "pick-off" else 1
    assert {one.edge for one in found.values()} == {"lip"}
    assert found[line].demand > 0.0
    assert found[line].peak_n > people * KG * GRAVITY_M_S2
    monkeypatch.setattr(worn, "_played", lambda *given: None)
    assert worn_by(there, row) == ()


@pytest.mark.parametrize("draws", [200, 1024, 4096])
def test_the_careful_time_is_known_between_order_statistics(draws: int) -> None:
    """Draws as large as their rank: the interval's ends are ranks, by the binomial distribution."""
    found = _stage(np.arange(draws, dtype=float), 0.5 * draws, None)
    low, high = binom.interval(0.95, draws, 0.95)
    # a normal in place of the binomial, and whole ranks outward: within three
    assert found.p95_low_s == pytest.approx(low, abs=3)
    assert found.p95_high_s == pytest.approx(high, abs=3)
    assert found.p95_s == pytest.approx(0.95 * draws, abs=1)


def test_what_is_assumed_of_a_rescue_is_what_its_page_says() -> None:
    """Said there because it decides."""
    page = (ROOT / "docs/how-to/stress-test-a-procedure.md").read_text("utf-8")
    text = " ".join(page.split())
    for said in (
        f"until each is {degrees(assumed.ASIDE_RAD):.0f} degrees out of plumb",
        f"(15-30) or {assumed.BESIDE_M:g} m;",
        f"a pull of {assumed.HANDS_N:g} N (150-400)",
        f"an advantage of {assumed.KIT_ADVANTAGE:g} (3-9)",
        f"takes {RIGGING.value:g} s to rig ({RIGGING.low:g}-{RIGGING.high:g})",
        f"within {ARM_M:g} m of it as over a manhole",
        f"at most {WITHIN_REACH_M:g} m below the highest edge",
    ):
        assert said in text, said


@pytest.mark.parametrize("knot_m", [2.0, 6.0, 14.0, 40.0])
@pytest.mark.parametrize("at_m", [3.0, 8.0, 20.0])
def test_a_knot_that_would_have_to_pass_an_edge_stops_a_haul_and_a_lower(knot_m, at_m) -> None:
    """The lip is 4.1 m from the fixed point along the rope: a haul draws the knot up over it, or
    through the fixed point; a lower lets it down over it, or out through the fixed point."""
    there = scene(at_m, lines__technician__knots=[f"{knot_m} m"],
                  anchors__west__releasable="yes")  # fmt: skip
    found, lip_m = ways(there), np.hypot(4.0, 1.0)
    up_m, down_m = at_m - BELOW_EDGE_M, GROUND_M - at_m
    said = f"the knot at {knot_m:g} m would have to pass an edge or west"
    hauled = any(knot_m - up_m < point < knot_m for point in (0.0, lip_m))
    beyond = knot_m > lip_m + np.hypot(at_m, 0.3)
    lowered = beyond or knot_m < lip_m < knot_m + down_m
    assert (said in found["haul"].lacks) == hauled
    assert (said in found["lower"].lacks) == lowered


@pytest.mark.parametrize("by", ["", "edge attendant"])
def test_a_rescue_has_its_times_where_somebody_calls_and_nothing_is_missing(by: str) -> None:
    call = Call(by, "looks at the edges", (fixed("noticed", "hanging still", 5.0),))
    found = ways_of(scene(), call)
    assert [bool(row.missing) for row in found] == sorted(bool(row.missing) for row in found)
    assert {row.method for row in found if row.missing} == {"lower"}
    for row in found:
        timed = bool(by) and not row.missing
        assert (bool(row.times), row.noticed_by) == (timed, by if timed else "")
        assert row.shown == timed
