"""How rope slips over one edge, with and without branches, held against a search by halves."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.mechanics.lanes import slip as side_by_side
from edgewear.mechanics.step import flow

WEIGHT_N, FULL_N, CAP_N = 883.0, 1320.0, 1e9
LINE = flow.Taut(
    4e4, 1.2e3, 20.0, 9.81, 1.0 / 90.0, WEIGHT_N, FULL_N, 1.0 / (FULL_N - WEIGHT_N), CAP_N, 0.0,
    1.0, 1.0, 0.0, 1.0, 1.0, 1.0,
)  # fmt: skip
CLOSE = 1e-9
"""Of what the largest tension comes to: halves end at the last bit, sums of these lose some."""


def part_of(below_n, limited):
    """Share of the take that a person makes who pulls so hard (model page 4.3)."""
    return min(max((FULL_N - below_n) / (FULL_N - WEIGHT_N), 0.0), 1.0) if limited else 1.0


def searched(a0, b0, a1, b1, take, limited, ratio):
    """The tension below at which what slides over the edge is what the last span takes up."""

    def over(below_n):
        up = max((below_n / ratio - a0) / b0, 0.0)
        return up + min((below_n * ratio - a0) / b0, 0.0)

    def left(below_n):
        return (a1 + b1 * take * part_of(below_n, limited) - below_n) / b1

    low, high = -1e6, 1e6
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if over(middle) < left(middle) else (low, middle)
    return high, over(high)


@given(
    a0=st.floats(50.0, 3e3), b0=st.floats(5.0, 2e3), a1=st.floats(50.0, 3e3),
    b1=st.floats(5.0, 2e3), take=st.floats(0.0, 3.0), limited=st.booleans(),
    ratio=st.floats(1.0, 4.0),
)  # fmt: skip
def test_it_is_what_a_search_finds(a0, b0, a1, b1, take, limited, ratio):
    below_n, rate = searched(a0, b0, a1, b1, take, limited, ratio)
    given_ = a0, b0, a1, b1, take, limited, ratio, 1.0 / ratio, LINE
    q, above, below, part, fine = flow.slip(*given_)
    most_n = max(a0, a1 + b1 * take, b0 * abs(rate))
    assert below == pytest.approx(below_n, abs=CLOSE * most_n)
    assert q == pytest.approx(rate, abs=CLOSE * most_n / min(b0, b1))
    assert above == pytest.approx(a0 + b0 * q, abs=CLOSE * most_n)
    assert part == pytest.approx(part_of(below_n, limited), abs=CLOSE * most_n / WEIGHT_N * 10.0)
    assert fine == (below > 0.0 and above > 0.0)
    assert side_by_side.slip(*given_) == (q, above, below, part, fine)


@pytest.mark.parametrize("ratio", [1.0, 1.3, 2.5])
@pytest.mark.parametrize("at_n", [WEIGHT_N, FULL_N])
@pytest.mark.parametrize("take", [0.0, 0.25, 1.0])
def test_where_a_piece_begins_both_choose_alike(ratio, at_n, take):
    """A tension below of just m*g, or F_max, to the last bits about it; no edge slides."""
    for more in range(-8, 9):
        a1 = at_n * (1.0 + more * 2.0**-52)
        given_ = at_n, 300.0, a1, 400.0, take, True, ratio, 1.0 / ratio, LINE
        alone = flow.slip(*given_)
        assert side_by_side.slip(*given_) == alone
        assert alone[2] == pytest.approx(searched(*given_[:7])[0], rel=1e-9)
