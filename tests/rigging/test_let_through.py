"""The rope that is let through at an anchor is part of what a line needs, and leads down."""

from __future__ import annotations

from dataclasses import asdict
from decimal import Decimal
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.report.parts import rigged_words
from edgewear.rigging.findings.facts import facts
from edgewear.rigging.lengths import KNOT_M, TIED_M, rope_need
from edgewear.rigging.profile import Profile
from edgewear.rigging.sections import cut
from edgewear.scenario import load_text
from edgewear.scenario.models.scenario import Scenario
from edgewear.study.loading import load_riggable
from edgewear.study.single import simulate

BEHIND_M, START_M = 4.0, 300.0
"""Rope from the anchor to the edge, and the depth of the start: deep enough for any climb here."""

TEXT = """\
edgewear: 1
title: a rope let through
setting: test
anchors: {{a: {{kind: pair, releasable: yes}}}}
edges: {{lip: {{radius: 30 mm, surface: steel}}}}
ropes: {{rope: {{like: low-stretch 11, length: 4000 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, start: {start} m}}, bob: {{mass: 80 kg}}}}
lines: {{ann: {{anchor: a, rope: rope, tail: {tail} m, over: [{{edge: lip, after: {behind} m,
  bend: 90 deg}}]{more}}}}}
options: {{one: {{}}}}
job:
  ann: [{steps}]
  bob: [rest: 1 min{others}]
"""

WORDS = {"descend": 1, "ascend": -1, "lower": 1, "haul": -1, "shift rope": 1}
LETS_OUT = {"lower": 1, "haul": -1, "shift rope": 1}

Steps = list[tuple[str, float]]


def read(steps: str, tail: float = 0.0, others: str = "", more: str = "") -> Scenario:
    given_ = {"start": START_M, "behind": BEHIND_M, "others": others and f", {others}"}
    return load_text(TEXT.format(steps=steps, tail=tail, more=more, **given_), "through.yaml")


def profile_of(scenario: Scenario) -> Profile:
    return cut(scenario, scenario.options["one"], "ann")[1]


def needed_m(scenario: Scenario) -> float:
    option = scenario.options["one"]
    return rope_need(
        scenario, option, "ann", option.lines["ann"].working, profile_of(scenario)
    ).needed_m


def by_hand_m(made: Steps, tail: float) -> float:
    """Give the rope needed beside the tail, step by step, each piece of rope on its own."""
    depth, out, pieces = START_M, 0.0, [[(START_M, 0.0)]]
    for word, by in made:
        if word == "swap rope":
            out = 0.0
            pieces.append([(depth, out)])
            continue
        depth, out = depth + WORDS[word] * by, out + LETS_OUT.get(word, 0) * by
        pieces[-1].append((depth, out))
    most = 0.0
    for piece in pieces:
        above = max(tail, *(out for _, out in piece))  # before the first of it is let out
        most = max(most, *(above - out + BEHIND_M + depth - tail for depth, out in piece))
    return TIED_M + most


def typed(steps: Steps) -> str:
    return ", ".join(w if w == "swap rope" else f"{w}: {by} m" for w, by in steps)


LENGTHS = st.integers(1, 80).map(lambda n: n / 10)
STEPS = st.lists(st.tuples(st.sampled_from([*WORDS, "swap rope"]), LENGTHS), min_size=1, max_size=6)


@given(STEPS, STEPS, st.integers(1, 8), st.sampled_from([0.0, 0.5, 3.0, 20.0]))
def test_rope_need_is_what_lies_above_the_anchor_and_down_to_the_person(
    before, inside, times, tail
):
    steps = f"{typed(before)}, repeat: {{times: {times}, steps: [{typed(inside)}]}}"
    expected = by_hand_m([*before, *inside * times], tail)
    assert needed_m(read(steps, tail)) == pytest.approx(expected, abs=1e-9)  # sums of lengths


@given(STEPS, LENGTHS, st.integers(1, 4))
def test_depths_of_a_job_count_what_is_let_through(steps, by, times):
    """A shift takes whoever hangs there down as a lower does."""
    one = typed([*steps, ("shift rope", by)] * times)
    other = one.replace("shift rope", "lower")
    shifted, lowered = profile_of(read(one)), profile_of(read(other))
    assert (shifted.highest_m, shifted.deepest_m, shifted.end_m) == (
        lowered.highest_m, lowered.deepest_m, lowered.end_m
    )  # fmt: skip


