"""The page of observations, written from the model as it is."""

from __future__ import annotations

from edgewear.case.judged.domain import domain_lines
from edgewear.scenario import load_text
from edgewear.validation.observations import Observations, Row
from edgewear.validation.rivals import LAWS, Rival, rivals
from edgewear.validation.trade_tests import T6
from edgewear.validation.undetermined import undetermined

HEAD = """\
# Observations

Written by `make_observations.py` from the model; `edgewear self-check --observations` computes the
same rows. The source of rows T is common practice, no published source: ascents on a low-stretch
polyamide rope that bends 30 degrees over a sharp edge, 20 m of rope between anchor and edge. Not
stated, so assumed: 90 kg with kit (82 to 98), an edge of 1 mm, elongation 3.2 % (2.4 to 4.5), 8 m
of rope below the edge at the start, pre-threaded where not said, 11 mm for the reinforced sheath.
T8 is no ascent: 100 kg (75 to 130), a coping and a steel angle of 3 mm, both padded, work 12 m
below them without a tool, swaying 0.15 m (0.05 to 0.3) half of the time (20 to 80 %).

Rows B are a bench test, Fleetwood 2016, Testing: Abrasion Resistance: 142.9 kg raised and lowered,
which drags the rope 0.4 m over a steel file, bent by 150 to 160 degrees, until the core shows. Not
stated, so assumed: 0.05 m/s, a radius of 3 mm (1 to 10), wear 3 times (1 to 10) that of rolled
steel, friction 0.25 (0.15 to 0.4). How much longer one sheath lasts than another on the same bench
depends on none of these. T8 and B lie outside the domain below.

A projection, not permission. Agreement with these rows says nothing about an edge, a rope or a way
of moving that they do not contain.
"""

WRONG = """\
## What the model gets wrong

- T3: the chest and hand ascender is seen to wear slightly more, jerky and smooth. The model has it
  slightly less (longer strokes, less slack), by less than a tenth. Ascent systems differ by two
  assumed numbers; neither was moved to mend this.
- T2: a smooth climber who rises a little slower than assumed lies inside the stick band and wears
  almost nothing, so the interval reaches down to a hundredth; how the worst smooth climber who
  still counts as smooth wears a rope was not said.
- T4 and T1 together leave the 9 mm rope at about 0.6 of the distance of the 11 mm one. It was only
  seen to break within 3 m, so how much thinner is worse is not tested.
- T5 rests on one number, about a quarter of the core after 20 m; how the loss grows before and
  after is assumed. The core is also known to weaken while only the sheath is rubbed
  (corundum-edge study of an EN 1891 rope); the model has no such loss.
- B1 and B2: 9 and 15 cycles were seen; the nominal run gives fewer, because the file and the speed
  are guesses, and the interval spans a factor of a hundred. Of two blends one outlasted polyester
  1.6 times; the nominal ratio is 4.5. A blend of which nothing is known may last hardly longer.
- The contact of a jerky climber is computed to reach the melting range. The law knows heat only as
  pressure times speed; glazing and melting as such are not in it.
"""


def page(found: Observations) -> str:
    """Write the page."""
    parts = [
        HEAD, "## Seen and predicted\n", _intervals(found), _table(found.rows), WRONG,
        "## Which law does better on what\n", _rivals(rivals()),
        "## Domain\n", _domain(), "## What no observation determines\n", _undetermined(),
    ]  # fmt: skip
    return "\n".join(part.rstrip("\n") + "\n" for part in parts)


def _intervals(found: Observations) -> str:
    return (
        f"Percentiles over {found.draws} worlds (seed {found.seed}): everything uncertain is drawn "
        "but the model's discrepancy. The nominal run has nominal values and even strokes. "
        f"The model {found.summary()}; agreeing means that the nominal run does and that the "
        "interval reaches what was seen; of B, that the interval does."
    )


def _table(rows: tuple[Row, ...]) -> str:
    lines = [
        "| observation | seen | used to fit | predicted | nominal | p5 | p50 | p95 | agrees |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for row in rows:
        numbers = " | ".join(map(number, (row.nominal, row.p5, row.p50, row.p95)))
        lines.append(
            f"| {row.name} | {row.observed} | {_yes(row.used_to_fit)} | {row.quantity}, "
            f"{row.unit} | {numbers} | {_yes(row.ok)} |"
        )
    return "\n".join(lines) + "\n"


def number(value: float | None) -> str:
    """A figure to two places, `never` for what did not happen."""
    return "never" if value is None else f"{value:.2f}"


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _rivals(found: tuple[Rival, ...]) -> str:
    lines = [
        "Sheath demand of the nominal run when each law is told that T1 breaks at 3.5 m.",
        "",
        "| law | T2 smooth (seen: below 0.5) | T3 smooth (below 0.6) | T4 at 3 m (above 1) "
        "| T6 (below 0.5) | normal technique (not observed) |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for one in found:
        figures = (one.smooth, one.smooth_other_system, one.thin, one.reinforced, one.normal)
        lines.append(f"| {LAWS[one.law]} | " + " | ".join(f"{f:.2f}" for f in figures) + " |")
    lines += [
        "",
        "Plain energy cannot tell smooth from jerky: a smooth climber drags the same place to and "
        "fro over the edge, a jerky one spreads more energy over more rope. The threshold agrees "
        "with the list as well as the shipped law once its threshold lies between smooth and jerky "
        "climbing, but then has one number more, and gives smooth and normal climbers the same "
        "wear. A slow machine wears by the cold part alone under either. Reports that a normal "
        "climber wears more than a smooth one, or not, would tell the two apart.",
    ]
    return "\n".join(lines) + "\n"


def _domain() -> str:
    lines = [
        "What lies outside is computed all the same and named under `extrapolated` by its address.",
        "",
        "| input | domain |",
        "| --- | --- |",
        *(f"| {name} | {said} |" for name, said in domain_lines()),
    ]
    return "\n".join(lines) + "\n"


def _undetermined() -> str:
    lines = [
        "The interval is the central 90 %; one value twice means that it is fixed.",
        "",
        "| number | value | interval | unit | what test would tell |",
        "| --- | --- | --- | --- | --- |",
    ]
    for row in undetermined(load_text(T6.text, "observation")):
        lines.append(
            f"| {row.address} | {row.value:g} | {row.low:g} to {row.high:g} | {row.unit} "
            f"| {row.test} |"
        )
    return "\n".join(lines) + "\n"
