"""Shares of variance: published functions, two ways against each other, and a dataset's rows."""

from io import StringIO
from itertools import combinations
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from numpy.polynomial.legendre import legval
from scipy.stats import rankdata

from edgewear.errors import RunFailed, UsageError
from edgewear.findings.inquiries.what_matters import (
    CHOSEN,
    ITSELF,
    SITE,
    TEST,
    LeftOut,
    WhatMatters,
)
from edgewear.forecasts.freeze import _played as frozen_draws
from edgewear.forecasts.quantities import LOOKED_FOR
from edgewear.report.what_matters.files import sheet
from edgewear.report.what_matters.terminal import print_what_matters
from edgewear.report.what_matters.words import LEFT_OUT
from edgewear.study.compare import compare_model
from edgewear.study.sensitivity.designed import designed
from edgewear.study.sensitivity.given import GROUPS, due, indices, mean_ranks
from edgewear.study.sensitivity.matters import (
    STROKES,
    _correlation,
    _draws,
    _given,
    group_of,
    what_matters,
    what_would_matter,
)
from edgewear.study.sensitivity.terms import HIGHEST, ROWS_A_TERM, ROWS_AT_ONCE
from support.short_ropes import just_reaching


def ishigami(u):
    x = np.pi * (2.0 * u - 1.0)
    return np.sin(x[0]) + 7.0 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def products(u):
    a = np.array([0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0])[:, None]
    return np.prod((np.abs(4.0 * u - 2.0) + a) / (1.0 + a), axis=0)


def of_products():
    """Indices of `products` in closed form: V_i = 1/3/(1 + a_i)^2, V = prod(1 + V_i) - 1."""
    part = np.array([1.0, 1.0 / 4.0, 1.0 / 5.5**2, 1e-2, *[1e-4] * 4]) / 3.0
    whole = np.prod(1.0 + part) - 1.0
    total = part * np.prod(1.0 + part) / (1.0 + part) / whole
    return part / whole, total


def of_ishigami():
    """Ishigami and Homma 1990, a = 7, b = 0.1, in closed form."""
    one = 0.5 * (1.0 + 0.1 * np.pi**4 / 5.0) ** 2
    two, pair = 49.0 / 8.0, 0.1**2 * np.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    whole = one + two + pair
    return np.array([one, two, 0.0]) / whole, np.array([one + pair, two, pair]) / whole


PUBLISHED = [(ishigami, *of_ishigami()), (products, *of_products())]


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize(("function", "alone", "total"), PUBLISHED, ids=["waves", "products"])
def test_published_shares_lie_within_their_intervals(function, alone, total, seed):
    u = np.random.default_rng(seed).random((len(alone), 4096))
    found = indices(u, function(u))
    # three half widths of a 90 % interval: 1 in 2 million of a normal one lies beyond; the
    # polynomials end at a power, which leaves up to 0.005 of a kinked function's total share
    for shares, wanted in ((found.alone, alone), (found.total, total)):
        for share, true in zip(shares, wanted, strict=True):
            assert share.low - (share.high - share.low) - 0.005 <= true
            assert true <= share.high + (share.high - share.low) + 0.005


@pytest.mark.long
@pytest.mark.parametrize(("function", "alone", "total"), PUBLISHED, ids=["waves", "products"])
def test_intervals_hold_what_they_say(function, alone, total):
    chance, inside = np.random.default_rng(7), []
    for _ in range(30):
        u = chance.random((len(alone), 1024))
        for shares, wanted in zip(indices(u, function(u))[:2], (alone, total), strict=True):
            main = wanted > 0.05
            inside += [
                s.low <= t <= s.high for s, t, m in zip(shares, wanted, main, strict=True) if m
            ]
    assert np.mean(inside) >= 0.75  # 90 % meant; the polynomials' own error takes some


@pytest.mark.parametrize(("function", "alone", "total"), PUBLISHED, ids=["waves", "products"])
def test_a_design_gives_the_published_shares(function, alone, total):
    found = designed(function, len(alone), 4096, 3).indices
    for shares, wanted in ((found.alone, alone), (found.total, total)):
        for share, true in zip(shares, wanted, strict=True):
            width = share.high - share.low
            assert share.low - width <= true <= share.high + width


def test_shares_do_not_depend_on_units_or_distribution():
    u = np.random.default_rng(1).random((3, 512))
    one = indices(u, ishigami(u))
    other = indices(np.stack([1e9 * u[0], np.exp(5.0 * u[1]), u[2] ** 3]), 1e-6 * ishigami(u))
    for a, b in zip(one.alone, other.alone, strict=True):
        assert a.value == pytest.approx(b.value, abs=1e-9)