@given(st.lists(st.tuples(st.sampled_from(["haul", "lower"]), LENGTHS), min_size=1, max_size=4),
       st.integers(1, 5))  # fmt: skip
def test_what_others_haul_and_lower_counts_in_every_round(moves, times):
    """In a repeat of somebody else's as well: written out it is the same job."""
    steps = [f"{word}: {{height: {by} m, person: ann}}" for word, by in moves]
    repeated = f"repeat: {{times: {times}, steps: [{', '.join(steps)}]}}"
    once = profile_of(read("descend: 5 m", others=", ".join(steps * times)))
    found = profile_of(read("descend: 5 m", others=repeated))
    for name in ("highest_m", "deepest_m", "end_m"):
        # rounding of sums of depths
        assert getattr(found, name) == pytest.approx(getattr(once, name), abs=1e-9)


@pytest.mark.parametrize("system", ["", ", system: chest and hand ascender"])
@pytest.mark.parametrize("technique", ["smooth", "normal", "jerky"])
@pytest.mark.parametrize(("by", "every", "height"), [(0.4, 10, 20.0), (0.3, 3, 9.1), (1.0, 8, 2.0)])
def test_shifts_every_few_strokes_are_those_that_a_run_makes(by, every, height, technique, system):
    steps = f"ascend: {{height: {height} m, technique: {technique}{system}}}"
    scenario = read(steps, more=f", shift: {by} m every {every} strokes")
    count = str(simulate(scenario)["events"]).count("rope shifted")
    assert profile_of(scenario).end_m == pytest.approx(START_M - height + count * by, abs=1e-9)
    through = TIED_M + BEHIND_M + START_M + count * by  # all of it above, before the climb
    assert needed_m(scenario) == pytest.approx(through, abs=1e-9)


@pytest.mark.parametrize("knots", [0, 1, 3])
def test_knots_on_the_way_take_rope(knots):
    at = "".join(f"{10 + 20 * k} m, " for k in range(knots))
    more = f", knots: [{at}2000 m]"  # one lies below all that is used
    plain, tied = needed_m(read("descend: 5 m")), needed_m(read("descend: 5 m", more=more))
    assert tied - plain == pytest.approx(knots * KNOT_M, abs=1e-9)


@pytest.mark.parametrize(("times", "by"), [(1, 2.0), (5, 1.0), (8, 0.4), (3, 0.7), (7, 0.13)])
def test_a_rope_too_short_for_what_is_let_through_is_refused_with_what_it_needs(
    tmp_path, times, by
):
    steps = f"descend: 10 m, repeat: {{times: {times}, steps: [ascend: 3 m, shift rope: {by} m]}}"
    text = TEXT.format(steps=steps, tail=0, behind=BEHIND_M, start=30, others="", more="")
    # deepest at first, before any of it is let out: it all lies above the anchor then
    needed = TIED_M + BEHIND_M + 30 + 10 + times * by
    for short, fits in ((0.0, True), (0.05, False)):
        path = tmp_path / "short.yaml"
        path.write_text(text.replace("4000 m", f"{needed - short:.3f} m"))
        if fits:
            load_riggable(path)
            continue
        with pytest.raises(ScenarioError) as told:
            load_riggable(path)
        said = str(told.value)
        # rounded up to tenths, of exact hundredths
        tenths = {word: ceil(Decimal(str(round(m, 6))) * 10) / 10
                  for word, m in (("needed", needed), ("through", times * by))}  # fmt: skip
        assert f"needs {tenths['needed']:.1f} m" in said
        assert f"{tenths['through']:g} m of it to be let out at its anchor" in said


@pytest.mark.parametrize("tail", [0.0, 1.5, 40.0])
@pytest.mark.parametrize(("times", "by"), [(1, 2.0), (5, 1.0), (8, 0.4)])
def test_a_page_says_how_much_lies_above_the_anchor_beside_the_tail(times, by, tail):
    scenario = read(f"repeat: {{times: {times}, steps: [ascend: 3 m, shift rope: {by} m]}}", tail)
    row = asdict(facts(scenario, "one").ropes[0])
    beside = max(times * by - tail, 0.0)
    assert row["through_m"] == pytest.approx(beside, abs=1e-9)
    told = f"{beside:.1f} m of it above the anchor to be let out"
    assert (told in rigged_words.rope(row)) == (beside > 0.0)
    before = {name: value for name, value in row.items() if name != "through_m"}
    assert "above the anchor" not in rigged_words.rope(before)
