"""Nobody gets further aside than the rope they hang on is long, nor bounces higher than a body."""

from __future__ import annotations

from pathlib import Path

import pytest

from edgewear.errors import ScenarioError
from edgewear.rigging import problems
from edgewear.scenario import load_text
from edgewear.scenario.models.people import MOST_BOUNCE_M, MOST_SWAY_M
from support.shell import SCENARIOS

DEPTHS_M = (2.0, 3.0, 4.5, 7.0, 12.0)
"""Below the only edge, at which somebody works or swings."""

SITE = """edgewear: 1
title: aside
setting: test
anchors: {{rail: {{out: -3 m, up: 0 m}}}}
edges: {{lip: {{out: 0 m, up: 0 m, is: chamfered concrete}}}}
ropes: {{store: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg, start: {start} m}}}}
all options: {{anchor: rail, rope: store}}
options: {{only: {{}}}}
job: [{job}]
"""

GIVEN = """edgewear: 1
title: aside
setting: test
edges: {{lip: {{radius: 1 mm, surface: steel}}}}
ropes: {{store: {{like: low-stretch 11, length: 60 m}}}}
people: {{ann: {{mass: 90 kg, start: {start} m}}}}
options: {{only: {{rope: store, over: [{{edge: lip, after: 20 m, bend: 30 deg}}]}}}}
job: [{job}]
"""

WAYS = {"swing": "swing: {by} m", "work": "work: {{for: 10 min, sway: {by} m}}"}


def said(site: str, start_m: float, job: str) -> list[tuple[str, str]]:
    return problems(load_text(site.format(start=start_m, job=job), "site.yaml"))


@pytest.mark.parametrize("depth_m", DEPTHS_M)
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("site", [SITE, GIVEN])
def test_nobody_gets_further_aside_than_the_rope_below_the_last_edge(
    site: str, way: str, depth_m: float
) -> None:
    inside, beyond = depth_m - 0.01, depth_m + 0.03  # a load 0.3 m out hangs on up to 0.022 m more
    assert said(site, depth_m, WAYS[way].format(by=min(inside, MOST_SWAY_M))) == []
    if way == "work" and beyond > MOST_SWAY_M:
        return  # refused as it is read
    ((where, what),) = said(site, depth_m, WAYS[way].format(by=beyond))
    assert where == {"swing": "job/ann/1/swing/by", "work": "job/ann/1/work/sway"}[way]
    assert f"{depth_m:.1f} m of rope" in what
    assert f"{beyond:g} m" in what


@pytest.mark.parametrize("depth_m", DEPTHS_M)
def test_the_depth_after_the_steps_before_counts(depth_m: float) -> None:
    """Whoever descends first hangs on more rope; in a repeat the first round that is too short."""
    by_m = depth_m + 1.0
    job = f"descend: 1.5 m, swing: {by_m} m"
    assert said(SITE, depth_m, job) == []
    climbs = f"repeat: {{times: 3, steps: [descend: 1.5 m, swing: {by_m} m, ascend: 2 m]}}"
    ((where, what),) = said(SITE, depth_m, climbs)
    # of 1.5 m, 1 m and 0.5 m further down the last is too short
    assert where == "job/ann/1/repeat/steps/2/swing/by"
    assert f"{depth_m + 0.5:.1f} m of rope" in what


def test_close_below_an_edge_hands_and_feet_bring_people_aside() -> None:
    assert said(SITE, 0.2, "work: {for: 1 min, sway: 1 m}") == []
    assert len(said(SITE, 0.2, "work: {for: 1 min, sway: 1.1 m}")) == 1


@pytest.mark.parametrize(
    ("place", "most_m"),
    [("sway", MOST_SWAY_M), ("bounce", MOST_BOUNCE_M)],
)
@pytest.mark.parametrize("door", ["step", "usual"])
def test_work_in_place_stays_in_place(place: str, most_m: float, door: str) -> None:
    """Sizes that nobody reaches are refused wherever they can be typed, and said with the most."""
    for size_m, right in ((most_m, True), (1.01 * most_m, False), (100.0, False)):
        typed = f"{place}: {size_m} m"
        job = f"work: {{for: 1 min{', ' + typed if door == 'step' else ''}}}"
        text = SITE.format(start=20.0, job=job) + (
            f"work: {{{typed}}}\n" if door == "usual" else ""
        )
        if right:
            load_text(text, "site.yaml")
            continue
        with pytest.raises(ScenarioError, match=rf"{place}: .*at most {most_m:g} m"):
            load_text(text, "site.yaml")


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_what_is_shipped_goes_no_further_aside_than_it_may(path: Path) -> None:
    assert problems(load_text(path.read_text("utf-8"), str(path))) == []
