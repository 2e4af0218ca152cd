"""What a dataset tells of a rope, of a run and of how it differs from another, by hand."""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256
from types import SimpleNamespace

import numpy as np
import pyarrow as pa
import pytest

from edgewear import records
from edgewear.dataset import door
from edgewear.dataset import manifest as manifests
from edgewear.dataset.about import methods, readme
from edgewear.dataset.files import Written, write_bytes, write_json, write_table
from edgewear.dataset.ranking.model import TOP_MARGIN
from edgewear.dataset.reading import Dataset
from edgewear.dataset.rope_wear import line_wear
from edgewear.dataset.run_json import run_document
from edgewear.dataset.schema import schema_of
from edgewear.dataset.tables import due
from edgewear.errors import DatasetError, Mismatch, UsageError
from edgewear.terms import CUTTING, EXTRAPOLATED, LINE_LOST, ROPE_SWAPPED

# The wear of one rope.

DEMAND = {"w": [0.0, 0.25, 0.5, 0.75], "s": [0.125, 0.125, 0.125, 0.125]}
BEFORE = {"w": [0.0, 0.125, 0.5 - 1e-14, 0.0], "s": [0.125, 0.125, 0.125, 0.125]}
SECTIONS = [
    {"line": "w", "person": "ann", "role": "working line"},
    {"line": "w below", "person": "ann", "role": "working line"},
    {"line": "s", "person": "ann", "role": "safety line"},
    {"line": "of ben", "person": "ben", "role": "working line"},
]
LARGEST = np.arange(1.0, 21.0)
"""What twenty trials wear of the west line, each at the kerb; half of it at the lip."""


def comparison(tmp_path):
    """What is read of a finished comparison: option a wears line w, option b nothing."""
    write_bytes(tmp_path, "manifest.json", b"{}")
    rows = [(o, line, k) for o in "ab" for line in DEMAND for k in range(4)]
    wear = pa.table({
        "option": [o for o, _, _ in rows], "line": [line for _, line, _ in rows],
        "rope": np.ones(len(rows), int),
        "along_m": [2.0005 + 0.001 * k for _, _, k in rows],
        "demand": [DEMAND[line][k] for _, line, k in rows],
        "before": [BEFORE[line][k] if o == "a" else DEMAND[line][k] for o, line, k in rows],
    })  # fmt: skip
    plan = pa.table({"run": np.arange(40), "option": ["a"] * 20 + ["b"] * 20})
    edges = pa.table({
        "run": np.concatenate([np.arange(20)] * 3 + [np.arange(20, 40)]),
        "line": ["w"] * 40 + ["s"] * 20 + ["w"] * 20, "rope": np.ones(80, int),
        "demand_max": np.concatenate([LARGEST, LARGEST / 2, 9 * LARGEST, 5 * LARGEST]),
    })  # fmt: skip
    return SimpleNamespace(
        root=tmp_path, resolved={"options": {key: {"sections": SECTIONS} for key in "ab"}},
        manifest=SimpleNamespace(about={"title": "made up"}),
        wear=lambda: wear, plan=lambda columns: plan.select(columns),
        edges=lambda columns: edges.select(columns), events=lambda: happened(),
        timeline=lambda: wear,
    )  # fmt: skip


def happened(option="a", who="ann", what="ends", detail="w"):
    """Events with a single one in them."""
    one = {"option": option, "who": who, "what": what, "detail": detail}
    return pa.Table.from_pylist([one])


def test_the_wear_of_a_line_is_what_the_job_added_and_how_its_trials_spread(tmp_path):
    found = line_wear(comparison(tmp_path), "a", "w")
    assert (found.title, found.option, found.line) == ("made up", "a", "w")
    assert found.dataset == sha256(b"{}").hexdigest()
    # less what was worn before; what is left of rounding counts as nothing
    assert found.demand.tolist() == [0.0, 0.125, 0.0, 0.75]
    assert found.first_m == pytest.approx(2.0, abs=1e-12)  # the near end of the first millimetre
    wanted = np.quantile(LARGEST, (0.05, 0.5, 0.95)) / 0.75  # numpy's own
    assert found.factors == pytest.approx(tuple(wanted), rel=1e-12)


def test_the_trials_of_the_last_option_are_read_like_those_of_the_first(tmp_path):
    turned = comparison(tmp_path)
    plan = pa.table({"run": np.arange(40), "option": ["b"] * 20 + ["a"] * 20})
    turned.plan = plan.select
    found = line_wear(turned, "a", "w")
    wanted = np.quantile(5 * LARGEST, (0.05, 0.5, 0.95)) / 0.75  # numpy's own
    assert found.factors == pytest.approx(tuple(wanted), rel=1e-12)


