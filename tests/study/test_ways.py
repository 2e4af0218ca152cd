"""A way between two options begins and ends with exactly the options as compared."""

from __future__ import annotations

import json
import re
from dataclasses import fields

import numpy as np
from hypothesis import assume, example, given
from hypothesis import strategies as st

from edgewear.case import compile_case
from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from edgewear.study.bridge import Source, Worth, bridge, rewritten

EDGES = ("lip", "ledge")
WORKING = {
    "anchor": st.sampled_from(["post", "stake"]),
    "rope": st.sampled_from(["red", "blue"]),
    "protect": st.dictionaries(
        st.sampled_from(EDGES), st.sampled_from(["none", "pad", "sleeve"]), max_size=2
    ),
    "bypass": st.dictionaries(
        st.sampled_from(EDGES), st.sampled_from(["none", "sling"]), max_size=1
    ),
    "deviations": st.just([{"anchor": "bolt", "sling": "0.3 m"}]),
}
LINE = st.fixed_dictionaries({}, optional=WORKING)
LINES = st.fixed_dictionaries({}, optional={**WORKING, "safety line": st.just("none") | LINE})
OPTION = st.fixed_dictionaries(
    {},
    optional={
        **WORKING,
        "safety line": st.just("none") | LINE,
        "lines": st.dictionaries(st.sampled_from(["ann", "bob"]), LINES, max_size=2),
        "technique": st.sampled_from(["smooth", "jerky"]),
        "both lines loaded": st.sampled_from(["yes", "no"]),
        "why not higher": st.just({"soft": "nothing else there"}),
    },
)


def text_of(people, shared, lines, one, two):
    """Two options over two edges; whatever is not said anywhere is said by all options."""
    data = {
        "edgewear": "1", "title": "made up", "setting": "test",
        "anchors": {
            "post": {"out": "-3 m", "up": "0.8 m", "kind": "pair"},
            "stake": {"out": "-2 m", "up": "0.5 m", "kind": "pair"},
            "bolt": {"out": "0.8 m", "up": "-3 m"},
        },
        "edges": {
            "lip": {"out": "0 m", "up": "0 m", "radius": "2 mm", "surface": "steel"},
            "ledge": {"out": "0.3 m", "up": "-1.5 m", "radius": "9 mm", "surface": "concrete"},
        },
        "ropes": {
            "red": {"like": "low-stretch 11", "length": "60 m", "stopper": "yes"},
            "blue": {"like": "low-stretch 10.5", "length": "55 m", "stopper": "yes"},
        },
        "people": {n: {"mass": "90 kg", "start": "9 m"} for n in people},
        "all options": {"anchor": "post", "rope": "red", **shared},
        "lines": {n: said for n, said in lines.items() if n in people},
        "options": {"one": dict(one), "two": dict(two)},
        "job": {n: [{"descend": "2 m"}, {"ascend": "1 m"}] for n in people},
    }  # fmt: skip
    for said in (data["all options"], *data["options"].values()):
        if "lines" in said:
            said["lines"] = {n: own for n, own in said["lines"].items() if n in people}
    return json.dumps(data)  # which is YAML


def way_of(text, poorer, better):
    """What the way asks to be played, in its order, and its steps if every one moved a margin."""
    asked = []

    def all_move(task, given):
        asked.extend(given)
        return lambda: [Worth(float(place), None) for place in range(len(given))]

    source = Source(text, "made up.yaml", None)
    return source, asked, bridge(source, poorer, better, None, all_move)()


def same(one, other):
    """Whether two compiled options are the same in every number."""
    names = [f.name for f in fields(one) if f.name not in ("option", "filler", "rigged")]
    return all(np.array_equal(a, b) if isinstance(a, np.ndarray) else a == b
               for a, b in ((getattr(one, n), getattr(other, n)) for n in names))  # fmt: skip


def as_compared(scenario, source, name, typed, whose):
    """Whether what is typed is read and compiled to what the option is in the comparison."""
    alone = rewritten(source, name, typed)
    there = scenario.options[whose].model_copy(update={"why_not_higher": {}})
    assert alone.options[name].model_copy(update={"why_not_higher": {}}) == there
    assert same(compile_case(alone, name), compile_case(scenario, whose))


def read(text):
    """The scenario, of those that can be read."""
    try:
        return load_text(text, "made up.yaml")
    except ScenarioError:
        assume(False)


@given(people=st.sampled_from([["ann"], ["ann", "bob"]]), shared=OPTION, one=OPTION, two=OPTION,
       lines=st.dictionaries(st.sampled_from(["ann", "bob"]), LINES, max_size=2))  # fmt: skip
@example(people=["ann"], one={}, two={"safety line": "none"}, lines={"ann": {"safety line": {}}},
         shared={"safety line": {"rope": "red", "anchor": "post"}})  # fmt: skip
def test_a_way_begins_and_ends_with_the_options_as_compared(people, shared, one, two, lines):
    text = text_of(people, shared, lines, one, two)
    scenario = read(text)
    source, asked, _ = way_of(text, "one", "two")
    as_compared(scenario, source, "one", asked[0], "one")
    as_compared(scenario, source, "one", asked[-1], "two")


@given(shared=OPTION, one=OPTION, two=OPTION,
       lines=st.dictionaries(st.just("ann"), LINES, max_size=1))  # fmt: skip
def test_words_tell_each_change_of_what_is_read_and_no_other(shared, one, two, lines):
    """Told one after the other, they lead from what lies on an edge first to what lies there last.

    Whoever types it: the option, all options, or the lines of a person.
    """
    text = text_of(["ann"], shared, lines, one, two)
    options = read(text).options
    _, _, steps = way_of(text, "one", "two")
    for edge in EDGES:
        pieces = [options[name].lines["ann"].working.protect.get(edge) for name in ("one", "two")]
        there, last = ("none" if piece is None else piece.is_ for piece in pieces)
        for step in steps:
            for before, after in re.findall(
                rf"(?:^|; )(?:lines ann )?protect {edge}: (\w+) -> (\w+)", step.change
            ):
                assert (before, before == after) == (there, False)
                there = after
        assert there == last
