"""What was measured on site corrects the forecast, and never by more than it says."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.dataset.ranking.option_trials import samples_of
from edgewear.dataset.ranking.rank import ranking_of
from edgewear.dataset.ranking.resampled import Resampled
from edgewear.dataset.reading import open_dataset
from edgewear.study.compare import compare_model
from edgewear.study.correction import likelihood
from edgewear.study.correction import site_correction as observing
from edgewear.study.correction.fitted import Reading, contradicting, fitted, possible
from edgewear.study.correction.looked_at import Looked
from edgewear.study.correction.site_correction import (
    Corrected,
    _inspection,
    _reading,
    _stopped,
    _told,
)
from support import rankings
from support.studies import DESCRIBED, FakeModel

WORLDS = 512
WEIGHTS = np.full(WORLDS, 1.0 / WORLDS)
WITHIN = 0.25
"""Standard deviation of the logarithm of travel from stroke to stroke."""


def worlds(rng, count):
    """Friction and wear of some worlds: travel of a mark [m] and sheath margin follow."""
    slip, wear = rng.normal(0, 0.5, count), rng.normal(0, 0.3, count)
    return 0.05 * np.exp(slip), 1 - 0.3 * np.exp(slip + wear)


def corrected(rng):
    """One site: the truth, the interval before and after three strokes were read."""
    travel, margin = worlds(rng, WORLDS)
    true_travel, true_margin = worlds(rng, 1)
    read = true_travel * np.exp(rng.normal(0, WITHIN, 3))
    read += rng.normal(0, likelihood.TAPE_M, 3) + rng.normal(0, likelihood.TAPE_SHARE, 3) * read
    spread = math.exp(likelihood.Z95 * WITHIN)
    fit = likelihood.travel(np.abs(read), travel / spread, travel, travel * spread)
    weight = likelihood.weights(fit)
    kept = likelihood.chosen(weight, int(likelihood.effective(weight)))
    return (
        true_margin[0],
        np.quantile(margin, (0.05, 0.95)),
        np.quantile(margin[kept], (0.05, 0.95)),
    )


def test_intervals_cover_the_truth_as_often_as_they_say_and_get_narrower():
    rng = np.random.default_rng(8)
    sites = [corrected(rng) for _ in range(200)]
    inside = sum(low <= truth <= high for truth, _, (low, high) in sites)
    # 90 in 100 are meant; 85 to 95 allowed, 2.4 standard deviations of 200 trials
    assert 170 <= inside <= 190
    before = np.median([high - low for _, (low, high), _ in sites])
    after = np.median([high - low for *_, (low, high) in sites])
    assert after < 0.8 * before


def test_a_travel_read_in_the_middle_favours_the_worlds_that_forecast_it():
    middle = np.array([0.02, 0.05, 0.1])
    fit = likelihood.travel(np.array([0.05] * 3), middle / 1.5, middle, middle * 1.5)
    assert fit.argmax() == 1


def test_a_rope_that_sticks_does_not_rule_out_everything():
    still = np.zeros(4)
    assert np.isfinite(likelihood.travel(np.array([0.1]), still, still, still)).all()
    none = np.full(4, np.nan)
    assert np.isfinite(likelihood.travel(np.array([0.1]), none, none, none)).all()


@pytest.mark.parametrize(
    ("seen", "demand"), [("nothing", 0.1), ("fuzz", 0.36), ("yarns cut", 0.7), ("core visible", 2)]
)
def test_each_word_fits_the_wear_it_stands_for_best(seen, demand):
    fits = {word: likelihood.inspection(word, np.array([demand]))[0] for word in likelihood.SEEN}
    assert max(fits, key=fits.get) == seen


@given(st.floats(1e-4, 10))
def test_the_words_share_out_all_chances(demand):
    chances = [
        math.exp(likelihood.inspection(word, np.array([demand]))[0]) for word in likelihood.SEEN
    ]
    # each of four words may be lifted to the floor
    assert sum(chances) == pytest.approx(1.0, abs=4 * likelihood.FLOOR + 1e-9)


def test_a_bounce_counted_further_down_is_slower():
    worlds_hz = np.array([0.6, 0.8, 1.0])
    at_hand = likelihood.bounce(0.8, 5.0, worlds_hz, 5.0)
    assert at_hand.argmax() == 1
    # (5 + 3.5)/(25.5 + 3.5) under the root is 0.541: 1.0 Hz becomes 0.54 Hz
    assert likelihood.bounce(0.541, 25.5, worlds_hz, 5.0).argmax() == 2


@given(st.lists(st.floats(-300, 0), min_size=1, max_size=200), st.integers(1, 300))
def test_worlds_are_chosen_in_proportion_to_their_weights(fits, count):
    weight = likelihood.weights(np.array(fits))
    assert weight.sum() == pytest.approx(1.0, rel=1e-9)
    assert 1 - 1e-9 <= likelihood.effective(weight) <= len(fits) * (1 + 1e-9)
    kept = likelihood.chosen(weight, count)
    assert all(a <= b for a, b in pairwise(kept.tolist()))
    often = np.bincount(kept, minlength=len(fits))
    # systematic resampling takes each floor or ceil of its share, one off where sums round
    assert (np.abs(often - weight * count) <= 1 + 1e-6).all()


@pytest.fixture(scope="module")
def dataset(tmp_path_factory):
    root = tmp_path_factory.mktemp("observe")
    model = FakeModel({"bare": 0.9, "pad": 0.4, "roller": 0.2})
    compare_model(model, DESCRIBED, root, replicates=64, seed=5)
    return open_dataset(root)


def test_choosing_every_trial_once_changes_nothing(dataset):
    again = Resampled(dataset, np.arange(64))
    for before, after in zip(samples_of(dataset), samples_of(again), strict=True):
        for column in ("sheath_margin", "stretch_m"):
            assert np.array_equal(before.runs[column], after.runs[column], equal_nan=True)
        assert np.array_equal(before.edges["demand_max"], after.edges["demand_max"])
    assert [o.name for o in ranking_of(again).options] == [
        o.name for o in ranking_of(dataset).options
    ]


def test_chosen_trials_are_the_same_worlds_for_every_option(dataset):
    kept = np.array([3, 3, 3, 10, 40])
    seen = samples_of(Resampled(dataset, kept))
    for before, after in zip(samples_of(dataset), seen, strict=True):
        assert np.array_equal(after.margins, before.margins[kept])
    ranking = ranking_of(Resampled(dataset, kept))
    assert ranking.replicates == 5
    assert all(option.trials == 5 for option in ranking.options)


@pytest.mark.parametrize("columns", [("option", "replicate"), ("replicate", "run"), ("run",)])
def test_the_chosen_rows_of_a_plan_are_read_by_any_of_its_columns(dataset, columns):
    kept = [3, 3, 40]
    whole = dataset.plan(["option", "replicate"]).to_pydict()
    names = list(dict.fromkeys(whole["option"]))
    wanted = {"option": [name for name in names for _ in kept], "replicate": kept * len(names),
              "run": list(range(len(kept) * len(names)))}  # fmt: skip
    seen = Resampled(dataset, np.array(kept))
    assert seen.plan(list(columns)).to_pydict() == {name: wanted[name] for name in columns}
    for table, all_of_them in ((seen.runs, dataset.runs), (seen.edges, dataset.edges)):
        assert table(["run"]).to_pydict() == table().select(["run"]).to_pydict()
        [other] = [name for name in ("stretch_m", "demand_max") if name in table().column_names]
        assert table([other]).to_pydict() == table().select([other]).to_pydict()
        assert table().column_names == all_of_them().column_names


def reading(what):
    return Reading(what, (0.3,), (0.0, 0.05, 0.1), "m", "above what was forecast")


def test_a_mark_beyond_its_stop_value_stops_the_work():
    option = rankings.option("padded")  # stop value 110 mm at the kerb
    seen = SimpleNamespace(observation="mark travel", edge="kerb")
    lines = [edge.line for edge in option.edges]
    told = _stopped(seen, reading("mark travel at kerb"), option, lines)
    assert told.stop
    assert "110 mm" in told.words
    calm = _stopped(seen, replace(reading("mark"), read=(0.1,)), option, lines)
    assert not calm.stop
    ranking = rankings.ordinary()
    assert Corrected(ranking, ranking, 50.0, (told,), None, WEIGHTS).headline.startswith(
        "Stop the work."
    )
    assert Corrected(ranking, ranking, 50.0, (calm,), None, WEIGHTS).headline.startswith(
        "Corrected by"
    )
    assert Corrected(ranking, None, 5.0, (calm,), None, WEIGHTS).headline.endswith("survey again.")


def test_a_core_that_shows_stops_the_work():
    seen = SimpleNamespace(observation="inspection", seen="core visible")
    told = _stopped(seen, reading("core visible seen at kerb"), rankings.option("padded"), [])
    assert told.stop
    assert told.words == "the line is lost"


def test_the_prediction_is_said_to_agree_with_what_lies_inside_its_forecast():
    inside = replace(reading("mark travel at kerb"), agrees=True)
    ranking = rankings.ordinary()
    both = Corrected(ranking, ranking, 50.0, (inside, reading("bounces a second")), None, WEIGHTS)
    said = "agrees with 1 of 2 observations made here"
    assert both.agreement == f"the prediction before {said}, 2 of them used to correct it"
    assert both.as_json()["agrees_with"] == 1
    assert [one["agrees"] for one in both.as_json()["observed"]] == [True, False]
    none = Corrected(ranking, None, 5.0, (inside,), None, WEIGHTS)
    assert none.agreement.endswith("1 of 1 observation made here, none of them used to correct it")
    assert said in " ".join(_told(ranking, ranking, (inside, reading("bounce"))).notes)


WORDS_SEEN = ["a word", "a worse word"]


@pytest.mark.parametrize("replicates", [4, 24, 100, 199, 200, 512, 4096])
@pytest.mark.parametrize("why", ["expected", "outside", "impossible", "stop", *WORDS_SEEN])
def test_few_trials_are_not_blamed_on_the_site_and_the_site_not_on_them(replicates, why):
    """Only where each reading was expected can it be for lack of trials that too few fit."""
    seen = {
        "expected": replace(reading("mark"), agrees=True),
        "outside": reading("mark"),
        "impossible": replace(reading("mark"), agrees=True, possible=False),
        "stop": replace(reading("mark"), agrees=True, stop=True),
        "a word": replace(reading("fuzz"), forecast=None, agrees=True),
        "a worse word": replace(reading("fuzz"), forecast=None),
    }[why]
    before = replace(rankings.ordinary(), replicates=replicates)
    found = Corrected(before, None, 5.0, (seen,), None, WEIGHTS)
    few = replicates < 200 and why in ("expected", "a word")
    assert (found.too_few, found.as_json()["too_few"]) == (few, few)
    begins = "Too few trials" if few else "Stop the work" if why == "stop" else "The forecast does"
    assert found.headline.startswith(begins)
    assert not replace(found, after=before).too_few


@pytest.mark.parametrize(
    ("read", "agrees"), [((0.05, 0.06), True), ((0.2, 0.3), False), ((0.001, 0.001), False)]
)
def test_a_reading_agrees_inside_the_central_ninety_per_cent(read, agrees):
    forecast = np.linspace(0.01, 0.1, 101)
    found = _reading("mark travel at kerb", np.array(read), forecast, "m")
    assert found.agrees == agrees
    assert (found.words == "inside what was forecast") == agrees


@pytest.mark.parametrize(
    ("seen", "agrees"), [("nothing", True), ("fuzz", True), ("yarns cut", False)]
)
def test_an_inspection_agrees_where_its_word_meets_the_forecast(seen, agrees, monkeypatch):
    """Worn by 10 to 40 % in 90 of 100 worlds: nothing is seen up to 25 %, fuzz up to 50 %."""
    worn = np.linspace(0.0833, 0.4167, 1001)
    monkeypatch.setattr(observing, "_at_edge", lambda *_: [worn])
    monkeypatch.setattr(observing, "_working", lambda *_: ["w"])
    monkeypatch.setattr(observing, "looked_at", lambda *_: Looked(1, 1.0, lain=True))
    one = SimpleNamespace(edge="kerb", seen=seen)
    found, _ = _inspection(one, SimpleNamespace(name="padded"), "lead", None)
    assert found.agrees == agrees
    assert "10 % to 40 % of the sheath worn was forecast" in found.words


def fits_of(*worlds_favoured):
    """Logarithms of likelihoods that leave only some of 100 worlds, each group of them."""
    return [
        np.where(np.isin(np.arange(100), list(those)), 0.0, math.log(likelihood.FLOOR))
        for those in worlds_favoured
    ]


@pytest.mark.parametrize(
    ("favoured", "named"),
    [
        ((range(50), range(50, 100)), [("a", "b")]),
        ((range(50), range(20, 100)), []),  # thirty worlds fit both: more than enough
        ((range(60), range(50, 100), range(100)), [("a", "b")]),
        ((range(5), range(100)), [("a",)]),  # five worlds are too few by themselves
        ((range(5), range(50), range(50, 100)), [("a",), ("b", "c")]),
    ],
)
def test_readings_that_contradict_each_other_are_named(favoured, named):
    readings = [
        Reading(name, (0.1,), None, "m", "") for name, _ in zip("abc", favoured, strict=False)
    ]
    found = contradicting(readings, fits_of(*favoured))
    assert list(found) == named
    lost = Corrected(rankings.ordinary(), None, 3.0, tuple(readings), None, WEIGHTS, found)
    for group in named:
        assert " together with ".join(group) in lost.headline


def test_a_reading_that_no_trial_comes_near_is_named_alone():
    readings = [Reading("a", (0.1,), None, "m", "", possible=False), Reading("b", (), None, "", "")]
    assert contradicting(readings, fits_of(range(100), range(100))) == (("a",),)


WORDS = tuple(likelihood.SEEN)


def site(rng: np.random.Generator, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Travel at one edge [m] and demand at another [1] in some worlds, more or less alike."""
    shared, own = rng.normal(0, 1, count), rng.normal(0, 1, count)
    alike = rng.uniform(-1, 1)
    travel = 0.05 * np.exp(rng.uniform(0.2, 0.9) * shared)
    mixed = alike * shared + math.sqrt(1 - alike**2) * own
    return travel, rng.uniform(0.01, 0.6) * np.exp(rng.uniform(0.2, 0.9) * mixed)