def test_what_is_not_clear_is_asked_for_and_never_guessed(tmp_path):
    with pytest.raises(UsageError, match="several options: say with --option which of 'a', 'b'"):
        line_wear(comparison(tmp_path), None, "w")
    with pytest.raises(UsageError, match="several lines: say with --line which of 'w', 'w below'"):
        line_wear(comparison(tmp_path), "a", None)
    with pytest.raises(UsageError, match="no option 'c': allowed are 'a', 'b'"):
        line_wear(comparison(tmp_path), "c", None)
    with pytest.raises(UsageError, match="no line 'x': allowed are 'w', 'w below', 's', 'of ben'"):
        line_wear(comparison(tmp_path), "a", "x")
    single = comparison(tmp_path)
    single.resolved = {"options": {"a": {"sections": SECTIONS[:1]}}}
    found = line_wear(single, None, None)
    assert (found.option, found.line, found.rope) == ("a", "w", None)
    with pytest.raises(UsageError, match="no rope 2 of 'w': it had 1 rope"):
        line_wear(single, None, None, 2)
    assert line_wear(single, None, None, 1).demand.tolist() == found.demand.tolist()


@pytest.mark.parametrize("line", ["w", "w below", "s", "of ben"])
@pytest.mark.parametrize("who", [["ann"], ["ben"], ["ann", "ben"], []])
def test_wear_of_a_part_of_the_plan_is_entered_for_no_rope(tmp_path, line, who):
    """Whoever does not finish it: of option b all do, and a dataset of before does not tell."""
    found = comparison(tmp_path)
    early = [{"who": one, "step": 2, "why": "the shift is over"} for one in who]
    found.resolved["options"]["a"] = {"sections": SECTIONS, "ended_early": early}
    assert line_wear(found, "b", line).line == line
    if not who:
        assert line_wear(found, "a", line).line == line
        return
    with pytest.raises(UsageError, match=r"the plan is not finished in 'a'.*with --job"):
        line_wear(found, "a", line)


def test_a_line_that_nothing_wore_has_a_wear_of_nothing(tmp_path):
    """Rather than that of another line, or none that could be entered."""
    found = line_wear(comparison(tmp_path), "a", "of ben")
    assert (found.line, found.demand.tolist(), found.factors) == ("of ben", [], (1.0, 1.0, 1.0))


def test_where_nothing_was_worn_or_no_trial_was_kept_the_factors_are_one(tmp_path):
    assert line_wear(comparison(tmp_path), "b", "w").factors == (1.0, 1.0, 1.0)
    empty = comparison(tmp_path)
    none = empty.edges(["run", "line", "rope", "demand_max"]).slice(0, 0)
    empty.edges = none.select
    assert line_wear(empty, "a", "w").factors == (1.0, 1.0, 1.0)


def swapped(tmp_path, before=False):
    """Line w with three ropes, worn by 1, 2 and 3 with middle values, in trials 1 to 20 times that.

    before: as a dataset of before keeps it.
    """
    found, ropes = comparison(tmp_path), [1, 2, 3]
    wear = pa.table({
        "option": ["a"] * 3, "line": ["w"] * 3, "rope": [0] * 3 if before else ropes,
        "along_m": [0.0005] * 3, "demand": [1.0, 2.0, 3.0], "before": [0.0] * 3,
    })  # fmt: skip
    edges = pa.table({
        "run": np.repeat(np.arange(20), 3), "line": ["w"] * 60,
        "rope": [0] * 60 if before else ropes * 20,
        "demand_max": np.outer(LARGEST, ropes).ravel(),
    })  # fmt: skip
    swap = {"option": "a", "who": "ann", "what": ROPE_SWAPPED, "detail": "w"}
    events = pa.Table.from_pylist([swap, {**swap, "detail": "w below"}, {**swap, "option": "b"}])
    found.wear = found.timeline = lambda: wear
    found.edges, found.events = edges.select, lambda: events
    return found


@pytest.mark.parametrize("rope", [1, 2, 3])
def test_of_a_swapped_line_the_wear_of_the_rope_asked_for_is_told(tmp_path, rope):
    found = line_wear(swapped(tmp_path), "a", "w", rope)
    assert (found.rope, found.demand.tolist()) == (rope, [float(rope)])
    wanted = np.quantile(LARGEST, (0.05, 0.5, 0.95))  # numpy's own, of this rope's own trials
    assert found.factors == pytest.approx(tuple(wanted), rel=1e-12)


