"""Everybody's fate and rescue: nothing is shown that nobody there could do."""

from __future__ import annotations

from itertools import combinations, pairwise
from math import hypot

import numpy as np
import pytest

from edgewear.findings.fates import End
from edgewear.findings.rescue import STAGES
from edgewear.job.faults import Injected
from edgewear.layout import TICK_S
from edgewear.procedure.fates import fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.procedure.rescue_ways.legs import CAREFUL, Leg, reached
from edgewear.scenario.text.quantities import Measured
from support.procedures import procedure
from twins.log_walk import gone_by, hangs_since
from twins.sums_of_times import cumulative_of

SEEDS = pytest.mark.parametrize(
    "seeds", [range(24), pytest.param(range(24, 2024), marks=pytest.mark.long)], ids=str
)
"""Procedures made at random; some of them cannot be used and are passed over."""


def runs_of(scenario, option, faults):
    return FaultRuns(
        scenario.source, scenario.path, scenario.library_source, option, 0, tuple(faults),
        (1,) * len(faults),
    )  # fmt: skip


def combined(scenario, seed):
    """Some faults alone and one pair, another choice for each procedure."""
    alone = [(Injected(name, fault),) for name, fault in scenario.faults.items()]
    pairs = [a + b for a, b in combinations(alone, 2)]
    return [alone[seed % len(alone)], alone[(seed + 2) % len(alone)], pairs[seed % len(pairs)]]


def played(seeds):
    """Each run of each procedure: the scenario, the run, everybody's fate in it."""
    for seed in seeds:
        scenario = procedure(seed)
        if scenario is None:
            continue
        for faults in combined(scenario, seed):
            runs = runs_of(scenario, "as made", [faults])
            run = runs.run_of(runs.nominal(faults), faults)
            yield scenario, run, fates_of(run)


@SEEDS
def test_whatever_is_shown_could_be_done_by_somebody_there(seeds) -> None:
    shown = hanging = 0
    for scenario, run, found in played(seeds):
        log = run.log
        since_tick = max((e.tick for e in log if e.what == "fault"), default=0)
        nobody_dead_acts(log)
        for fate in found.people:
            still = hangs_since(log, fate.person)
            assert (fate.end is End.HANGS) == (still is not None)
            if still is None:
                assert fate.rescue is None
                continue
            hanging += 1
            assert fate.hangs_from_s == max(still - since_tick, 0) * TICK_S  # exact
            if fate.rescue is None:
                assert fate.missing
                continue
            shown += 1
            called_tick = since_tick + round(fate.rescue.times["called"].middle_s / TICK_S)
            could_come(scenario, log, fate, max(called_tick, still))
            times = [fate.rescue.times[stage] for stage in STAGES]
            assert all(a.middle_s <= b.middle_s for a, b in pairwise(times))
            assert all(one.p95_low_s <= one.p95_s <= one.p95_high_s for one in times)
            assert fate.hangs_to_s == times[-1].middle_s
    assert hanging > len(seeds) / 4, "too few of those made at random leave anybody hanging"
    assert shown > 0


def nobody_dead_acts(log) -> None:
    for k, entry in enumerate(log):
        fell, _, _ = gone_by(log[:k], entry.tick)
        acts = entry.what not in ("stops", "waits in vain", "falls", "fault")
        assert not (acts and entry.who in fell and entry.what != "ends"), entry


def could_come(scenario, log, fate, tick) -> None:
    """Hold a rescue against the log and what was typed, each rule on its own."""
    row = fate.rescue
    fell, lost, carried = gone_by(log, tick)
    fainted = {
        fault.person for name, fault in scenario.faults.items()
        if fault.fault == "casualty unresponsive"
        and any(e.what == "fault" and e.who == name and e.tick <= tick for e in log)
    }  # fmt: skip
    helpers = set(row.hands) or {row.rescuer}
    assert None not in helpers
    assert fate.person not in helpers
    assert not helpers & (fell | fainted | lost)
    assert not helpers & {who for pair in carried for who in pair}
    failed = {
        fault.anchor for name, fault in scenario.faults.items() if fault.fault == "anchor fails"
        and any(e.what == "fault" and e.who == name and e.tick <= tick for e in log)
    }  # fmt: skip
    lines = scenario.options["as made"].lines
    if row.method == "pick-off":
        assert row.rescuer not in happened_to(scenario, log, tick, "device jammed")
        assert row.rescuer not in happened_to(scenario, log, tick, "device dropped")
        has_a_piece(scenario, log, {row.rescuer}, ("rescue sling", "rescue kit"), tick)
        assert row.rescuer in lines
        mine = (lines[row.rescuer].working, lines[row.rescuer].safety)
        assert not {line.anchor for line in mine} & failed
        long_enough(scenario, mine)
    else:
        held = lines[fate.person]
        assert not any(e.what == "hangs on" and e.who in helpers and e.tick <= tick for e in log)
        assert not {held.working.anchor} & failed or fate.person in lost
        if row.method == "lower":
            long_enough(scenario, (held.safety if fate.person in lost else held.working,))
        else:
            has_a_piece(scenario, log, helpers, ("haul kit", "rescue kit"), tick)
            assert row.pull_n <= row.pull_limit_n
    assert scenario.below or row.method == "haul"


