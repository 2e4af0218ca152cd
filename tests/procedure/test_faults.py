"""A procedure taken apart: what faults, pairs, steps and single failures come to."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from functools import cache
from math import exp, inf

import pytest

import edgewear.procedure.faults as study
from edgewear.errors import UsageError
from edgewear.findings.failure import Cause, Failure, Met
from edgewear.findings.faults import FaultRow, Soonest
from edgewear.findings.limits import AboveLimit, Figure, NoRoom
from edgewear.findings.procedure import Findings
from edgewear.findings.rescue import Reached
from edgewear.procedure.difference import difference
from edgewear.procedure.failures import worst_places
from edgewear.procedure.fault_plan import wanted
from edgewear.procedure.fault_rates import Stratum, combined, happens, weight_of
from edgewear.procedure.fault_rows import Rows
from edgewear.procedure.fault_runs import Trial
from edgewear.report import print_faults
from edgewear.scenario import load_text

ONE = """
edgewear: 1
title: one person over one edge
setting: industrial
target: 50 %
anchors:
  post: {out: -6 m, up: 1 m, along: 0 m, kind: pair}
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
    safety line: {anchor: rail, rope: store, protect: {lip: pad}}
job:
  - cross edge: lip
  - descend: 6 m
  - work: 5 min
  - inspect: {by: edge attendant, from: lip, protection: lifted}
  - ascend: 6 m
FAULTS
when: {parted: retreat on safety line}
"""

FAULTS = """faults:
  pad off: {protection displaced: lip, step: 2}
  heavier: {heavier person: ann, step: 3}
