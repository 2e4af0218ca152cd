"""The wear of a compared job is laid where it was planned, on the rope it was planned with."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.dataset.reading import open_dataset
from edgewear.dataset.rope_wear import line_wear, planned_rope
from edgewear.errors import UsageError
from edgewear.stock.entries import Draft
from edgewear.stock.job_entry import as_planned, check_planned
from edgewear.study.compare import compare
from support.ropes import draft, stock_in
from support.shell import edgewear

TODAY = date.today().isoformat()  # what time alone asks for depends on it
LENGTH_M = 60.0
TEXT = """\
edgewear: 1
title: gutter
setting: test
target: 60 %
anchors: {post: {out: -6 m, up: 1 m, kind: pair}, bolts: {out: 0.2 m, up: -8 m, kind: pair}}
edges: {lip: {out: 0 m, up: 0 m, radius: 3 mm, surface: concrete}}
ropes:
  mine: {record: {file: store.ropes, rope: R1}, stopper: yes}
  any: {like: low-stretch 11, length: 60 m, stopper: yes}
people: {ann: {mass: 90 kg, technique: jerky}}
options:
  plain: {rope: mine, anchor: post}
  tail: {rope: mine, anchor: post, tail: 1.5 m}
  turned: {rope: mine, anchor: post, turned: yes}
  both: {rope: mine, anchor: post, tail: 4 m, turned: yes}
  no record: {rope: any, anchor: post, tail: 2 m, turned: yes}
  below: {rope: mine, anchor: post, tail: 1 m, re-anchor: [bolts]}
job: [{descend: 6 m}, {ascend: 6 m}]
"""
LAID = {"plain": (0.0, False), "tail": (1.5, False), "turned": (0.0, True), "both": (4.0, True),
        "no record": (2.0, True)}  # fmt: skip


def registered(rope: str, length_m: float = LENGTH_M, like: str = "low-stretch 11") -> Draft:
    return draft("register", rope, on=TODAY, length_m=length_m, like=like)


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A comparison with a rope of a record, beside that record and one of the same names."""
    root = tmp_path_factory.mktemp("planned")
    drafts = [registered("R1"), registered("R2"), registered("R3", like="dynamic single 9.8")]
    with stock_in(root, None, *drafts):
        pass
    (root / "elsewhere").mkdir()
    with stock_in(root / "elsewhere", None, registered("R2"), registered("R1")):
        pass
    (root / "job.yaml").write_text(TEXT)
    compare(root / "job.yaml", 4, 0, workers=1, out=root / "out")
    return root


def entered(root: Path, rope: str, option: str, *words: str) -> tuple[int, str, str]:
    """Enter a job: exit code, what was printed, what was refused."""
    done = edgewear("rope", "job", "store.ropes", rope, "--dataset", str(root / "out"), "--option",
                    option, "--line", "working line", "--by", "A", *words, folder=root)  # fmt: skip
    return done.returncode, done.stdout, " ".join(done.stderr.split())


@pytest.mark.parametrize("option", LAID)
@pytest.mark.parametrize("typed", [False, True])
def test_wear_lies_where_the_rope_was_planned_to_lie(
    planned: Path, option: str, typed: bool
) -> None:
    tail_m, turned = LAID[option]
    flag = "--turned" if turned else "--not-turned"
    words = ("--shift", f"{tail_m} m", flag) if typed else ()
    code, printed, said = entered(planned, "R1", option, "--json", *words)
    assert code == 0, said
    (entry,) = json.loads(printed)["entries"]
    wear = line_wear(open_dataset(planned / "out"), option, "working line")
    worst_m = wear.first_m + (int(wear.demand.argmax()) + 0.5) * 1e-3 + tail_m
    body = entry["body"]
    at_m = (body["first_mm"] + int(np.argmax(body["demand"])) + 0.5) * 1e-3
    # a cell: the record's places are whole millimetres
    assert at_m == pytest.approx(LENGTH_M - worst_m if turned else worst_m, abs=1e-3)
    assert (body["shift_m"], body["turned"]) == (tail_m, turned)


