"""Which changes are worth a try: every one of its family, and none that is typed already."""

from __future__ import annotations

from itertools import product

import pytest

from edgewear.findings.verdict import Held, Point
from edgewear.procedure.judged.changes import Edit, changes_for
from edgewear.scenario import load_text
from support.planted.sound import text_of

OPTION, PEOPLE = "as written", ("technician", "rescuer")
RESCUE = Point(Held.HANGS, "somewhere", "no way", rescue=True)
CATCH = Point(Held.NO, "somewhere", "too weak")
DEVICES = ("slipping backup", "toothed backup")


def tried(change, *held: Point) -> list[tuple[tuple[str, str], ...]]:
    """Address and text of what is typed, change by change."""
    scenario = load_text(text_of("pick-off", change), "made.yaml")
    found, known = changes_for(scenario, OPTION, held or (RESCUE, CATCH), 10_000)
    assert len(found) == known
    return [tuple((edit.address, edit.typed) for edit in one.edits) for one in found]


def of(found, start: str, end: str = "") -> set[tuple[str, str]]:
    """The first edits at some address."""
    firsts = [edits[0] for edits in found]
    return {one for one in firsts if one[0].startswith(start) and one[0].endswith(end)}


@pytest.mark.parametrize("mine", [*product((None, *DEVICES), repeat=2)], ids=str)
def test_every_other_backup_is_tried_on_every_safety_line(mine) -> None:
    change = {
        f"lines/{person}/safety line/backup": word
        for person, word in zip(PEOPLE, mine, strict=True) if word
    }  # fmt: skip
    expected = {
        (f"lines/{person}/safety line/backup", word)
        for person, has in zip(PEOPLE, mine, strict=True) for word in DEVICES
        if word != (has or "slipping backup")  # what a line has of which nothing is said
    }  # fmt: skip
    assert of(tried(change), "lines/", "backup") == expected


def test_ropes_are_tried_longer_and_anchors_that_open() -> None:
    found = tried({"anchors/west/releasable": "yes"})
    assert of(found, "ropes/") == {("ropes/store/length", "90 m")}  # half as long again as 60 m
    assert of(found, "anchors/", "releasable") == {
        (f"anchors/{name}/releasable", "yes") for name in ("mid west", "mid east", "east")
    }


SLEEVE = "{is: sleeve, fixed to: rope}"


@pytest.mark.parametrize("mine", ["none", "pad", "sleeve", {"is": "sleeve", "fixed to": "rope"}])
def test_a_safety_line_is_tried_with_what_a_swing_takes_along_unless_it_has_it(mine) -> None:
    at = "lines/rescuer/safety line/protect"
    found = tried({at: {"lip": mine}})
    pieces = of(found, f"{at}/lip")
    assert ((f"{at}/lip", "pad") in pieces) == (mine == "none")
    counted = [edits[1:] for edits in found if edits[0] == (f"{at}/lip", SLEEVE)]
    assert ((("kit/sleeve", "3"),) in counted) == (not isinstance(mine, dict))


def test_somebody_to_watch_is_tried_where_nobody_does() -> None:
    for watched in product((True, False), repeat=2):
        change = {
            f"lines/{person}/attendant": "edge attendant" if is_watched else None
            for person, is_watched in zip(PEOPLE, watched, strict=True)
            if is_watched or person == "technician"
        }
        expected = {
            (f"lines/{person}/attendant", "edge attendant")
            for person, is_watched in zip(PEOPLE, watched, strict=True) if not is_watched
        }  # fmt: skip
        assert of(tried(change), "lines/", "attendant") == expected


@pytest.mark.parametrize("kit", [None, 1])
@pytest.mark.parametrize("there", [True, False])
def test_somebody_more_on_top_is_tried_unless_they_are_there_already(there, kit) -> None:
    """By themself, and with a haul kit."""
    helper = "helper on top"
    change = {} if kit is None else {"kit/haul kit": kit}
    if there:
        change |= {f"people/{helper}": {"mass": "80 kg"}, f"job/{helper}": [{"rest": "1 min"}]}
    added = ((f"people/{helper}", "{mass: 85 kg}"), (f"job/{helper}", "[rest: 1 min]"))
    found = [one for one in tried(change) if any(helper in at for at, _ in one)]
    assert found == ([] if there else [added, (*added, ("kit/haul kit", "1"))])


def test_a_piece_is_tried_on_top_and_with_everybody_who_carries_none() -> None:
    found = of(tried({}), "kit/rescue sling")
    carried = {("kit/rescue sling", f"{{carried by: {person}}}") for person in PEOPLE}
    assert found == {("kit/rescue sling", "2"), *carried}
    found = of(tried({"kit/rescue sling": {"carried by": "rescuer"}}), "kit/rescue sling")
    carried = {("kit/rescue sling", "{carried by: technician}")}
    assert found == {("kit/rescue sling", "1"), ("kit/rescue sling", "2"), *carried}


@pytest.mark.parametrize("west", [0.0, 20.0, -20.0])
@pytest.mark.parametrize("along", [0.2, 0.6, 0.9, 1.3, 4.0, -4.0])
def test_a_second_anchor_is_tried_nearer_to_the_first(along, west) -> None:
    """A metre and half a metre beside west, on the side where the second is."""
    side = 1.0 if along > 0.0 else -1.0
    expected = {
        ("anchors/mid west/along", f"{west + side * beside:.2f} m")
        for beside in (1.0, 0.5) if abs(along) > beside
    }  # fmt: skip
    change = {"anchors/west/along": f"{west} m", "anchors/mid west/along": f"{west + along} m"}
    assert of(tried(change), "anchors/mid west/along") == expected


@pytest.mark.parametrize("elsewhere", [{}, {"away": {"attendant away": "5 min"}}])
@pytest.mark.parametrize("last", [None, 0, 1, 2, 3, 4])
def test_steps_are_put_in_only_behind_those_that_a_fault_names(last, elsewhere) -> None:
    """None: both faults of the procedure as it is come with step 3; 0: none names a step."""
    faints = {"faints": {"casualty unresponsive": "technician", "step": last}}
    change = {} if last is None else {"faults": {**(faints if last else {}), **elsewhere}}
    named = 3 if last is None else last
    look = ("job/technician/before step 3", "{inspect: {by: edge attendant, protection: lifted}}")
    check = ("job/technician/before step 1", "{check protection: lip}")
    expected = {one for one, step in ((look, 3), (check, 1)) if step > named}
    assert of(tried(change), "job/technician/") == expected


def test_only_what_has_to_do_with_what_is_held_is_tried() -> None:
    rescue, catch = set(tried({}, RESCUE)), set(tried({}, CATCH))
    assert rescue
    assert catch
    assert not rescue & catch
    assert rescue | catch == set(tried({}))
    assert set(tried({}, Point(Held.FALLS, "somewhere", "nothing holds"))) == rescue | catch


@pytest.mark.parametrize("name", ["plain", "two words", "a-b", 'say "so"', "back\\slash", "a: b"])
def test_a_name_is_typed_so_that_it_is_read_as_it_was(name: str) -> None:
    scenario = load_text(text_of("pick-off", {}), "made.yaml")
    spare = scenario.anchors["west"]
    with_more = scenario.model_copy(update={"anchors": {**scenario.anchors, name: spare}})
    found, _ = changes_for(with_more, OPTION, (CATCH,), 10_000)
    edits = [one.edits[0] for one in found if one.edits[0].path == ("lines", "rescuer", "anchor")]
    assert [edit.value for edit in edits] == [name]
    assert Edit(("job", "ann"), "[]", 2).address == "job/ann/before step 3"