def has_a_piece(scenario, log, helpers, words, tick) -> None:
    """Somebody of those who help has a piece, or can take one: by what was typed, piece by piece.

    Whoever plans to take somebody over has taken the one piece along that lay on top.
    """

    def hung(who) -> bool:
        return any(e.what == "hangs on" and e.who == who and e.tick <= tick for e in log)

    planners = [
        who for who, steps in scenario.job.items() if any(s.step == "take over" for s in steps)
    ]
    on_top = not any(hung(who) for who in helpers)
    for lying in (one for word in words for one in scenario.kit_places.get(word, ())):
        holder = lying.carried_by
        if holder is None and lying.at == "top" and words[0] == "rescue sling":
            holder = next(iter(planners), None)
        if holder is not None:
            if holder in helpers or (on_top and not hung(holder)):
                return
        elif on_top and (lying.at in ("top", *scenario.anchors) or lying.fetch is not None):
            return
    raise AssertionError(f"nobody of {helpers} has a piece of {words}")


def happened_to(scenario, log, tick, kind) -> set[str]:
    """Whom a kind of fault has happened to by a tick."""
    came = {e.who for e in log if e.what == "fault" and e.tick <= tick}
    return {f.person for n, f in scenario.faults.items() if f.fault == kind and n in came}


def long_enough(scenario, lines) -> None:
    """No rope is used that is not there: the straight way is the least it takes."""
    ground_m = -min(up.value for up in scenario.below.values())
    for line in lines:
        anchor = scenario.anchors[line.anchor]
        least_m = hypot(anchor.out.value, anchor.up.value + ground_m)
        assert scenario.ropes[line.rope].length.value >= least_m


def lognormal(middle, low, high):
    return Measured(value=middle, low=low, high=high, unit="s", typed="", distribution="lognormal")


def speed(middle, low, high):
    return Measured(value=middle, low=low, high=high, unit="m/s", typed="", distribution="normal")


def made_legs(seed):
    """Legs as rescues have them, of other widths each."""
    dice = np.random.default_rng(seed)
    legs = [Leg("noticed", f"looks {seed}", lognormal(60.0, 20.0, 180.0), up_to=True)]
    for k in range(int(dice.integers(1, 5))):
        middle = float(dice.uniform(20.0, 300.0))
        wide = float(dice.uniform(1.3, 4.0))
        quantity = lognormal(middle, middle / wide, middle * wide**1.2)
        legs.append(Leg("release", f"leg {seed} {k}", quantity))
    legs.append(Leg("ground", f"way {seed}", speed(0.3, 0.2, 0.5), float(dice.uniform(3.0, 30.0))))
    return tuple(legs)


def test_nineteen_of_twenty_lies_in_its_own_interval() -> None:
    """Against the distribution itself; at 95 % the interval may miss once of 24, and the
    binomial spread of that count reaches 5 in one of two hundred."""
    missed = 0
    for seed in range(24):
        legs = made_legs(seed)
        down = dict(reached(legs, ()))["ground"]
        grid_s, share = cumulative_of(legs)
        true_s = float(np.interp(CAREFUL, share, grid_s))
        missed += not down.p95_low_s <= true_s <= down.p95_high_s
        # the interval is narrow enough to be of use: a twentieth of the time to either side
        assert down.p95_high_s - down.p95_low_s < 0.1 * down.p95_s
    assert missed <= 5


def test_a_limit_is_held_against_the_whole_from_the_fault() -> None:
    legs = (
        Leg("noticed", "long unseen", Measured.exact(600.0, "s")),
        Leg("called", "call", Measured.exact(15.0, "s")),
        Leg("reach", "way", Measured.exact(0.5, "m/s"), 10.0),
    )
    found = dict(reached(legs, (("reach", 630.0),)))
    assert [found[stage].middle_s for stage in STAGES] == [600.0, 615.0, 635.0, 635.0, 635.0]
    assert found["reach"].keeps is False  # 20 s alone would keep to it
    assert found["ground"].keeps is None
