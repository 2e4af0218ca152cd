"""When somebody looked at a rope: at which of a line's ropes, and how much an edge had worn of it.

What an edge has worn by the end of a step is what it wears in a job that ends there: a shorter job
of its own tells what is to be expected, and never the replay that the look itself is made of.
"""

from __future__ import annotations

import random
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import pytest

import edgewear
from edgewear.scenario.models.observations import Inspection
from edgewear.scenario.text.measured import Measured
from edgewear.study.correction.looked_at import looked_at
from edgewear.study.correction.site_correction import observe
from study.test_swapped_in_the_record import START_M, WORKING, written

SITE = """\
edgewear: 1
title: an edge further down
setting: test
target: 20 %
anchors: {{post: {{out: -3 m, up: 1 m, kind: pair}}}}
edges:
  lip: {{out: 0 m, up: 0 m, radius: 7 mm, surface: steel}}
  low: {{out: {out} m, up: -{down} m, radius: 2.5 mm, surface: steel}}
ropes: {{store: {{like: low-stretch 11, length: 80 m, stopper: yes}}}}
people: {{climber: {{mass: 90 kg, technique: {technique}, system: pre-threaded}}}}
options: {{bare: {{rope: store, anchor: post}}}}
job: [{job}]
"""


class Site(NamedTuple):
    """A job that goes up and down above an edge a few times, and then on below it."""

    out_m: float
    down_m: int
    technique: str
    steps: tuple[str, ...]
    above: int  # steps up to which nobody came near the lower edge

    def text(self, steps: int | None = None) -> str:
        """Write the scenario, with its first steps alone."""
        job = ", ".join(self.steps[:steps])
        return SITE.format(out=self.out_m, down=self.down_m, technique=self.technique, job=job)

    def climbed_m(self, steps: int) -> float:
        """Metres climbed in the first steps."""
        return sum(float(s.split()[1]) for s in self.steps[:steps] if s.startswith("{ascend"))

    def climbs(self) -> list[int]:
        """Give after how many steps each climb is done."""
        return [k for k, step in enumerate(self.steps, 1) if step.startswith("{ascend")]


def site(seed: int) -> Site:
    """Make up a site; ways above the lower edge end two metres above it."""
    dice = random.Random(seed)
    down_m = dice.randint(7, 12)
    way, below = dice.randint(2, down_m - 2), dice.randint(3, 8)
    times, again = dice.randint(1, 3), dice.randint(1, 2)
    above = ["cross edge: lip", *[f"{{descend: {way} m}}", f"{{ascend: {way} m}}"] * times]
    deep = [f"{{descend: {down_m} m}}", "cross edge: low", f"{{descend: {below} m}}"]
    deep += [
        f"{{ascend: {below} m}}",
        *[f"{{descend: {below} m}}", f"{{ascend: {below} m}}"] * again,
    ]
    out_m, technique = dice.uniform(1.0, 3.0), dice.choice(["jerky", "normal"])
    return Site(round(out_m, 1), down_m, technique, (*above, *deep), len(above))


SEEDS = range(6)


def look(edge: str = "low", seen: str = "nothing", **when: float) -> Inspection:
    """An inspection at a time [s] or after so much rope climbed [m]."""
    told = {n: Measured.exact(v, "s" if n == "at" else "m") for n, v in when.items()}
    return Inspection(edge=edge, seen=seen, **told)


def share(text: str, **when: float) -> tuple[float, bool]:
    """What a look finds of an edge on the working line."""
    edge = str(when.pop("edge", "low"))
    found = looked_at(look(edge, **when), edgewear.load(text).scenario, "bare", [WORKING])
    assert found.rope == 1
    return found.share, found.lain


def worn(text: str) -> dict[str, float]:
    """What each edge alone has worn of the working line by the end of a job."""
    rows = edgewear.load(text).run().edges()
    return rows[rows["line"] == WORKING].set_index("edge")["demand_max"].to_dict()


@pytest.mark.parametrize("seed", SEEDS)
def test_an_edge_that_the_rope_has_not_lain_over_has_no_share(seed: int) -> None:
    here = site(seed)
    climbed = here.climbed_m(here.above)
    for after in (0.0, 0.3 * climbed, 0.9 * climbed, climbed - 0.01, climbed):
        assert share(here.text(), after=after) == (0.0, False)
    ended_s = edgewear.load(here.text(here.above)).run().outcome()["duration_s"]
    for at in (0.0, 0.5 * ended_s, ended_s):
        assert share(here.text(), at=at) == (0.0, False)
    assert share(here.text()) == (1.0, True)
    assert share(here.text(), after=here.climbed_m(len(here.steps)) + 5.0) == (1.0, True)


