"""Commands in any order, ended, starved and their files damaged between: nothing wrong is told."""

from __future__ import annotations

import errno
import random
import shutil
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from edgewear.dataset import manifest as manifests
from edgewear.dataset.door import TEMPORARY
from edgewear.errors import EdgewearError
from edgewear.report.write import write_report
from edgewear.study.compare import compare
from edgewear.study.replay import replay
from support.hardships import Ended, breaking, damage_something, noticed
from support.scenario_files import BENCH
from support.studies import bytes_of

MINE = "notes of my own.txt"
TRIALS = 6
SEEDS = st.sampled_from((0, 1))
CALLS = 90
"""A comparison of this size makes some seventy calls; a place beyond lets it end as usual."""


def scenario_in(folder: Path) -> Path:
    path = folder / "bench.yaml"
    path.write_text(BENCH.replace("title: Bench", "title: Bench\ntarget: 70 %"), "utf-8")
    return path


@cache
def reference(seed: int) -> tuple[dict[str, str], dict[str, str], list[Any]]:
    """Give files, pages and replays of a comparison that nothing befell."""
    with tempfile.TemporaryDirectory() as name:
        at = Path(name)
        compare(scenario_in(at), TRIALS, seed, out=at / "dataset")
        write_report([at / "dataset"], at / "page")
        replays = [replay(at / "dataset", run) for run in range(TRIALS)]
        return bytes_of(at / "dataset"), bytes_of(at / "page"), [one.as_json() for one in replays]


class Dataset(RuleBasedStateMachine):
    """A folder in which comparisons are made, and somebody's own notes lie."""

    def __init__(self) -> None:
        super().__init__()
        self.at = Path(tempfile.mkdtemp())
        self.root = self.at / "dataset"
        self.path = scenario_in(self.at)
        self.whole: int | None = None  # seed of the comparison that is there, unharmed
        self.harmed = False
        self.added: set[str] = set()
        self.begin_anew()

    def teardown(self) -> None:
        shutil.rmtree(self.at)

    @rule()
    def begin_anew(self) -> None:
        """Throw the folder away, as somebody does who is told that it cannot be used."""
        shutil.rmtree(self.root, ignore_errors=True)
        self.whole, self.harmed, self.added = None, False, set()

    @precondition(lambda self: (self.root / manifests.NAME).is_file())
    @rule()
    def put_down(self) -> None:
        """Lay a file of one's own into the folder, which a comparison has taken."""
        (self.root / MINE).write_text("mine")
        self.added.add(MINE)

    @rule(seed=SEEDS)
    def run(self, seed: int) -> None:
        """Begin, go on, mend or replace; a manifest that was harmed may be refused."""
        try:
            compare(self.path, TRIALS, seed, out=self.root)
        except EdgewearError:
            assert self.harmed
            self.whole = None
            return
        self.whole, self.harmed = seed, False
        found, due = bytes_of(self.root), reference(seed)[0]
        assert {name: found.get(name) for name in due} == due
        assert found.keys() - due.keys() <= self.added

    @rule(seed=SEEDS, place=st.integers(1, CALLS), how=st.sampled_from((Ended, errno.ENOSPC)))
    def broken_off(self, seed: int, place: int, how: Any) -> None:
        """End a comparison, or fill the disk, at one of the calls that write."""
        with pytest.MonkeyPatch.context() as patch:
            breaking(patch, place, how)
            try:
                compare(self.path, TRIALS, seed, out=self.root)
                self.whole, self.harmed = seed, False
            except (EdgewearError, Ended):
                self.whole = None

    @precondition(lambda self: (self.root / manifests.NAME).is_file())
    @rule(seed=st.integers(0, 2**32))
    def damage(self, seed: int) -> None:
        """Harm a file of the dataset; one that was added stays there for good."""
        if MINE in self.added:
            (self.root / MINE).unlink()
        before = bytes_of(self.root)
        damage_something(self.root, random.Random(seed))
        after = bytes_of(self.root)
        if MINE in self.added:
            (self.root / MINE).write_text("mine")
        self.added |= after.keys() - before.keys()
        if after != before:
            self.harmed, self.whole = True, None

    @rule()
    def verify(self) -> None:
        if self.whole is None or self.added - {MINE}:
            assert noticed(self.root)
        else:
            assert not noticed(self.root)

    @rule()
    def report(self) -> None:
        """A page is written of a whole dataset only, and is then the very same."""
        try:
            write_report([self.root], self.at / "page")
        except EdgewearError:
            assert self.whole is None
        else:
            pages = [reference(seed)[1] for seed in (0, 1) if self.whole in (seed, None)]
            assert bytes_of(self.at / "page") in pages
        finally:
            shutil.rmtree(self.at / "page", ignore_errors=True)

    @rule(run=st.integers(0, TRIALS - 1))
    def replay(self, run: int) -> None:
        try:
            found = replay(self.root, run).as_json()
        except EdgewearError:
            assert self.whole is None
        else:
            known = [reference(seed)[2][run] for seed in (0, 1) if self.whole in (seed, None)]
            assert found in known

    @invariant()
    def what_is_not_ours_stays(self) -> None:
        assert MINE not in self.added or (self.root / MINE).read_text() == "mine"
        assert {path.name for path in self.at.iterdir()} <= {"dataset", "bench.yaml"}
        if self.whole is not None:
            assert not list(self.root.rglob(f"*{TEMPORARY}"))


GENERATE = Phase.generate  # what falls is short as it is, and making it shorter takes minutes
HOW = settings(suppress_health_check=list(HealthCheck), deadline=None, database=None)


def test_commands_in_any_order() -> None:
    few = settings(HOW, max_examples=5, stateful_step_count=8, derandomize=True, phases=(GENERATE,))
    run_state_machine_as_test(Dataset, settings=few)  # type: ignore[no-untyped-call]


@pytest.mark.long
@pytest.mark.parametrize("part", range(20))
def test_commands_in_any_order_a_thousand_times(part: int) -> None:
    many = settings(HOW, max_examples=50, stateful_step_count=25, phases=(GENERATE,))
    run_state_machine_as_test(Dataset, settings=many)  # type: ignore[no-untyped-call]
