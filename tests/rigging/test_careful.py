"""Careful ends of a catch against draws, and room for it against the geometry of the survey."""

from __future__ import annotations

import json
from functools import cache
from math import inf
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.engine.draws import quantile
from edgewear.findings.failure import Cause, Doubt, least_room
from edgewear.findings.limits import Figure
from edgewear.findings.plain import plain
from edgewear.geometry.catch import catch
from edgewear.percentiles import kept_to
from edgewear.procedure.failures import failures
from edgewear.report.parts.decided import _doubt
from edgewear.rigging.findings import careful as ends
from edgewear.rigging.findings.careful import careful_ends, no_room, overloads
from edgewear.rigging.lengths import BODY_M, STANDS_M
from edgewear.scenario import load_text
from support import site
from support.planted.sound import text_of

DRAWS = 4_000
STEP = 3
"""Work of the technician, who hangs on the same place as at the end of the descent."""


@cache
def backup_of(word: str):
    change = {"lines/technician/safety line/backup": word}
    scenario = load_text(text_of("pick-off", change), "made.yaml")
    return scenario.options["as written"].lines["technician"].safety.backup


def drawn(dice, middle, low, high, distribution):
    return quantile(distribution, middle, low, high, dice.uniform(size=DRAWS))


@pytest.mark.parametrize("word", ["slipping backup", "toothed backup"])
@pytest.mark.parametrize(("mass_kg", "length_m"), [(70, 8.0), (95, 12.0), (120, 25.0)])
def test_nineteen_of_twenty_drawn_catches_keep_to_the_careful_ends(word, mass_kg, length_m):
    backup, stiffness_n, slack = backup_of(word), 60e3, (0.2, 0.05, 0.5)

    def caught_by(fall_m, slips_n):
        return catch(mass_kg, stiffness_n, length_m, fall_m, slips_n)

    drop_m, peak_n = careful_ends(caught_by, (slack[0], slack[2]), backup)
    dice = np.random.default_rng(int(mass_kg))
    fall_m = drawn(dice, *slack, "lognormal") + drawn(
        dice, backup.arrest.value, backup.arrest.low, backup.arrest.high,
        backup.arrest.distribution,
    )  # fmt: skip
    slips_n = drawn(
        dice, backup.slips.value, backup.slips.low, backup.slips.high, backup.slips.distribution
    )
    every = [caught_by(f, s) for f, s in zip(fall_m, slips_n, strict=True)]
    # exact for one input alone and for straight dependence on normal ones; widths that differ by
    # side and the root in the impact force leave up to a fifth, measured over the cases above
    assert drop_m == pytest.approx(kept_to([one.drop_m for one in every], 0.95), rel=0.2)
    assert peak_n == pytest.approx(kept_to([one.peak_n for one in every], 0.95), rel=0.2)


def test_one_uncertain_input_is_taken_at_its_careful_end_itself() -> None:
    def caught_by(fall_m, slips_n):
        return catch(90.0, 60e3, 10.0, fall_m, slips_n)

    drop_m, peak_n = careful_ends(caught_by, (0.2, 0.5), None)
    assert drop_m == pytest.approx(caught_by(0.5, np.inf).drop_m, rel=1e-12)  # rounding
    assert peak_n == pytest.approx(caught_by(0.5, np.inf).peak_n, rel=1e-12)


def row(change):
    """The technician's working line lost at work."""
    scenario = load_text(text_of("pick-off", change), "made.yaml")
    depth_m = 8.0
    found = failures(scenario, "as written", {"technician": {STEP: [depth_m]}})
    return next(one for one in found if one.component == "west"), depth_m


