"""A survey leg by leg gives the coordinates that the same site has."""

from __future__ import annotations

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.scenario import Scenario, load_text, summary

SITE = """\
edgewear: 1
title: The same site
setting: alpine
anchors:
{anchors}
edges:
  parapet: {{{parapet}radius: 5 mm, surface: steel}}
  flange: {{{flange}radius: 5 mm, surface: steel}}
ropes:
  rope: {{like: low-stretch 11, length: 60 m}}
people:
  lead: {{mass: 100 kg}}
options:
  bare: {{anchor: posts, rope: rope}}
job:
  - descend: 10 m
"""
LEGS = """\
  posts:
    legs:
      - 4 m back, 1.1 m down, over the parapet
      - 0.7 m out, 1.2 m down, over flange
      - 0.2 m out, 0.3 m left"""


def site(anchors: str, parapet: str = "", flange: str = "") -> Scenario:
    return load_text(SITE.format(anchors=anchors, parapet=parapet, flange=flange), "site.yaml")


def points(scenario: Scenario) -> dict[str, tuple[float, ...]]:
    """Give all spots relative to the parapet, so that the origin does not count."""
    spots = {
        name: tuple(q.value if q else 0.0 for q in (thing.out, thing.along, thing.up))
        for name, thing in {**scenario.anchors, **scenario.edges}.items()
    }
    lead = scenario.people["lead"]
    assert lead.out is not None
    assert lead.along is not None
    origin = spots["parapet"]
    found = {n: tuple(a - b for a, b in zip(p, origin, strict=True)) for n, p in spots.items()}
    return {**found, "load": (lead.out.value - origin[0], lead.along.value - origin[1])}


def test_legs_are_the_coordinates() -> None:
    by_legs = points(site(LEGS))
    expected = {
        "posts": (-4.0, 0.0, -1.1),
        "parapet": (0.0, 0.0, 0.0),
        "flange": (0.7, 0.0, -1.2),
        "load": (0.9, -0.3),
    }
    for name, point in expected.items():
        assert by_legs[name] == pytest.approx(point, abs=1e-12)  # sums of a few metres


@pytest.mark.parametrize(
    ("word", "axis", "sign"),
    [("out", 0, 1), ("in", 0, -1), ("back", 0, 1), ("right", 1, 1), ("left", 1, -1), ("up", 2, 1),
     ("down", 2, -1)],
)  # fmt: skip
def test_each_word_leads_its_way_along_one_axis(word: str, axis: int, sign: float) -> None:
    """From the parapet to the flange; `back` says where the leg begins, seen from its end."""
    leg = LEGS.replace("0.7 m out, 1.2 m down, over flange", f"3 m {word}, over flange")
    expected = [0.0, 0.0, 0.0]
    expected[axis] = 3.0 * sign
    assert points(site(leg))["flange"] == pytest.approx(tuple(expected), abs=1e-12)  # as above


def test_legs_hang_on_a_known_spot() -> None:
    scenario = site(LEGS, parapet="out: 2 m, up: 10 m, ")
    assert points(scenario)["posts"] == pytest.approx((-4.0, 0.0, -1.1), abs=1e-12)
    flange = scenario.edges["flange"]
    assert flange.up is not None
    assert flange.up.value == pytest.approx(8.8, abs=1e-12)


def test_legs_are_laid_out_from_wherever_one_is_known() -> None:
    """From the last edge back, though the first leg of the list leads to no known spot."""
    scenario = site(LEGS, flange="out: 2 m, up: 10 m, ")
    expected = points(site(LEGS))
    assert points(scenario) == {
        name: pytest.approx(point, abs=1e-12) for name, point in expected.items()
    }
    assert scenario.edges["flange"].out.value == 2.0


def test_legs_that_hang_together_with_nothing_known_are_refused() -> None:
    other = LEGS.replace("posts:", "beam:").replace("over the parapet", "over the curb")
    text = SITE.replace("  flange:", "  curb: {{radius: 5 mm, surface: steel}}\n  flange:")
    apart = "\n".join([LEGS, *other.splitlines()[:3]])
    with pytest.raises(ScenarioError, match="hangs together with no spot that is known") as told:
        load_text(text.format(anchors=apart, parapet="out: 2 m, up: 1 m, ", flange=""), "it.yaml")
    assert [one.address for one in told.value.problems] == ["anchors/beam/legs/1"]


def test_accuracies_add_in_quadrature() -> None:
    scenario = site(LEGS.replace("4 m back", "4 m +- 0.3 m back"))
    out = scenario.anchors["posts"].out
    assert out is not None
    assert (out.high - out.low) / 2 == pytest.approx(0.3, rel=1e-12)
    up = scenario.edges["flange"].out
    assert up is not None
    assert (up.high - up.low) / 2 == pytest.approx(hypot(0.01), rel=1e-9)  # 1 cm at least


@pytest.mark.parametrize(("along", "side_m"), [("", 0.0), ("along: 1 m +- 0.5 m, ", 0.5)])
def test_a_known_spot_adds_its_own_accuracy_and_what_is_not_typed_adds_none(
    along: str, side_m: float
) -> None:
    known = f"out: 2 m +- 0.3 m, {along}up: 10 m +- 0.2 m, "
    legs = LEGS.replace("4 m back, 1.1 m", "4 m +- 0.4 m back, 1.1 m +- 0.1 m")
    scenario = site(legs, parapet=known)
    posts, lead = scenario.anchors["posts"], scenario.people["lead"]
    half = [(q.high - q.low) / 2 if q else 0.0 for q in (posts.out, posts.along, posts.up)]
    assert half == pytest.approx([0.5, side_m, hypot(0.2, 0.1)], rel=1e-9)
    assert lead.along is not None
    # the last leg goes 0.3 m left, 1 cm at least
    assert (lead.along.high - lead.along.low) / 2 == pytest.approx(hypot(side_m, 0.01), rel=1e-9)


