"""Learning from end to end: what is written, what is refused, and that it goes on."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest

from edgewear.errors import Mismatch, UsageError
from edgewear.findings.learning.learned import Standing
from edgewear.programme.learn.run import Step, learn
from edgewear.programme.reading import programme_text
from edgewear.scenario import load_text
from support.programmes import tower

SET_UP = (
    tower("short ascents", "1 m")
    + """\
asked:
"""
)
ENERGY = """\
  wear/sheath energy:
    {value: 3e8 J/m3, low: 3e7 J/m3, high: 3e9 J/m3, distribution: lognormal}"""
PRESLIDING = "  wear/presliding: {value: 1 mm, low: 0.2 mm, high: 3 mm, distribution: lognormal}"
TWO = """
tests:
  a: {how far: job/1/ascend, seen: [{core visible: {not by: 1 m, by: 1.5 m}}]}
  b: {how far: job/1/ascend, seen: [{core visible: {not by: 0.8 m, by: 1.2 m}}]}
"""
APART = """
tests:
  early: {how far: job/1/ascend, seen: [{core visible: {by: 0.5 m, error: 0.1}}]}
  late: {how far: job/1/ascend, seen: [{core visible: {not by: 3 m, error: 0.1}}]}
"""


def learned(asked: str, tests: str, out: Path, **more: object):
    more = {"particles": 64, "provisional": True, **more}
    return learn(programme_text(SET_UP + asked + tests), out, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "more",
    [{}, pytest.param({"particles": 256, "provisional": False}, marks=pytest.mark.long)],
)
def test_what_is_learned_is_a_library_that_scenarios_take(
    tmp_path: Path, more: dict[str, object]
) -> None:
    found = learned(ENERGY, TWO, tmp_path / "out", **more)
    whole = more.get("provisional", True) is False
    assert found.standing is (Standing.LEARNED if whole else Standing.PROVISIONAL)
    assert found.passes >= 2 if whole else found.passes == 1
    number = found.numbers[0]
    assert number.left < 0.5  # two tests within a fifth of each other, of a range of a hundred
    assert number.after.low < number.after.value < number.after.high
    library = (tmp_path / "out" / "library.yaml").read_text()
    assert found.pedigree in library
    word = "calibrated" if whole else "provisional"
    assert found.pedigree.startswith(f"{word}: 2 tests, tests, sha256 ")
    text = SET_UP.partition("  tower:\n")[2].partition("asked:")[0].replace("\n    ", "\n")
    read = load_text(text.lstrip(), "scenario", library).wear.sheath_energy
    # four digits are written
    assert read.value == pytest.approx(number.after.value, rel=1e-3)
    assert (read.low, read.high) == pytest.approx((number.after.low, number.after.high), rel=1e-3)
    assert read.pedigree == found.pedigree
    table = pq.read_table(tmp_path / "out" / "posterior.parquet")
    assert np.median(table.column("wear/sheath energy")) == number.after.value
    document = json.loads((tmp_path / "out" / "learned.json").read_text())
    assert document["standing"] == ("learned" if whole else "provisional")
    assert not list((tmp_path / "out").glob("unfinished*"))


def test_tests_that_contradict_each_other_are_said_to(tmp_path: Path) -> None:
    found = learned(ENERGY, APART, tmp_path)
    # by 0.5 m in one, not by 3 m in the other: six times as far, with a scatter of a third
    assert found.standing is Standing.CONTRADICTED
    assert {one.test for one in found.tested if not one.agrees} & {"early", "late"}
    assert not (tmp_path / "library.yaml").exists()
    assert (tmp_path / "posterior.parquet").exists()


def test_a_number_that_tests_do_not_tell_is_said_to_be_so(tmp_path: Path) -> None:
    found = learned(f"{ENERGY}\n{PRESLIDING}", TWO, tmp_path, particles=128)
    assert found.standing is Standing.UNDETERMINED
    assert not found.usable
    assert [n.address for n in found.numbers if not n.determined] == ["wear/presliding"]
    assert not (tmp_path / "library.yaml").exists()


class Stopped(Exception):
    """Somebody pulled the plug."""


def test_no_byte_tells_of_workers_or_of_a_stop(tmp_path: Path) -> None:
    """Whole in one process, against begun by two workers, stopped, and finished in one process."""

    def pull(step: Step) -> None:
        if step.round == 2:
            raise Stopped

    learned(ENERGY, TWO, tmp_path / "whole")
    with pytest.raises(Stopped):
        learned(ENERGY, TWO, tmp_path / "again", workers=2, told=pull)
    assert (tmp_path / "again" / "unfinished-own.npz").is_file()
    learned(ENERGY, TWO, tmp_path / "again")
    for name in ("learned.json", "posterior.parquet", "library.yaml"):
        assert (tmp_path / "whole" / name).read_bytes() == (tmp_path / "again" / name).read_bytes()


@pytest.mark.long
def test_a_second_pass_that_was_stopped_goes_on_to_the_same_bytes(tmp_path: Path) -> None:
    def pull(step: Step) -> None:
        if step.number == 1 and step.round == 2:
            raise Stopped

    many = {"particles": 512, "provisional": False}
    learned(ENERGY, TWO, tmp_path / "whole", **many)
    with pytest.raises(Stopped):
        learned(ENERGY, TWO, tmp_path / "again", told=pull, workers=2, **many)
    assert (tmp_path / "again" / "unfinished-own-2.npz").is_file()
    learned(ENERGY, TWO, tmp_path / "again", **many)
    for name in ("learned.json", "posterior.parquet", "library.yaml"):
        assert (tmp_path / "whole" / name).read_bytes() == (tmp_path / "again" / name).read_bytes()
    assert not list((tmp_path / "again").glob("unfinished*"))


@pytest.mark.long
def test_learning_that_was_stopped_goes_on_to_the_same_bytes(tmp_path: Path) -> None:
    def pull(step: Step) -> None:
        if step.round == 3:
            raise Stopped

    learned(ENERGY, TWO, tmp_path / "whole")
    with pytest.raises(Stopped):
        learned(ENERGY, TWO, tmp_path / "again", told=pull)
    with pytest.raises(Mismatch, match="begun with other"):
        learned(ENERGY, APART, tmp_path / "again")
    learned(ENERGY, TWO, tmp_path / "again")
    for name in ("learned.json", "posterior.parquet", "library.yaml"):
        assert (tmp_path / "whole" / name).read_bytes() == (tmp_path / "again" / name).read_bytes()


def test_what_cannot_be_meant_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="multiple"):
        learn(programme_text(SET_UP + ENERGY + TWO), tmp_path, particles=65)
    planned = TWO.partition("  a:")[0] + "  a: {how far: job/1/ascend}\n"
    with pytest.raises(UsageError, match="nothing was seen"):
        learn(programme_text(SET_UP + ENERGY + planned), tmp_path)
    with pytest.raises(UsageError, match="nothing is asked"):
        learn(programme_text(SET_UP.replace("asked:\n", "") + TWO), tmp_path)


@pytest.mark.long
def test_no_byte_depends_on_workers(tmp_path: Path) -> None:
    for workers in (1, 2):
        learned(ENERGY, TWO, tmp_path / str(workers), workers=workers)
    for name in ("learned.json", "posterior.parquet", "library.yaml"):
        assert (tmp_path / "1" / name).read_bytes() == (tmp_path / "2" / name).read_bytes()


@pytest.mark.long
def test_rival_laws_are_scored_by_tests_held_out(tmp_path: Path) -> None:
    third = TWO + "  c: {how far: job/1/ascend, seen: [{core visible: {by: 2 m}}]}\n"
    found = learned(ENERGY, third, tmp_path, rivals=True)
    assert {one.law for one in found.rivals} == {"weighted", "energy", "threshold"}
    assert all(one.log_score <= 0.0 and one.tests == one.ropes == 1 for one in found.rivals)
