"""Of two faults, times count from the one that left somebody hanging, and no minute is lost."""

from __future__ import annotations

from functools import cache

import pytest

from edgewear.findings.fates import Fate
from edgewear.job.faults import Injected
from edgewear.layout import TICK_S
from edgewear.procedure.fates import fates_of
from edgewear.procedure.fault_runs import FaultRuns
from edgewear.report.procedure import fate_words
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: One hangs, and later something else goes wrong
setting: alpine
target: 30 %
anchors:
  a: {out: -2 m, along: 0 m, up: 1 m, kind: pair}
  b: {out: -2 m, along: 1 m, up: 1 m, kind: pair}
  c: {out: -2 m, along: 3 m, up: 1 m, kind: pair}
  d: {out: -2 m, along: 4 m, up: 1 m, kind: pair}
edges: {lip: {out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}
ropes: {r: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {ann: {mass: 95 kg}, bo: {mass: 80 kg}, cy: {mass: 80 kg}}
kit: {pad: 4, rescue sling: [{carried by: bo}, {carried by: cy}]}
lines:
  ann: {anchor: a, rope: r, attendant: edge attendant, safety line: {anchor: b, rope: r}}
  bo: {anchor: c, rope: r, safety line: {anchor: d, rope: r}}
  cy: {anchor: d, rope: r, safety line: {anchor: c, rope: r}}
options: {one: {}}
job:
  ann: [descend: 6 m, work: 60 min, ascend: 6 m]
  bo: [rest: 90 min]
  cy: [rest: 90 min]
faults:
  first: {FIRST, at: 8 min}
  second: {SECOND, at: LATER min}
limits: {suspension: 15 min}
below: {ground: -25 m}
"""

FIRST = ("device jammed: ann", "device dropped: ann", "casualty unresponsive: ann")
DOES_NOTHING = ("weather: wet", "jerky person: bo", "heavier person: cy")


@cache
def of_ann(first: str, second: str, later: int, both: bool = True) -> Fate:
    text = SITE.replace("FIRST", first).replace("SECOND", second).replace("LATER", str(later))
    meant = load_text(text, "made.yaml")
    chosen = tuple(Injected(name, fault) for name, fault in meant.faults.items())[: 1 + both]
    runs = FaultRuns(text, "made.yaml", None, "one", 0, (chosen,), (1,))
    found = fates_of(runs.run_of(runs.nominal(chosen), chosen))
    return next(one for one in found.people if one.person == "ann")


@pytest.mark.parametrize("later", [9, 12, 20, 45])
@pytest.mark.parametrize("first", FIRST)
def test_a_later_fault_that_does_nothing_changes_no_time(first: str, later: int) -> None:
    alone = of_ann(first, DOES_NOTHING[0], later, both=False)
    assert alone.rescue is not None
    for second in DOES_NOTHING:
        pair = of_ann(first, second, later)
        assert pair.rescue is not None
        assert pair.rescue.times == alone.rescue.times
        assert (pair.hangs_from_s, pair.hangs_at_s) == (alone.hangs_from_s, alone.hangs_at_s)


@pytest.mark.parametrize("first", FIRST)
def test_the_radio_that_fails_when_they_are_down_takes_no_rescue(first: str) -> None:
    alone = of_ann(first, "fault: communication lost", 55, both=False)
    assert alone.rescue is not None
    assert alone.rescue.times["ground"].p95_s < (55 - 8) * 60.0
    assert of_ann(first, "fault: communication lost", 55).rescue == alone.rescue


@pytest.mark.parametrize("later", [9, 11, 12])
@pytest.mark.parametrize("first", FIRST)
def test_who_is_rescued_by_another_hung_until_then_too(first: str, later: int) -> None:
    """The rescuer cannot act any more before anybody is down: another one comes, from then on."""
    alone = of_ann(first, "weather: wet", later, both=False)
    assert alone.rescue is not None
    pair = of_ann(first, f"casualty unresponsive: {alone.rescue.rescuer}", later)
    assert pair.rescue is not None
    assert pair.rescue.rescuer not in ("", "ann", alone.rescue.rescuer)
    gap_s = (later - 8) * 60.0
    tick = 2 * TICK_S  # a time is rounded to ticks twice: the fault's, and the call's
    for stage, one in pair.rescue.times.items():
        assert one.middle_s >= gap_s - tick, stage
    assert pair.hangs_from_s == pytest.approx(0.0, abs=tick)
    assert pair.hangs_at_s == pytest.approx(8 * 60.0, abs=tick)


@pytest.mark.parametrize("later", [9, 11, 12])
def test_minutes_hung_before_the_second_fault_count_towards_the_limit(later: int) -> None:
    """The rescue that begins after it keeps the limit by itself; with what was hung before, not."""
    alone = of_ann("device jammed: ann", "weather: wet", later, both=False)
    assert alone.rescue is not None
    assert not alone.rescue.hangs_too_long
    pair = of_ann("device jammed: ann", f"casualty unresponsive: {alone.rescue.rescuer}", later)
    assert pair.rescue is not None
    down_s = alone.rescue.times["ground"].p95_s + (later - 8) * 60.0
    assert bool(pair.rescue.hangs_too_long) == (down_s > 15 * 60.0)  # the two rescuers are alike


@pytest.mark.parametrize("later", [9, 11, 12, 40])
@pytest.mark.parametrize("first", FIRST)
def test_a_rescue_that_takes_the_place_of_another_says_so(first: str, later: int) -> None:
    """The times are then of the next one, from the later fault on; of the first nothing counts."""
    alone = of_ann(first, "weather: wet", later, both=False)
    assert alone.rescue is not None
    pair = of_ann(first, f"casualty unresponsive: {alone.rescue.rescuer}", later)
    assert pair.rescue is not None
    ended = alone.rescue.times["ground"].p95_s > (later - 8) * 60.0
    assert (pair.rescue.rescuer != alone.rescue.rescuer) == ended
    assert pair.rescue.instead_of == (alone.rescue.named if ended else "")
    words = f"after the later fault ended the pick-off by {alone.rescue.rescuer}"
    assert (words in fate_words.fate(pair)) == ended
    assert words not in fate_words.fate(alone)