def test_paced_leg_is_wider() -> None:
    def width(text: str) -> float:
        out = site(LEGS.replace("4 m back", text)).anchors["posts"].out
        assert out is not None
        return out.high - out.low

    assert width("paced 4 m back") > width("taped 4 m back") > width("4 m back")


ROUGH = ("3 m to 5 m", "4 m", "taped 4 m", "paced 4 m")
"""How a length is told, the roughest last."""
BASIS = ("given", "measured", "taped", "paced")


@pytest.mark.parametrize("back", range(4))
@pytest.mark.parametrize("down", range(4))
def test_a_spot_is_found_as_roughly_as_the_roughest_of_its_lengths(back: int, down: int) -> None:
    legs = LEGS.replace("4 m back, 1.1 m down", f"{ROUGH[back]} back, {ROUGH[down]} down")
    out = site(legs).anchors["posts"].out
    assert out is not None
    assert out.basis == BASIS[max(back, down)]


def test_two_ways_to_one_edge_must_agree() -> None:
    second = LEGS.replace("posts:", "beam:").replace("4 m back", "2 m back")
    scenario = site(f"{LEGS}\n{second}")
    assert points(scenario)["beam"] == pytest.approx((-2.0, 0.0, -1.1), abs=1e-12)
    wrong = second.replace("0.7 m out", "1.4 m out")
    with pytest.raises(ScenarioError, match=r"misses 'flange' by 0\.70 m"):
        site(f"{LEGS}\n{wrong}")


LENGTHS = st.integers(0, 900).map(lambda n: n / 100)


@given(back=LENGTHS, up=LENGTHS, side=LENGTHS, sign=st.sampled_from(["up", "down"]),
       hand=st.sampled_from(["left", "right"]))  # fmt: skip
def test_a_leg_with_back_puts_its_start_where_it_says(
    back: float, up: float, side: float, sign: str, hand: str
) -> None:
    """One reference for back, height and side: what the leg leads to."""
    leg = f"{back} m back, {up} m {sign}, {side} m {hand}"
    found = points(site(LEGS.replace("4 m back, 1.1 m down", leg)))["posts"]
    expected = (-back, side if hand == "right" else -side, up if sign == "up" else -up)
    assert found == pytest.approx(expected, abs=1e-12)  # sums of a few metres


def test_the_same_way_told_from_either_end_is_one_site() -> None:
    # seen from the parapet, or gone from the anchor: 4 m out and 1.1 m up to it
    onward = LEGS.replace("4 m back, 1.1 m down", "4 m out, 1.1 m up")
    assert points(site(onward)) == points(site(LEGS))


def test_check_says_in_words_where_legs_put_an_anchor() -> None:
    said = "\n".join(summary(site(LEGS.replace("4 m back, 1.1 m down", "8 m back, 1 m up"))))
    assert "its legs put it 8 m back from and 1 m above parapet" in said
    said = "\n".join(summary(site(LEGS)))
    assert "its legs put it 4 m back from and 1.1 m below parapet" in said


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("over flange", "over flang", "did you mean 'flange'"),
        ("4 m back", "4 m sideways", "does not end with a direction"),
        ("4 m back", "4 kg back", "is a mass"),
        ("4 m back", "4 m back, 1 m out", "`out` where it ends: one of them a leg"),
        ("4 m back", "4 m back, 1 m out, 1 m in", "`in` where it ends: one of them a leg"),
        ("4 m back, 1.1 m down", "1.1 m down", "0 m back"),
        ("4 m back, 1.1 m down", "1 m up, 2 m down, 1 m left, 3 m right", "0 m back"),
        ("over flange", "", "ends with `over`"),
        (", over flange", "", "ends with `over`"),
    ],
)
def test_wrong_leg_is_refused(old: str, new: str, said: str) -> None:
    with pytest.raises(ScenarioError, match=said):
        site(LEGS.replace(old, new))


def test_a_spot_typed_beside_legs_carries_the_others_along_unless_it_is_not_tied():
    text = """edgewear: 1
title: One post
setting: test
anchors:
  post: {legs: ["3 m back, 1 m up, over the curb", "0.2 m out"]%s}
edges: {curb: {radius: 1 mm, surface: steel}}
ropes: {rope: {like: low-stretch 11, length: 50 m}}
people: {fitter: {mass: 90 kg, technique: normal}}
options: {bare: {rope: rope, anchor: post}}
job: [{descend: 5 m}]
"""
    carried = load_text(text % ", out: -4 m, up: 1 m", "a.yaml")
    alone = load_text(text % ", out: -4 m, up: 1 m, tied: no", "a.yaml")
    assert carried.anchors["post"].out.value == alone.anchors["post"].out.value == -4.0
    assert carried.edges["curb"].out.value == pytest.approx(-1.0)  # 3 m in front of the post
    assert alone.edges["curb"].out.value == 0.0  # the origin of the legs, as without the numbers
    set_ = load_text(text % "", "a.yaml").with_values({"anchors/post/out": -4.0})
    both = set_.with_values({"anchors/post/up": 2.0})
    assert both.edges["curb"].out.value == both.edges["curb"].up.value == 0.0
    with pytest.raises(ScenarioError, match="tied: 'perhaps': yes or no is due"):
        load_text(text % ", out: -4 m, up: 1 m, tied: perhaps", "a.yaml")