@pytest.mark.parametrize("edge", ["lip", "low"])
@pytest.mark.parametrize("seed", SEEDS)
def test_the_share_is_what_a_job_that_ends_then_wears_there(seed: int, edge: str) -> None:
    here = site(seed)
    whole = worn(here.text())[edge]
    for steps in here.climbs()[:-1]:
        shorter = edgewear.load(here.text(steps)).run()
        due = worn(here.text(steps)).get(edge, 0.0) / whole
        at, _ = share(here.text(), edge=edge, at=shorter.outcome()["duration_s"])
        # the line hangs on for less than a stroke behind the last one: a hundredth is ample
        assert at == pytest.approx(due, abs=0.01)
        # rope climbed counts whole strokes and to a tenth of a metre: up to two strokes of a
        # climb of 2 m and more, of 0.2 m and more each, are not yet made; a fifth of the wear
        after, _ = share(here.text(), edge=edge, after=here.climbed_m(steps))
        assert after <= at + 0.01
        assert after >= at - 0.2


@pytest.mark.parametrize("edge", ["lip", "low"])
@pytest.mark.parametrize("seed", SEEDS)
def test_the_later_somebody_looks_the_more_is_done(seed: int, edge: str) -> None:
    here = site(seed)
    whole_m = here.climbed_m(len(here.steps))
    shares = [share(here.text(), edge=edge, after=a)[0] for a in np.linspace(0.0, whole_m, 9)]
    assert all(earlier <= later + 1e-9 for earlier, later in pairwise(shares))  # rounding
    assert shares[0] == 0.0


ROPES = [(6, 8), (8, -6, 10), (10, 6, 8)]


def ways_up(ways: tuple[float, ...]) -> list[tuple[int, float, float]]:
    """Rope from 1, metres climbed before it, and on it; those on which somebody climbs."""
    before = np.cumsum([0.0, *(max(way, 0.0) for way in ways)])
    return [(k + 1, before[k], way) for k, way in enumerate(ways) if way > 0]


@pytest.mark.parametrize("ways", ROPES, ids=str)
@pytest.mark.parametrize("part", [0.3, 0.6, 0.9])
def test_the_rope_that_lay_there_is_the_one_that_was_looked_at(
    ways: tuple[float, ...], part: float
) -> None:
    """Of one edge alone the line's own course over time tells how much of the rope was worn."""
    found = edgewear.load(written(START_M, *ways))
    course = found.run().timeline()
    course = course[course["line"] == WORKING]
    for rope, before_m, way_m in ways_up(ways):
        one = look("arris", after=before_m + part * way_m)
        seen = looked_at(one, found.scenario, "one", [WORKING])
        assert seen.rope == rope
        mine = course[course["rope"] == rope]
        begun, ended = mine["time_s"].iloc[0], mine["time_s"].iloc[-1]
        at = begun + part * (ended - begun)
        by_time = looked_at(look("arris", at=at), found.scenario, "one", [WORKING])
        demand = np.interp(at, mine["time_s"], mine["demand"]) / mine["demand"].iloc[-1]
        assert by_time.rope == rope
        assert by_time.share == pytest.approx(demand, abs=0.03)  # samples ten times a second


@pytest.mark.parametrize("ways", ROPES, ids=str)
def test_without_a_time_it_is_after_the_job(ways: tuple[float, ...]) -> None:
    scenario = edgewear.load(written(START_M, *ways)).scenario
    assert looked_at(look("arris"), scenario, "one", [WORKING]) == (len(ways), 1.0, True)
    assert looked_at(look("arris", at=0.0), scenario, "one", [WORKING]) == (1, 0.0, False)


def corrected(here: Site, observed: str, folder):
    """A site with what was observed, corrected by it."""
    folder.mkdir()
    path = folder / "site.yaml"
    path.write_text(f"{here.text()}observed:\n{observed}")
    return observe(path, 128, 0, 1, folder / "out")


@pytest.mark.parametrize("seed", SEEDS)
def test_a_look_at_an_edge_the_rope_has_not_met_corrects_nothing(seed: int, tmp_path) -> None:
    here = site(seed)
    early = f"  - inspection: {{edge: low, seen: nothing, after: {here.climbed_m(here.above)} m}}\n"
    found = corrected(here, early, tmp_path / "alone")
    assert found.after is None
    assert found.says_nothing
    assert not found.as_json()["stop"]
    assert "the rope had not yet lain over low by then: this look says nothing of it" in (
        found.readings[0].words
    )
    assert found.headline.startswith("Nothing was corrected")
    assert np.ptp(found.weights) == 0.0
    more = "  - inspection: {edge: lip, seen: nothing}\n"
    alone = corrected(here, more, tmp_path / "other")
    both = corrected(here, early + more, tmp_path / "both")
    np.testing.assert_array_equal(both.weights, alone.weights)
    assert both.agreement == f"{alone.agreement}; 1 more says nothing of it"
    assert [one.mute for one in both.readings] == [True, False]


@pytest.mark.parametrize("seen", ["fuzz", "yarns cut", "core visible"])
@pytest.mark.parametrize("seed", [0, 1])
def test_wear_where_the_plan_has_made_none_gives_the_forecast_up(seed, seen, tmp_path) -> None:
    here = site(seed)
    early = f"  - inspection: {{edge: low, seen: {seen}, after: {here.climbed_m(here.above)} m}}\n"
    found = corrected(here, early, tmp_path / "worn")
    assert found.after is None
    assert not found.says_nothing
    stops = seen == "core visible"
    assert found.headline.startswith("Stop the work" if stops else "The forecast does not hold")
