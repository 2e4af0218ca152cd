"""The single-failure table prints, of a component's steps, the one to look at first."""

from __future__ import annotations

import io

import pytest

from edgewear.report import print_faults


def failed(step, peak, drop, holds=True):
    return {
        "person": "lead", "component": "left post", "step": step, "holds": holds,
        "independent": True, "over_edge": "kerb", "drop_m": drop, "swing_m": 1.0,
        "peak_n": peak, "why": "told here",
    }  # fmt: skip


def printed_step(rows):
    document = {
        "title": "t", "option": "o", "replicates": 1, "seed": 0, "conditional": "c", "shared": [],
        "single_failures": rows, "weakest_steps": [], "faults": [], "rates": [], "rescues": [],
        "without_faults": {}, "cautions": [],
    }  # fmt: skip
    stream = io.StringIO()
    print_faults(document, stream, 80)
    (line,) = (x for x in stream.getvalue().splitlines() if x.strip().startswith("left post, lead"))
    return int(line.split()[3])


@pytest.mark.parametrize("turn", [1, -1])
def test_the_worst_step_of_a_component_stands_for_it(turn):
    # a device that slips at 4 kN makes the peaks alike: the longer drop is the worse
    slipped = [failed(1, 4e3, 1.8), failed(2, 4e3, 3.4), failed(3, 3e3, 5.0)]
    assert printed_step(slipped[::turn]) == 2
    lost = [*slipped, failed(4, 1e3, None, holds=False), failed(5, 5e3, 4.0, holds=None)]
    assert printed_step(lost[::turn]) == 4
