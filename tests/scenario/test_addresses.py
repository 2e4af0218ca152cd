"""Addresses lead to inputs, and inputs can be replaced by them."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from edgewear.errors import ScenarioError
from edgewear.scenario import all_quantities, load_scenario
from edgewear.scenario.models.faults import FAULTS
from edgewear.scenario.models.steps import Step
from edgewear.scenario.read.addresses import matching, quantity_due, value_at
from edgewear.scenario.read.reading import problems_at
from edgewear.scenario.read.validate import keys_at, quantity_of
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.tree import parse_tree
from support.scenario_files import EXAMPLES, HERE, SHIPPED, bench

STUDY = load_scenario(HERE / "examples" / "study.txt")
CHOICES = load_scenario(HERE / "examples" / "choices.txt")
RESCUE = load_scenario(HERE / "examples" / "rescue.txt")


def test_star_stands_for_every_name() -> None:
    assert STUDY.resolve_addresses("options/*/over/1/after") == (
        "options/bare/over/1/after",
        "options/sleeve/over/1/after",
    )
    assert CHOICES.resolve_addresses("edges/*/radius") == (
        "edges/kerb/radius",
        "edges/flange/radius",
        "edges/ledge/radius",
    )


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        ("edges/kirb/radius", "did you mean 'kerb'"),
        ("edges/kerb/radios", "did you mean 'radius'"),
        ("egdes/kerb/radius", "did you mean 'edges'"),
        ("job/9/descend/height", "no number from 1 to 5"),
        ("job/0/descend", "no number from 1 to 5"),
        ("options/bollards padded/protect/kerb/fricton", "did you mean 'friction'"),
        ("people/lead/technique/risse", "did you mean 'rise'"),
        ("wear/sheath enrgy", "did you mean 'sheath energy'"),
        ("study/*/x", "nothing to choose from"),
        ("all options/rop", "did you mean 'rope'"),
        ("options/bollards padded/rop", "did you mean 'rope'"),
        ("", "nothing is named ''"),
    ],
)
def test_address_that_leads_nowhere(pattern: str, said: str) -> None:
    with pytest.raises(ScenarioError, match=said):
        CHOICES.resolve_addresses(pattern)


@pytest.mark.parametrize(
    ("address", "value", "si"),
    [
        ("edges/kerb/radius", "3 mm", 0.003),
        ("edges/kerb/radius", 0.004, 0.004),
        ("edges/kerb/friction", 0.3, 0.3),
        ("people/lead/mass", "80 kg", 80.0),
        ("people/lead/technique/rise", "0.3 m", 0.3),
        ("ropes/store 11/sheath/toughness", "2", 2.0),
        ("edges/flange/surface/static ratio", "1.2", 1.2),
        ("job/2/descend/height", "20 m", 20.0),
        ("job/4/ascend/height", "12 m", 12.0),
        ("wear/sheath energy", 2e9, 2e9),
        ("times/cross edge", "45 s", 45.0),
        ("anchors/pier bolts/out", "0.5 m", 0.5),
        ("options/bollards padded/protect/kerb/friction", "0.4", 0.4),
    ],
)
def test_value_is_replaced_at_its_address(address: str, value: str | float, si: float) -> None:
    changed = all_quantities(CHOICES.with_values({address: value}))
    assert changed[address].value == pytest.approx(si, rel=1e-15)  # one rounding


def test_nothing_else_changes() -> None:
    before = all_quantities(CHOICES)
    after = all_quantities(CHOICES.with_values({"edges/kerb/radius": "3.2 mm"}))
    assert {a for a in before if before[a] != after[a]} == {"edges/kerb/radius"}


def test_star_replaces_everywhere() -> None:
    changed = STUDY.with_values({"options/*/over/1/after": "30 m"})
    assert all(
        o.lines["climber"].working.over[0].after.value == 30 for o in changed.options.values()
    )


def test_what_all_options_share_can_be_replaced_in_one() -> None:
    path = "{rope: rope, over: [{edge: arris, after: 9 m, bend: 30 deg}]}"
    shared = bench(
        (f"bare: {path.replace('9 m', '20 m')}", "one: {}\n  two: {}"),
        ("options:\n", f"all options: {path}\noptions:\n"),
    )
    changed = shared.with_values({"options/two/over/1/after": "30 m"})
    found = {n: o.lines["climber"].working.over[0].after.value for n, o in changed.options.items()}
    assert found == {"one": 9.0, "two": 30.0}


def test_word_of_a_technique_is_replaced() -> None:
    changed = CHOICES.with_values({"people/lead/technique": "smooth"})
    assert changed.people["lead"].technique == CHOICES.techniques["smooth"]


def test_replaced_value_is_checked() -> None:
    with pytest.raises(ScenarioError, match="people/lead/mass: '80 m' is a length"):
        CHOICES.with_values({"people/lead/mass": "80 m"})
    with pytest.raises(ScenarioError, match="the rope does not reach"):
        CHOICES.with_values({"job/2/descend/height": "80 m"})


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_every_quantity_has_an_address_that_leads_there(file: object) -> None:
    scenario = load_scenario(str(file))
    for address in all_quantities(scenario):
        assert scenario.resolve_addresses(address) == (address,)


def test_late_problem_gets_its_place() -> None:
    found = problems_at(CHOICES, [("ropes/store 11/length", "too short"), ("job/2", "too deep")])
    assert [(p.line, p.column, p.address) for p in found] == [
        (15, 44, "ropes/store 11/length"),
        (33, 5, "job/2"),
    ]


def test_keys_are_found_inside_steps() -> None:
    assert keys_at(Step, ("repeat", "steps", 0, "ascend")) == ["height", "technique", "system"]


def test_several_people_are_told_apart() -> None:
    found = all_quantities(RESCUE)
    assert found["job/casualty/1/descend/height"].value == 12.0
    assert found["options/padded/lines/rescuer/protect/coping/friction"].value > 0


def test_grid_value_is_read_where_it_will_stand() -> None:
    study = "study: {grid: {edges/arris/radius: [1 mm, 2 kg], options/*/over/1/after: [2]}}\njob:"
    with pytest.raises(ScenarioError) as caught:
        bench(("job:", study))
    assert [(p.address, p.message[:20]) for p in caught.value.problems] == [
        ("study/grid/edges/arris/radius/2", "'2 kg' is a mass: a "),
        ("study/grid/options/*/over/1/after/1", "'2' has no unit: a l"),
    ]


def round_trip(file: Path, addresses: Iterable[str]) -> None:
    """Replace values by what they are; nothing but their basis may change."""
    scenario = load_scenario(file)
    before = all_quantities(scenario)
    for address in addresses:
        after = all_quantities(scenario.with_values({address: before[address].value}))
        changed = {a for a in before if a in after and before[a].value != after[a].value}
        assert changed == set(), address


FILES = [*EXAMPLES, *SHIPPED]
ADDRESSES = [(file, name) for file in FILES for name in all_quantities(load_scenario(file))]


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(ADDRESSES))
def test_value_replaced_by_itself_changes_nothing(where: tuple[Path, str]) -> None:
    round_trip(where[0], [where[1]])


@pytest.mark.long
@pytest.mark.parametrize("file", [*EXAMPLES, *SHIPPED], ids=lambda file: file.stem)
def test_every_value_replaced_by_itself_changes_nothing(file: Path) -> None:
    round_trip(file, [address for one, address in ADDRESSES if one == file])


def dues(model: type[BaseModel]) -> list[tuple[str, Quantity]]:
    """Keys of a model that hold quantities, with what is due there."""
    found = [(f.alias or name, quantity_of(f)) for name, f in model.model_fields.items()]
    return [(key, due) for key, due in found if due is not None]


FAULT_KEYS = [(model, key, due) for model in FAULTS for key, due in dues(model)]


@pytest.mark.parametrize(
    ("model", "key", "due"), FAULT_KEYS, ids=[f"{m.__name__}-{k}" for m, k, _ in FAULT_KEYS]
)
@pytest.mark.parametrize("long", [False, True], ids=["short", "long"])
def test_a_bare_number_below_a_fault_has_the_unit_that_is_due_there(model, key, due, long) -> None:
    word = model.model_fields["fault"].default
    data = {"faults": {"it": {"fault": word} if long else {word: "x"}}}
    assert quantity_due(("faults", "it", key), data) == due
    if key == model.short:
        assert quantity_due(("faults", "it", word), data) == due
    assert matching(data, f"faults/it/{key}").problem == ""
    assert quantity_due(("faults", "it", "nowhere"), data) is None


@pytest.mark.parametrize("data", [{}, {"faults": {"it": "rain"}}, {"faults": {"it": {"rain": 3}}}])
def test_a_fault_that_nobody_knows_has_no_quantity(data) -> None:
    assert quantity_due(("faults", "it", "at"), data) is None


SAID = """below: {belt: 30 m down, water: -41 m}
beside: {pillar: {along: 3 m, from: -2 m, to: -30 m}, duct: {along: -4 m}}
limits: {drop: 1.5 m, peak: 4 kN, hands: 400 N, reach: 15 min}
faults:
  rain: {weather: wet, at: 8 min}
  away: {attendant away: 3 min, after: core visible, delay: 5 s}
