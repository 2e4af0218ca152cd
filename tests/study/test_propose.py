"""Ways of rigging made from what is at hand stand where a comparison puts them when typed."""

from pathlib import Path

import pytest

from edgewear.errors import UsageError
from edgewear.scenario import load_scenario, load_text
from edgewear.scenario.text.retyping import spelled_out
from edgewear.scenario.text.tree import parse_tree
from edgewear.study.compare import compare
from edgewear.study.proposals.candidates import MOST, candidates, means_of
from edgewear.study.proposals.propose import propose

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