@pytest.mark.parametrize("line", ["w", "w below"])
def test_which_rope_of_a_swapped_line_is_never_guessed(tmp_path, line):
    """A swap replaces all of a person's line of one role; the option's others stay clear."""
    with pytest.raises(UsageError, match=f"'{line}' was swapped .* --which .* rope 1, 2 or 3$"):
        line_wear(swapped(tmp_path), "a", line)
    for wrong in (0, 4, -1):
        with pytest.raises(UsageError, match=f"no rope {wrong} of '{line}': it had 3 ropes"):
            line_wear(swapped(tmp_path), "a", line, wrong)
    for other in ("s", "of ben"):
        assert line_wear(swapped(tmp_path), "a", other).rope is None


@pytest.mark.parametrize("rope", [None, 1, 2, 3])
def test_a_dataset_of_before_knows_only_the_last_rope_of_a_line(tmp_path, rope):
    with pytest.raises(UsageError, match=r"this dataset of before does not keep.*with --job"):
        line_wear(swapped(tmp_path, before=True), "a", "w", rope)


# The document of one run.

FIGURES = {
    "role": "working line", "sheath_demand_max": 0.25, "peak_tension_n": 1500.0,
    "anchor_peak_n": 1600.0, "stretch_m": 0.5, "sliding_hz": 0.9, "stuck_hz": 1.4,
    "core_visible": None, "core_loss": 0.0, "residual_strength_n": 2e4, "parted": None,
    "ropes": (),
}  # fmt: skip


def line(**changes):
    """The outcome of the west line."""
    return SimpleNamespace(name="w", _asdict=lambda: {**FIGURES, **changes})


def document(*lines, edge=None, status=(), **more):
    """The document of a run that touched the kerb, as `edge` changes it; another line, the lip."""
    edges = np.zeros(2, records.numpy_dtype(records.EDGE))
    edges["line"], edges["edge"] = ["w", "other"], ["kerb", "lip"]
    for name, value in {"wrap_deg": 60.0, "peak_tension_n": 1500.0, **(edge or {})}.items():
        edges[name][0] = value
    events = np.zeros(1, records.numpy_dtype(records.EVENT))
    events["tick"], events["who"], events["what"] = 25_000, "ann", "stands"
    run = np.zeros(1, records.numpy_dtype(records.RUN))[0]
    run["extrapolated"] = more.pop("extrapolated", "")
    run["duration_s"], run["strokes"] = 60.0, 30
    rigged = {"status": list(status), "control": "soft", "sections": []}
    return run_document("a", rigged, lines or (line(),), edges, events, run, **more)


def test_a_run_tells_its_figures_and_never_reads_as_new_after_a_contact():
    told = document()
    assert (told["duration_s"], told["strokes"], told["status"]) == (60.0, 30, [])
    assert told["lines"][0]["sheath_margin"] == 0.75
    assert [edge["name"] for edge in told["lines"][0]["edges"]] == ["kerb"]
    assert told["lines"][0]["natural_frequency_hz"] == {"sliding": 0.9, "stuck": 1.4}
    assert told["events"][0]["time_s"] == 2.5  # ten thousand ticks a second
    assert document(line(sheath_demand_max=0.0))["lines"][0]["sheath_margin"] == TOP_MARGIN
    for off in ({"wrap_deg": 0.0}, {"peak_tension_n": 0.0}):
        clear = document(line(sheath_demand_max=0.0), edge=off)
        assert clear["lines"][0]["sheath_margin"] == 1.0
        worn = document(line(sheath_demand_max=0.25), edge=off)  # before, by another job
        assert worn["lines"][0]["sheath_margin"] == 0.75
    light = document(line(sheath_demand_max=0.0), edge={"wrap_deg": 0.5, "peak_tension_n": 0.5})
    assert light["lines"][0]["sheath_margin"] == TOP_MARGIN


def test_a_run_says_of_the_heat_of_a_contact_what_it_was_told():
    assert document()["lines"][0]["edges"][0]["heat"] is None
    marks = {("w", 1, "kerb"): "below melting", ("w", 1, "lip"): "other", ("w", 2, "kerb"): "melts"}
    told = document(heat=marks, edge={"rope": 1})
    assert told["lines"][0]["edges"][0]["heat"] == "below melting"


