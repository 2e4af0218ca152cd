"""What is told of a file that is not as it should be, once, and what is read in every spelling."""

from __future__ import annotations

from math import inf, nan
from pathlib import Path

import pytest
from pydantic import ValidationError

from edgewear import incoming
from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from edgewear.scenario.read.expand import BACKUP, Expander
from edgewear.scenario.read.libraries import built_in
from edgewear.scenario.text.grid import _values
from edgewear.scenario.text.quantities import Measured, Quantity
from edgewear.scenario.text.quantity_text import read_quantity
from edgewear.scenario.text.tree import parse_tree
from support.planted.sound import text_of


def said_of(change: dict, own: str | None = None) -> list[tuple[str, str]]:
    """Address and message of each problem of a procedure with a change."""
    with pytest.raises(ScenarioError) as told:
        load_text(text_of("pick-off", change), "made.yaml", own)
    return [(one.address, one.message) for one in told.value.problems]


@pytest.mark.parametrize(
    ("options", "told"),
    [({}, ["at least one option is due"]), (None, ["'options' is missing"]),
     ({"it": {"anchr": "west"}}, [])],
)  # fmt: skip
def test_a_file_without_an_option_is_told_so_once(options, told) -> None:
    found = [message for _, message in said_of({"options": options})]
    assert found
    assert [one for one in found if "option" in one] == told


def test_a_file_that_cannot_be_read_is_told_in_the_system_s_words(tmp_path: Path) -> None:
    """And with no number of the system, nor the name a second time."""
    path = tmp_path / "none.yaml"
    with pytest.raises(ScenarioError) as told:
        incoming.read_bytes(path, incoming.SCENARIO)
    [problem] = told.value.problems
    assert problem.message == "cannot be read: No such file or directory"


def test_notes_are_read_as_they_are_typed() -> None:
    notes = {"author": "A. Nyone", "revision": "7"}
    assert load_text(text_of("pick-off", {"notes": notes}), "made.yaml").notes == notes


@pytest.mark.parametrize("key", ["friction", "roughness"])
def test_a_surface_of_one_s_own_brings_an_edge_what_it_has(key: str) -> None:
    """What it lacks is told where it is missing, and what an edge types itself stays."""
    surface = {k: v for k, v in built_in()["surfaces"]["steel"].items() if k != key}
    expander = Expander(built_in(), lambda path, message: pytest.fail(message))
    found = expander.edge({"surface": {"name": "own", **surface}, "radius": "5 mm"}, ("it",))
    assert key not in found
    other = "roughness" if key == "friction" else "friction"
    assert found[other] == surface[other]
    assert expander.edge({"surface": "steel", key: "typed"}, ("it",))[key] == "typed"


@pytest.mark.parametrize("key", ["technique", "system"])
def test_somebody_of_whom_the_library_says_little_is_read_all_the_same(key: str) -> None:
    usual = {k: v for k, v in built_in()["people"]["person"].items() if k != key}
    library = {**built_in(), "people": {"person": usual}}
    expander = Expander(library, lambda path, message: pytest.fail(message))
    found = expander.person({"mass": "80 kg"}, ("it",))
    assert key not in found
    other = "system" if key == "technique" else "technique"
    assert found[other]["name"] == usual[other]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{a: 1,5}", "1,5: a number has a point, not a comma"),
        ("{a: x,5}", "did a comma split this name"),
        ("{a: 1,b}", "did a comma split this name"),
        ("{a: 1, b}", "'b' has no value"),
    ],
)
def test_a_comma_in_a_number_is_told_from_one_in_a_name(text: str, said: str) -> None:
    [problem] = parse_tree(f"it: {text}\n", "it.yaml").problems
    assert said in problem.message
    assert ("a number has a point" in problem.message) == ("1,5" in text)


SPELT = (
    {"descend": "3 m"},
    {"descend": {"height": "3 m"}},
    {"step": "descend", "height": "3 m"},
    {"descend": {"step": "ascend", "height": "3 m"}},  # its own word stands outside
    {"descend": "", "height": "3 m"},
    {"descend": {}, "height": "3 m"},
    {"height": "3 m", "descend": {}},
)
"""One step in every spelling."""


