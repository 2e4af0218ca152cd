"""Lines that are lost: what is said of them, beside the line that somebody hangs on."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest

from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.verdict import Held
from edgewear.job.faults import Injected
from edgewear.job.log import Entry, Kind
from edgewear.procedure.fates import Run, fates_of
from edgewear.procedure.judged.verdict import points
from edgewear.procedure.rescue_ways.moment import moment_at
from edgewear.report.procedure.fate_words import fate as said_of
from edgewear.report.procedure.fate_words import row as cells_of
from edgewear.rigging import rig
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed
from support.planted.sound import text_of

OPTION, WHO = "as written", "technician"
WORKING, SAFETY = f"{WHO} working line", f"{WHO} safety line"
GONE = (Injected("post goes", typed.AnchorFails(anchor="mid west")),)
"""The fixed point of the safety line."""

WHAT = tuple(product(("whole", "core"), ("whole", "core", "parted", "gone"), ("hangs", "done")))
"""What is wrong with the working line and with the safety line, and how the plan ends."""


@cache
def scenario():
    return load_text(text_of("pick-off", {}), "made.yaml")


@cache
def fate_of(working: str, safety: str, end: str) -> Fate:
    log = [
        Entry(0, WHO, Kind.BEGINS, 1), Entry(1000, WHO, Kind.ENDS, 1, value=1.5),
        Entry(1000, WHO, Kind.BEGINS, 2), Entry(3000, GONE[0].name, Kind.FAULT),
        Entry(4000, WORKING, Kind.CORE_VISIBLE), Entry(4000, SAFETY, Kind.CORE_VISIBLE),
        Entry(4001, SAFETY, Kind.PARTED), Entry(5000, WHO, Kind.ENDS, 2, value=9.0),
        Entry(6000, WHO, Kind.STOPS, 3, value=9.0),
    ]  # fmt: skip
    never = {
        Kind.FAULT: safety != "gone", Kind.PARTED: safety != "parted", Kind.STOPS: end != "hangs",
    }  # fmt: skip
    told = [
        e for e in log
        if not never.get(e.kind, False)
        if e.kind is not Kind.CORE_VISIBLE
        or (working if e.who == WORKING else safety) in ("core", "parted")
    ]  # fmt: skip
    sections = rig(scenario(), OPTION).sections
    faults = GONE if safety == "gone" else ()
    found = fates_of(Run(scenario(), OPTION, sections, tuple(told), faults))
    return next(one for one in found.people if one.person == WHO)


@pytest.mark.parametrize(("working", "safety", "end"), WHAT)
def test_every_lost_line_is_named_once_with_what_is_wrong_with_it(working, safety, end) -> None:
    found = fate_of(working, safety, end)
    lost = [WORKING] * (working != "whole") + [SAFETY] * (safety != "whole")
    assert list(found.lost) == lost
    assert list(found.showing) == [WORKING] * (working == "core") + [SAFETY] * (safety == "core")
    said = said_of(found)
    for line in (WORKING, SAFETY):
        told = said.partition("no rescue shown")[0]
        hung = end == "hangs" and line == WORKING
        assert told.count(line) == int(line in lost or hung)
    assert (found.end is End.HANGS) == (end == "hangs")


@pytest.mark.parametrize("kind", [Kind.CORE_VISIBLE, Kind.PARTED])
@pytest.mark.parametrize("line", [WORKING, SAFETY])
@pytest.mark.parametrize("by", [WHO, "rescuer"])
def test_fresh_rope_takes_the_place_of_the_working_line_of_whoever_swaps_it(kind, line, by) -> None:
    log = [Entry(10, line, kind), Entry(20, by, Kind.ROPE_SWAPPED, 2)]
    now = moment_at(log, 30, scenario(), rig(scenario(), OPTION).sections, ())
    fresh = (line, by) == (WORKING, WHO)
    assert now.spent == (set() if fresh else {line})
    assert now.parted <= now.spent
    assert (line in now.parted) == (kind is Kind.PARTED and not fresh)


@pytest.mark.parametrize(("working", "safety", "end"), WHAT)
def test_nothing_that_holds_somebody_is_said_not_to_hold(working, safety, end) -> None:
    """A core that shows takes a line out of use; whether it would hold nobody says."""
    found = fate_of(working, safety, end)
    alone = Fates(("made",), "", 0, True, None, (found,))
    table = " ".join(cell.text for cell in cells_of(alone, found))
    for said in (said_of(found), table):
        fails = [text for text in (WORKING, SAFETY) if f"{text} would not hold" in said]
        assert fails == [SAFETY] * (safety in ("parted", "gone"))
        assert (f"{found.holds} would not hold" in said) is False
        assert ("core shows" in said) == ("core" in (working, safety))
        assert ("does not hold any more" in said) is False or safety in ("parted", "gone")


@pytest.mark.parametrize(("working", "safety", "end"), WHAT)
def test_who_goes_on_with_a_lost_line_stands_in_the_first_list(working, safety, end) -> None:
    """Every such line by its name; whoever hangs is told by what becomes of them."""
    found = fate_of(working, safety, end)
    held = points([], [Fates(("made",), "", 0, True, None, (found,))], [])
    told = [point.words for point in held if point.held is Held.LOST]
    lines = {WORKING: working, SAFETY: safety}
    shows = [line for line, what in lines.items() if what == "core"]
    said = [f"{SAFETY} would not hold"] * (safety in ("parted", "gone"))
    said += [f"the core of {' and '.join(shows)} shows"] * bool(shows)
    assert told == ["; ".join(said)] * (bool(said) and end == "done")