def test_a_run_has_the_statuses_of_its_rigging_and_of_what_happened():
    shown = SimpleNamespace(_asdict=lambda: {"time_s": 40.0})
    found = document(line(), line(core_visible=shown), status=("one line",), extrapolated="b, c")
    assert found["status"] == ["one line", LINE_LOST, EXTRAPOLATED]
    assert found["extrapolated"] == ["b", "c"]
    assert found["lines"][1]["core_visible"] == {"time_s": 40.0}
    assert document(line(core_visible=shown), line(core_visible=shown))["status"] == [LINE_LOST]


@pytest.mark.parametrize("status", [(), (CUTTING,)])
def test_a_run_over_a_cutting_edge_alone_says_that_its_wear_is_for_research(status):
    said = any("for research alone" in text for text in document(status=status)["cautions"])
    assert said == bool(status)


# Manifests.


def manifest(**changes):
    """A study that was not played."""
    made = manifests.opening(kind="sweep", study="0" * 64, rows=10, chunk_rows=4, about={"seed": 1})
    return replace(made, **changes)


def refused(tmp_path, found, wanted, resolved=None):
    """What is said where one study lies and another is wanted."""
    with pytest.raises(Mismatch) as raised:
        manifests.same_study(found, wanted, tmp_path, resolved)
    return str(raised.value)


def test_the_same_study_is_none_other(tmp_path):
    manifests.same_study(manifest(), manifest(rows=99), tmp_path)  # its identity decides
    assert manifest().failed == 0
    assert not manifest().finished


OTHER = "1" * 64


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"rows": 11}, "11 runs, now 10"),
        ({"kind": "compare"}, "a compare, not a sweep"),
        ({"model": 1}, f"made with model 1, here is {records.MODEL}"),
        ({"about": {"seed": 7}}, "seed was 7, now 1"),
        ({"about": {"seed": 1, "title": "x"}}, "its scenario or parameters differ"),
    ],
)
def test_another_study_is_refused_with_what_differs_and_nothing_else(tmp_path, changes, said):
    whole = refused(tmp_path, manifest(study=OTHER, **changes), manifest())
    assert whole.split("another study: ")[1].split(". Choose")[0] == said


def test_a_study_of_another_version_tells_that_and_no_inputs(tmp_path):
    write_json(tmp_path, "scenario.json", {"scenario": {"a": {"m": 1}, "steps": ["x", "y"]}})
    now = {"a": {"m": 2}, "steps": ["x", "z"], "title": "other"}
    here = refused(tmp_path, manifest(study=OTHER), manifest(), now)
    assert 'another study: a/m was 1, now 2; steps/2 was "y", now "z".' in here
    older = manifest(study=OTHER, versions={**manifest().versions, "numpy": "1.0"})
    there = refused(tmp_path, older, manifest(), now)
    assert "made with numpy 1.0, here is" in there
    assert "a/m" not in there
    assert "made with numpy 1.0" in refused(tmp_path, replace(older, study="0" * 64), manifest())
    assert "a/m" not in refused(tmp_path, manifest(study=OTHER), manifest())


def test_a_quantity_that_differs_is_told_as_it_was_typed(tmp_path):
    before = {"typed": "1 m", "value": 1.0}
    for now, said in (
        ({"typed": "2 m", "value": 2.0}, 'a was "1 m", now "2 m"'),
        ({"typed": "1 m", "value": 1.5}, "a was 1.0, now 1.5"),  # of an entry that changed
    ):
        write_json(tmp_path, "scenario.json", {"scenario": {"a": before}})
        assert said in refused(tmp_path, manifest(study=OTHER), manifest(), {"a": now})


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ({"x": 1}, 3, 'a was {"x": 1}, now 3'),
        (3, {"x": 1}, 'a was 3, now {"x": 1}'),
        ([1, 2], [1], "a was [1, 2], now [1]"),
        ([1], 1, "a was [1], now 1"),
        ({"x": 1}, {"y": 1}, "a/x was 1, now null; a/y was null, now 1"),
        ({"typed": "1 m"}, {"typed": "2 m"}, 'a/typed was "1 m", now "2 m"'),
        (
            {"typed": "1 m", "value": 1},
            {"typed": "2 m"},
            'a/typed was "1 m", now "2 m"; a/value was 1, now null',
        ),
        ([{"x": 1}, 2], [{"x": 5}, 2], "a/1/x was 1, now 5"),
        ("\u00e4", "\u00f6", 'a was "\u00e4", now "\u00f6"'),
    ],
)
def test_what_differs_is_told_by_the_smallest_place_that_both_have(was, now, said, tmp_path):
    write_json(tmp_path, "scenario.json", {"scenario": {"a": was, "b": [was]}})
    told = refused(tmp_path, manifest(study=OTHER), manifest(), {"a": now, "b": [was]})
    assert f"another study: {said}. Choose" in told


