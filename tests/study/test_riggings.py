"""Rows of a plan that are rigged alike are found together, whatever words they have."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from edgewear.study.sweeping.levers import Lever
from edgewear.study.sweeping.sweep_plan import riggings

WORDS = st.sampled_from(["", "steel", "stone", "a long word", "1 mm"])


def lever(address: str, structural: bool) -> Lever:
    return Lever(address, "", structural, {}, ("steel",))


@given(st.lists(st.tuples(st.sampled_from("abc"), WORDS, WORDS, WORDS), min_size=1, max_size=60))
def test_every_row_is_in_the_one_group_of_its_option_and_words(rows):
    names = ("option", "pad", "rope", "colour")
    columns = zip(*rows, strict=True)
    block = {n: np.array(c, object) for n, c in zip(names, columns, strict=True)}
    levers = [lever("pad", True), lever("rope", True), lever("colour", False)]
    found = list(riggings(block, levers))
    assert sorted(np.concatenate([at for _, at in found]).tolist()) == list(range(len(rows)))
    assert len({rigging for rigging, _ in found}) == len(found)
    for (option, typed), at in found:
        for place in at.tolist():
            words = (("pad", rows[place][1]), ("rope", rows[place][2]))
            assert option == rows[place][0]
            assert typed == tuple(pair for pair in words if pair[1])
