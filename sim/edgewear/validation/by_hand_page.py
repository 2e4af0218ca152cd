"""The reference page of what is worked by hand."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear.validation.by_hand import BEND_RAD, HAUL_M_S, RATIO, WEIGHT_N, Site, Worked
from edgewear.validation.by_hand import start_n as at_start_n

HEAD = """\
# Loads, drops, swings and hauls by hand

One site, worked with pencil and paper, and beside it what edgewear gives: the statics behind
every figure of `check`, `compare` and `faults`, and runs of the job. A test holds every row
within 1 % (`python docs/reference/make_hand_calculations.py` writes this page).

The post stands 4 m behind the lip and 1 m above it, the rail the same and 0.5 m along. A person
of 90 kg hangs 10 m below the lip and 0.3 m out. Friction at the lip is 0.2, the rope's K 30 kN
static and 45 kN dynamic, the body gives 10 kN/m. In a catch the safety line has 0.2 m of slack,
and 0.6 m passes the backup before it grips. g is 9.81 m/s^2.

"""

ROWS = """\
| what | formula | numbers put in | by hand | edgewear | apart |
| --- | --- | --- | --- | --- | --- |
"""

TAIL = """\

R is exp(mu*bend), {ratio:.4f} here (by chance as many as the bend has radians). Lengths in m, K
in N for a strain of 1, angles in degrees where they stand in the numbers, in radians in the
exponent.

## A haul: what pulls, and what the start adds

Under way, a haul pulls m*g*R at the fixed point: Euler-Eytelwein's capstan, here {haul:.0f} N. A
run shows the same, to a tenth of a per cent; as the person comes up the bend falls a little, and
the pull with it. The largest load of the run is {over:.1f} % above that. It is no friction: the
rope is brought from rest to {speed:g} m/s within half a second, the person hangs on a spring
(rope and body), and a weight on a spring whose upper end sets off is pulled by more than its
weight until the bounce dies down. The spring's force, worked step by step for v(t) = V*z^3*(10 -
15*z + 6*z^2), z = t/0.5 s, gives the row "its peak in a run". Half the speed adds half as much.
The pull of each at a haul in `faults` is the steady one, divided by the advantage and the hands;
an anchor is held against the largest.

## The site as typed

Where the device does not slip it slips at 50 kN. The catch in a run has no friction and a damping
of 0.3 s: without friction the springs alone say where the person comes to rest, and with so much
damping they do within the five seconds for which a run looks after a catch.

```yaml
{site}```
"""


def page(rows: Sequence[Worked]) -> str:
    """Write the page of what was worked."""
    over = 100.0 * (RATIO * at_start_n() / (WEIGHT_N * RATIO) - 1.0)
    tail = TAIL.format(
        ratio=RATIO,
        haul=WEIGHT_N * RATIO,
        over=over,
        speed=HAUL_M_S,
        site=Site().text,
        bend=BEND_RAD,
    )
    return HEAD + ROWS + "".join(map(_row, rows)) + tail


def _row(one: Worked) -> str:
    apart = "below 0.01 %" if one.off < 1e-4 else f"{100.0 * one.off:.2f} %"
    cells = (
        one.name, one.formula, one.numbers, f"{_number(one.by_hand)} {one.unit}",
        f"{_number(one.found)} {one.unit}", apart,
    )  # fmt: skip
    return "| " + " | ".join(cells) + " |\n"


def _number(value: float) -> str:
    return f"{value:.1f}" if value >= 50.0 else f"{value:.4g}"
