"""A plan that is not finished is told: what is said of wear is then of a part of the job."""

from __future__ import annotations

import csv
import io
from itertools import permutations
from pathlib import Path

import numpy as np
import pytest

from edgewear.dataset.ranking.option_trials import statuses_of
from edgewear.dataset.reading import open_dataset
from edgewear.errors import RunFailed
from edgewear.findings.timeline import ended_early
from edgewear.job.log import Kind
from edgewear.layout import TICK_S
from edgewear.records import EVENT, RUN, numpy_dtype
from edgewear.report.formats.table_csv import table
from edgewear.scenario import load_text
from edgewear.study.compare import compare
from edgewear.study.limits.trials import trials_of
from edgewear.study.model import ScenarioModel
from edgewear.study.single import simulate
from edgewear.study.task import of_a_part, refuse_parts
from edgewear.terms import OK, UNFINISHED

CUT = """
edgewear: 1
title: A climb over a cutting edge
setting: alpine
target: 70 %
anchors: {{post: {{out: -1 m, up: 0.5 m, kind: pair}}}}
edges: {{slab: {{out: 0 m, up: 0 m, radius: {radius}, surface: glass}}}}
ropes: {{line: {{like: low-stretch 9, length: 40 m}}}}
people: {{ann: {{mass: 95 kg, technique: jerky}}}}
options: {{bare: {{anchor: post, rope: line}}}}
job: [descend: 10 m, ascend: 10 m]
"""

ENDS_EARLY = (Kind.STOPS, Kind.WAITS_IN_VAIN)


@pytest.mark.parametrize("kind", ENDS_EARLY)
@pytest.mark.parametrize("steps", [1, 2, 5])
@pytest.mark.parametrize("people", [("ann",), ("ann", "bo"), ("stops", "ends")])
@pytest.mark.parametrize("ends", [0, 1, 2])
def test_who_ends_early_is_told_once_each_with_step_and_reason(
    kind: Kind, steps: int, people: tuple[str, ...], ends: int
) -> None:
    early = people[:ends]
    log = [(who, Kind.BEGINS, step, "climbs") for who in people for step in range(1, steps + 1)]
    log += [(who, kind, steps, f"the rope of {who} is used up") for who in early]
    log += [(who, Kind.ENDS, steps, "climbs") for who in people if who not in early]
    events = np.zeros(len(log), numpy_dtype(EVENT))
    for row, (who, what, step, detail) in zip(events, log, strict=True):
        row["who"], row["what"], row["step"], row["detail"] = who, what.word, step, detail
    told = ended_early(events)
    assert [(one.who, one.step) for one in told] == [(who, steps) for who in early]
    for one in told:
        assert f"{one.who} does not finish the plan: at step {steps}, " in one.words
        assert f"the rope of {one.who} is used up" in one.words
        assert ("waits in vain" in one.words) == (kind is Kind.WAITS_IN_VAIN)


@pytest.mark.parametrize(("radius", "parts"), [("0.1 mm", True), ("30 mm", False)])
def test_a_comparison_says_that_a_line_parted_before_the_plan_ended(
    radius: str, parts: bool, tmp_path: Path
) -> None:
    file = tmp_path / "cut.yaml"
    file.write_text(CUT.format(radius=radius), "utf-8")
    (option,) = compare(file, 3, out=tmp_path / "out").options
    assert any("does not finish the plan" in text for text in option.facts["mind"]) is parts


REST_MIN = 20
SHIFT = """
edgewear: 1
title: A rest that outlasts a shift
setting: alpine
target: 10 %
anchors: {{post: {{out: -1 m, up: 0.5 m, kind: pair}}, other: {{out: -1 m, along: 3 m, up: 0.5 m, kind: pair}}}}
edges: {{rim: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{line: {{like: low-stretch 11, length: 40 m, stopper: yes}}}}
people:
  ann: {{mass: 90 kg, shift: {{length: {shift_min} min}}}}
  bo: {{mass: 80 kg}}
lines: {{ann: {{anchor: post, rope: line}}, bo: {{anchor: other, rope: line}}}}
options: {{padded: {{protect: {{rim: pad}}}}, bare: {{}}}}
job:
  ann: [descend: 5 m, rest: {rest_min} min, event: rested, ascend: 5 m]
  bo: [{waits}descend: 3 m, ascend: 3 m]
"""  # noqa: E501


@pytest.mark.parametrize("waits", [False, True])
@pytest.mark.parametrize("shift_min", [2, REST_MIN - 1, 3 * REST_MIN])
def test_every_output_says_that_a_shift_ends_before_the_plan(
    shift_min: int, waits: bool, tmp_path: Path
) -> None:
    """Five metres take a minute or two at most, so the rest decides, alike in every trial."""
    file, broken = tmp_path / "shift.yaml", shift_min < REST_MIN
    wait = "wait for: rested, " if waits else ""
    file.write_text(SHIFT.format(shift_min=shift_min, rest_min=REST_MIN, waits=wait), "utf-8")
    ranking = compare(file, 3, out=tmp_path / "out")
    who = ["ann", "bo"] if waits else ["ann"]
    for option in ranking.options:
        assert (UNFINISHED in option.status) == broken
        assert (option.rank is None) == broken
        document = option.as_json()
        assert [one["who"] for one in document["ended_early"]] == (who if broken else [])
        assert (document["unfinished"], document["unfinished_step"]) == (
            (3, 2) if broken else (0, None)
        )
        run = simulate(file, option.name)
        assert (UNFINISHED in run["status"]) == broken
        told = [one["words"] for one in document["ended_early"]]
        assert run["mind"][: len(told)] == told == document["mind"][: len(told)]
    steps = open_dataset(tmp_path / "out").runs(["unfinished_step"]).to_pydict()["unfinished_step"]
    assert set(steps) == ({2.0} if broken else {0.0})
    rows = list(csv.DictReader(io.StringIO(table(ranking))))
    assert {row["unfinished"] for row in rows} == ({"3"} if broken else {"0"})
    assert all((UNFINISHED in row["status"]) == broken for row in rows)


