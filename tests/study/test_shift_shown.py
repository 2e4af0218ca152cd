"""Whoever types how often a line is shifted reads it in what `check` has rigged."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from edgewear.errors import ScenarioError
from edgewear.study.check import check

SITE = """\
edgewear: 1
title: a line that is shifted
setting: alpine
target: 30 %
anchors:
  post: {{out: 0.3 m, along: 0 m, up: 1 m, kind: pair, releasable: yes}}
  other: {{out: -1 m, along: 2 m, up: 1 m, kind: pair, releasable: yes}}
  ledge: {{out: 0.3 m, along: 0 m, up: -4 m, kind: pair, releasable: yes}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{a: {{like: low-stretch 11, length: 90 m, stopper: yes}}}}
people: {{ann: {{mass: 95 kg}}}}
lines: {{ann: {{anchor: post, rope: a, safety line: {{anchor: other, rope: a{safety}}}}}}}
options:
  plain: {{}}
  shifted: {{shift: {shift}{more}}}
job: [descend: 15 m, ascend: 10 m]
"""

SHIFTS = [f"{by} m every {every} strokes" for by, every in product((0.2, 0.4, 1.5), (1, 8, 40))]
RE_ANCHORED = ("", ", re-anchor: [ledge]")


def rigged(file: Path, details: bool) -> tuple[list[str], list[str]]:
    """What is said of the lines of either option."""
    [one] = check([file])
    text = list(one.lines(details))
    plain = next(k for k, line in enumerate(text) if line.startswith("  plain: "))
    shifted = next(k for k, line in enumerate(text) if line.startswith("  shifted: "))
    return text[plain + 1 : shifted], text[shifted + 1 :]


@pytest.mark.parametrize(("shift", "more"), list(product(SHIFTS, RE_ANCHORED)))
@pytest.mark.parametrize("details", [False, True])
def test_the_line_that_is_shifted_says_so_and_no_other(shift, more, details, tmp_path) -> None:
    file = tmp_path / "shift.yaml"
    file.write_text(SITE.format(shift=shift, more=more, safety=""), "utf-8")
    plain, shifted = rigged(file, details)
    assert not any("shift" in line for line in plain)
    said = [line for line in shifted if "shifted" in line]
    starts = ["working line (a): post - ", "working line below ledge (a): ledge - "]
    for line, start in zip(said, starts[: 1 + bool(more)], strict=True):  # wherever somebody hangs
        assert line.endswith(f", shifted {shift}")
        assert start in line


@pytest.mark.parametrize("shift", SHIFTS)
def test_a_shift_that_nobody_would_play_is_refused(shift, tmp_path) -> None:
    file = tmp_path / "shift.yaml"
    file.write_text(SITE.format(shift=shift, more="", safety=f", shift: {shift}"), "utf-8")
    with pytest.raises(ScenarioError, match="only a working line is shifted"):
        check([file])
