"""Two revisions side by side: what both know, what one knows alone, and which way each went."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from edgewear.findings.difference import Alike
from edgewear.findings.failure import Failure
from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.faults import Baseline, FaultRow, Soonest
from edgewear.findings.rescue import PlaceRescue, Reached, Rescue
from edgewear.procedure.difference import difference

NEVER = Soonest(None)
FAULT = FaultRow(
    ("rain",),
    9,
    0,
    0,
    0.10,
    None,
    0.20,
    0.0,
    0.0,
    0.0,
    Soonest(70.0),
    "ann",
    1.0,
    1.0,
    Soonest(50.0),
    None,
)
FAILURE = Failure(
    "bolt",
    "anchor",
    "west",
    3,
    "ann",
    8.0,
    True,
    None,
    1.0,
    1.0,
    3e3,
    True,
    True,
    "",
    called="Bolt",
)


def reached(p95_s: float, limit_s: float | None = None) -> Reached:
    return Reached(1.0, p95_s, 1.0, 9e9, limit_s)


WAY = Rescue("ann", "haul", 5.0, "bob", times={"reach": reached(100.0), "ground": reached(665.0)})
LATE = replace(WAY, times={"ground": reached(665.0, 600.0)})
NONE_SHOWN = Rescue("ann", "haul", 5.0, missing=("no kit", "nobody"))
PLACE = PlaceRescue("ann", 3, "work 5 min", (WAY, NONE_SHOWN))
FATE = Fate("ann", End.PLAN, "line")
FATES = Fates(("rain",), "", 0, True, None, (FATE,))
NOTHING_WRONG = Fates((), "", 0, True, None, (FATE,))


def found(**fields):
    """What is read of a procedure taken apart."""
    first = {
        "title": "job", "revision": None, "status": (), "edge_levels": {}, "faults": (FAULT,),
        "worst_failures": (FAILURE,), "rescues": (PLACE,), "fates": (FATES,),
        "without_faults": Baseline(None, 0.25, 9), "fates_without_faults": NOTHING_WRONG,
    }  # fmt: skip
    return SimpleNamespace(**(first | fields))


def test_the_same_twice_is_alike_in_everything() -> None:
    same = difference(found(), found())
    assert same.alike == Alike(1, 1, 1)
    assert not (same.fates)
    assert not (same.single_failures)
    assert not (same.rescues)
    assert not (same.status)
    assert not (same.only_before)
    assert not (same.only_after)
    assert not (same.edge_levels)
    assert not (same.components_only_before)
    assert not (same.components_only_after)
    [fault] = same.faults
    assert (fault.names, fault.changed, fault.change) == (("rain",), (), "alike")
    assert same.p_core_visible_without_faults == (0.25, 0.25)
    assert same.titles == ("job", "job")


def test_what_one_of_them_has_alone_is_told_by_name() -> None:
    other = replace(FAILURE, component="post", called="post", person="bob")
    moved = replace(PLACE, step_words="rest")
    before = found(faults=(FAULT, replace(FAULT, names=("wind",))), title="old")
    after = found(
        faults=(replace(FAULT, names=("heat", "rain")), FAULT), worst_failures=(FAILURE, other),
        rescues=(moved, PLACE), without_faults=Baseline(None, None, 9),
    )  # fmt: skip
    told = difference(before, after)
    assert (told.only_before, told.only_after) == ((("wind",),), (("heat", "rain"),))
    assert (told.components_only_before, told.components_only_after) == ((), ("post (bob)",))
    assert told.alike == Alike(1, 1, 1)
    assert told.p_core_visible_without_faults == (0.25, None)
    assert told.titles == ("old", "job")
    back = difference(after, before)
    assert (back.components_only_before, back.components_only_after) == (("post (bob)",), ())


@pytest.mark.parametrize(
    ("before", "after", "called"),
    [
        (("job", "A"), ("job", "B"), ("revision A", "revision B")),
        (("old", "A"), ("new", "A"), ("'old'", "'new'")),
        (("old", None), ("new", "B"), ("'old'", "'new'")),
        (("old", "A"), ("new", None), ("'old'", "'new'")),
        (("job", None), ("job", None), ("the first file", "the second file")),
        (("", "A"), ("new", "A"), ("the first file", "the second file")),
        (("old", None), ("", None), ("the first file", "the second file")),
    ],
)
def test_revisions_are_called_by_what_tells_them_apart(before, after, called) -> None:
    made = [found(title=title, revision=revision) for title, revision in (before, after)]
    assert difference(*made).revisions == called


@pytest.mark.parametrize(
    ("new", "changed", "change"),
    [
        ({"margin_lost": 0.12}, ("margin_lost",), "worse"),
        ({"margin_lost": 0.08}, ("margin_lost",), "better"),
        ({"margin_lost": 0.105}, (), "alike"),  # less than a point of sheath
        ({"margin_lost": None}, (), "alike"),
        ({"p_core_visible": 0.25}, ("p_core_visible",), "worse"),
        ({"p_core_visible": 0.21}, (), "alike"),  # less than two in a hundred
        ({"time_to_act_s": Soonest(40.0)}, ("time_to_act_s",), "worse"),  # less time: worse
        ({"time_to_act_s": Soonest(60.0)}, ("time_to_act_s",), "better"),
        ({"time_to_act_s": Soonest(54.0)}, (), "alike"),  # less than 5 s
        ({"time_to_act_s": Soonest(44.0)}, ("time_to_act_s",), "worse"),
        ({"time_to_act_s": Soonest(56.0)}, ("time_to_act_s",), "better"),
        ({"margin_lost": 0.115}, ("margin_lost",), "worse"),
        ({"p_core_visible": 0.175}, ("p_core_visible",), "better"),
        ({"time_to_act_s": NEVER}, (), "alike"),
        ({"seen_by": None}, ("seen_by",), "worse"),
        ({"seen_by": "bob"}, (), "alike"),  # somebody sees it, whoever
        ({"seen_by": None, "margin_lost": 0.0}, ("margin_lost", "seen_by"), "mixed"),
    ],
)  # fmt: skip
def test_a_fault_has_changed_where_a_figure_has_by_enough(new, changed, change) -> None:
    later = replace(FAULT, **new)
    told = difference(found(), found(faults=(later,)))
    [fault] = told.faults
    assert (fault.changed, fault.change) == (changed, change)
    assert fault.margin_lost == (0.10, later.margin_lost)
    assert fault.p_core_visible == (0.20, later.p_core_visible)
    assert fault.seen_by == ("ann", later.seen_by)
    assert fault.fault_to_core_visible_s.p5 == (70.0, 70.0)
    assert fault.time_to_act_s.p5 == (50.0, later.time_to_act_s.p5)
    assert told.alike.faults == (change == "alike")
    unseen = difference(found(faults=(replace(FAULT, seen_by=None),)), found()).faults[0]
    assert (unseen.changed, unseen.change) == (("seen_by",), "better")


def test_a_component_that_has_changed_keeps_its_names_and_its_place() -> None:
    short, long = (replace(FAILURE, drop_careful_m=metres, step=4) for metres in (1.0, 2.0))
    told = difference(found(worst_failures=(short,)), found(worst_failures=(long,)))
    [row] = told.single_failures
    assert (row.component, row.person, row.step, row.called) == ("bolt", "ann", 4, "Bolt")
    assert (row.change, told.alike.single_failures) == ("worse", 0)


@pytest.mark.parametrize(
    ("old", "new", "words", "change"),
    [
        (WAY, NONE_SHOWN, ("no rescue shown any more: no kit; nobody",), "worse"),
        (WAY, replace(WAY, times={}), ("no rescue shown any more",), "worse"),
        (NONE_SHOWN, WAY, ("shown now, haul",), "better"),
        (WAY, LATE, ("ground above its limit now",), "worse"),
        (LATE, LATE, None, "alike"),
        (LATE, WAY, None, "alike"),
        (WAY, replace(WAY, times={"reach": reached(100.0), "ground": reached(725.4)}),
         ("ground 11:05 before, 12:05 now",), "worse"),
        (WAY, replace(WAY, times={"reach": reached(50.0), "ground": reached(725.4)}),
         ("reach 1:40 before, 0:50 now", "ground 11:05 before, 12:05 now"), "mixed"),
        (WAY, replace(WAY, times={"reach": reached(129.0), "ground": reached(665.0)}),
         None, "alike"),
        (WAY, replace(WAY, times={"reach": reached(130.0), "ground": reached(665.0)}),
         ("reach 1:40 before, 2:10 now",), "worse"),
    ],
)  # fmt: skip
def test_a_rescue_has_changed_by_its_quickest_way(old, new, words, change) -> None:
    """Of two that lead from one place; a time by half a minute, or its limit."""
    before, after = (found(rescues=(replace(PLACE, ways=(way, WAY)),)) for way in (old, new))
    told = difference(before, after)
    assert told.alike.rescues == (change == "alike")
    if words is None:
        assert told.rescues == ()
    else:
        [row] = told.rescues
        assert (row.person, row.step, row.step_words) == ("ann", 3, "work 5 min")
        assert (row.words, row.change) == (words, change)


HANGS = replace(FATE, end=End.HANGS)
NOBODY = "is left hanging, no rescue shown"


@pytest.mark.parametrize(
    ("fate", "words"),
    [
        (replace(FATE, end=End.FALLS), "falls: nothing holds"),
        (HANGS, NOBODY),
        (replace(HANGS, missing=("no kit", "nobody")), f"{NOBODY} (no kit; nobody)"),
        (replace(HANGS, rescue=WAY), "is left hanging, haul by bob, down by 11:05"),
        (replace(HANGS, rescue=LATE), "is left hanging, haul by bob, down by 11:05, above a limit"),
        (replace(HANGS, rescue=replace(WAY, rescuer=None, times={})), "is left hanging, haul"),
        (replace(FATE, end=End.STANDS, drop_m=0.5), "stops where they stand"),
    ],
)
def test_whoever_is_worse_off_is_told_with_both_ends(fate, words) -> None:
    plan = "goes on as planned"
    there = (replace(FATES, people=(replace(FATE, person="bob"), fate)),)
    [row] = difference(found(), found(fates=there)).fates
    assert (row.names, row.person, row.change) == (("rain",), "ann", "worse")
    assert row.words == f"{plan} before, {words} now"
    [row] = difference(found(fates=there), found()).fates
    assert (row.words, row.change) == (f"{words} before, {plan} now", "better")
    for other in (replace(FATES, step=2), replace(FATES, names=("wind",))):
        assert difference(found(fates=(other,)), found(fates=there)).fates == ()
