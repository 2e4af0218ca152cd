"""Ways of rigging made from what is at hand stand where a comparison puts them when typed."""

from pathlib import Path

import numpy as np
import pytest

from edgewear.errors import UsageError
from edgewear.scenario import load_scenario, load_text
from edgewear.scenario.text.retyping import spelled_out
from edgewear.scenario.text.tree import parse_tree
from edgewear.study.compare import compare
from edgewear.study.proposals.candidates import MOST, candidates, means_of
from edgewear.study.proposals.propose import (
    FEW,
    FEWEST,
    SORTING,
    Setting,
    few_of,
    judge,
    propose,
)
from edgewear.terms import CUTTING

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DEMO = SCENARIOS / "demo.yaml"


def typed_by_hand(scenario, proposals):
    """The scenario with the proposals' texts pasted in the place of its options."""
    data = dict(parse_tree(scenario.source, scenario.path).data)
    pasted = "".join(f"  {line}\n" for one in proposals for line in one.text.splitlines())
    rest = spelled_out({key: value for key, value in data.items() if key != "options"})
    return load_text(f"{rest}options:\n{pasted}", scenario.path)


def stands_as_compared(tmp_path, replicates, **means):
    """Whether statuses, margins and order are those of a comparison of what was pasted."""
    scenario = load_scenario(DEMO)
    found = propose(scenario, replicates=replicates, workers=1, **means)
    typed = typed_by_hand(scenario, found.tried)
    ranking = compare(typed, replicates=replicates, out=tmp_path)
    by_hand = {one.name: one for one in ranking.options}
    for one in found.tried:
        assert by_hand[one.name].status == one.status
        assert by_hand[one.name].control == one.control
    orders = [by_hand[one.name].order for one in found.tried]
    assert orders == sorted(orders)
    return len(found.tried)


def test_proposals_stand_where_a_comparison_puts_them(tmp_path):
    means = {"anchors": ["lamp footings"], "protection": ["pad"]}
    assert stands_as_compared(tmp_path, 20, **means) == 3


@pytest.mark.long
def test_forty_proposals_stand_where_a_comparison_puts_them(tmp_path):
    means = {"anchors": ["lamp footings", "guard posts"], "protection": ["pad", "roller"]}
    # the fewest trials there may be: every option of so large a comparison takes seconds anyway
    assert stands_as_compared(tmp_path, 20, **means) >= 40


@pytest.mark.parametrize("condition", ["sound", "broken"])
@pytest.mark.parametrize("by", [0.1, 1])
def test_no_number_is_given_for_an_edge_that_cuts(condition, by):
    """A broken edge cuts whatever lies on it; a sharp one whose roller the line leaves."""
    text = f"""
edgewear: 1
title: swings
setting: industrial
target: 60 %
anchors: {{a: {{out: -2 m, up: 0 m}}, b: {{out: -4 m, along: 0.6 m, up: 0 m}}}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 2 mm, surface: steel, condition: {condition}}}}}
ropes: {{r: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, start: 5 m, out: 0.3 m}}}}
all options: {{rope: r, safety line: {{anchor: b, protect: {{lip: pad}}}}}}
options: {{as it is: {{anchor: a}}}}
job: [swing: {{by: {by} m, times: 3}}]
"""
    means = {"anchors": ["a"], "protection": ["pad", "roller"]}
    found = propose(load_text(text, "made.yaml"), replicates=20, workers=1, **means)
    assert len(found.tried) == 2
    cuts = {one.name: CUTTING in one.status for one in found.tried}
    assert {one.name: one.left is None for one in found.tried} == cuts
    # 2*by*2/(2 + 5) m along the edge: 0.06 m, or 0.57 m, beyond a roller of 0.1 m
    assert sum(cuts.values()) == (2 if condition == "broken" else int(by == 1))


def test_the_safety_line_never_shares_the_anchor():
    scenario = load_scenario(DEMO)
    means = means_of(scenario, (), (), ("pad",))
    for one in candidates(scenario, means, "footings, padded"):
        assert one.typed["safety line"]["anchor"] != one.typed["anchor"]


OWN = (
    "    protect: {coping: pad, angle: pad, corbel: pad}     # pads of its own, beside the others\n"
)


@pytest.mark.parametrize(
    ("every", "option", "kept"),
    [
        (OWN, "", {"coping": "pad", "angle": "pad", "corbel": "pad"}),
        ("", "", {}),
        ("    protect: {angle: sleeve}\n", "", {"angle": "sleeve"}),
        ("    protect: {angle: sleeve}\n", ", protect: {angle: pad}", {"angle": "pad"}),
        ("", ", protect: {coping: none}", {"coping": "none"}),
    ],
)
def test_the_safety_line_has_pieces_of_its_own_unless_told_otherwise(every, option, kept):
    text = DEMO.read_text().replace(OWN, every)
    text = text.replace("{anchor: lamp footings}", f"{{anchor: lamp footings{option}}}")
    scenario = load_text(text, "own.yaml")
    means = means_of(scenario, (), (), ("roller",))
    for one in candidates(scenario, means, "posts, rollers"):
        assert one.typed["safety line"]["protect"] == {**one.typed["protect"], **kept}