@pytest.mark.parametrize("spelt", SPELT, ids=str)
def test_a_step_is_the_same_in_every_spelling(spelt: dict) -> None:
    scenario = load_text(text_of("pick-off", {"job/rescuer": [spelt]}), "made.yaml")
    [step] = scenario.job["rescuer"]
    [plain] = load_text(text_of("pick-off", {"job/rescuer": [SPELT[0]]}), "made.yaml").job[
        "rescuer"
    ]
    assert step == plain
    assert (step.step, step.height.value) == ("descend", 3.0)


@pytest.mark.parametrize(
    ("spelt", "said"),
    [
        ({"descend": "3 m", "ascend": "3 m"}, "'descend' and 'ascend' in one entry"),
        ({"descnd": "3 m"}, "unknown step 'descnd': allowed are"),
        ("descnd", "did you mean 'descend'?"),
        ({"step": "descnd", "height": "3 m"}, "unknown step"),
        ({"repeat": "3 m"}, "'repeat' has no short spelling: give its keys ("),
        (["descend"], "a step is due, such as"),
    ],
)
def test_a_step_that_is_none_is_told_once(spelt: object, said: str) -> None:
    [(address, message)] = said_of({"job/rescuer": [spelt]})
    assert said in message
    assert address.startswith("job/rescuer")


@pytest.mark.parametrize("typed", [None, "toothed backup", {"slips": "4 kN"}], ids=str)
@pytest.mark.parametrize("role", ["working line", "safety line"])
def test_a_safety_line_has_a_backup_and_a_working_line_one_that_is_typed(role, typed) -> None:
    at = "lines/rescuer/backup" if role == "working line" else "lines/rescuer/safety line/backup"
    scenario = load_text(text_of("pick-off", {at: typed} if typed else {}), "made.yaml")
    lines = scenario.options["as written"].lines
    here, other = lines["rescuer"].working, lines["rescuer"].safety
    if role == "safety line":
        here, other = other, here
    assert [both.working.backup for name, both in lines.items() if name != "rescuer"] == [None]
    assert (other.backup is None) == (role == "safety line")
    word = typed if isinstance(typed, str) else BACKUP
    if typed or role == "safety line":
        assert here.backup.is_ == word
        usual = built_in()["backups"][word]["slips"]
        slips = typed["slips"] if isinstance(typed, dict) else usual
        due = read_quantity(slips, Quantity("force"), {})
        assert here.backup.slips.value == due.value
    else:
        assert here.backup is None


@pytest.mark.parametrize("ends", [("1000000000000 m", "0 m"), ("-1000000000000 m", "5 m")])
def test_an_axis_reaches_as_far_as_is_said_and_no_further(ends: tuple[str, str]) -> None:
    first, last = ends
    axis = {"from": first, "to": last, "steps": "2"}
    assert _values("it", axis, 9) == (first, last)
    for end, other in (("from", last), ("to", first)):
        further = {"from": other, "to": other, "steps": "2", end: "1000000000001 m"}
        with pytest.raises(ValueError, match=r"from and to must lie within 1e\+12 m"):
            _values("it", further, 9)


@pytest.mark.parametrize(("typed", "target"), [("60 %", 0.6), ("12.5 %", 0.125), (None, None)])
def test_a_target_is_read_as_a_share_of_the_sheath(typed: str | None, target: float | None) -> None:
    assert load_text(text_of("pick-off", {"target": typed}), "made.yaml").target == target


def test_a_quantity_is_finite_and_stays_as_it_was_read() -> None:
    one = Measured.exact(3.0, "m")
    with pytest.raises(ValidationError, match="frozen"):
        one.value = 4.0
    for odd in (inf, -inf, nan):
        with pytest.raises(ValidationError, match="finite"):
            Measured(value=odd, low=0.0, high=1.0, unit="m", typed="odd")
