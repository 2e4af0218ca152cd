"""Careful ends of a catch against draws, and room for it against the geometry of the survey."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from edgewear.engine.draws import quantile
from edgewear.findings.failure import Cause
from edgewear.findings.limits import Figure
from edgewear.geometry.catch import catch
from edgewear.percentiles import kept_to
from edgewear.procedure.failures import failures
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


def test_the_way_that_is_missing_is_the_most_of_all_things_below_and_told_of_the_middle_first():
    found = room(1.0, 2.0, water=0.4, deck=0.7, bed=5.0)
    assert (found.name, found.careful) == ("water", False)
    assert found.short_m == pytest.approx(0.6, abs=1e-9)
    late = room(1.0, 2.0, water=1.4, deck=1.7)
    assert (late.name, late.careful) == ("water", True)
    assert late.short_m == pytest.approx(0.6, abs=1e-9)
    assert room(1.0, 2.0, bed=5.0) is None


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
