"""What can fail beside the sheath is named in every output: a sling, protection, an anchor."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from edgewear.dataset.ranking.model import OptionResult, Ranking
from edgewear.dataset.ranking.part import Part
from edgewear.report.formats import table_csv
from edgewear.terms import MISSES, OVER_LIMIT
from report.test_mind import bare_text
from support import outputs, rankings

SLING = Part("bypass sling", "sling at lip", ("w",), (), "wear", "in work", 1.57, 1.57, 1.0)
PAD = Part("protection", "pad at lip", ("w",), (), "used up", "in work", 1.2, 60.0, 50.0, "J")
OFF = Part("protection", "pad at lip", ("w",), (), "dragged off", "in work", 1.1, 2.2, 2.0, "m")
ANCHOR = Part(
    "anchor", "old bolt", ("w", "v"), ("ann", "ben"), "load", "rescue", 1.25, 5e3, 4e3, "N"
)
WORN = replace(SLING, used=0.57, load=0.57)
SAID = {
    "a sling worn through": (
        SLING,
        "sling at lip: worn through before the job is over, 157 % of what it lasts",
    ),
    "a sling to retire": (WORN, "sling at lip: worn 57 %, retire it after the job"),
    "a pad used up": (PAD, "pad at lip: 120 % of what wears it through"),
    "a pad dragged off": (
        OFF,
        "pad at lip: 110 % of what drags it off the edge: 2.2 m of rope slid over it",
    ),
    "an anchor over its limit": (
        ANCHOR,
        "old bolt (anchor): 5.0 kN in a rescue, holds 4.0 kN, the lines of ann and ben together",
    ),
}


def with_parts(*parts: Part) -> tuple[Ranking, OptionResult]:
    """A ranking whose first option has parts to name."""
    ranking = rankings.ordinary()
    status = (MISSES, OVER_LIMIT) if any(part.counts for part in parts) else ("meets target",)
    first = replace(ranking.options[0], parts=parts, status=status)
    return replace(ranking, options=(first, *ranking.options[1:])), first


OUTPUTS = {
    **outputs.READ,
    "table": table_csv.table,
    "document": lambda of: json.dumps(of.as_json()),
}


@pytest.mark.parametrize("output", OUTPUTS)
@pytest.mark.parametrize("what", SAID)
def test_it_is_named_in_every_output(what: str, output: str) -> None:
    part, said = SAID[what]
    ranking, _ = with_parts(part)
    shown = bare_text(OUTPUTS[output](ranking))
    assert said in shown
    assert (OVER_LIMIT in shown) == part.counts
    assert said not in bare_text(OUTPUTS[output](rankings.ordinary()))


def test_a_part_far_from_its_limit_is_named_where_it_is_the_worst_alone() -> None:
    rope = Part("rope", "store", ("w",), ("ann",), "load", "rescue", 0.1, 2e3, 20e3, "N")
    _, option = with_parts(PAD, rope)
    assert option.named_parts == (PAD,)
    _, option = with_parts(rope)
    assert option.named_parts == (rope,)


def test_a_catch_above_its_limit_is_told_by_the_mind_and_costs_no_target() -> None:
    device = Part("backup device", "grab", ("s",), ("ann",), "drop", "catch", 1.1, 2.2, 2.0, "m")
    _, option = with_parts(device, WORN)
    assert device.over
    assert not device.counts
    assert option.worst_part == WORN


@pytest.mark.parametrize("used", [0.01, 0.57, 0.99, 1.0, 1.001, 1.57, 7.32, 400.0, float("nan")])
def test_only_a_sling_that_lasts_the_job_is_one_to_retire_after_it(used: float) -> None:
    part = replace(SLING, used=used)
    assert ("retire it after the job" in part.words) == (not part.over)
    assert ("before the job is over" in part.words) == part.over


STUCK = "more friction, sticks more and slides less, and what it pulls while it sticks is not in"


@pytest.mark.parametrize("output", [name for name in outputs.READ if name != "card"])  # has no why
@pytest.mark.parametrize("used", [0.05, 0.49, 0.5, 0.64, 1.05])
@pytest.mark.parametrize("how", ["dragged off", "used up"])
def test_near_its_place_by_what_slides_over_it_a_rope_that_sticks_reads_better(
    how: str, used: float, output: str
) -> None:
    ranking, _ = with_parts(replace(OFF, how=how, used=used, load=2.0 * used))
    said = STUCK in bare_text(outputs.READ[output](ranking))
    assert said == (how == "dragged off" and used >= 0.5)
