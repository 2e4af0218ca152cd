"""What is said to lie below lies below somebody, and is counted where it does."""

from __future__ import annotations

from itertools import accumulate
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.rigging import problems
from edgewear.rigging.findings.remarks import gone_below, stood_on
from edgewear.rigging.lengths import rooms_m
from edgewear.rigging.sections import cut
from edgewear.scenario import load_text
from edgewear.scenario.read.reading import problems_at
from edgewear.study.loading import load_riggable

SITE = """edgewear: 1
title: made
setting: alpine
anchors:
  post: {{out: -3 m, up: {anchor} m}}
edges:
  lip: {{{lip}is: chamfered concrete}}
ropes:
  store: {{like: low-stretch 11, length: 90 m, stopper: yes}}
people:
  ann: {{mass: 90 kg, start: {ann} m}}
  bob: {{mass: 80 kg, start: {bob} m}}
lines:
  ann: {{anchor: post, rope: store{over}}}
  bob: {{anchor: post, rope: store{over}}}
options: {{only: {{}}}}
below: {{ground: {ground} m}}
job:
  ann: [{steps}]
  bob: [work: 1 min]
"""

TENTHS = st.integers(-300, 300)
"""Heights in tenths of a metre, so that what is typed is what is meant."""


def site_of(dice: st.DataObject, zero: int, moves: list[int], starts: list[int], ground: int):
    """Give a survey whose lip lies at a height; without places heights count from the lip."""
    placed = dice.draw(st.booleans())
    zero = zero if placed else 0
    bend = "" if placed else ", over: [{edge: lip, after: 3 m, bend: 70 deg}]"
    way = [f"{'ascend' if m < 0 else 'descend'}: {abs(m) / 10} m" for m in moves]
    text = SITE.format(
        anchor=(zero + 10) / 10, over=bend,
        lip=f"out: 0 m, up: {zero / 10} m, " if placed else "",
        ann=starts[0] / 10, bob=starts[1] / 10, ground=(zero + ground) / 10,
        steps=", ".join(way),
    )  # fmt: skip
    return zero, text


@given(
    st.data(),
    TENTHS,
    st.lists(st.integers(-30, 80).filter(bool), min_size=1, max_size=5),
    st.tuples(st.integers(1, 90), st.integers(1, 90)),
    st.integers(-200, 100),
)
def test_what_lies_above_everybody_is_refused_and_all_else_is_counted(
    dice, zero, moves, starts, ground
) -> None:
    """The oracle adds a walk up in tenths of a metre; nobody climbs past the lip."""
    depths = [*accumulate(moves, initial=starts[0])]
    if min(depths) < 0 or ground in (-min(depths), -starts[1]):
        return  # past the top is another error; on the harness itself rounding decides
    zero, text = site_of(dice, zero, moves, starts, ground)
    scenario = load_text(text, "site.yaml")
    above = ground > max(-min(depths), -starts[1])
    # a climb right up to a given bend, where no rope is left, is another error
    told = [one for one in problems(scenario) if not one[0].startswith("job/ann/")]
    found = dict(told)
    assert set(found) == ({"below/ground"} if above else set())
    if above:
        (said,) = problems_at(scenario, list(found.items()))
        assert str(said).startswith("site.yaml:17:17: below/ground: lies ")
        return
    highest_m = min(min(depths), starts[1]) / 10 - zero / 10
    feet_m = -ground / 10 - zero / 10 - highest_m - 1.2  # above the ground, harness to feet 1.2 m
    stands = abs(feet_m) <= 0.3
    if abs(abs(feet_m) - 0.3) > 1e-6:  # at its very end rounding decides
        assert ("ground" in rooms_m(scenario, highest_m, 1.0)) == (not stands)
    profiles = {w: cut(scenario, scenario.options["only"], w)[1] for w in ("ann", "bob")}
    deepest = (("ann", max(depths)), ("bob", starts[1]))
    if any(d + ground in (0, -9) for _, d in deepest):
        return  # a harness just there, or feet 0.3 m below it: rounding decides
    told = list(gone_below(scenario, profiles))
    under = [w for w, d in deepest if d > -ground]
    within = [w for w, d in deepest if 12 - 3 > -ground - d > 0]
    assert [t.split()[0] for t in told if "said to lie below" in t] == under
    assert [t.split()[0] for t in told if "the feet are" in t] == within
    near = [w for w, ends in (("ann", depths[1:]), ("bob", starts[1:]))
            if any(abs(-ground - end - 12) <= 2 for end in ends)]  # fmt: skip
    if all(abs(-ground - end - 12) != 3 for end in (*depths[1:], starts[1])):  # rounding decides
        assert [line.split()[0] for line in stood_on(scenario, profiles)] == near


@pytest.mark.parametrize("typed", ["12 m", "+12 m", "12 m up", "0 m", "0.5 m"])
def test_a_height_that_forgets_its_sign_is_refused_whatever_it_is_typed_as(
    tmp_path: Path, typed: str
) -> None:
    text = SITE.format(
        anchor=1, over="", lip="out: 0 m, up: 0 m, ", ann=2, bob=3, ground=0, steps="descend: 5 m"
    ).replace("ground: 0 m", f"ground: {typed}")
    file = tmp_path / "site.yaml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(ScenarioError) as refused:
        load_riggable(file)
    assert "'ann' is highest, at -2.0 m" in str(refused.value)
    assert "`-12 m` or `12 m down`" in str(refused.value)
    file.write_text(text.replace(f"ground: {typed}", "ground: 12 m down"), encoding="utf-8")
    load_riggable(file)