FOLLOWS = """
edgewear: 1
title: A shift that some trials outlast
setting: alpine
target: 10 %
anchors: {{post: {{out: -1 m, up: 0.5 m, kind: pair, releasable: yes}}}}
edges: {{rim: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{line: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, shift: {{length: {length}}}}}}}
options: {{shifted: {{anchor: post, rope: line, shift: 0.4 m every 10 strokes, protect: {{rim: pad}}}}}}
job: [descend: 15 m, ascend: 15 m]
"""  # noqa: E501


def test_where_the_course_follows_the_rope_each_trial_ends_by_itself(tmp_path: Path) -> None:
    """Half of the middle trial's time breaks all off, twice as much none; longer never more.

    Strokes vary, which a course does not know of: half and twice are far from all of them.
    """
    file, trials = tmp_path / "follows.yaml", 12
    file.write_text(FOLLOWS.format(length="9 h"), "utf-8")
    compare(file, trials, out=tmp_path / "long")
    took = np.array(open_dataset(tmp_path / "long").runs().column("duration_s").to_pylist())
    found = []
    for share in (0.5, 0.75, 0.85, 0.95, 2.0):
        file.write_text(FOLLOWS.format(length=f"{share * np.median(took):.0f} s"), "utf-8")
        (option,) = compare(file, trials, out=tmp_path / "short").options
        table = open_dataset(tmp_path / "short").runs(["unfinished_step"])
        steps = np.array(table.column("unfinished_step").to_pylist())
        assert set(steps) <= {0.0, 2.0}
        assert option.unfinished == (steps > 0).sum()
        found.append(option.unfinished)
    assert found == sorted(found, reverse=True)
    assert (found[0], found[-1]) == (trials, 0)
    assert len(set(found)) > 2  # some in between: each by itself, not all as the middle one


SLOW = """\
techniques:
  normal:
    rise: {value: 0.2 m, low: 0.2 m, high: 0.6 m, distribution: uniform}
    pause time: {value: PAUSE s, low: 0.1 s, high: PAUSE s, distribution: uniform}
    rise time: {value: 3 s, low: 0.1 s, high: 3 s, distribution: uniform}
"""
"""The middle values are the slowest of all, so that no trial takes as long as they do."""


@pytest.mark.parametrize("pause_s", [10, 20])
@pytest.mark.parametrize("share", [0.98, 0.995, 1.005, 1.5])
def test_a_limit_and_a_comparison_say_alike_that_the_middle_is_not_finished(
    share: float, pause_s: int, tmp_path: Path
) -> None:
    """Trials that all come to their end do not make up for it, wherever they are judged."""
    text = FOLLOWS + SLOW.replace("{", "{{").replace("}", "}}").replace("PAUSE", str(pause_s))
    whole = ScenarioModel.of(load_text(text.format(length="9 h"), "m.yaml"), 0).nominal("shifted")
    took_s = whole.events["tick"].max() * TICK_S
    file = tmp_path / "slow.yaml"
    file.write_text(text.format(length=f"{share * took_s:.1f} s"), "utf-8")
    (option,) = compare(file, 3, out=tmp_path / "out").options
    sample = trials_of(load_text(file.read_text("utf-8"), "m.yaml"), "shifted", 3, 0)
    assert not sample.unfinished.any()
    judged = statuses_of(sample, 0.1)
    assert (UNFINISHED in judged) == (UNFINISHED in option.status) == (share < 1.0)
    assert sample.rigged.get("ended_early", []) == option.as_json()["ended_early"]


STEPS, PARTED_S = [0.0, 0.0, 3.0, 3.0, np.nan], [np.nan, 40.0, np.nan, 40.0, np.nan]
"""Of runs: whole, parted at its end, of a part, parted on the way, and of a dataset of before."""


@pytest.mark.parametrize("at", list(permutations(range(5), 3)))
def test_runs_are_refused_where_one_says_nothing_of_the_whole_plan(at: tuple[int, ...]) -> None:
    rows = np.zeros(3, numpy_dtype(RUN))
    rows["status"], rows["reason"] = OK, "the rope is too short"
    rows["unfinished_step"], rows["parted_time_s"] = (np.take(of, at) for of in (STEPS, PARTED_S))
    assert of_a_part(rows["unfinished_step"], rows["parted_time_s"]).tolist() == [
        k == 2 for k in at
    ]
    if 2 not in at:
        refuse_parts("padded", rows)
        return
    with pytest.raises(RunFailed, match=r"padded: .* in step 3 \(the rope is too short\)"):
        refuse_parts("padded", rows)