@pytest.mark.parametrize("below_m", [5.0, 7.9, 8.1, 8.8, 9.2, 9.7, 11.0, 12.5, 14.0, 30.0])
def test_a_catch_holds_only_where_the_feet_stay_above_what_lies_below(below_m) -> None:
    found, depth_m = row({"below/canopy": f"{-below_m} m"})
    clear, _ = row({})
    feet_m = depth_m + BODY_M
    beside = below_m <= depth_m  # above the harness: it is passed already
    stands = abs(below_m - feet_m) <= STANDS_M
    hit = not beside and not stands and feet_m + clear.drop_careful_m > below_m
    assert (found.cause is Cause.NO_ROOM) == hit
    assert found.holds is (False if hit else clear.holds)
    assert ("canopy" in found.clearance_m) == (not beside and not stands)


def test_teeth_that_may_tear_a_sheath_are_told_and_others_are_not() -> None:
    for word, tears in (("toothed backup", True), ("slipping backup", False)):
        found, _ = row({"lines/technician/safety line/backup": word,
                        "lines/technician/safety line/slack": "1.5 m"})  # fmt: skip
        least_n = 4_000.0  # the library's: teeth tear from 4 kN on, from memory
        assert found.is_above(Figure.TEAR) == (tears and found.peak_careful_n >= least_n)
        assert found.peak_careful_n >= least_n  # else the first case would show nothing


def room(drop_m, careful_m, **below_m):
    """What somebody at 10 m comes to when things lie so far below their feet."""
    feet_m = 10.0 + BODY_M
    heights = {name: site.exact(-feet_m - gap) for name, gap in below_m.items()}
    return no_room(SimpleNamespace(below=heights), 10.0, drop_m, careful_m)


def test_the_way_that_is_missing_is_the_most_of_all_things_below_at_the_careful_end():
    found = room(1.0, 2.0, water=0.4, deck=0.7, bed=5.0)
    assert (found.name, found.careful) == ("water", False)
    assert (found.short_m, found.middle_m) == pytest.approx((1.6, 0.6), abs=1e-9)
    late = room(1.0, 2.0, water=1.4, deck=1.7)
    assert (late.name, late.careful, late.middle_m) == ("water", True, None)
    assert late.short_m == pytest.approx(0.6, abs=1e-9)
    assert room(1.0, 2.0, bed=5.0) is None


@given(st.floats(0.2, 6.0), st.floats(0.0, 4.0), st.floats(0.01, 0.5))
def test_who_makes_the_room_that_is_said_to_be_missing_has_it(drop_m, more_m, step_m):
    """What is below comes down step by step: what is missing shrinks by the steps, to nothing."""
    careful_m = drop_m + more_m
    for k in range(60):
        gap_m = 0.31 + k * step_m  # below the feet, who do not stand on it: 0.3 m
        found = room(drop_m, careful_m, ground=gap_m)
        missing_m = careful_m - gap_m
        if missing_m <= 1e-6:  # rounding of sums of heights
            assert found is None or found.short_m < 1e-6
            return
        assert found.short_m == pytest.approx(missing_m, abs=1e-6)
        assert found.careful == (gap_m >= drop_m) or abs(gap_m - drop_m) < 1e-6
        told_m = float(found.short.removeprefix("less than ").split()[0])
        assert room(drop_m, careful_m, ground=gap_m + told_m + 1e-6) is None


@pytest.mark.parametrize(
    ("drop_m", "careful_m", "told"),
    [
        (1.0, 3.0, "would reach ground before the line stops the fall (2.5 m too little room, "
                   "0.5 m in the middle)"),
        (1.0, 1.0, "would reach ground before the line stops the fall (0.5 m too little room)"),
        (0.4, 3.0, "may reach ground at the careful end of the drop (2.5 m too little room)"),
        (1.0, inf, "would reach ground before the line stops the fall (nothing may stop the fall, "
                   "0.5 m too little room in the middle)"),
        (0.4, inf, "may reach ground at the careful end of the drop (nothing stops the fall)"),
        (inf, inf, "would reach ground (nothing stops the fall)"),
    ],
)  # fmt: skip
def test_the_careful_end_is_told_first_and_the_middle_beside_it(drop_m, careful_m, told):
    found = room(drop_m, careful_m, ground=0.5)
    assert found.words == told
    # a dataset keeps it, with null for what has no end, and the page makes the same of it
    row = plain(Doubt("ann", ("post",), (1,), False, found.words, Cause.NO_ROOM, found))
    assert _doubt(json.loads(json.dumps(row))).words == f"if post failed, ann {told}"


