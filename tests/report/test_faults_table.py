"""The single-failure table: the step to look at first, and in words what is above its limit."""

from __future__ import annotations

import io

import pytest

from edgewear.report import print_faults

TOO_LONG = ("drop of 3.4 m, more than 2 m (EN 12841, from memory)",)


def failed(step, peak, drop, holds=True, beyond=(), component="left post"):
    return {
        "person": "lead", "component": component, "step": step, "holds": holds,
        "independent": True, "over_edge": "kerb", "drop_m": drop, "swing_m": 1.0,
        "peak_n": peak, "why": "told here", "beyond": beyond,
    }  # fmt: skip


def printed(rows, weakest=()):
    document = {
        "title": "t", "option": "o", "replicates": 1, "seed": 0, "conditional": "c", "shared": [],
        "worst_failures": rows, "weakest_steps": weakest, "faults": [], "rates": [],
        "rescues": [], "without_faults": {}, "cautions": [],
    }  # fmt: skip
    stream = io.StringIO()
    print_faults(document, stream, 80)
    return stream.getvalue()


def test_a_drop_and_a_peak_above_their_limits_are_marked_and_said_in_words():
    harder = (*TOO_LONG, "peak of 6.3 kN, more than 6 kN (EN 12841, from memory)")
    told = printed(
        [
            failed(2, 6.3e3, 3.4, beyond=harder),
            failed(2, 6.3e3, 3.4, beyond=harder, component="device on the lead working line"),
            failed(3, 4e3, 1.9, component="right post"),
        ]
    )
    assert "3.4 m!" in told
    assert "6.3 kN!" in told
    assert "1.9 m " in told
    assert "1.9 m!" not in told
    said = " ".join(told.split())
    one = f"lead, step 2 (left post, device on the working line): {'; '.join(harder)}"
    assert one in said  # alike components in one sentence


def test_whoever_hangs_out_of_reach_is_said():
    row = failed(2, 4e3, 1.0) | {"reachable": False, "swing_m": 2.6}
    assert "hangs 2.6 m aside, out of reach from above" in " ".join(printed([row]).split())
    assert "out of reach" not in printed([row | {"reachable": True}])


@pytest.mark.parametrize(
    ("share", "trials", "said"),
    [
        (0.0, 8, "none of 8 trials (below 3/8)"),
        (0.0, 1, "none of 1 trials"),
        (0.125, 8, "1 of 8 trials"),
        (1.0, 8, "all 8 trials"),
        (1.0, 1, "the one trial"),
    ],
)
def test_few_trials_are_counted_not_turned_into_per_cent(share, trials, said):
    row = {
        "person": "lead", "step": 1, "words": "descend 8 m", "fault": "rain", "margin_lost": 0.1,
        "p_core_visible": share, "trials": trials, "seen_by": None, "seen_share": 0.0,
    }  # fmt: skip
    assert f"the core would show in {said};" in " ".join(printed([], [row]).split())
