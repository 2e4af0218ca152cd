"""A test is an entry of a file of tests, its samples are its ropes: each counted as what it is."""

from __future__ import annotations

from dataclasses import asdict
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.errors import UsageError
from edgewear.findings.learning.learned import HeldOut
from edgewear.programme.learn.files import WAY, Kept
from edgewear.programme.learn.run import held_out, learn
from edgewear.programme.reading import programme_text
from edgewear.records import MODEL
from support.programmes import tower

ASKED = """\
asked:
  wear/sheath energy: {value: 3e8 J/m3, low: 3e7 J/m3, high: 3e9 J/m3, distribution: lognormal}
"""


def file_of(tests: list[tuple[int, bool]]) -> str:
    """A file of tests, each with so many ropes, made or still to be made."""
    lines = [
        f"  'test {n}, sample {n}': {{samples: {ropes}, how far: job/1/ascend"
        + (", seen: [{core visible: {not by: 1 m, by: 1.5 m}}]}" if made else "}")
        for n, (ropes, made) in enumerate(tests)
    ]
    return tower("counted", "1 m") + ASKED + "\n".join(["tests:", *lines]) + "\n"


@settings(max_examples=25, deadline=None)  # each reads a file of tests
@given(st.lists(st.tuples(st.integers(1, 5), st.booleans()), min_size=1, max_size=6))
def test_tests_made_and_their_ropes(tests: list[tuple[int, bool]]) -> None:
    found = programme_text(file_of(tests))
    made = [ropes for ropes, seen in tests if seen]
    assert found.counted() == (len(made), sum(made))
    assert len(found.tests) == sum(ropes for ropes, _ in tests)


def test_what_is_learned_says_how_many_of_each(tmp_path: Path) -> None:
    text = file_of([(3, True), (2, False), (1, True)])
    found = learn(programme_text(text), tmp_path, particles=64, provisional=True)
    assert (found.tests, found.ropes) == (2, 4)
    assert "2 tests of 4 ropes" in (tmp_path / "library.yaml").read_text()


@settings(max_examples=40, deadline=None)  # each reads a file of tests
@given(st.lists(st.tuples(st.integers(1, 4), st.booleans()), min_size=1, max_size=9))
def test_the_ropes_of_a_test_teach_or_are_held_out_together(tests: list[tuple[int, bool]]) -> None:
    """Every third test that was made, whole; the others teach. Too few of them: refused."""
    found = programme_text(file_of(tests))
    made = [(number, ropes) for number, (ropes, seen) in enumerate(tests) if seen]
    if len(made) < 3:
        with pytest.raises(UsageError, match=r"at least 3 are needed to hold one out"):
            held_out(found)
        return
    teach, held = held_out(found)
    assert sorted([*teach, *held]) == list(range(sum(ropes for _, ropes in made)))
    of_test = [f"test {number}, sample {number}" for number, ropes in made for _ in range(ropes)]
    assert {of_test[rope] for rope in held} == {f"test {n}, sample {n}" for n, _ in made[2::3]}
    assert not {of_test[rope] for rope in held} & {of_test[rope] for rope in teach}


def test_a_rival_is_scored_by_tests_and_says_how_many_and_of_how_many_ropes() -> None:
    """Documents of before had `tests` alone, which counted ropes; both names are read now."""
    told = asdict(HeldOut("energy", 2, 5, -1.0, 0.1))
    assert (told["tests"], told["ropes"]) == (2, 5)


@pytest.mark.parametrize("state", [False, True])
def test_a_state_kept_with_other_ropes_held_out_is_of_another_learning(state, tmp_path) -> None:
    programme = programme_text(file_of([(3, True), (2, True), (1, True)]))
    kept = Kept.of(tmp_path, programme, "", 64, 0, state)
    before = [programme.digest, "", "64", "0", str(state), str(MODEL), WAY]
    assert (kept.mark == sha256("\n".join(before).encode()).hexdigest()) == (not state)
