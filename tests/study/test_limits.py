"""Limits read backwards: against a dense grid under the same draws, on the engine, in words."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.dataset.ranking.statistics import quantile
from edgewear.errors import ScenarioError, UsageError
from edgewear.findings.inquiries.how_far import Place
from edgewear.scenario import load_scenario, load_text
from edgewear.study.limits.asked import asked
from edgewear.study.limits.judging import interval
from edgewear.study.limits.limit import how_far
from edgewear.study.limits.searching import CLOSE, Axis, search
from edgewear.study.limits.trials import trials_of
from edgewear.study.loading import load_changed
from edgewear.study.model import loaded

SCENARIOS = Path(__file__).parents[2] / "scenarios"
REFERENCE = SCENARIOS / "reference-ascent.yaml"
TARGET = 0.5
TRIALS = 256


def course(seed, turns):
    """Margins of the trials over a share of the range, (n,); `turns`: waves that bend it."""
    chance = np.random.default_rng(seed)
    slope, height = chance.uniform(-1.5, 1.5), chance.uniform(0.2, 0.9)
    waves = [(chance.uniform(0.1, 0.5), chance.uniform(0.5, 1.6), chance.uniform(0, 7))
             for _ in range(turns)]  # fmt: skip
    noise, lean = chance.normal(0.25, 0.08, TRIALS), chance.normal(0.0, 0.1, TRIALS)

    def margins(share):
        middle = height + slope * (share - 0.5)
        middle += sum(a * np.sin(2 * np.pi * f * share + p) for a, f, p in waves)
        return middle - noise + lean * share

    return margins


def judge_of(margins, axis, asked_for):
    """Judge values as a comparison would, and note how many were asked for."""

    def judge(values):
        places = []
        for value in values:
            found = margins(axis.share(value))
            left = quantile(found, 0.05)
            places.append(Place(value, left, *interval(found), meets=left >= TARGET))
        asked_for.extend(values)
        return places

    return judge


def dense(margins, axis, count=4001):
    """Values where the target begins or stops to be met, on a dense grid, and whether it starts."""
    shares = np.linspace(0.0, 1.0, count)
    meets = np.array([quantile(margins(s), 0.05) >= TARGET for s in shares])
    at = np.flatnonzero(meets[1:] != meets[:-1])
    return [axis.value(0.5 * (shares[i] + shares[i + 1])) for i in at], bool(meets[0])


def agrees(seed, turns):
    """Whether the ranges found are those of the dense grid, each end inside its interval."""
    axis = Axis(2.0, 40.0)
    margins, asked_for = course(seed, turns), []
    _, found = search(judge_of(margins, axis, asked_for), axis, TARGET)
    wanted, _ = dense(margins, axis)
    ends = [end for one in found for end in (one.least, one.most) if not end.open]
    if len(ends) != len(wanted):
        return False
    for end, value in zip(ends, wanted, strict=True):
        bounds = [end.inside, end.outside, axis.high if end.hopeful is None else end.hopeful]
        bounds += [] if end.cautious is None else [end.cautious]
        if not min(bounds) <= value <= max(bounds):
            return False
    return True


@pytest.mark.parametrize("turns", [0, 1, 2])
def test_ranges_are_those_of_a_dense_grid(turns):
    # 90 of 100 is what is promised: islands narrower than the grid of places can be missed
    seeds = range(40)
    right = sum(agrees(seed, turns) for seed in seeds)
    assert right >= 0.9 * len(seeds)


def test_a_limit_takes_few_places():
    axis, asked_for = Axis(2.0, 40.0), []
    search(judge_of(course(3, 0), axis, asked_for), axis, TARGET)
    assert len(asked_for) <= 30


@given(st.floats(0.02, 0.98), st.booleans())
def test_a_single_crossing_is_closed_in_from_the_inside(at, falls):
    axis = Axis(1.0, 100.0)
    way = -1.0 if falls else 1.0

    def judge(values):
        left = [TARGET + way * (axis.share(v) - at) for v in values]
        return [Place(v, y, y, y, meets=y >= TARGET) for v, y in zip(values, left, strict=True)]

    _, (one,) = search(judge, axis, TARGET)
    end = one.most if falls else one.least
    assert (one.least if falls else one.most).open
    assert end.cautious == pytest.approx(end.inside, rel=0.2)  # no trials, so nothing is open
    assert abs(axis.share(end.inside) - at) <= 1.01 * CLOSE
    assert way * (axis.share(end.inside) - at) >= -1e-12  # rounding of a power


@given(st.integers(1, 300))
def test_a_count_is_exact(most):
    axis = Axis(1.0, 400.0, whole=True)

    def judge(values):
        left = [1.0 - 0.5 * v / (most + 0.5) for v in values]
        return [Place(v, y, y, y, meets=y >= TARGET) for v, y in zip(values, left, strict=True)]

    _, (one,) = search(judge, axis, TARGET)
    assert one.most.inside == most
    assert one.most.open == (most >= 400)


def test_what_meets_nowhere_names_the_closest():
    scenario = load_scenario(REFERENCE)
    found = how_far(scenario, ["people/climber/mass=80 kg..140 kg"], replicates=20, workers=1)
    (one,) = found.limits
    assert one.stretches == ()
    assert one.closest.left == max(place.left for place in one.places)


def test_a_value_at_the_limit_meets_the_target_when_typed(tmp_path):
    from edgewear.study.compare import compare

    scenario = load_scenario(REFERENCE)
    (one,) = how_far(scenario, ["job/1/ascend/height=0.1 m..2 m"], replicates=64, workers=1).limits
    (stretch,) = one.stretches
    for value, meets in ((stretch.most.inside, True), (stretch.most.outside, False)):
        typed = scenario.with_values({one.address: value})
        (option,) = compare(typed, replicates=64, out=tmp_path / str(meets)).options
        assert ("meets target" in option.status) == meets


def test_workers_change_nothing():
    scenario = load_scenario(REFERENCE)
    question = ["job/1/ascend/height=0.1 m..1 m"]
    alone = how_far(scenario, question, replicates=20, workers=1)
    assert how_far(scenario, question, replicates=20, workers=2).as_json() == alone.as_json()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("edges/nowhere/radius", "leads nowhere"),
        ("edges/arris/radius=1 mm", "LOW..HIGH"),
        ("edges/arris/radius=1 mm..1 mm", "the same"),
        ("edges/arris/radius=1 kg..2 kg", "kg"),
        ("ropes/reference rope/family", "no number"),
        ("people/climber/technique/fatigue", "say the range"),
        ("job/times=0..5", "whole number"),
    ],
)
def test_what_cannot_be_asked_says_why(typed, said):
    with pytest.raises(UsageError, match=said):
        asked(load_scenario(REFERENCE), typed, ("bare",))


@pytest.mark.parametrize("change", ["radius", "=3 mm", "edges/arris/radius="])
def test_a_change_that_is_none_is_refused(change):
    with pytest.raises(UsageError, match="ADDRESS=VALUE"):
        load_changed(REFERENCE, [change])


def test_a_change_is_what_the_file_would_say(tmp_path):
    typed = tmp_path / "typed.yaml"
    typed.write_text(REFERENCE.read_text().replace("radius: 1 mm", "radius: 7 mm"))
    changed = load_changed(REFERENCE, ["edges/arris/radius=7 mm"])
    assert changed.edges == load_scenario(typed).edges
    with pytest.raises(ScenarioError, match="leads nowhere"):
        load_changed(REFERENCE, ["edges/none/radius=7 mm"])


def test_limits_over_a_second_input_are_those_of_each_value():
    scenario = load_scenario(REFERENCE)
    question, over = ["job/1/ascend/height=0.1 m..2 m"], "edges/arris/radius=1 mm..4 mm"
    found = how_far(scenario, question, replicates=20, workers=1, over=over).limits
    assert [one.given.address for one in found] == ["edges/arris/radius"] * 5
    for one in (found[0], found[-1]):
        typed = scenario.with_values({"edges/arris/radius": one.given.value})
        (alone,) = how_far(typed, question, replicates=20, workers=1).limits
        assert alone.stretches == one.stretches


def test_a_second_input_that_is_the_first_is_refused():
    with pytest.raises(UsageError, match="second input"):
        how_far(load_scenario(REFERENCE), ["edges/arris/radius"], over="edges/arris/radius")


@pytest.mark.parametrize(
    "stages", [(1, 2), (1, 3), (20, 21), (20, 64), (3, 7, 40), (5, 10, 20, 40)]
)
@pytest.mark.parametrize("option", ["roller", "pad"])
def test_going_on_with_the_trials_there_are_is_playing_all_at_once(stages, option):
    scenario = load_text(TWO_WAYS, "ways.yaml")
    sample = None
    for count in stages:
        sample = trials_of(scenario, option, count, 3, sample)
    at_once = trials_of(scenario, option, stages[-1], 3)
    for found, wanted in ((sample.runs, at_once.runs), (sample.edges, at_once.edges)):
        assert found.keys() == wanted.keys()
        for column, values in wanted.items():
            np.testing.assert_array_equal(found[column], values)


@pytest.mark.parametrize("trials", [65, 128, 200])
def test_a_limit_that_few_trials_leave_open_is_found_with_more(trials):
    # 64 trials decide most values; what lies near the limit asks for all of them
    found = how_far(
        load_text(TWO_WAYS.replace("start: 6 m", "start: 20 m"), "ways.yaml"),
        ["job/times"],
        ["pad"],
        0.95,  # about what four climbs leave: of 64 trials it is open whether they do
        replicates=trials,
        workers=1,
    )
    tried = {place.trials for place in found.limits[0].places if not place.refused}
    assert trials in tried


TWO_WAYS = """
edgewear: 1
title: two ways
setting: test
target: 70 %
edges: {bar: {radius: 1.5 mm, surface: steel}}
ropes: {rope: {like: low-stretch 11, length: 40 m}}
people: {climber: {mass: 90 kg, technique: normal, start: 6 m}}
all options: {rope: rope, over: [{edge: bar, after: 12 m, bend: 40 deg}]}
options:
  roller: {protect: {bar: roller}}
  pad: {protect: {bar: pad}}
job: [{ascend: 3 m}]
"""


@pytest.mark.parametrize("option", ["roller", "pad"])
@pytest.mark.parametrize("stages", [(1,), (1, 2), (2, 5, 9)])
def test_a_value_is_read_once_by_all_that_is_asked_of_it(option, stages):
    seed = 10 * len(stages) + len(option)  # a text of its own, that nobody has read before
    scenario = load_text(TWO_WAYS.replace("12 m", f"{seed} m"), "ways.yaml")
    before, sample = loaded.cache_info().misses, None
    for count in stages:
        sample = trials_of(scenario, option, count, 3, sample)
    assert loaded.cache_info().misses == before + 1