def test_a_dataset_of_before_says_what_it_said():
    """It held one length, of the middle where that is not clear."""
    row = {"person": "ann", "components": ["post"], "steps": [1], "holds": False, "why": "",
           "cause": Cause.NO_ROOM.value}  # fmt: skip
    for short_m, careful, told in ((1.2, False, "1.2 m too little room"),
                                   (1.9, True, "1.9 m too little room"),
                                   (None, False, "nothing stops the fall")):  # fmt: skip
        old = _doubt({**row, "room": {"name": "g", "short_m": short_m, "careful": careful}})
        assert old.room.short == told


@given(st.lists(st.tuples(st.floats(0.5, 3.0), st.floats(0.0, 3.0)), min_size=1, max_size=5))
def test_of_failures_that_end_on_one_thing_the_most_that_is_missing_is_told(drops):
    """By hand: the longest careful drop and the longest middle one, wherever each comes from."""
    gap_m = 0.4
    found = least_room([room(d, d + more, ground=gap_m) for d, more in drops])
    assert found.short_m == pytest.approx(max(d + more for d, more in drops) - gap_m, abs=1e-6)
    assert found.middle_m == pytest.approx(max(d for d, _ in drops) - gap_m, abs=1e-6)


def test_who_does_not_fall_comes_to_nothing_and_who_falls_little_does():
    # between harness and feet, further from the feet than what they stand on
    assert room(0.0, 0.0, ledge=-0.4) is None
    assert room(0.4, 0.5, ledge=0.45).name == "ledge"


@pytest.mark.parametrize(("strength_n", "holds"), [(3e3 + 80 * 9.81 - 1, False), (4e3, True)])
def test_whoever_else_may_hang_on_a_fixed_point_counts_with_their_weight(strength_n, holds):
    people = {"lead": site.person(mass=100.0), "mate": site.person(mass=80.0)}
    own = site.option(site.line("left"), site.line("right", role="safety line"), people=people)
    mate = site.option(site.line("right"), who="mate").lines["mate"]
    own.lines["mate"] = mate
    anchors = {"left": site.anchor(0.0, 0.0), "right": site.anchor(0.0, 0.0, strength=strength_n)}
    scenario = site.scenario({"only": own}, anchors=anchors, people=people)
    section = SimpleNamespace(person="lead", anchor="right")
    told = overloads(scenario, own, section, 3e3)
    assert (told is None) == holds
    assert told is None or told.startswith("3.8 kN with mate on it")
    alone = SimpleNamespace(person="lead", anchor="left")
    assert overloads(scenario, own, alone, 14.9e3) is None  # nobody's own weight twice


@pytest.mark.parametrize(("gap_m", "told"), [(0.0, False), (-1e-9, True), (0.5, False)])
def test_whoever_just_comes_to_what_lies_below_has_room(gap_m, told, monkeypatch):
    monkeypatch.setattr(ends, "rooms_m", lambda *given: {"water": gap_m, "ground": 9.0})
    found = no_room(SimpleNamespace(), 5.0, 1.0, 1.5)
    assert (found is not None) == told
    assert found is None or (found.name, found.short_m) == ("water", -gap_m)


def test_a_line_of_nobody_puts_no_weight_on_a_fixed_point():
    """A machine's line begins there too."""
    lines = {
        who: SimpleNamespace(working=SimpleNamespace(anchor="post")) for who in ("lead", "machine")
    }
    option = SimpleNamespace(lines=lines, people={"lead": site.person()})
    scenario = SimpleNamespace(anchors={"post": site.anchor(strength=5e3)})
    section = SimpleNamespace(person="lead", anchor="post")
    assert overloads(scenario, option, section, 5e3) is None
    assert overloads(scenario, option, section, 5.1e3) == "5.1 kN is more than post holds"
