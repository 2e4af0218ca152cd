"""A fault whose word needs no value, with a trigger: the error says how it is typed."""

from __future__ import annotations

import re

import pytest

from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from edgewear.scenario.models import faults as typed

SITE = """\
edgewear: 1
title: One person
setting: alpine
target: 30 %
anchors: {post: {out: -1 m, along: 0 m, up: 1 m, kind: pair}}
edges: {lip: {out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}
ropes: {a: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {ann: {mass: 95 kg}}
options: {one: {anchor: post, rope: a}}
job: [descend: 8 m, ascend: 8 m]
faults: {it: FAULT}
"""

TRIGGERS = ("at: 2 min", "step: 2", "delay: 10 s")
BARE = sorted(
    model.model_fields["fault"].default
    for model in vars(typed).values()
    if isinstance(model, type) and "fault" in getattr(model, "model_fields", {})
    and not any(field.is_required() for field in model.model_fields.values())
)  # fmt: skip


def said_of(fault: str) -> str:
    with pytest.raises(ScenarioError) as error:
        load_text(SITE.replace("FAULT", fault), "made.yaml")
    return str(error.value)


def test_there_are_such_faults() -> None:
    assert set(BARE) >= {"communication lost", "attendant away", "late reaction"}


@pytest.mark.parametrize("trigger", TRIGGERS)
@pytest.mark.parametrize("word", BARE)
def test_what_the_error_proposes_is_taken(word: str, trigger: str) -> None:
    text = said_of(f"{{{word}: , {trigger}}}")
    [proposed] = re.findall(r"without a value of its own: \{fault: ([a-z ]+), \.\.\.\}", text)
    assert proposed in BARE
    for one in (proposed, word):
        found = load_text(SITE.replace("FAULT", f"{{fault: {one}, {trigger}}}"), "made.yaml")
        assert found.faults["it"].fault == one
