"""The single-failure table: the step to look at first, and in words what is above its limit."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest

from edgewear.findings.failure import Failure
from edgewear.findings.faults import Baseline, Soonest, StepRow
from edgewear.findings.limits import AboveLimit, Figure
from edgewear.findings.procedure import Findings
from edgewear.findings.timeline import Timeline
from edgewear.findings.verdict import Verdict
from edgewear.report import print_faults
from edgewear.report.procedure.words import points

SOURCE = "EN 12841, from memory"
TOO_LONG = (AboveLimit(Figure.DROP, 3.4, 2.0, SOURCE),)


def failed(step, peak, drop, holds=True, beyond=(), component="left post", called=None):
    return Failure(
        component, "anchor", "lead working line", step, "lead", 4.0, holds, "kerb", drop, 1.0, peak,
        True, True, "told here", beyond, called=called or component,
        drop_careful_m=drop, peak_careful_n=peak,
    )  # fmt: skip


def printed(rows, weakest=()):
    found = Findings(
        title="t", revision=None, option="o", status=(), edge_levels={}, mind=(),
        verdict=Verdict(()), seed=0,
        replicates=1, conditional="c", single_failures=(), worst_failures=tuple(rows), carried=(),
        faults=(), table=(), weakest_steps=weakest, without_faults=Baseline(None, None, 0),
        rates=(), fates=(), rescues=(), shared=(), between=(), timeline=Timeline("t"), cautions=(),
    )  # fmt: skip
    stream = io.StringIO()
    print_faults(found, stream, 80, details=True)
    return stream.getvalue()


def test_a_drop_and_a_peak_above_their_limits_are_marked_and_said_in_words():
    harder = (*TOO_LONG, AboveLimit(Figure.PEAK, 6.3e3, 6e3, SOURCE))
    device = "device on the lead working line"
    told = printed(
        [
            failed(2, 6.3e3, 3.4, beyond=harder),
            failed(
                2, 6.3e3, 3.4, beyond=harder, component=device, called="device on the working line"
            ),
            failed(3, 4e3, 1.9, component="right post"),
        ]
    )
    assert "3.4 m!" in told
    assert "6.3 kN!" in told
    assert "1.9 m " in told
    assert "1.9 m!" not in told
    said = " ".join(told.split())
    both = "; ".join(one.words for one in harder)
    assert (
        f"lead, step 2 (left post, device on the working line): {both}" in said
    )  # alike components in one sentence


def test_whoever_hangs_out_of_reach_is_said():
    row = replace(failed(2, 4e3, 1.0), reachable=False, swing_m=2.6)
    assert "hangs 2.6 m aside, out of reach from above" in " ".join(printed([row]).split())
    assert "out of reach" not in printed([replace(row, reachable=True)])


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
    row = StepRow(
        fault="rain", person="lead", step=1, words="descend 8 m", names=("rain",), trials=trials,
        failed=0, did_not_come=0, margin_lost=0.1, margin=None, p_core_visible=share,
        p_parted=0.0, p_nothing_holds=0.0, p_left_hanging=0.0,
        fault_to_core_visible_s=Soonest(None), seen_by=None, seen_share=0.0, seen_after_share=0.0,
        time_to_act_s=Soonest(None), worst_place=None,
    )  # fmt: skip
    assert f"the core would show in {said};" in " ".join(printed([], [row]).split())


@pytest.mark.parametrize("share", [-0.3, -1e-9, 0.0, 1e-9, 0.004, 0.0099, 0.01, 0.5, 1.0, 2.4])
def test_no_fault_reads_as_taking_nothing(share: float) -> None:
    """A fault that leaves somebody hanging, falling or unseen never reads 0 %."""
    said = points(share)
    assert said != "0 %"
    assert (said == "below 1 %") == (share < 0.01)
    if share >= 0.01:
        assert abs(float(said.removesuffix(" %")) - 100 * share) <= 0.5  # whole per cent
