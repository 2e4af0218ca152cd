"""Numbers of the library hold unless a scenario says otherwise, one by one."""

from __future__ import annotations

import json

import pytest

from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from edgewear.scenario.models.base import spelled
from support.planted.sound import text_of

SECTIONS = {
    "wear": {"sheath energy": ("2e9 J/m3", None), "cold share": ("0.4", 0.4)},
    "times": {"cross edge": ("45 s", 45.0), "take over": ("4 min", 240.0)},
    "work": {"sway": ("7 cm", 0.07), "duty": ("26 %", 0.26)},
    "detection": {"half worn": ("0.7", 0.7), "again": ("11 min", 660.0)},
}  # fmt: skip


def built(change):
    return load_text(text_of("pick-off", change), "made.yaml")


@pytest.mark.parametrize(
    ("section", "key", "text", "value"),
    [(section, key, *typed) for section, some in SECTIONS.items() for key, typed in some.items()],
)
def test_one_number_is_the_scenario_s_and_all_others_the_library_s(section, key, text, value):
    usual = getattr(built({}), section)
    found = getattr(built({f"{section}/{key}": text}), section)
    assert type(found) is type(usual)
    for name in type(usual).model_fields:
        mine, theirs = getattr(found, name), getattr(usual, name)
        if spelled(name) == key:
            assert mine.typed == text
            assert value is None or mine.value == pytest.approx(value, rel=1e-15)  # one rounding
            assert mine.value != theirs.value
        else:
            assert mine == theirs


def test_a_technique_of_the_library_takes_one_number_of_the_scenario_s() -> None:
    usual = built({}).techniques
    found = built({"techniques/jerky/rise": "0.41 m"}).techniques
    assert found["jerky"].rise.value == 0.41
    assert found["jerky"].model_copy(update={"rise": usual["jerky"].rise}) == usual["jerky"]
    assert {word: one for word, one in found.items() if word != "jerky"} == {
        word: one for word, one in usual.items() if word != "jerky"
    }


def test_a_technique_that_there_is_not_is_said_at_its_word() -> None:
    text = text_of("pick-off", {"techniques/jerki/rise": "0.41 m"})
    with pytest.raises(ScenarioError, match=r"unknown technique 'jerki'.*did you mean 'jerky'"):
        load_text(text, "made.yaml")
    [problem] = problems_of(text)
    line = text.splitlines()[problem.line - 1]
    assert line[problem.column - 1 :].startswith('"jerki"')  # the word, not what follows it
    with pytest.raises(ScenarioError, match="keys with values are due"):
        built({"techniques/jerky": "0.41 m"})


def problems_of(text: str):
    with pytest.raises(ScenarioError) as caught:
        load_text(text, "made.yaml")
    return caught.value.problems


@pytest.mark.parametrize(
    "change",
    [
        {"wear/sheath_energy": "2e9 J/m3"},
        {"job/technician": [{"cross_edge": "lip"}]},
        {"beside": {"pillar": {"along": "2 m", "from_": "-2 m", "to": "-30 m"}}},
    ],
)
def test_a_key_is_read_as_it_is_spelled_and_no_other_way(change) -> None:
    """Not by the name that the program has for it."""
    with pytest.raises(ScenarioError, match=r"unknown|due"):
        built(change)


@pytest.mark.parametrize("name", ["a/b", "*", "", "a\u0007", "x" * 201])
def test_a_name_is_printable_and_no_address(name: str) -> None:
    text = text_of("pick-off", {}).replace('"store": {', f"{json.dumps(name)}: {{", 1)
    said = "a name has 1 to 200 printable characters"
    assert any(said in problem.message for problem in problems_of(text))


@pytest.mark.parametrize(
    ("job", "said"),
    [
        ("job: [descend: 5 m]\n", True),
        ("job: [reciprocate: {load: 90 kg, travel: 1 m, speed: 1 m/s, cycles: 2}, rest: 1 s]\n",
         True),
        ("job: [desend: 5 m]\n", False),  # what it is has to be told first
        ("", False),
    ],
)  # fmt: skip
def test_a_job_that_people_do_needs_people_where_it_is_one_at_all(job: str, said: bool) -> None:
    found = problems_of(NOBODY + job)
    assert any("people are due" in problem.message for problem in found) == said


NOBODY = """
edgewear: 1
title: nobody
setting: test
edges: {arris: {radius: 1 mm, surface: steel}}
ropes: {long: {like: low-stretch 11, length: 10 m}}
options: {bent: {rope: long, over: [{edge: arris, after: 2 m, bend: 90 deg}]}}
"""