"""


def scenario(faults: str = FAULTS):
    return load_text(ONE.replace("FAULTS\n", faults), "one.yaml")


@cache
def found() -> Findings:
    return study.faults(scenario(), replicates=4, workers=1)


def document() -> dict:
    return found().as_json()


def taken_apart(text: str) -> dict:
    """The document of a scenario, one trial of each fault."""
    return study.faults(load_text(text, "one.yaml"), replicates=1, workers=1).as_json()


def test_alone_and_in_pairs_each_fault_is_there_once() -> None:
    names = [row["names"] for row in document()["faults"]]
    assert names == [["pad off"], ["heavier"], ["pad off", "heavier"]]
    assert all(row["trials"] == 4 for row in document()["faults"])


def test_the_table_has_every_fault_at_every_step() -> None:
    found = {(row["fault"], row["step"]) for row in document()["table"]}
    assert found == {(name, step) for name in ("pad off", "heavier") for step in range(1, 6)}


def test_a_bare_edge_costs_sheath_and_the_attendant_sees_it() -> None:
    off = document()["faults"][0]
    assert off["margin_lost"] > 0.0
    assert off["seen_by"].startswith("edge attendant")


def test_losing_the_pad_early_costs_at_least_as_much_as_late() -> None:
    lost = {r["step"]: r["margin_lost"] for r in document()["table"] if r["fault"] == "pad off"}
    assert lost[2] >= lost[3] >= lost[5] >= 0.0


def test_the_weakest_step_stands_first() -> None:
    costs = [row["margin_lost"] for row in document()["weakest_steps"]]
    assert costs == sorted(costs, reverse=True)


def test_single_failures_have_the_keys_and_every_component() -> None:
    rows = document()["single_failures"]
    keys = {"component", "step", "holds", "over_edge", "drop_m", "swing_m", "peak_n"}
    assert all(keys <= set(row) for row in rows)
    assert {row["kind"] for row in rows} >= {"anchor", "rope", "device", "edge", "protection"}
    post = next(row for row in rows if row["component"] == "post" and row["step"] == 3)
    assert (post["holds"], post["over_edge"]) == (True, "lip")
    assert post["drop_m"] > 0.0


def test_a_shared_anchor_is_not_independent() -> None:
    shared = ONE.replace("{anchor: rail, rope: store", "{anchor: post, rope: store")
    found = taken_apart(shared.replace("FAULTS\n", ""))
    post = [row for row in found["single_failures"] if row["component"] == "post"]
    assert post
    assert not any(row["independent"] for row in post)
    assert not any(row["holds"] for row in post)
    assert any("post" in sentence for sentence in found["shared"])


def test_the_document_is_plain_json_with_the_fixed_keys() -> None:
    again = json.loads(json.dumps(document(), allow_nan=False))
    assert again["schema"] == "edgewear.faults/1"
    fault = {"names", "margin_lost", "p_core_visible", "fault_to_core_visible_s", "seen_by",
             "time_to_act_s"}  # fmt: skip
    assert all(fault <= set(row) for row in again["faults"])
    assert again["weakest_steps"]
    assert again["cautions"]


def test_workers_change_nothing() -> None:
    two = study.faults(scenario(), replicates=4, workers=2)
    assert two == found()


def ways(text: str) -> dict:
    """Ways of rescuing ann from where she works, by method."""
    (place,) = taken_apart(text)["rescues"]
    return {row["method"]: row for row in place["ways"]}


ALONE = ONE.replace("FAULTS\n", "")
BOB = "  bob: {mass: 90 kg}\n"
TWO = (
    ALONE.replace("options:\n", BOB + "kit: {haul kit: 1, rescue sling: 1}\noptions:\n")
    .replace("job:\n", "job:\n  ann:\n")
    .replace("  - inspect: {by: edge attendant, from: lip, protection: lifted}\n", "")
    .replace("  - ", "    - ")
    .replace("{lip: pad}\n", "{lip: pad}\n    attendant: bob\n", 1)
    .replace("when:", "  bob:\n    - rest: 30 min\nbelow: {ground: -30 m}\nwhen:")
)
"""Ann on her lines, Bob on top without any, who watches."""


def test_who_is_alone_is_rescued_by_nobody() -> None:
    found = ways(ALONE.replace("  - inspect: {by: edge attendant, from: lip, protection: lifted}\n",
                               ""))  # fmt: skip
    assert not any(row["possible"] for row in found.values())
    assert "nobody sees that ann cannot call" in found["any"]["why"]


def test_each_way_says_what_it_lacks() -> None:
    found = ways(TWO)
    haul, lower = found["haul"], found["lower"]
    # one person pulls more than two fifths of the weight by 3:1, over a pad: far above 250 N
    assert haul["hands"] == ["bob"]
    assert haul["pull_n"] > 100.0 * 9.81 / 3.0 > haul["pull_limit_n"] == 250.0
    assert "bob, alone on top, would pull" in haul["why"]
    assert lower["why"] == "post is not releasable"
    assert "pick-off" not in found  # nobody has lines of their own


def test_a_lower_is_shown_where_anchor_and_rope_allow_it() -> None:
    loose = TWO.replace("post: {out: -6 m, up: 1 m, along: 0 m,", "post: {out: -6 m, up: 1 m, "
                        "along: 0 m, releasable: yes,")  # fmt: skip
    lower = ways(loose)["lower"]
    assert lower["possible"]
    assert lower["rescuer"] == "bob"
    times = lower["times"]
    # bob watches the edge: half a minute until the next look, 10 s to react
    # and 5 s to call; then 180 s to rig, all by the middle
    assert times["reach"]["middle_s"] == pytest.approx(30.0 + 10.0 + 5.0 + 180.0)
    # 0.1 m a second from where ann hangs to the ground
    down_m = 30.0 - lower["depth_m"]
    lasting_s = times["ground"]["middle_s"] - times["release"]["middle_s"]
    assert lasting_s == pytest.approx(down_m / 0.1)
    short = loose.replace("length: 60 m", "length: 30 m")
    assert "30 m of rope" in ways(short)["lower"]["why"]
    nowhere = loose.replace("below: {ground: -30 m}\n", "")
    assert "nothing is named below" in ways(nowhere)["lower"]["why"]


def test_a_pull_within_the_typed_limit_shows_the_haul_and_no_kit_does_not() -> None:
    strong = TWO.replace("below:", "limits: {hands: 900 N, reach: 1 min}\nbelow:")
    haul = ways(strong)["haul"]
    assert haul["possible"]
    assert haul["ends_at"] == "on top"
    assert haul["times"]["reach"]["keeps"] is False  # 3 min to rig it alone
    none = strong.replace("{haul kit: 1, rescue sling: 1}", "{rescue sling: 1}")
    assert "no haul kit in the kit" in ways(none)["haul"]["why"]
    thrice = strong.replace("    - ascend: 6 m\n", "    - haul: {height: 6 m, advantage: 6}\n")
    assert ways(thrice)["haul"]["pull_n"] == pytest.approx(haul["pull_n"] / 2.0, rel=1e-9)


def test_a_revision_says_what_it_makes_better_and_worse() -> None:
    pad, heavier, both = found().faults
    lost = pad.margin_lost
    unseen = {"seen_by": None} if heavier.seen_by else {"p_core_visible": 1.0}
    before = replace(found(), revision="A")
    faults = (
        replace(pad, margin_lost=lost - 0.02),
        replace(heavier, **unseen),
        replace(both, margin_lost=both.margin_lost + 0.004),  # less than a point: alike
    )
    told = difference(before, replace(found(), revision="B", faults=faults))
    assert told.revisions == ("revision A", "revision B")
    assert [row.change for row in told.faults] == ["better", "worse", "alike"]
    assert told.faults[0].margin_lost == (lost, lost - 0.02)
    assert told.faults[0].changed == ("margin_lost",)
    assert told.only_before == told.only_after == ()
    assert told.alike.single_failures == len(found().worst_failures)
    assert told.single_failures == told.status == told.edge_levels == ()


def test_a_revision_that_lengthens_a_drop_or_loses_a_rescue_is_worse() -> None:
    before = found()
    limit = AboveLimit(Figure.DROP, 2.9, 2.0, "EN 12841, from memory")
    first, gone, *others = before.worst_failures
    first = replace(first, beyond=())
    (place,) = before.rescues
    shown = replace(place.ways[0], missing=(), times={"ground": Reached(60.0, 90.0, 80.0, 99.0)})
    before = replace(
        before, worst_failures=(first, gone, *others), rescues=(replace(place, ways=(shown,)),)
    )
    after = replace(
        before,
        worst_failures=(
            replace(first, drop_careful_m=first.drop_careful_m + 1.0, beyond=(limit,)),
            replace(others[0], holds=False, why="it is too weak"),
            *others[1:],
        ),
        rescues=(replace(place, ways=(replace(shown, missing=("no way",)),)),),
        status=("not acceptable: protect the edge",),
        edge_levels=dict.fromkeys(before.edge_levels, "bare"),
    )
    told = difference(before, after)
    changed = (*told.single_failures, *told.rescues, *told.status, *told.edge_levels)
    assert {row.change for row in changed} == {"worse"}
    drop, weak = told.single_failures
    careful_m = first.drop_careful_m
    assert f"{careful_m:.1f} m before, {careful_m + 1.0:.1f} m now" in drop.words[0]
    assert drop.words[-1] == f"above its limit: {limit.words}"
    assert weak.words == ("holds before, does not hold now: it is too weak",)
    assert told.components_only_before == (f"{gone.component} ({gone.person})",)
    back = difference(after, before)
    assert {row.change for row in (*back.single_failures, *back.rescues)} == {"better"}
    assert [(row.status, row.words, row.change) for row in back.status] == [
        ("not acceptable: protect the edge", "is gone", "better")
    ]
    stream = io.StringIO()
    print_faults(replace(after, difference=told), stream, 80, details=True)
    said = " ".join(stream.getvalue().split())
    assert said.index("Got worse") < said.index("Alike in both")
    assert "status: 'not acceptable: protect the edge' is new" in said
    assert "level of control at lip: soft before, bare now" in said
    assert "rescue of ann from 'work 5 min': no rescue shown any more: no way" in said


ANY = Failure(
    "post", "anchor", "ann working line", 1, "ann", 4.0, True, None, 1.0, 0.0, 4e3, True, True, ""
)  # fmt: skip


@pytest.mark.parametrize("turn", [1, -1])
def test_the_worst_step_of_a_component_stands_for_it(turn) -> None:
    def failed(step, peak, drop, holds=True, beyond=()):
        return replace(
            ANY, step=step, holds=holds, peak_n=peak, drop_m=drop, beyond=beyond,
            peak_careful_n=peak, drop_careful_m=drop,
        )  # fmt: skip

    def first(rows) -> int:
        (worst,) = worst_places(rows[::turn])
        return worst.step

    # a device that slips at 4 kN makes the peaks alike: the longer drop is the worse
    slipped = [failed(1, 4e3, 1.8), failed(2, 4e3, 3.4), failed(3, 3e3, 5.0)]
    assert first(slipped) == 2
    # above a limit before a harder catch within it
    long = (AboveLimit(Figure.DROP, 3.4, 2.0, "EN 12841, from memory"),)
    assert first([failed(1, 4e3, 1.8), failed(2, 3e3, 3.4, beyond=long)]) == 2
    lost = [*slipped, failed(4, 1e3, None, holds=False), failed(5, 5e3, 4.0, holds=None)]
    assert first(lost) == 4


def hits(speed_m_s: float = 0.0, short_m: float = 0.0) -> dict:
    """A catch that ends on something beside, something below, or both."""
    return {
        "cause": Cause.NO_ROOM,
        "into": Met("pillar", 1.5, speed_m_s) if speed_m_s else None,
        "room": NoRoom("yard", short_m) if short_m else None,
    }


HARDER = [
    (hits(2.6), hits(0.99)),
    (hits(short_m=3.6), hits(short_m=0.2)),
    (hits(short_m=2.0), hits(6.0)),  # a fall of 2 m makes sqrt(2 * 9.81 * 2) = 6.3 m/s
    (hits(6.5), hits(short_m=2.0)),
    (hits(3.0, short_m=0.1), hits(2.0, short_m=0.1)),
    ({"cause": Cause.WEAK}, hits(9.0)),  # nothing holds at all
    ({"cause": Cause.SHARED}, hits(short_m=9.0)),
]


@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize(("harder", "softer"), HARDER)
def test_of_what_does_not_hold_the_hardest_blow_is_the_worst_step(harder, softer, turn) -> None:
    far = (AboveLimit(Figure.DROP, 4.3, 2.0, "limits/drop"),)
    rows = [
        replace(ANY, step=1, holds=False, **harder),
        # a limit passed further, a longer drop, a harder catch: none of them counts before it
        replace(ANY, step=2, holds=False, **softer, beyond=far, drop_careful_m=4.3,
                peak_careful_n=9e3),
    ]  # fmt: skip
    (worst,) = worst_places(rows[::turn])
    assert worst.step == 1


def test_the_terminal_stays_within_its_columns_and_speaks_conditionally() -> None:
    stream = io.StringIO()
    print_faults(found(), stream, 80, details=True)
    lines = stream.getvalue().splitlines()
    assert max(map(len, lines)) <= 80
    told = " ".join(" ".join(lines).split())
    assert "having happened" in told
    assert "below 3/4" in told or "all 4 trials" in told
    assert all(text in told for text in document()["mind"])
    assert all(" ".join(caution.split()) in told for caution in document()["cautions"])


def test_no_trials_and_no_such_option_are_refused() -> None:
    with pytest.raises(UsageError, match="replicates"):
        study.faults(scenario(), replicates=0)
    with pytest.raises(UsageError, match="padded"):
        study.faults(scenario(), option="nobody's")


def fate(margin=0.9, fault=0.0, core=inf, seen=inf, by="", fell=False) -> Trial:
    return Trial(margin, fault, core, inf, seen, by, fell, "line at edge")


def rows(*fates: Trial) -> FaultRow:
    plan = [one for one in wanted(scenario(), "padded") if not one.step][:2]
    return Rows(plan, [[fate()] * len(fates), list(fates)], {}).faults()[0]


def test_times_count_from_the_fault_and_from_who_sees_it() -> None:
    row = rows(fate(0.1, 10.0, 70.0, 40.0, "ann"))
    assert row.fault_to_core_visible_s == Soonest(60.0)
    assert row.time_to_act_s == Soonest(30.0)
    assert row.margin_lost == pytest.approx(0.8)  # 0.9 - 0.1
    assert row.seen_by == "ann"


def test_seen_too_late_leaves_no_time_and_never_is_null() -> None:
    assert rows(fate(0.1, 10.0, 70.0, 90.0, "ann")).time_to_act_s == Soonest(0.0)
    never = rows(fate(0.5, 10.0))
    assert never.fault_to_core_visible_s == Soonest(None)
    assert never.seen_by is None


def test_a_fault_that_did_not_come_counts_as_no_trial() -> None:
    row = rows(fate(0.9, inf))
    assert (row.trials, row.did_not_come, row.margin_lost) == (0, 1, None)


def test_a_time_among_those_that_never_showed_it_is_none() -> None:
    def soonest(shown: int) -> float | None:
        found = rows(*[fate(core=5.0)] * shown, *[fate()] * (100 - shown))
        return found.fault_to_core_visible_s.p5

    assert soonest(1) is None
    assert soonest(10) == 5.0


def test_an_outcome_of_one_in_a_hundred_thousand_is_met_by_its_interval() -> None:
    """Two faults, rates such that each comes in 1 job of 316: both at once in 1e-5 of jobs."""
    p = 1e-5**0.5
    strata = [
        Stratum(weight_of([p], [p]), 0, 5000),
        Stratum(weight_of([p], [p]), 0, 5000),
        Stratum(weight_of([p, p], []), 5000, 5000),
    ]
    found = combined(strata)
    assert sum(s.trials for s in strata) <= 20_000
    assert found.low <= 1e-5 <= found.high
    assert found.estimate == pytest.approx(1e-5, rel=1e-12)  # products of three numbers


def test_the_interval_covers_as_often_as_it_says() -> None:
    """A known probability, estimated 400 times; at 95 % the interval may miss 20 times, and the
    binomial spread of that count reaches 34 in one of a thousand."""
    import numpy as np

    weights, chances, trials = (0.02, 0.001), (0.3, 0.9), 40
    truth = sum(w * c for w, c in zip(weights, chances, strict=True))
    rng = np.random.default_rng(1)
    missed = 0
    for _ in range(400):
        strata = [
            Stratum(w, int(rng.binomial(trials, c)), trials)
            for w, c in zip(weights, chances, strict=True)
        ]
        found = combined(strata)
        missed += not found.low <= truth <= found.high
    assert missed <= 34


def test_a_rate_with_its_source_gives_the_probability_of_a_job() -> None:
    rated = (
        "faults:\n  post goes: {anchor fails: post, rate: 1e-5 per h, source: a test of rates}\n"
    )
    found = study.faults(scenario(rated), replicates=8, workers=1).as_json()
    by = {row["what"]: row for row in found["rates"]}
    hours = found["timeline"]["people"][0]["spans"][-1]["to_s"] / 3600.0
    lost = by["nothing holds"]
    assert lost["through"]["post goes"]["source"] == "a test of rates"
    # the timeline's run is cut by its fault; the job takes some ten minutes
    assert lost["through"]["post goes"]["p"] == pytest.approx(1e-5 * 0.2, rel=0.5)
    assert hours < 1.0
    assert lost["low"] == 0.0 <= lost["p"] <= lost["high"] <= lost["through"]["post goes"]["p"]


def test_happening_within_a_time_is_exponential() -> None:
    assert happens(0.2 / 3600.0, 7200.0) == pytest.approx(1.0 - exp(-0.4))


def test_without_faults_of_its_own_a_procedure_is_held_to_every_fixed_point() -> None:
    text = ONE.replace("FAULTS\n", "").replace(
        "    protect: {lip: pad}\n    safety",
        "    re-anchor: [bolt]\n    deviations: [{anchor: hook, sling: 0.3 m}]\n"
        "    protect: {lip: pad}\n    safety",
    )
    text = text.replace(
        "edges:\n",
        "  bolt: {out: 0.5 m, up: -3 m, kind: pair}\n  hook: {out: 1.5 m, up: -1 m}\nedges:\n",
        1,
    )
    usual = {one.faults[0].name: one.faults[0].fault
             for one in wanted(load_text(text, "one.yaml"), "padded")
             if len(one.faults) == 1 and not one.step}  # fmt: skip
    kinds = {name: fault.fault for name, fault in usual.items()}
    assert kinds["post fails"] == kinds["bolt fails"] == "anchor fails"
    assert kinds["hook fails"] == "deviation fails"
    assert "lip: protection displaced" in kinds


def test_what_no_status_tells_stands_under_the_status() -> None:
    bare = ONE.replace("    protect: {lip: pad}\n    safety", "    safety").replace(
        "setting: industrial", "setting: alpine"
    )
    text = bare.replace("FAULTS\n", "").replace(", protect: {lip: pad}}", "}")
    found = taken_apart(text)
    assert found["mind"][0].startswith("bare edge: the loaded working line runs over lip")
    assert any("catches over bare lip" in one for one in found["mind"])
    assert any("runs over a bare edge" in caution for caution in found["cautions"])
    assert "not acceptable: protect the edge" not in found["status"]
