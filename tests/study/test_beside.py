"""What a copy of this process does beside it is what is done here, whatever becomes of the copy."""

from __future__ import annotations

import os
import subprocess
import sys
from itertools import pairwise

import numpy as np
import pytest

from edgewear.study.sweeping.design import Sobol, Stretch, points_of
from support.tree import ROOT

ASKED = """
import os, signal, sys
from edgewear.study.workers.beside import Beside

def where(given):
    if given == "fails" and os.getpid() != here:
        raise ValueError("there")
    return given, os.getpid() == here

here = os.getpid()
with Beside(where, None) as beside:
    told = [beside("one"), beside("two")]
    if sys.argv[1] == "killed":
        os.kill(beside._copy.pid, signal.SIGKILL)
    told.append(beside("fails" if sys.argv[1] == "fails" else "three"))
    told.append(beside("four"))
    copy = beside._copy
assert not copy.is_alive()
print(told)
"""


def asked(what: str) -> list[tuple[str, bool]]:
    """What was told, and whether here, by a process of its own, which is one thread."""
    env = {**os.environ, "PYTHONPATH": str(ROOT / "sim")}
    given = [sys.executable, "-c", ASKED, what]
    done = subprocess.run(given, capture_output=True, text=True, env=env, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    return eval(done.stdout)


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells that a copy can be made")
@pytest.mark.parametrize(
    ("what", "third", "there"),
    [("goes on", "three", 4), ("killed", "three", 2), ("fails", "fails", 2)],
)
def test_a_copy_does_it_and_where_it_has_gone_it_is_done_here(what, third, there):
    told = asked(what)
    assert [given for given, _ in told] == ["one", "two", third, "four"]
    assert [here for _, here in told] == [False] * there + [True] * (4 - there)


@pytest.mark.parametrize("seed", range(8))
def test_points_are_the_same_in_any_stretches(seed):
    rng = np.random.default_rng(seed)
    columns, rows = int(rng.integers(1, 9)), int(rng.integers(1, 3000))
    whole = points_of(Stretch(columns, rows, seed, 0, rows))
    cuts = np.unique([0, rows, *rng.integers(0, rows + 1, 5)])
    parts = [Stretch(columns, rows, seed, int(a), int(b - a)) for a, b in pairwise(cuts)]
    backwards = [points_of(part) for part in parts[::-1]][::-1]
    assert np.concatenate([points_of(part) for part in parts]).tobytes() == whole.tobytes()
    assert np.concatenate(backwards).tobytes() == whole.tobytes()


def test_two_sequences_in_turns_do_not_mix():
    one, other = Sobol(("mass", "friction"), 64, 1), Sobol(("mass", "friction"), 64, 2)
    apart = one.shares(0, 64)["mass"], other.shares(0, 64)["mass"]
    turns = [(one.shares(at, 16)["mass"], other.shares(at, 16)["mass"]) for at in range(0, 64, 16)]
    for k in range(2):
        assert np.concatenate([turn[k] for turn in turns]).tobytes() == apart[k].tobytes()
