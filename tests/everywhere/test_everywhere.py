"""Other Pythons and other versions of the dependencies: the same to 1e-9, where they are found."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from everywhere.across import SAME, differences, interpreter, wanted

ACROSS = Path(__file__).with_name("across.py")
ONE = {"modules": 1, "options": {}, "figures": {"a": {"/x": 1.0, "/y": 0.0}}}


def with_figures(**figures: float) -> dict:
    return {**ONE, "figures": {"a": {f"/{name}": value for name, value in figures.items()}}}


def test_a_difference_is_seen_and_what_is_below_it_is_not() -> None:
    assert not list(differences(ONE, with_figures(x=1.0 + SAME / 2, y=SAME / 2)))
    assert len(list(differences(ONE, with_figures(x=1.0 + 3 * SAME, y=3 * SAME)))) == 2
    assert len(list(differences(ONE, with_figures(x=1.0)))) == 1, "one is missing"
    assert len(list(differences(with_figures(x=1.0), ONE))) == 1, "one is too many"
    assert len(list(differences(ONE, {**ONE, "modules": 2}))) == 1


def test_this_python_is_found_and_one_that_is_nowhere_is_not() -> None:
    here = "{}.{}".format(*sys.version_info)
    assert interpreter("3.99") is None
    assert interpreter(here) is not None or not sys.executable


def test_every_dependency_has_a_lowest_version() -> None:
    assert all("==" in one and ">" not in one and "<" not in one for one in wanted(lowest=True))


@pytest.mark.long
@pytest.mark.parametrize("more", [(), ("--runs", "--lowest")])
def test_other_pythons_compute_the_same(more: tuple[str, ...]) -> None:
    done = subprocess.run([sys.executable, ACROSS, *more], capture_output=True, text=True)
    print(done.stdout)
    assert done.returncode == 0, done.stdout + done.stderr