when: {core visible: {by: edge attendant, delay: 20 s, do: stop}}
"""
SAID_AT = {
    "below/belt": -30.0, "below/water": -41.0, "beside/pillar/along": 3.0,
    "beside/pillar/from": -2.0, "beside/pillar/to": -30.0, "beside/duct/along": -4.0,
    "limits/drop": 1.5, "limits/peak": 4e3, "limits/hands": 400.0, "limits/reach": 900.0,
    "faults/rain/at": 480.0, "faults/away/attendant away": 180.0, "faults/away/delay": 5.0,
}  # fmt: skip


@given(st.sampled_from(sorted(SAID_AT)), st.floats(0.05, 0.95))
@settings(deadline=None)
def test_a_bare_number_is_taken_in_si_wherever_one_is_typed(address: str, share: float) -> None:
    """Every number is 5 to 95 % of what stands there, which all of them may be."""
    scenario = bench(("job:", f"{SAID}job:"), ("setting: test", "setting: alpine"))
    wanted = SAID_AT[address] * share
    changed = scenario.with_values({address: wanted})
    found = {**all_quantities(changed), **{f"limits/{k}": v for k, v in changed.limits}}
    where = address.replace("/attendant away", "/for")
    assert found[where].value == wanted
    due = quantity_due(tuple(address.split("/")), parse_tree(scenario.source, "f").data)
    assert due is not None
    assert due.dimension in ("length", "force", "time")


@pytest.mark.parametrize("people", [{}, {"ann": {}}, {"ann": {}, "bob": {}}])
def test_lines_nobody_gave_a_person_are_not_the_options_own(people: dict[str, object]) -> None:
    """What a person's lines fall back on is other lines, never the whole option around them."""
    data = {"people": people, "options": {"only": {"rope": "store"}}}
    assert value_at(data, ("options", "only", "lines", "ann")) is None
    assert value_at(data, ("options", "only", "lines", "ann", "rope")) == "store"
