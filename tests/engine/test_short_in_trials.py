"""A trial whose own places need more rope than there is says so, and by how much."""

from __future__ import annotations

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
job: [{{cross edge: lip}}, {{descend: {down} m}}{then}]
"""
TOP_M, TIED_M, TRIALS = 1.5, 1.5, 48
STRETCH = 0.05
"""Share by which a low-stretch rope gives under a weight, at most (EN 1891: 5 %, from memory)."""


THEN = {
    "nothing": "",
    "climbs": ", {{ascend: {down} m}}",
    "works, climbs": ", {{work: 2 min}}, {{ascend: 1 m}}",
}
"""What the plan has after the descent."""


def played(behind: float, down: float, rope: float, then: str = "climbs"):
    after = THEN[then].format(down=down)
    text = SITE.format(behind=behind, down=down, rope=rope, then=after)
    return trials_of(load_text(text, "m"), "only", TRIALS, 0).runs


def rope_m(behind: float, down: float) -> float:
    """As long as is accepted: what is kept for knots is there for trials, less a little."""
    return behind + TOP_M + down + TIED_M + 0.1


PLACES = [(20.0, 5.0), (30.0, 12.0), (45.0, 8.0)]


@pytest.mark.parametrize(("behind", "down"), PLACES)
def test_a_trial_that_wants_rope_says_by_how_much(behind, down):
    rope = rope_m(behind, down)
    runs = played(behind, down, rope)
    broken = runs["unfinished_step"] > 0
    assert broken.any()
    (reason,) = set(runs["reason"][broken])  # one cause, one reason: the figure stands beside it
    assert reason.startswith("the rope of the working line is too short for step 2, ")
    assert np.isnan(runs["short_m"][~broken]).all()
    short = np.ceil(10 * runs["short_m"][broken]) / 10
    # told straight, rounded up: with so much more rope no trial is cut short
    assert not played(behind, down, rope + short.max())["unfinished_step"].any()
    # and with less by what a weight draws out of it, and by a tenth, that one is cut short again
    hung = 1.5 * behind  # no trial's anchor lies further back
    less = played(behind, down, rope + short.max() - 0.1 - STRETCH * hung)["unfinished_step"] > 0
    assert less[broken][short.argmax()]
    # who was cut short wanted more rope than who was not
    assert less.sum() <= broken.sum()


@pytest.mark.parametrize(("behind", "down"), PLACES)
def test_a_rope_used_up_has_one_name_whatever_comes_after(behind, down):
    """Nothing failed, and the same trials say the same of the same step."""
    runs = [played(behind, down, rope_m(behind, down), then) for then in THEN]
    for one in runs:
        assert set(one["status"]) == {"ok"}
        assert ((one["reason"] != "") == (one["unfinished_step"] > 0)).all()
        assert set(one["unfinished_step"]) == {0, 2}
        assert (one["unfinished_step"] == runs[0]["unfinished_step"]).all()
        assert (one["reason"] == runs[0]["reason"]).all()