def test_an_outcome_that_does_not_vary_has_no_shares():
    found = indices(np.random.default_rng(1).random((2, 100)), np.full(100, 0.3))
    assert [share.value for share in (*found.alone, *found.total)] == [0.0] * 4


@pytest.mark.parametrize(
    ("inputs", "rows", "levels"),
    [(2, 60, 0), (3, 500, 0), (3, 5_000, 30), (4, ROWS_AT_ONCE * GROUPS + 77, 0), (6, 9_000, 40)],
)
def test_sums_of_blocks_of_rows_make_the_fit_of_all_columns_at_once(inputs, rows, levels):
    chance = np.random.default_rng(rows)
    x = chance.random((inputs, rows))
    x = np.floor(levels * x) if levels else x
    y = np.exp(x[0]) + x[0] * x[1] + chance.normal(size=rows)
    u = [2.0 * (rankdata(column) - 0.5) / rows - 1.0 for column in x]
    power = int(np.clip(rows // (ROWS_A_TERM * inputs), 2, HIGHEST))
    pairs = list(combinations(range(inputs), 2))  # at most `PAIRED` inputs: all of them
    of_pair = int(min(5, ((rows - power * inputs) / (ROWS_A_TERM * len(pairs))) ** 0.5))
    columns = [legval(one, np.eye(power + 1)[k]) for one in u for k in range(1, power + 1)]
    own = [[legval(one, np.eye(of_pair + 1)[k]) for k in range(1, of_pair + 1)] for one in u]
    own = [[one - one.mean() for one in some] for some in own]
    columns += [one * other for a, b in pairs for one in own[a] for other in own[b]]
    design = np.stack([np.ones(rows), *columns], axis=1)
    left = y - design @ np.linalg.lstsq(design, y)[0]
    adjusted = (left @ left) / (rows - len(columns) - 1) * (rows - 1) / ((y - y.mean()) ** 2).sum()
    # a hair of 1e-10 of the mean square stands on the diagonal; of columns, all are independent
    assert indices(x, y).unexplained.value == pytest.approx(adjusted, rel=1e-6)


def test_a_design_is_a_power_of_two():
    with pytest.raises(UsageError, match="power of 2"):
        designed(ishigami, 3, 100, 0)


@pytest.mark.parametrize(
    ("address", "kind", "group"),
    [
        ("anchors/bolts/out", "epistemic", SITE),
        ("edges/lip/radius", "epistemic", SITE),
        ("edges/lip/friction", "epistemic", TEST),
        ("wear/sheath energy", "epistemic", TEST),
        ("options/bare/over/1/bend", "epistemic", SITE),
        ("wear/rotation", "aleatory", ITSELF),
        (STROKES, "aleatory", ITSELF),
        ("edges/lip/radius", "", CHOSEN),
    ],
)
def test_inputs_are_gathered_by_what_could_be_done(address, kind, group):
    assert group_of(address, kind) == group


@pytest.mark.long
def test_rows_and_a_design_agree_on_a_shipped_scenario(tmp_path):
    from edgewear.scenario import load_scenario
    from edgewear.study.compare import compare

    file = Path(__file__).parents[2] / "scenarios" / "reference-ascent.yaml"
    scenario = load_scenario(file).with_values({"options/bare/over/1/bend": "3 deg"})
    compare(scenario, replicates=2048, out=tmp_path)
    (given,) = what_matters(tmp_path).options
    (made,) = what_would_matter(scenario, base=512).options
    by_design = {one.address: one for one in made.inputs}
    alone = [one for one in given.inputs if not _leans(scenario, one.address)]
    assert len(alone) >= 5
    for one in alone:
        other = by_design[one.address].alone
        width = max(other.high - other.low, 0.01)
        assert one.alone.low - width <= other.value <= one.alone.high + width


def _leans(scenario, address):
    """Whether an input is drawn together with others, so that alone means another thing."""
    from edgewear.study.model import ScenarioModel

    known = ScenarioModel.of(scenario, 0).uncertainties("bare")
    common = {name for one in known for name, _ in one.leans}
    return any(one.name == address and (one.leans or one.name in common) for one in known)


@pytest.fixture(scope="module")
def rows(tmp_path_factory):
    """A comparison of three options whose margins hang on what is drawn."""
    from support.studies import DESCRIBED, FakeModel

    folder = tmp_path_factory.mktemp("rows")
    model = FakeModel({"bare": 0.9, "pad": 0.4, "roller": 0.2})
    compare_model(model, DESCRIBED, folder, 128, 0, workers=1)
    return folder


def test_of_a_dataset_only_the_options_named_are_told(rows):
    assert [one.option for one in what_matters(rows).options] == ["bare", "pad", "roller"]
    assert [one.option for one in what_matters(rows, options=["pad"]).options] == ["pad"]
    with pytest.raises(UsageError, match="no option is called 'pads'"):
        what_matters(rows, options=["pads"])


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("draws", "times"), [(40, 6), (64, 2), (64, 7), (130, 3)])
def test_a_sample_played_at_many_points_tells_no_more_than_once(draws, times, seed):
    chance = np.random.default_rng(seed)
    inputs = chance.random((4, draws))
    y = inputs[0] + 0.5 * inputs[1] * inputs[2] + 0.2 * chance.normal(size=draws)
    once = indices(inputs, y)
    many = indices(np.tile(inputs, times), np.tile(y, times), np.tile(np.arange(draws), times))
    for found, wanted in zip((*many.alone, *many.total), (*once.alone, *once.total), strict=True):
        # sums of `times` as many rows, added in another order
        for word in ("value", "low", "high"):
            assert getattr(found, word) == pytest.approx(getattr(wanted, word), abs=1e-6)


@pytest.mark.parametrize("levels", [(2, 3), (3, 5), (2, 2), (7, 4)])
@pytest.mark.parametrize("rows", [1, 40])
@pytest.mark.parametrize("seed", range(3))
def test_what_a_grid_sets_goes_with_nothing_else_that_it_sets(levels, rows, seed):
    one, other = (
        column.ravel().astype(float)
        for column in np.meshgrid(*map(np.arange, levels), indexing="ij")
    )
    order = np.random.default_rng(seed).permutation(one.size * rows)
    mixed = [np.repeat(column, rows)[order] for column in (one, other)]
    assert abs(_correlation(*map(mean_ranks, mixed))) < 1e-12  # a sum of as many that cancel


def test_draws_are_numbered_as_they_first_come():
    drawn = [np.array([0.7, 0.1, 0.7, 0.4]), np.array([1.0, 2.0, 1.0, 2.0])]
    assert _draws(drawn).tolist() == [0, 1, 0, 2]
    assert _draws([column[:2] for column in drawn]) is None  # each row has one of its own
    assert _draws([]) is None


@pytest.mark.parametrize("drawn", [1, 5, 18])
@pytest.mark.parametrize("points", [2, 12, 240])
@pytest.mark.parametrize("missing", [0, 1])
def test_a_grid_makes_no_draws(drawn, points, missing):
    draws = 2 * drawn + GROUPS - missing
    chance = np.random.default_rng(drawn)
    values = {f"d{i}": np.tile(chance.random(draws), points) for i in range(drawn)}
    values["lever"] = np.repeat(np.arange(float(points)), draws)
    many = draws * points
    values |= {"option": np.full(many, "pad", object), "run": np.arange(many)}
    kinds = {name: {"kind": "epistemic" if name[0] == "d" else ""} for name in values}
    schema = pa.schema([pa.field(n, pa.float64(), metadata=k) for n, k in kinds.items()])
    found = _given("pad", values, schema, values["d0"] + values["lever"])
    if missing:  # however large the grid
        wanted = ("pad", drawn + 1, many, draws, draws + 1)
        assert (found.option, found.inputs, found.rows, found.draws, found.draws_due) == wanted
        assert f"{draws} different draws, at least {draws + 1} are due" in found.words
    else:
        assert found.rows == many


@pytest.mark.parametrize("outcome", [0.0, 0.4, 0.97, -30.0])
@pytest.mark.parametrize("inputs", [2, 3, 7])
def test_what_was_played_stays_what_it_was(inputs, outcome) -> None:
    """The shares are of what differs; the outcome beside them is told as it came out."""
    kept: list[tuple[np.ndarray, np.ndarray]] = []

    def function(shares: np.ndarray) -> np.ndarray:
        y = outcome + 0.1 * shares.sum(axis=0)
        kept.append((shares, y))
        return y

    designed(function, inputs, 16, 2)
    for shares, y in kept:
        assert (y == outcome + 0.1 * shares.sum(axis=0)).all()


def dataset_of(folder, replicates, lost=0, known=()):
    """A comparison of two options, of which the first has `lost` rows that came to no number."""
    from support.studies import DESCRIBED, FRICTION, MASS, FakeModel

    known = known or (FRICTION, MASS)
    model = FakeModel({"pad": 0.4, "roller": 0.2}, known, not_a_number_at=frozenset(range(lost)))
    compare_model(model, DESCRIBED, folder, replicates, 0, workers=1)
    return folder


@pytest.mark.parametrize("replicates", [8, 21, 39])
@pytest.mark.parametrize("lost", [0, 3])
def test_too_few_rows_are_told_with_how_many_are_due(replicates, lost, tmp_path):
    """By hand: two inputs, so twice the twenty groups of the jackknife is the larger."""
    with pytest.raises(UsageError) as told:
        what_matters(dataset_of(tmp_path, replicates, lost))
    for option, rows in (("pad", replicates - lost), ("roller", replicates)):
        assert f"{option}: {rows} rows for 2 varying inputs, at least 40 are due" in str(told.value)


@pytest.mark.parametrize("more", [0, 1, 7])
@pytest.mark.parametrize("lost", [1, 8])
def test_an_option_that_others_outnumber_is_named_and_they_are_told(lost, more, tmp_path):
    lost += more
    found = what_matters(dataset_of(tmp_path, 40 + more, lost))
    assert [one.option for one in found.options] == ["roller"]
    (one,) = found.left_out
    assert (one.option, one.rows, one.rows_due) == ("pad", 40 + more - lost, 40)
    assert found.as_json()["left_out"][0]["words"] == one.words
    for text in (shown(found), str(sheet(found))):
        assert one.words in " ".join(text.split())


def shown(found):
    stream = StringIO()
    print_what_matters(found, stream)
    return stream.getvalue()


@pytest.mark.parametrize("inputs", [1, 3, 10, 11, 40])
@pytest.mark.parametrize("drawn", [0, 1, 9])
def test_as_many_as_are_due_give_shares(inputs, drawn):
    rows, draws = due(inputs, drawn)
    chance = np.random.default_rng(inputs)
    x = chance.random((inputs, rows))
    found = indices(x, x[0] + 0.1 * chance.normal(size=rows))
    assert np.isfinite([share.value for share in found.alone]).all()
    # every group of the jackknife leaves more draws than both powers of what was drawn take
    assert draws - draws // GROUPS > 2 * drawn


@pytest.mark.parametrize(("rows", "draws"), [(300, 12), (39, 12), (39, None), (300, 29)])
def test_what_is_left_out_says_each_thing_that_is_missing(rows, draws):
    one = LeftOut("pad", 5, rows, 40, draws, 30)
    assert ("40 are due" in one.words) == (rows < 40)
    assert ("30 are due" in one.words) == (draws is not None)


@pytest.mark.parametrize("rows", [5, 4_000])
def test_where_nothing_varies_more_rows_are_not_asked_for(rows):
    words = LeftOut("pad", 0, rows, 40).words
    assert "no input varies" in words
    assert "due" not in words


@pytest.mark.parametrize("few", [False, True])
@pytest.mark.parametrize("none", [False, True])
@pytest.mark.parametrize("fixed", [False, True])
def test_the_heading_over_what_is_left_out_is_true_of_every_reason(few, none, fixed):
    """That rows are too few is said of those alone of which more rows would tell."""
    left = [LeftOut("few", 5, 12, 40)] * few + [LeftOut("none", 5, 0, 40)] * none
    left += [LeftOut("fixed", 0, 40, 40)] * fixed
    found = WhatMatters("made", "sheath_margin", "rows", (), tuple(left))
    for text in (shown(found), str(sheet(found))):
        said = " ".join(text.split())
        assert (LEFT_OUT in said) == bool(left)
        assert "Too few rows" not in said
        assert ("are due" in said) == few
        assert ("could be computed" in said) == none
        assert ("no input varies" in said) == fixed


ASKED = {
    "what matters": lambda scenario: what_would_matter(scenario, base=8),
    "a forecast": lambda scenario: frozen_draws(scenario, "only", next(iter(LOOKED_FOR)), 40, 0),
}


@pytest.mark.parametrize("asked", ASKED)
@pytest.mark.parametrize("then", [", {ascend: 1 m}", ", {work: 1 min}, {ascend: 1 m}"])
@pytest.mark.parametrize(("behind", "down"), [(20, 5), (30, 12)])
@pytest.mark.parametrize("spare_m", [0.0, 30.0])  # more than any place of the anchor takes
def test_what_is_played_anew_tells_nothing_of_a_part_of_the_plan(
    behind, down, then, spare_m, asked
):
    """Half of the places lie further back than the middle one, whose rope just reaches."""
    scenario = just_reaching(behind, down, then, spare_m)
    if spare_m:
        ASKED[asked](scenario)
        return
    said = "only: a run does not finish the plan, in step 2 .*too short"
    with pytest.raises(RunFailed, match=said):
        ASKED[asked](scenario)