def test_where_what_was_asked_can_be_read_no_more_that_it_differs_is_all_that_is_told(tmp_path):
    for text in (None, b"no document", b"[]", b"{}"):
        if text is not None:
            write_bytes(tmp_path, "scenario.json", text)
        told = refused(tmp_path, manifest(study=OTHER), manifest(), {"a": 1})
        assert "another study: its scenario or parameters differ." in told


def test_a_study_is_known_by_the_names_and_the_bytes_of_its_parts():
    """Not by the order in which they are given."""
    parts = [{}, {"a": ""}, {"a": "bc"}, {"a": "b", "b": "c"}, {"a": "", "b": "bc"},
             {"b": "bc"}, {"a": "c", "b": "b"}, {"ab": "c"}]  # fmt: skip
    known = [manifests.identity(kind, some) for kind in manifests.KINDS for some in parts]
    assert len(set(known)) == len(known)
    for some in parts:
        turned = dict(reversed(some.items()))
        assert manifests.identity("sweep", turned) == manifests.identity("sweep", some)
        raw = {name: text.encode() for name, text in some.items()}
        assert manifests.identity("sweep", raw) == manifests.identity("sweep", some)


def test_a_part_that_is_not_listed_is_missed_by_its_name(tmp_path):
    parts = [Written(f"runs/part-{k:06d}.parquet", "", 0, 0) for k in range(3)]
    for gone in parts:  # ten rows in chunks of four
        left = tuple(part for part in parts if part != gone)
        with pytest.raises(DatasetError, match=f"{gone.path}: is not listed, and its runs are"):
            Dataset(tmp_path, manifest(files=left)).runs()


def test_many_differences_are_named_up_to_eight(tmp_path):
    for count, more in ((8, False), (9, True)):
        write_json(tmp_path, "scenario.json", {"scenario": {f"k{i}": 0 for i in range(count)}})
        now = {f"k{i}": 1 for i in range(count)}
        said = refused(tmp_path, manifest(study=OTHER), manifest(), now)
        assert said.count(" was 0, now 1") == 8
        assert (" more." in said) == ("and 1 more." in said) == more


def test_a_long_value_is_cut_where_it_is_told(tmp_path):
    for length, cut in ((58, False), (59, True)):  # with its two quotes, sixty are told whole
        write_json(tmp_path, "scenario.json", {"scenario": {"a": "x" * length}})
        said = refused(tmp_path, manifest(study=OTHER), manifest(), {"a": ""})
        assert ("..." in said) == cut
        told = said.split("a was ")[1].split(", now")[0]
        assert len(told) == 60
        assert told == ('"' + "x" * 56 + "..." if cut else f'"{"x" * 58}"')


def test_what_decides_an_outcome_is_all_but_what_is_told_to_people():
    idle = dict.fromkeys(("title", "notes", "warnings", "study", "path", "source"), "x")
    decides = {"edges": {"lip": {"title": "x"}}, "seed": 1}
    assert manifests.deciding({**idle, **decides, "library_source": "x"}) == decides


def test_a_part_belongs_to_a_study_that_is_long_enough():
    # ten rows in chunks of four: parts 0, 1 and 2
    kept = [manifests.is_of(manifest(), f"runs/part-{n:06d}.parquet") for n in range(4)]
    assert kept == [True, True, True, False]
    assert manifests.is_of(manifest(rows=8), "edges/part-000001.parquet")
    assert not manifests.is_of(manifest(rows=8), "edges/part-000002.parquet")
    assert manifests.is_of(manifest(), "nominal/wear.parquet")
    assert not manifests.is_of(manifest(), "notes.txt")


