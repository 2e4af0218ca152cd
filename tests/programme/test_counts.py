"""A test is an entry of a file of tests, its samples are its ropes: each counted as what it is."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.programme.learn.run import learn
from edgewear.programme.reading import programme_text
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
