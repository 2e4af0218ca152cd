"""A key typed in a wrong place is told where it belongs; held against the schema, key by key."""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy
from difflib import get_close_matches
from typing import Any

import pytest

from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from edgewear.scenario.models.places import FEW, where_else
from edgewear.scenario.models.steps import STEPS
from edgewear.scenario.reference.schema import scenario_schema
from edgewear.scenario.text.retyping import spelled_out
from edgewear.scenario.text.tree import parse_tree

BASE = parse_tree(
    """\
edgewear: 1
title: one thing of each kind
setting: test
anchors: {post: {out: -4 m, up: 1 m}}
edges: {lip: {out: 0 m, up: 0 m, radius: 5 mm, surface: steel}}
ropes: {store: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {ann: {mass: 90 kg}}
limits: {reach: 10 min}
detection: {half worn: 0.5}
times: {cross edge: 1 min}
wear: {law: energy}
notes: {author: A}
beside: {ladder: {along: 1 m}}
all options: {anchor: post}
options: {one: {rope: store}}
job: [{descend: 5 m}, {ascend: 5 m}]
""",
    "base.yaml",
).data
SPOTS: dict[str, tuple[str, ...]] = {
    "top": (), "anchors": ("anchors", "post"), "edges": ("edges", "lip"),
    "ropes": ("ropes", "store"), "people": ("people", "ann"), "limits": ("limits",),
    "detection": ("detection",), "times": ("times",), "wear": ("wear",), "notes": ("notes",),
    "beside": ("beside", "ladder"), "options": ("options", "one"), "all options": ("all options",),
}  # fmt: skip
"""Section -> where a key of it is typed."""

ANY = {"is", "like", "name"}
"""Words that stand in most places."""


def keys_in(section: str) -> set[str]:
    """Keys that editors offer there."""
    whole = scenario_schema()
    found: Any = whole if section == "top" else whole["properties"][section]
    if SPOTS[section][1:]:
        found = found["additionalProperties"]
    while "$ref" in found:
        found = whole["$defs"][found["$ref"].rpartition("/")[2]]
    return set(found["properties"])


KEYS = {section: keys_in(section) for section in SPOTS}
TOLD_AS = {section: f"`{section}`" for section in SPOTS} | {"top": "top of the scenario"}


def problems(path: tuple[str, ...], keys: Iterable[str]) -> dict[str, list[str]]:
    """What is said of keys at a place where they were typed, a handful at a time."""
    every = list(keys)  # one file tells a few dozen problems at most
    found = [_problems(path, every[at : at + 8]) for at in range(0, len(every), 8)]
    return {key: said for one in found for key, said in one.items()}


def _problems(path: tuple[str, ...], keys: list[str]) -> dict[str, list[str]]:
    data: Any = deepcopy(BASE)
    here = data
    for part in path:
        here = here[part]
    here.update(dict.fromkeys(keys, "typed"))
    found: dict[str, list[str]] = {key: [] for key in keys}
    try:
        load_text(spelled_out(data), "some.yaml")
    except ScenarioError as error:
        for one in error.problems:
            key = one.address.rpartition("/")[2]
            if key in found and one.address == "/".join([*path, key]):
                found[key].append(one.message)
    return found


def unknown(path: tuple[str, ...], keys: Iterable[str]) -> dict[str, str]:
    """Key -> what is said of it; keys that may stand there left out."""
    return {
        key: one
        for key, said in problems(path, keys).items()
        for one in said
        if one.startswith(f"unknown key {key!r}")
    }


def elsewhere(spot: str) -> list[str]:
    """Keys of other sections that this one does not have."""
    return sorted({key for keys in KEYS.values() for key in keys} - KEYS[spot] - ANY)


@pytest.mark.parametrize("spot", SPOTS)
def test_a_key_of_another_section_is_told_its_section(spot: str) -> None:
    said = unknown(SPOTS[spot], elsewhere(spot))
    assert set(said) == set(elsewhere(spot))
    untold = set()
    for key, message in said.items():
        told = message.partition(f"; {key!r} belongs ")[2]
        homes = [words for section, words in TOLD_AS.items() if key in KEYS[section]]
        untold |= {key} if any(words not in told for words in homes) else set()
        assert told.count(" or to ") + told.count(" or at ") < FEW
    # these stand in more than three places, some of them in what sections hold
    assert untold <= {"along", "anchor", "from", "strength", "technique"}


@pytest.mark.parametrize("spot", SPOTS)
def test_what_is_told_is_true(spot: str) -> None:
    """Typed where it is said to belong, it is no unknown key."""
    told = {
        key: message.partition(" belongs ")[2].partition(" (in `options`, `all options`")[0]
        for key, message in unknown(SPOTS[spot], elsewhere(spot)).items()
    }
    for home, words in TOLD_AS.items():
        here = [key for key, said in told.items() if words in said and f"{words} of" not in said]
        assert unknown(SPOTS[home], here) == {}, home


def step_keys() -> dict[str, list[str]]:
    """Key -> the steps that have it."""
    found: dict[str, list[str]] = {}
    for model in STEPS:
        for name, field in model.model_fields.items():
            if name != "step":
                found.setdefault(field.alias or name, []).append(model.model_fields["step"].default)
    return found


@pytest.mark.parametrize("spot", SPOTS)
def test_a_key_of_one_step_is_told_its_step(spot: str) -> None:
    own = {key: words[0] for key, words in step_keys().items() if len(words) == 1}
    said = unknown(SPOTS[spot], own)
    for key, message in said.items():
        told = message.partition(" belongs ")[2]
        assert not told or f"to the step {own[key]!r} of `job`" in told
    assert "to the step 'reciprocate' of `job`" in said["cycles"]


@pytest.mark.parametrize("section", ["anchors", "edges", "ropes", "people", "beside", "options"])
def test_a_key_taken_for_a_name_is_told_where_it_belongs(section: str) -> None:
    of_an_option = ("knots", "slack", "protect", "both lines loaded")
    found = problems((section,), (*of_an_option, "target", "limits"))
    for key, said in found.items():
        home = "`all options`" if key in of_an_option else TOLD_AS["top"]
        assert any(home in one.partition(f"{key!r} belongs ")[2] for one in said), (key, said)


SINGULAR = sorted(key[:-1] for key in KEYS["top"] if key.endswith("s"))


@pytest.mark.parametrize("key", [*SINGULAR, "titles", "jobs", "target level", "libraries"])
def test_a_key_that_is_nearly_right_is_told_the_right_one_wherever_it_belongs(key: str) -> None:
    """A rope belongs to a line, and whoever types it at the top means the ropes."""
    [near] = get_close_matches(key, sorted(KEYS["top"]), n=1)
    message = unknown((), [key])[key]
    assert message.endswith(f"did you mean {near!r}?")
    assert (" belongs " in message) == bool(where_else(key))


def test_a_key_of_nowhere_is_told_the_nearest_one() -> None:
    said = unknown(SPOTS["edges"], ["radios"])
    assert said["radios"].endswith("did you mean 'radius'?")