def test_what_lies_among_the_tables_and_is_not_ours_is_named_and_left_alone(tmp_path):
    own = write_bytes(tmp_path, "runs/part-000000.parquet", b"own")
    write_bytes(tmp_path, "runs/mine.txt", b"foreign")
    write_bytes(tmp_path, "notes.txt", b"beside")
    half = tmp_path / f"runs/part-000001.parquet.1{door.TEMPORARY}"
    half.write_bytes(b"half")
    study = manifest(files=(own,), finished=True)
    manifests.write(tmp_path, study)
    assert manifests.foreign(tmp_path, study) == ["runs/mine.txt"]
    assert sorted(manifests.damage(tmp_path, study)) == [
        "runs/mine.txt: does not belong to this dataset",
        f"runs/{half.name}: does not belong to this dataset",
    ]
    manifests.clear(tmp_path, study, ())
    left = sorted(p.relative_to(tmp_path).as_posix() for p in tmp_path.rglob("*") if p.is_file())
    assert left == ["manifest.json", "notes.txt", "runs/mine.txt", f"runs/{half.name}"]
    assert manifests.sweep_unfinished(tmp_path) == [f"runs/{half.name}"]
    assert not half.exists()
    (tmp_path / "manifest.json").unlink()
    with pytest.raises(Mismatch, match=r"holds '(notes\.txt|runs)' but no"):
        manifests.read_if_there(tmp_path)


def test_what_gives_way_is_listed_noted_or_of_the_study_itself(tmp_path):
    names = [f"{table}/part-{k:06d}.parquet" for table in ("runs", "edges") for k in range(6)]
    names += ["nominal/wear.parquet", "nominal/mine.parquet", "plan.parquet", "notes.txt"]
    written = {name: write_bytes(tmp_path, name, name.encode()) for name in names}
    listed, noted = names[4], names[11]  # parts behind the end of ten rows in chunks of four
    manifests.clear(tmp_path, manifest(files=(written[listed],)), [noted])
    left = [name for name in names if (tmp_path / name).exists()]
    assert left == [*names[3:4], *names[5:6], *names[9:11], "nominal/mine.parquet", "notes.txt"]


def test_a_folder_with_a_log_alone_is_ours_to_fill(tmp_path):
    (tmp_path / "log").mkdir()
    assert manifests.read_if_there(tmp_path) is None


@pytest.mark.parametrize(
    ("name", "wrong"),
    [("kind", "other"), ("study", "0"), ("model", 0), ("versions", {"numpy": 2}), ("rows", 0),
     ("rows", 10**12 + 1), ("rows", True), ("chunk_rows", 0), ("failed", -1), ("finished", 1)],
)  # fmt: skip
def test_a_manifest_whose_figures_cannot_be_is_damaged(tmp_path, name, wrong):
    manifests.write(tmp_path, manifest(**{name: wrong}))
    with pytest.raises(DatasetError, match=f"damaged: {name}: "):
        manifests.read(tmp_path)
    least = manifest(rows=1, chunk_rows=1, model=1, failed=0)
    for fits in (least, manifest(rows=10**12, chunk_rows=10**12)):
        manifests.write(tmp_path, fits)
        assert manifests.read(tmp_path) == fits


# What it tells people.


def test_a_study_tells_how_often_each_row_was_played_where_it_was_more_than_once():
    for about, said in (({}, False), ({"replicates": 1}, False), ({"replicates": 3}, True)):
        text = methods(manifest(about={"seed": 1, **about}))
        assert ("Each was played 3 times with other strokes." in text) == said
        assert ("Each was played" in text) == said
    study = {"grid": {"bend": [1, 2]}, "table": "t.csv"}
    text = methods(manifest(about={"seed": 1, "study": study}))
    assert "Every combination of bend (2 values) was run. Values came from the table t.csv." in text
    assert "sampled" not in text
    played = methods(manifest(kind="compare", about={"seed": 1, "replicates": 3}))
    assert "Each option was played in 3 trials" in played
    assert "Each was played" not in played
    assert readme(manifest(about={})).startswith("# an edgewear dataset")
    assert readme(manifest(about={"title": "pier"})).startswith("# pier")


def test_the_tables_of_the_nominal_runs_are_read_each_by_its_own_name(tmp_path):
    rows = {"events": 1, "wear": 2, "timeline": 3}
    written = tuple(
        write_table(tmp_path, f"nominal/{name}.parquet", of_nothing(name, count))
        for name, count in rows.items()
    )
    dataset = Dataset(tmp_path, manifest(kind="compare", files=written))
    assert {name: getattr(dataset, name)().num_rows for name in rows} == rows


def of_nothing(table: str, rows: int) -> pa.Table:
    """Rows of a table of nominal runs in which nothing is said."""
    columns = due(table, rows).columns
    row = np.zeros(rows, [(column.name, column.dtype) for column in columns])
    return pa.table([row[column.name] for column in columns], schema=schema_of(columns))