@pytest.mark.parametrize(
    ("rope", "option", "words", "said"),
    [
        ("R1", "tail", ("--shift", "2 m"), ("--shift 2 m", "a tail of 1.5 m")),
        ("R1", "plain", ("--shift", "2 m"), ("--shift 2 m", "a tail of 0 m")),
        ("R1", "plain", ("--turned",), ("turned round", "planned with it not turned round")),
        ("R1", "both", ("--not-turned",), ("been not turned round", "planned with it turned")),
        ("R2", "plain", (), ("planned with rope 'R1', not 'R2'",)),
        ("R3", "plain", (), ("planned with rope 'R1', not 'R3'",)),
        ("R3", "no record", (), ("planned with 'low-stretch 11'", "is like 'dynamic single 9.8'")),
    ],
)
def test_wear_of_another_rope_or_of_one_that_lay_otherwise_is_refused(
    planned: Path, rope: str, option: str, words: tuple[str, ...], said: tuple[str, ...]
) -> None:
    code, printed, refused = entered(planned, rope, option, *words)
    assert (code, printed) == (2, "")
    for text in said:
        assert text in refused


def test_a_rope_of_the_same_name_in_another_record_is_another_rope(planned: Path) -> None:
    done = edgewear("rope", "job", "elsewhere/store.ropes", "R1", "--dataset", "out", "--option",
                    "plain", "--line", "working line", "--by", "A", folder=planned)  # fmt: skip
    assert done.returncode == 2
    assert "a rope 'R1' of another record" in " ".join(done.stderr.split())


def test_a_kind_of_rope_that_was_no_record_is_entered_for_any_rope_of_that_kind(
    planned: Path,
) -> None:
    assert entered(planned, "R2", "no record")[0] == 0
    assert entered(planned, "R2", "no record", "--shift", "3 m", "--not-turned")[0] == 0


@pytest.mark.parametrize("line", ["working line", "working line below bolts"])
def test_below_a_re_anchor_the_dataset_knows_no_place(planned: Path, line: str) -> None:
    dataset = open_dataset(planned / "out")
    sections = dataset.resolved["options"]["below"]["sections"]
    (name,) = [one["line"] for one in sections if (one["anchor"] == "bolts") == ("below" in line)]
    found = planned_rope(dataset, line_wear(dataset, "below", name))
    assert (found.below, found.tail_m) == ("bolts" if "below" in line else None, 1.0)
    if found.below:
        with pytest.raises(UsageError, match=r"say with --shift .* to 'bolts'"):
            as_planned(found, None, None)
        assert as_planned(found, 9.5, None) == (9.5, False)
    else:
        assert as_planned(found, None, None) == (1.0, False)


class Planned(NamedTuple):
    """As a dataset would have it."""

    rope: str
    likes: tuple[str | None, ...]
    record: tuple[str, str] | None
    tail_m: float
    turned: bool
    below: str | None


names = st.sampled_from(["R1", "R2"])
kinds = st.sampled_from(["low-stretch 11", "dynamic single 9.8"])
hashes = st.sampled_from(["a" * 64, "b" * 64])
plans = st.builds(
    Planned, names, st.lists(st.none() | kinds, min_size=1, max_size=2).map(tuple),
    st.none() | st.tuples(names, hashes), st.sampled_from([0.0, 1.5]), st.booleans(), st.none(),
)  # fmt: skip


@given(plans, names, st.just("") | kinds, st.sets(hashes))
def test_a_dataset_is_taken_for_its_own_rope_alone(
    plan: Planned, rope: str, like: str, own: set[str]
) -> None:
    same = plan.record is None or (plan.record[0] == rope and plan.record[1] in own)
    may_be = like == "" or None in plan.likes or like in plan.likes
    if same and may_be:
        check_planned(plan, rope, like, own)
    else:
        with pytest.raises(UsageError, match="the dataset was planned with"):
            check_planned(plan, rope, like, own)


@given(plans, st.none() | st.sampled_from([0.0, 1.5, 2.0]), st.none() | st.booleans())
def test_what_was_typed_stands_for_no_record_and_agrees_with_the_plan_of_one(
    plan: Planned, shift_m: float | None, turned: bool | None
) -> None:
    agrees = shift_m in (None, plan.tail_m) and turned in (None, plan.turned)
    if plan.record is not None and not agrees:
        with pytest.raises(UsageError, match="was planned with"):
            as_planned(plan, shift_m, turned)
        return
    laid = (plan.tail_m if shift_m is None else shift_m,
            plan.turned if turned is None else turned)  # fmt: skip
    assert as_planned(plan, shift_m, turned) == laid