def careful_end(margin, readings, fits) -> float | None:
    """Sheath left in the world that 5 % of the weight lies below; None where it is given up."""
    found = fitted(list(map(possible, readings, fits)), fits)
    if not found.holds:
        return None
    order = np.argsort(margin)
    place = np.searchsorted(np.cumsum(found.weight[order]), 0.05)
    return float(margin[order][min(place, len(margin) - 1)])


def worse_words_never_comfort(seed: int) -> None:
    """A worse word at one edge, whatever else was read, never leaves more sheath there."""
    rng = np.random.default_rng(seed)
    travel, demand = site(rng, WORLDS)
    readings, fits = [Reading("word", (), None, "", "")], []
    if rng.random() < 0.8:
        read = travel[rng.integers(WORLDS)] * np.exp(rng.normal(0, WITHIN, 3))
        spread = math.exp(likelihood.Z95 * WITHIN)
        fits.append(likelihood.travel(read, travel / spread, travel, travel * spread))
        readings.append(Reading("mark", tuple(read), None, "m", ""))
    share = rng.uniform(0.02, 1.0)
    words = [likelihood.inspection(word, demand * share) for word in WORDS]
    found = [careful_end(1 - demand, readings, [word, *fits]) for word in words]
    held = [end for end in found if end is not None]
    # a word depends on the demand alone and the worse one is likelier the more is worn, so no
    # quantile can rise; 1e-9: sums of weights in another order
    assert all(worse <= better + 1e-9 for better, worse in pairwise(held)), (seed, found)
    first = next((place for place, end in enumerate(found) if end is not None), 0)
    # given up for a word, it is given up for a worse one: that is further off still
    assert found[first : first + len(held)] == held, (seed, found)


@pytest.mark.parametrize("seed", range(40))
def test_a_worse_word_never_comforts(seed: int) -> None:
    worse_words_never_comfort(seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(40, 2040))
def test_a_worse_word_never_comforts_at_large(seed: int) -> None:
    worse_words_never_comfort(seed)


def test_a_reading_that_the_others_outvote_is_not_passed_over() -> None:
    """Twenty-five worlds fit what was seen, none of them the mark; a hundred and more fit that."""
    few = np.where(np.arange(WORLDS) < 25, 0.0, math.log(likelihood.FLOOR))
    rest = np.where(np.arange(WORLDS) < 100, -18.0, 0.0)
    readings = [Reading("word", (), None, "", ""), Reading("mark", (), None, "", "")]
    found = fitted(readings, [few, rest])
    assert likelihood.effective(found.weight) > 100
    assert not found.holds
    assert found.effective < 25
