"""Each figure that a ranking tells of an option, against what its own words say it is."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear import records
from edgewear.dataset.ranking.edge_summaries import LEAST_SEEN_M, _mark_stop, edge_summaries
from edgewear.dataset.ranking.headline import NONE_MEETS, headline
from edgewear.dataset.ranking.inspection_plan import looks_of
from edgewear.dataset.ranking.model import chance_words, none_of, sheath_left
from edgewear.dataset.ranking.option_trials import HELD, PARTED, samples_of
from edgewear.dataset.ranking.paired import paired_chance
from edgewear.dataset.ranking.part import Part
from edgewear.dataset.ranking.parts import parts_of
from edgewear.dataset.ranking.rank import in_order, ranking_of
from edgewear.dataset.ranking.statistics import (
    counted_in,
    difference_error,
    quantile,
    quantile_errors,
    replicates_to_settle,
)
from edgewear.dataset.ranking.variance_split import SpreadShares
from edgewear.dataset.ranking.why import bare_said, facts_of, loaded, travel_aside, why_of
from edgewear.report.parts import sentences
from edgewear.terms import CUTTING, EXTRAPOLATED, FAILED, MEETS, ONE_LINE, SAFETY, WORKING
from support.comparisons import Comparison, Way
from support.rankings import edge, option

TRIALS = 24


def option_of(**changes):
    """The one option of a comparison whose trials are alike but for what is changed."""
    demand = changes.pop("demand", [0.2] * TRIALS)
    return ranking_of(Comparison({"a": Way(demand, **changes)})).options[0]


# The careful end.


@pytest.mark.parametrize("count", [20, 40, 200, 401])
def test_the_trials_of_the_careful_end_lie_around_the_5th_percentile_a_twentieth_of_all(count):
    margins = np.linspace(0.2, 0.8, count)
    [sample] = samples_of(Comparison({"a": Way((1 - margins).tolist())}))
    found = np.flatnonzero(sample.careful_trials)  # the trials stand in order, the worst first
    assert found.size == max(round(count / 20), 1)
    assert (np.diff(found) == 1).all()
    # the place of the percentile is rounded to the worse trial, and so is the middle of an even
    # count: by less than one and by a half
    assert -1.5 < found.mean() - 0.05 * (count - 1) <= 0.5


def test_trials_that_failed_take_the_worst_places_and_the_careful_end_the_next():
    margins = np.linspace(0.2, 0.8, 200)
    way = Way((1 - margins).tolist(), failed=frozenset(range(190, 194)))  # four, wherever they are
    [sample] = samples_of(Comparison({"a": way}))
    # place 9.95 of all is place 5.95 of those computed; ten of them around it begin at the first
    assert np.flatnonzero(sample.careful_trials).tolist() == list(range(10))


@pytest.mark.parametrize(("parted", "grade"), [(1, HELD), (2, PARTED), (3, PARTED)])
def test_the_grade_is_that_of_the_trial_at_the_5th_percentile_rounded_to_the_worse(parted, grade):
    # of 40 trials the place is 1.95: the second worst decides
    lost = [9.0] * parted + [math.nan] * (40 - parted)
    [sample] = samples_of(Comparison({"a": Way([0.2] * 40, parted_m=lost)}))
    assert sample.careful_end().grade == grade


@pytest.mark.parametrize(
    ("wrap_deg", "tension_n", "touched"), [(0.5, 0.5, True), (0.0, 9.0, False), (9.0, 0.0, False)]
)
def test_a_line_that_is_bent_and_loaded_the_least_was_touched(wrap_deg, tension_n, touched):
    [sample] = samples_of(Comparison({"a": Way([0.0] * TRIALS, wrap_deg=wrap_deg)}))
    sample.edges["peak_tension_n"] = np.full(TRIALS, tension_n)
    assert sample.touched == touched


# Edges.


def edge_table(*pairs, trials=4):
    """Columns of trials that met each line and edge, all figures zero but what is set after."""
    columns = {c.name: np.zeros(trials * len(pairs)) for c in records.EDGE}
    columns["run"] = np.tile(np.arange(trials), len(pairs))
    for name, at in (("line", 0), ("edge", 1)):
        columns[name] = np.repeat(np.array([pair[at] for pair in pairs], object), trials)
    return columns


def run_table(worst, statuses=None):
    """Columns of trials with their worst line and edge."""
    return {
        "run": np.arange(len(worst)),
        "status": np.array(statuses or ["ok"] * len(worst), object),
        "worst_line": np.array([line for line, _ in worst], object),
        "worst_edge": np.array([edge for _, edge in worst], object),
    }


def rigged(**roles):
    """Lines with their roles, over lip bare and over kerb on a pad."""
    edges = [{"name": "lip", "protection": None}, {"name": "kerb", "protection": "pad"}]
    sections = [{"line": line, "role": role, "edges": edges} for line, role in roles.items()]
    return {"sections": sections, "edge_levels": {"lip": "bare", "kerb": "soft"}}


PAIRS = (("west", "lip"), ("west", "kerb"), ("east", "lip"))
WORST = [PAIRS[0], PAIRS[0], PAIRS[1], PAIRS[2]]


def test_an_edge_is_the_worst_for_the_line_and_the_edge_together():
    found = edge_summaries(edge_table(*PAIRS), run_table(WORST), rigged(west=WORKING, east=SAFETY))
    assert [(e.line, e.edge) for e in found] == list(PAIRS)
    assert [e.worst_share for e in found] == [0.5, 0.25, 0.25]
    assert [e.worst_share_careful for e in found] == [0.5, 0.25, 0.25]  # none chosen: of all
    assert [e.protection for e in found] == [None, "pad", None]
    assert [e.role for e in found] == [WORKING, WORKING, SAFETY]
    assert [e.level for e in found] == ["bare", "soft", ""]  # a line nobody hangs on has none


def test_what_the_careful_trials_did_at_an_edge_is_told_of_them_alone():
    columns = edge_table(*PAIRS)
    columns["demand_max"] = np.array([0.1, 0.2, 0.3, 0.9, 0.4, 0.5, 0.6, 0.7, 0, 0, 0, 0])
    at_end = np.array([False, True, True, False])
    found = edge_summaries(columns, run_table(WORST), rigged(west=WORKING), at_end)
    assert [e.demand_careful for e in found] == pytest.approx([0.25, 0.55, 0.0])
    assert [e.worst_share_careful for e in found] == [0.5, 0.5, 0.0]
    none = edge_summaries(columns, run_table(WORST), rigged(west=WORKING), np.zeros(4, bool))
    assert {e.worst_share_careful for e in none} == {0.0}


@pytest.mark.parametrize("share", [0.0, 0.25, 1.0])
@pytest.mark.parametrize("counts", [None, [0.0, 0.5, 0.5, 0.0], [0.0, 1.0, 0.0, 0.0]])
def test_travel_along_an_edge_is_told_of_the_trials_that_decide(share, counts):
    columns = edge_table(*PAIRS)
    columns["demand_max"] = np.linspace(0.1, 0.8, 12)
    columns["sideways_demand"] = share * columns["demand_max"]
    decide = np.array([False, True, True, False])
    given = None if counts is None else np.array(counts)
    found = edge_summaries(columns, run_table(WORST), rigged(west=WORKING), decide, given)
    # the same trials count for both, so that the share of each of them is that of all
    assert [e.sideways_careful for e in found] == pytest.approx(
        [share * e.demand_careful for e in found], rel=1e-12
    )
    columns["sideways_demand"] = np.full(12, np.nan)  # as of a dataset that has not kept it
    older = edge_summaries(columns, run_table(WORST), rigged(west=WORKING), decide, given)
    assert [e.sideways_careful for e in older] == [None, None, None]
    assert [e.demand_careful for e in older] == [e.demand_careful for e in found]
    assert [travel_aside(e) for e in older] == ["", "", ""]


def test_an_edge_is_summed_up_by_medians_over_the_trials_that_could_be_computed():
    columns = edge_table(PAIRS[0])
    figures = ("wrap_deg", "sawing_amplitude_m", "slip_m", "energy_j", "peak_tension_n",
               "demand_max")  # fmt: skip
    for place, name in enumerate(figures, 1):
        columns[name] = place * np.array([1.0, 2.0, 3.0, 1e6])
    columns["strokes"] = np.array([10.0, 20.0, 30.0, 1e6])
    columns["strokes_stuck"] = np.array([1.0, 2.0, 12.0, 1e6])
    columns["flash_temperature_c"] = np.array([np.nan, 40.0, np.nan, 50.0])
    columns["mark_travel_p50_m"] = np.array([np.nan] * 4)
    runs = run_table([PAIRS[0]] * 4, ["ok", "ok", "ok", FAILED])
    [found] = edge_summaries(columns, runs, rigged(west=WORKING))
    assert [getattr(found, name) for name in figures] == [2.0 * k for k in range(1, 7)]
    assert found.strokes == 20.0
    assert found.stuck_share == pytest.approx(15 / 60)
    assert found.travel_per_stroke_m is None  # not kept, whatever slid there in all
    assert found.mark_travel_m.p50 is None
    assert found.flash_temperature_c is None  # one trial in three has a figure
    columns["flash_temperature_c"][0] = 20.0
    columns["mark_travel_p50_m"][:3] = 0.1, 0.2, 0.4
    columns["mark_travel_p95_m"] = 2.0 * columns["mark_travel_p50_m"]
    [found] = edge_summaries(columns, runs, rigged(west=WORKING))
    assert found.flash_temperature_c == 30.0
    assert (found.mark_travel_m.p50, found.travel_per_stroke_m) == (0.2, 0.2)
    columns["flash_temperature_c"] = np.array([20.0, 40.0, np.nan, np.nan])
    columns["strokes"] = np.zeros(4)
    [found] = edge_summaries(columns, run_table([PAIRS[0]] * 4), rigged(west=WORKING))
    assert found.flash_temperature_c is None  # half of them is not most
    assert (found.stuck_share, found.travel_per_stroke_m) == (None, None)


def test_a_mark_that_hardly_travels_stops_work_at_what_a_rule_can_measure():
    columns = {f"mark_travel_{p}_m": np.linspace(1e-4, 2e-4, 20) for p in ("p50", "p95")}
    assert _mark_stop(columns) == LEAST_SEEN_M == 5e-3  # five divisions of a millimetre rule


# Words and looks.


def test_what_touched_nothing_may_read_as_new_and_a_half_is_a_half():
    assert sheath_left(1.0, touched=False) == "100 %"
    assert sheath_left(1.0) == "99 %"
    assert [sheath_left(m) for m in (0.5, 0.999, -0.001, 0.29)] == ["50 %", "99 %", "-1 %", "29 %"]
    assert sheath_left(None) == "none given"


def test_none_of_so_many_trials_tells_a_share_from_four_on():
    # 3/N: the upper 95 % end of a share none of N trials showed; of three it would read 1
    assert [none_of(n) for n in (1, 3, 4)] == ["none of 1", "none of 3", "below 3/4"]
    told = [chance_words(*given) for given in ((0, 0), (0, 4), (1, 4))]
    assert told == ["no trials", "below 3/4", "1 of 4"]


def test_an_edge_that_takes_nothing_is_not_the_next_and_no_cause():
    first = option_of(edges={"kerb": 1.0, "lip": 0.0})
    assert "Next comes" not in first.why
    assert "In the middle" not in first.why
    both = option_of(edges={"kerb": 1.0, "lip": 0.25})
    assert "Next comes lip, which takes 5 % of the sheath." in both.why
    kerb, lip = first.edges
    less = replace(kerb, worst_share=0.1)
    middle = replace(lip, worst_share=0.9)  # the worst in most trials, and wears nothing there
    assert "In the middle" not in why_of(replace(first, edges=(less, middle)))
    wears = replace(middle, demand_max=0.1)  # less than the other edge
    assert "In the middle" not in why_of(replace(first, edges=(less, wears)))
    wears = replace(middle, demand_max=0.3)
    assert "In the middle of the trials it is lip" in why_of(replace(first, edges=(less, wears)))


@pytest.mark.parametrize(("people", "named"), [(("ann",), False), (("ann", "ben"), True)])
def test_the_why_says_whose_line_it_is_where_there_are_several_people(people, named):
    option = option_of(edges={"kerb": 1.0, "lip": 0.25})
    drawing = {"lines": [{"person": who} for who in (*people, people[0])]}
    why = why_of(replace(option, facts={**option.facts, "drawing": drawing}))
    assert ("kerb on working (" in why) == named
    assert ("lip on working, which" in why) == named


def test_only_what_is_loaded_and_bent_on_a_working_line_counts_as_an_edge():
    option = option_of()
    [edge] = option.edges
    for changes, counts in (
        ({"peak_tension_n": 0.0}, False), ({"peak_tension_n": 0.5}, True),
        ({"wrap_deg": 0.0}, False), ({"wrap_deg": 0.5}, True), ({"role": SAFETY}, False),
    ):  # fmt: skip
        assert loaded(replace(option, edges=(replace(edge, **changes),))) == (
            [replace(edge, **changes)] if counts else []
        )


def test_the_facts_of_an_edge_leave_out_what_has_no_figure():
    option = option_of()
    [edge] = option.edges
    still = replace(edge, stuck_share=None, travel_per_stroke_m=None, slip_m=1.5)
    labels = {f.label: f.words for f in facts_of(replace(option, edges=(still,), stroke_hz=None))}
    assert labels == {
        "travel a stroke at kerb": "none (no strokes; 1.5 m in all)",
        "worst place of the rope at kerb": "in 100 % of the trials",
    }
    bounces = facts_of(replace(option, frequency_stuck_hz=None, frequency_sliding_hz=2.0))
    told = {fact.label: fact.words for fact in bounces}
    assert told["stroke rate over the bounce, sliding"] == "0.25"  # 0.5 Hz over 2 Hz
    assert not any("stuck" in label for label in told if "bounce" in label)


@pytest.mark.parametrize(
    ("demand", "told"),
    [(2.0, "takes 200 % of"), (2.6, "wears the sheath through about 3 times"),
     (0.009, "takes below 1 %"), (0.01, "takes 1 %"), (0.0, "takes 0 %")],
)  # fmt: skip
def test_a_share_of_the_sheath_reads_as_a_share_and_many_of_them_as_a_count(demand, told):
    option = option_of()
    [edge] = option.edges
    assert told in why_of(replace(option, edges=(replace(edge, demand_careful=demand),)))


def runs_of(demand, **changes):
    """Trials alike, whose wear grows evenly to a demand in 3600 s and 60 m of 300 strokes."""
    runs = {"sheath_demand_max": np.full(TRIALS, demand), "ascended_m": np.full(TRIALS, 60.0),
            "strokes": np.full(TRIALS, 300.0)}  # fmt: skip
    for name, share in (("third_worn", 1 / 3), ("two_thirds_worn", 2 / 3), ("core_visible", 1.0)):
        reached = share / demand if demand >= share else np.nan
        runs[f"{name}_time_s"] = np.full(TRIALS, 3600.0 * reached)
        runs[f"{name}_ascended_m"] = np.full(TRIALS, 60.0 * reached)
    return {**runs, **{name: np.full(TRIALS, value) for name, value in changes.items()}}


OK = np.ones(TRIALS, bool)


def test_looks_come_where_a_third_is_worn_and_as_far_apart_as_the_closest_two():
    looks = looks_of(runs_of(1.2), OK)
    # a third at 1/3.6 of the job: 1000 s, 16.67 m, 83 strokes; each further third as far again
    assert (looks.first_time_s, looks.every_time_s) == pytest.approx((1000.0, 1000.0))
    assert (looks.first_ascended_m, looks.every_ascended_m) == pytest.approx((60 / 3.6, 60 / 3.6))
    assert (looks.first_strokes, looks.every_strokes, looks.stop) == (83, 83, None)


@pytest.mark.parametrize("without", ["strokes", "ascended_m"])
def test_where_nobody_climbs_no_strokes_are_told(without):
    looks = looks_of(runs_of(1.2, **{without: 0.0}), OK)
    assert (looks.first_strokes, looks.every_strokes) == (None, None)
    lowered = looks_of(runs_of(1.2, third_worn_ascended_m=0.0), OK)
    assert (lowered.first_strokes, lowered.first_ascended_m) == (None, None)
    assert looks_of(runs_of(1.2, strokes=1.0), OK).first_strokes == 1  # at least one


def test_what_wears_nothing_or_was_not_computed_needs_no_plan_of_looks():
    assert looks_of(runs_of(0.0), OK) is None
    assert looks_of(runs_of(1.2), ~OK) is None
    assert looks_of(runs_of(0.1), OK).first_time_s is None


def test_looks_a_minute_apart_can_be_kept_and_sooner_ones_are_a_stop():
    def thirds(gap_s):
        names = ("third_worn_time_s", "two_thirds_worn_time_s", "core_visible_time_s")
        return {name: 600.0 + gap_s * k for k, name in enumerate(names)}

    assert looks_of(runs_of(1.2, **thirds(60.0)), OK).stop is None
    stop = looks_of(runs_of(1.2, **thirds(59.0)), OK).stop
    assert (stop.from_start, stop.time_s) == (False, 118.0)  # from the first look
    assert (stop.line, stop.edge) == ("the line", "an edge")  # nobody said which
    # two thirds further at 60/3.6 m each, 5 strokes a metre
    assert stop.strokes == math.floor(2 * 60 / 3.6 * 5 + 1e-9)
    ends = looks_of(runs_of(1.2, **thirds(59.0) | {"core_visible_time_s": np.nan}), OK)
    assert ends.stop.time_s == 118.0  # the wear between the last two thirds goes on


@pytest.mark.parametrize(
    ("gap_m", "strokes"), [(0.0, None), (0.04, 1), (0.19, 1), (0.21, 2), (0.31, 3)]
)
def test_a_stop_is_told_in_strokes_where_rope_is_climbed_by_then_and_in_no_less_than_one(
    gap_m, strokes
):
    """From the first look the core is two gaps on, at five strokes a metre: ten a gap."""
    marks = {}
    for k, name in enumerate(("third_worn", "two_thirds_worn", "core_visible")):
        marks |= {f"{name}_time_s": 600.0 + 10.0 * k, f"{name}_ascended_m": 3.0 + gap_m * k}
    stop = looks_of(runs_of(1.2, **marks), OK).stop
    assert (stop.strokes, stop.time_s) == (strokes, 20.0)
    assert stop.words.endswith("20 s" if strokes is None else f"{strokes} strokes")
    for without in ("strokes", "ascended_m"):
        assert looks_of(runs_of(1.2, **marks, **{without: 0.0}), OK).stop.strokes is None


@pytest.mark.parametrize("first_s", [5.0, 61.0, 134.0, 3600.0])
@pytest.mark.parametrize(("second_s", "core_s"), [(0.0, 0.0), (0.0, 9.0), (9.0, 9.0), (0.0, 45.0)])
def test_thirds_that_go_at_one_moment_leave_no_look_in_time(first_s, second_s, core_s):
    """The faster the sheath goes, the harder the word: never a look every so often."""
    ends = zip(
        ("third_worn", "two_thirds_worn", "core_visible"), (0.0, second_s, core_s), strict=True
    )
    marks = {f"{name}_time_s": first_s + gap_s for name, gap_s in ends}
    marks |= {f"{name[:-6]}ascended_m": 0.0 for name in list(marks)}
    looks = looks_of(runs_of(1.2, **marks), OK)
    assert looks.stop is not None
    assert looks.every_time_s is None
    at_once = core_s < 10.0
    assert looks.stop.sudden == (at_once and first_s >= 60.0)
    assert looks.first_is_due == (not at_once and first_s >= 60.0)
    assert looks.stop.time_s == pytest.approx(core_s if looks.first_is_due else first_s + core_s)
    assert ("no look comes in time" in looks.stop.words) == looks.stop.sudden
    assert ("first after" in sentences.looks(looks)) == looks.first_is_due


# What is not given of a cutting edge.


def test_a_cutting_edge_leaves_out_every_figure_of_wear_and_others_have_them():
    figures = ("margin", "margin_error", "p_core_visible", "core_visible_at",
               "residual_strength_n", "looks", "step_error", "spread")  # fmt: skip
    spread = np.linspace(0.5, 2.0, TRIALS).tolist()
    for status in ((), (CUTTING,)):
        samples = samples_of(Comparison({"a": Way(spread, status=status, step_error=0.01)}))
        [option] = in_order(samples, 0.7, 1, lambda name, margins: SpreadShares(0.4, 0.6))
        given = {name for name in figures if getattr(option, name) is not None}
        assert given == (set() if status else set(figures))
        assert (option.p_core_visible_words == "none given") == bool(status)


def test_what_lacks_something_is_counted_apart_and_first_where_all_that_meet_do():
    whole = option_of()
    lone = replace(whole, name="b", rank=2, status=(MEETS, ONE_LINE))
    led = headline((whole, lone), 0.7)
    assert led.startswith("'a' stands first: 80 % of the sheath left at the careful end")
    assert led.endswith("; 1 meets it, but on one line.")
    alone = headline((replace(lone, name="a", rank=1),), 0.7)
    assert alone.startswith("None meets the target with nothing against it")
    assert "'a' stands first, but on one line: 80 %" in alone
    assert headline((whole,), 0.7).startswith("'a' stands first of 1 that meet the target: 80 %")
    assert headline((replace(whole, rank=None, status=("misses target",)),), 0.7) == NONE_MEETS


def test_an_input_that_half_of_the_trials_extrapolate_is_named():
    for shown, named in ((TRIALS // 2, True), (TRIALS // 2 - 1, False)):
        comparison = Comparison({"a": Way([0.2] * TRIALS)})
        runs = comparison.runs()
        texts = ["bend, load"] * shown + [""] * (TRIALS - shown)
        at = runs.column_names.index("extrapolated")
        changed = runs.set_column(at, "extrapolated", [texts])
        comparison.runs = partial(changed.select, changed.column_names)
        option = ranking_of(comparison).options[0]
        assert option.extrapolated == (("bend", "load") if named else ())
        assert (EXTRAPOLATED in option.status) == named


# Parts.


def bearing(**changes):
    """A row of what bears a load."""
    row = {"kind": "rope", "name": "store 1", "lines": ["west"], "people": [], "case": "in work",
           "load": 0.0, "others": 0.0, "most": 1000.0, "unit": "N"}  # fmt: skip
    return {**row, **changes}


def peaks(**changes):
    """Forty trials whose peaks are 1 to 40 N, the first half with west as the worst line."""
    columns = {"run": np.arange(40), "status": np.full(40, "ok", object),
               "worst_line": np.repeat(np.array(["west", "east"], object), 20),
               "peak_tension_n": np.arange(1.0, 41.0), "anchor_peak_n": np.arange(1.0, 41.0),
               "anchor_peak_name": np.full(40, "bolt", object)}  # fmt: skip
    return {**columns, **changes}


NO_EDGES = {"run": np.arange(0)}


def test_a_rope_bears_the_peaks_of_the_trials_in_which_it_is_the_worst():
    [part] = parts_of(peaks(), NO_EDGES, {"bears": [bearing()]})
    assert part.load == pytest.approx(np.quantile(np.arange(1.0, 21.0), 0.95), rel=1e-12)
    assert part.used == pytest.approx(part.load / 1000.0, rel=1e-12)
    [part] = parts_of(peaks(), NO_EDGES, {"bears": [bearing(lines=["north"], load=0.0)]})
    assert part.load == 0.0  # never the worst line: what rigging says


@pytest.mark.parametrize(("named", "most"), [(1, False), (20, False), (21, True)])
def test_an_anchor_bears_the_peaks_that_it_has_the_others_counting_as_nothing(named, most):
    names = np.array(["bolt"] * named + ["post"] * (40 - named), object)
    row = bearing(kind="anchor", name="bolt", load=0.0)
    [part] = parts_of(peaks(anchor_peak_name=names), NO_EDGES, {"bears": [row]})
    others = [] if most else [0.0] * (40 - named)  # where it is not the hardest: nobody knows
    wanted = np.quantile([*np.arange(1.0, named + 1.0), *others], 0.95)
    assert part.load == pytest.approx(wanted, rel=1e-12)


def test_a_load_that_nothing_ends_is_over_its_limit_and_null_in_the_document():
    [part] = parts_of(peaks(), NO_EDGES, {"bears": [bearing(case="catch", load=None, unit="m")]})
    assert part.over
    assert part.how == "drop"
    assert (part.as_json()["used"], part.as_json()["load"]) == (None, None)


def part(kind="anchor", people=("ann",), used=0.5, unit="N", **changes):
    values = {
        "kind": kind,
        "name": kind,
        "lines": ("west",),
        "people": people,
        "how": "load",
        "case": "in work",
        "used": used,
        "load": used * 1000.0,
        "most": 1000.0,
        "unit": unit,
    }
    return Part(**{**values, **changes})


def test_parts_above_their_limit_slings_the_worst_and_what_people_share_are_named():
    over, sling = part("rope", used=1.2), part("bypass sling", used=0.1)
    shared, lone = part("post", people=("ann", "ben"), used=0.2), part("bolt", used=0.3)
    catch = part("backup device", used=2.0)
    option = option_of()
    named = replace(option, parts=(catch, over, lone, shared, sling)).named_parts
    assert named == (over, sling, shared)
    assert replace(option, parts=(catch, lone, shared)).named_parts == (lone, shared)
    assert replace(option, parts=(catch,)).worst_part == catch
    assert replace(option, parts=()).named_parts == ()
    drop = part("deviation", people=("ann", "ben"), unit="m", used=0.1)
    assert drop not in replace(option, parts=(lone, drop)).named_parts


def test_a_part_counts_above_one_and_its_words_name_the_people_who_share_it():
    assert [part(used=u).over for u in (0.99, 1.0, 1.01, math.nan)] == [False, False, True, True]
    assert not part("backup device", used=2.0).counts
    assert part(people=("ann", "ben")).words.endswith(", the lines of ann and ben together")
    assert "together" not in part().words
    assert "together" not in part("rope", people=("ann", "ben")).words
    assert part().words == "anchor (anchor): 0.5 kN in work, holds 1.0 kN"
    assert part(case="rescue").words.startswith("anchor (anchor): 0.5 kN in a rescue")
    worn = part("bypass sling", unit="1", how="wear", used=0.4)
    assert worn.words == "bypass sling: worn 40 %, retire it after the job"
    assert part("bypass sling", unit="1", how="wear", used=0.0).words == "bypass sling: not worn"
    assert part(unit="J", how="used up").words == "anchor: 50 % of what wears it through"
    off = part(unit="m", how="dragged off", load=1.5)
    assert off.words == (
        "anchor: 50 % of what drags it off the edge: 1.5 m of rope slid over it at the careful end"
    )
    drop = part(unit="m", how="drop", case="catch", load=1.25, most=2.0)
    assert drop.words == "anchor: drop of 1.2 m in a catch, 2 m allowed"


# Statistics.


def test_the_error_of_a_percentile_is_the_same_from_either_end():
    values = np.random.default_rng(6).lognormal(size=101)
    ahead, mirrored = quantile_errors(values), quantile_errors(-values)
    # the same differences with the other sign
    assert ahead.p5 == pytest.approx(mirrored.p95, rel=1e-9)
    assert ahead.p95 == pytest.approx(mirrored.p5, rel=1e-9)
    assert ahead.p50 == pytest.approx(mirrored.p50, rel=1e-9)


def test_the_error_of_a_percentile_is_half_of_two_binomial_deviations_of_its_place():
    found = quantile_errors(np.linspace(0.0, 1.0, 401))  # a value is its own share
    for share, error in ((0.05, found.p5), (0.5, found.p50), (0.95, found.p95)):
        assert error == pytest.approx(math.sqrt(share * (1 - share) / 401), rel=1e-9)
    few = quantile_errors(np.linspace(0.0, 1.0, 4))  # 0.05 less its deviation is below the least
    assert few.p5 == pytest.approx((0.05 + math.sqrt(0.05 * 0.95 / 4)) / 2, rel=1e-9)
    assert quantile_errors(np.empty(0)).p50 is None


def test_more_than_a_thousand_million_trials_are_no_number_that_settles():
    assert replicates_to_settle(1.0, 1e3, 230) == math.ceil(230 * 1.96e3**2 / 64) * 64
    assert replicates_to_settle(1.0, 1e3, 300) is None  # 300 times 1.96e3 squared: above 1e9


def test_two_options_are_told_apart_by_more_than_their_error_and_their_step():
    base = np.linspace(0.1, 0.3, TRIALS)
    ways = {"a": Way(base.tolist()), "b": Way((base + 0.04).tolist())}
    comparison = Comparison(ways)
    options, samples = ranking_of(comparison).options, samples_of(comparison)

    def pair(first, second):
        one = replace(options[0], step_error=first)
        return paired_chance(one, replace(options[1], step_error=second), *samples, 1)

    # the pairs differ by 0.04 in every trial: no error but of the step
    for steps, apart in (((None, None), True), ((0.03, None), True), ((0.03, 0.03), False)):
        found = pair(*steps)
        assert (found.told_apart, found.chance, found.replicates_to_settle) == (apart, 1.0, None)
    assert pair(None, None).words == "told apart from 'b'"
    assert "more trials would not settle it" in pair(0.03, 0.03).words


def test_where_two_differ_by_just_what_half_the_step_changes_no_number_of_trials_tells_them_apart():
    ways = {"a": Way([0.25] * TRIALS), "b": Way([0.5] * TRIALS)}  # exact in binary, no error
    comparison = Comparison(ways)
    one, other = (replace(o, step_error=0.125) for o in ranking_of(comparison).options)
    found = paired_chance(one, other, *samples_of(comparison), 1)
    assert (found.told_apart, found.replicates_to_settle) == (False, None)
    assert found.words == "cannot be told apart from 'b'; more trials would not settle it"


def test_a_whole_option_and_one_that_cannot_be_computed_differ_by_grade():
    broken = Way([0.1] * TRIALS, failed=frozenset(range(TRIALS)))
    options = ranking_of(Comparison({"a": Way([0.2] * TRIALS), "b": broken})).options
    assert options[0].beats_next.told_apart
    assert options[0].beats_next.words == "the grades differ"
    both = ranking_of(Comparison({"a": broken, "b": broken})).options
    assert not both[0].beats_next.told_apart


def test_a_bare_edge_is_part_of_the_why_where_somebody_works_over_it_alone():
    rows = [{"words": f"bare edge {k}", "works": works} for k, works in ((1, True), (2, False))]
    assert bare_said({"bare_edges": rows}) == ["bare edge 1"]


def test_what_would_settle_two_options_follows_from_the_error_of_their_fifth_percentiles():
    settled = 0
    for seed in range(8):
        draws = np.random.default_rng(seed)
        demand = draws.uniform(0.1, 0.6, TRIALS)
        ways = {name: Way((demand + draws.normal(0.0, 0.05, TRIALS)).tolist()) for name in "ab"}
        comparison = Comparison(ways)
        samples = samples_of(comparison)
        pair = [replace(one, step_error=None) for one in ranking_of(comparison).options]
        found = paired_chance(*pair, *samples, seed)
        low = [float(np.quantile(sample.margins, 0.05)) for sample in samples]
        error = difference_error(*(sample.margins for sample in samples), 0.05, seed)
        over = 1.96 * error / abs(low[0] - low[1])
        assert found.told_apart == (over < 1.0)
        if over > 1.0:
            settled += 1
            # a number of trials goes with the square of the error that is wanted
            assert found.replicates_to_settle == 64 * math.ceil(TRIALS * over**2 / 64)
    assert settled > 3


@pytest.mark.parametrize("demand", [0.2, 0.73, 1.9, 2.1, 5.4])
@pytest.mark.parametrize("careful", [None, 3.0])
def test_what_an_edge_takes_is_said_of_the_careful_end_where_that_is_known(demand, careful):
    only = edge("kerb", demand_max=demand, demand_careful=careful, worst_share_careful=1.0)
    told = why_of(option("a", edges=(only,)))
    times = f"wears the sheath through about {math.ceil(demand)} times"
    share = f"{100 * demand:.0f} %"
    if careful is None:
        assert (times if demand > 2.0 else f"takes {share} of the sheath") in told
    else:
        assert f"about 3 times at the careful end, {share} in the middle" in told


@pytest.mark.parametrize("third_s", [5.0, 20.0, 59.0])
@pytest.mark.parametrize(
    ("second_s", "core_s"),
    [(np.nan, np.nan), (70.0, np.nan), (500.0, np.nan), (70.0, 600.0), (500.0, 600.0)],
)
def test_a_line_is_worn_through_only_where_more_than_the_first_third_is_known(
    third_s, second_s, core_s
):
    """A job that ends before two thirds are worn leaves more than half of a line, and says so."""
    told = looks_of(
        runs_of(
            1.2, third_worn_time_s=third_s, two_thirds_worn_time_s=second_s,
            core_visible_time_s=core_s, two_thirds_worn_ascended_m=np.nan,
            core_visible_ascended_m=np.nan,
        ),
        OK,
    ).stop  # fmt: skip
    assert told.from_start
    known = not np.isnan(second_s)
    assert ("through" in told.words) == known
    assert ("a third of the sheath of the line" in told.words) == (not known)
    assert told.share == (1.0 if known else pytest.approx(1 / 3))
    if not known:
        assert told.time_s == third_s


demands = st.floats(0.0, 3.0, allow_subnormal=False)


@given(st.lists(st.tuples(demands, demands, demands), min_size=1, max_size=90))
def test_no_edge_takes_more_at_the_careful_end_than_is_gone_there(taken):
    """Three edges of one line, at which every trial wears what it wears."""
    demand = np.array(taken)  # (trials, edges)
    comparison = Comparison({"a": Way(demand.max(axis=1).tolist())})
    sample = samples_of(comparison)[0]
    names = np.array(["lip", "kerb", "beam"], object)
    edges = {name: np.tile(column, 3) for name, column in sample.edges.items()}
    edges["edge"] = np.repeat(names, len(demand))
    edges["demand_max"] = demand.T.ravel()
    found = edge_summaries(
        edges, sample.runs, sample.rigged, sample.careful_trials, sample.careful_counts
    )
    gone = 1.0 - quantile(sample.margins, 0.05)
    takes = {one.edge: one.demand_careful for one in found}
    assert max(takes.values()) <= gone + ROUNDED
    worst = {str(names[demand[trial].argmax()]) for trial in np.flatnonzero(sample.careful_counts)}
    if (
        len(worst) == 1
    ):  # it is the worst in every trial that counts: then it takes all that is gone
        assert takes[worst.pop()] == pytest.approx(gone, abs=ROUNDED)


@pytest.mark.parametrize("trials", [1, 2, 19, 20, 21, 40, 41, 100, 256])
@pytest.mark.parametrize("share", [0.0, 0.05, 0.5, 0.95, 1.0])
def test_what_counts_in_a_quantile_makes_it(trials, share):
    values = np.random.default_rng(trials).normal(size=trials)
    counts = counted_in(values, share)
    assert counts.sum() == pytest.approx(1.0)
    assert np.count_nonzero(counts) <= 2
    assert counts @ values == pytest.approx(quantile(values, share), abs=ROUNDED)
    assert counted_in(np.append(values, -np.inf), 0.0) is None


ROUNDED = 1e-12  # sums of two products of numbers below 4