def test_anchors_below_the_edges_are_led_to_and_not_started_from():
    means = means_of(load_scenario(DEMO), (), (), ())
    assert means.anchors == ("guard posts", "lamp footings")
    assert means.further == ("gate bolts",)
    assert set(means.protection) == {"pad", "sleeve", "roller"}


def test_what_cannot_be_rigged_says_why():
    text = DEMO.read_text()
    first, last = text.index("  footings, bare:"), text.index("  posts, rollers:")
    end = text.index("  footings, re-anchored:")
    one = text[:first] + text[last:end] + text[text.index("job:") :]
    one = one.replace("length: 60 m", "length: 28 m", 1).replace(
        "anchor: lamp footings}", "rope: store 10.5}"
    )
    scenario = load_text(one, "posts.yaml")
    found = propose(
        scenario, anchors=["lamp footings"], protection=["pad"], replicates=20, workers=1
    )
    assert len(found.refused) == 3
    assert all("does not reach" in reason for _, reason in found.refused)
    assert found.best(3) == ()


@pytest.mark.parametrize(
    ("means", "said"),
    [
        ({"anchors": ["lamp footing"]}, "lamp footings"),
        ({"protection": ["pads"]}, "pad"),
        ({"base": "nobody's"}, "there are"),
        (
            {
                "anchors": ["guard posts", "lamp footings", "gate bolts"],
                "protection": ["pad", "roller", "sleeve", "edge plate"],
            },
            f"at most {MOST}",
        ),
        ({"replicates": 3}, "at least 20"),
    ],
)
def test_what_cannot_be_meant_is_refused(means, said):
    with pytest.raises(UsageError, match=said):
        propose(load_scenario(DEMO), workers=1, **means)


def test_more_people_than_one_are_refused():
    with pytest.raises(UsageError, match="one person"):
        propose(load_scenario(SCENARIOS / "procedure.yaml"), workers=1)


@pytest.mark.parametrize("ways", [41, 100, 125, 126, 200, 324, MOST])
def test_many_ways_are_sorted_by_few_trials_that_still_have_a_careful_end(ways):
    few = few_of(ways)
    assert FEWEST <= few <= FEW
    assert few * ways <= max(SORTING, FEWEST * ways)


def told_of(scenario, **more):
    """What was found, and all that was told of how far it was."""
    told = []
    return propose(scenario, workers=1, progress=told.append, **more), told


@pytest.mark.parametrize("at_once", [0, 1, 2, 3])
def test_every_stage_tells_how_far_it_is_from_its_beginning_to_its_end(monkeypatch, at_once):
    monkeypatch.setattr("edgewear.study.proposals.propose.ALL_AT_ONCE", at_once)
    monkeypatch.setattr("edgewear.study.proposals.propose.FEW", 20)
    means = {"anchors": ["lamp footings"], "protection": ["pad"], "replicates": 24}
    found, told = told_of(load_scenario(DEMO), **means)
    stages = {one.of: one.rows for one in told}
    # three ways: at once if so many may be, else three with few trials and the first with all
    wanted = [3] if at_once == 3 else [3, at_once]
    assert list(stages.values()) == wanted
    assert [(one.done, one.of) for one in told] == [
        (done, of) for of, rows in stages.items() for done in range(rows + 1)
    ]
    trials = [one.trials for one in found.tried]
    assert sorted(trials) == [20] * (3 - min(wanted[-1], 3)) + [24] * wanted[-1]


@pytest.mark.parametrize("name", ["lamp footings, pad at every edge"])
@pytest.mark.parametrize(("few", "all_"), [(20, 21), (20, 40), (32, 48)])
def test_trials_that_sorted_are_not_played_again_and_change_nothing(name, few, all_):
    scenario = load_scenario(DEMO)
    setting = Setting(scenario.source, scenario.path, scenario.library_source, scenario.target, 0)
    means = means_of(scenario, ["lamp footings"], (), ["pad"])
    made = candidates(scenario, means, next(iter(scenario.options)))
    one = next(one for one in made if one.name == name)
    gone_on = judge(setting, all_, one, judge(setting, few, one).sample)
    at_once = judge(setting, all_, one)
    assert (gone_on.key, gone_on.proposal) == (at_once.key, at_once.proposal)
    for column, values in at_once.sample.runs.items():
        np.testing.assert_array_equal(gone_on.sample.runs[column], values)


def test_of_several_people_it_says_who_is_there_and_what_to_do():
    with pytest.raises(UsageError, match=r"technician, rescuer.*one of them at a time"):
        propose(load_scenario(SCENARIOS / "procedure.yaml"))
