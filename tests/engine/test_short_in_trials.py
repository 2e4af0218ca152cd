"""A trial whose own places need more rope than there is says so, and by how much."""

from __future__ import annotations

import re

import numpy as np
import pytest

from edgewear.scenario import load_text
from edgewear.study.limits.trials import trials_of

SITE = """\
edgewear: 1
title: an anchor that was paced
setting: alpine
target: 60 %
anchors: {{post: {{out: paced {behind} m back, up: 0.4 m, kind: pair}}}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 10 mm, surface: steel}}}}
ropes: {{red: {{like: low-stretch 11, length: {rope:.2f} m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg}}}}
lines: {{ann: {{anchor: post, rope: red}}}}
options: {{only: {{}}}}
job: [{{cross edge: lip}}, {{descend: {down} m}}, {{ascend: {down} m}}]
"""
TOP_M, TIED_M, TRIALS = 1.5, 1.5, 48
STRETCH = 0.05
"""Share by which a low-stretch rope gives under a weight, at most (EN 1891: 5 %, from memory)."""


def played(behind: float, down: float, rope: float):
    return trials_of(load_text(SITE.format(behind=behind, down=down, rope=rope), "m"), "only",
                     TRIALS, 0).runs  # fmt: skip


@pytest.mark.parametrize(("behind", "down"), [(20.0, 5.0), (30.0, 12.0), (45.0, 8.0)])
def test_a_trial_that_wants_rope_says_by_how_much(behind, down):
    # as long as is accepted: what is kept for knots is there for trials, less a few centimetres
    rope = behind + TOP_M + down + TIED_M + 0.1
    runs = played(behind, down, rope)
    failed = runs["status"] == "failed"
    assert failed.any()
    told = [re.fullmatch(r"the rope of the working line is too short by (\d+\.\d) m for step 2, .*",
                         reason) for reason in runs["reason"][failed]]  # fmt: skip
    assert all(told)
    short = np.array([float(one[1]) for one in told])
    # told straight, rounded up: with so much more rope no trial is cut short
    assert not played(behind, down, rope + short.max())["unfinished_step"].any()
    # and with less by what a weight draws out of it, and by a tenth, that one is cut short again
    hung = 1.5 * behind  # no trial's anchor lies further back
    less = played(behind, down, rope + short.max() - 0.1 - STRETCH * hung)
    assert less["status"][failed][short.argmax()] == "failed"
    # who failed wanted more rope than who did not
    assert (less["status"] == "failed").sum() <= failed.sum()
