"""When to look, on whole random jobs: against a slow count of when each trial wears a third.

The slow count knows no marks: it cuts every movement of every trial into pieces, looks at the
rope after each, and where a third came about it takes the piece back and makes it step by step.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np
import pytest

from edgewear import mechanics
from edgewear.dataset.ranking.edge_summaries import edge_summaries
from edgewear.dataset.ranking.inspection_plan import THIRDS, looks_of
from edgewear.engine.batch import varied
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.engine.run_job import course_of
from edgewear.layout import TICK_S, Kind
from edgewear.scenario import load_text
from edgewear.study.compare import drawn
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import ComparePlan
from edgewear.terms import OK

TRIALS, SEED = 4, 3
STEP_TICKS = 150
"""What a step lasts at most; a mark is set at its end."""
PIECE_TICKS = 100_000
ROUNDING = 1e-9
"""Relative, of a demand: what is passed in closed form is summed in another order."""


def job(dice: random.Random, people: int) -> str:
    """A job with work in place, repeats and descents, as somebody might type it."""
    said = []
    for name in ("ann", "ben")[:people]:
        way = dice.uniform(2.0, 5.0)
        task = ", task: hand drilling" * (dice.random() < 0.3)
        work = f"{{for: {dice.uniform(20, 120):.0f} s, sway: {dice.uniform(0, 6):.0f} cm{task}}}"
        climb = f"{{height: {way:.1f} m, technique: {dice.choice(['normal', 'jerky', 'smooth'])}}}"
        steps = [f"descend: {way:.1f} m", f"work: {work}", f"ascend: {climb}"]
        listed = ", ".join(f"{{{step}}}" for step in steps)
        said += [f"  {name}:", f"    - repeat: {{times: {dice.randint(1, 3)}, steps: [{listed}]}}"]
    return "\n".join(said)


def text_of(seed: int) -> str:
    """A site with rough edges that wear a rope within a short job."""
    dice = random.Random(seed)
    people = dice.choice([1, 2])
    lines = {name: f"{{anchor: far {name}, rope: store}}" for name in ("ann", "ben")[:people]}
    edges = [
        f"  lip: {{radius: {dice.uniform(0.8, 3):.1f} mm, surface: masonry, out: 0 m, up: 0 m}}",
        "  ledge: {radius: 2 mm, surface: concrete, out: 0.4 m, up: -1 m}",
    ][: dice.choice([1, 2])]
    return "\n".join(
        [
            "edgewear: 1", "title: made at random", "setting: test", "target: 50 %",
            "anchors:",
            *(
                f"  far {name}: {{out: -{dice.uniform(3, 25):.1f} m, up: 1 m, along: {2 * k} m}}"
                for k, name in enumerate(lines)
            ),
            "edges:", *edges,
            "ropes: {store: {like: low-stretch 11, length: 60 m, stopper: yes}}",
            "people:",
            *(
                f"  {name}: {{mass: {dice.uniform(60, 110):.0f} kg, along: {2 * k} m, start: 3 m}}"
                for k, name in enumerate(lines)
            ),
            "options:", "  only:", "    lines:",
            *(f"      {name}: {line}" for name, line in lines.items()),
            "job:", job(dice, people), "",
        ]
    )  # fmt: skip


class Slow(Player):
    """Lines at play that are looked at piece by piece."""

    def begin(self, batch, run, draws):
        """Forget what was found in the run before."""
        super().begin(batch, run, draws)
        self.found: dict[tuple[int, int, int], tuple[int, int]] = {}  # row, edge, third

    def make(self, movement, tick, until=None, exact=False, armed=0):
        """Make a movement in pieces; where a third is worn in one, make it step by step."""
        row, last = int(movement["line"][0]), tick if until is None else until
        status, now, whole = 0, tick, until is None
        slack = period_ticks(movement)
        while not status & 1 and (whole or now < last):
            now = now + PIECE_TICKS if whole else min(now + PIECE_TICKS, last)
            self.buffers(row)
            kept, before = self.snapshot(row), self._worn(row)
            status = super().make(movement, tick, now, exact and now == last, armed)
            if before.keys() & self._short(row, before):
                self.restore(kept)
                status = self._finely(movement, tick, now, exact and now == last, armed, slack)
            if status & armed:
                break
        return status

    def _finely(self, movement, tick, end, exact, armed, slack):
        row, status = int(movement["line"][0]), 0
        now = int(self.state(row)["tick"][0])
        while not status & 1 and now < end:
            now = min(now + STEP_TICKS, end)
            before = self._worn(row)
            status = super().make(movement, tick, now, exact and now == end, armed)
            for key in before.keys() & self._short(row, before):
                self.found[key] = (int(self.state(row)["tick"][0]), slack)
            if status & armed:
                break
        return status

    def _worn(self, row) -> dict[tuple[int, int, int], float]:
        """Demands that have not reached their third yet, by row, edge (-1: in all) and third."""
        return {
            (row, edge, k): demand
            for edge, demand in self._demands(row)
            for k, (_, third) in enumerate(THIRDS)
            if demand < third * (1.0 - ROUNDING)
        }

    def _short(self, row, before) -> set[tuple[int, int, int]]:
        """Which of them have reached it now."""
        return {key for key in before if key not in self._worn(row)}

    def _demands(self, row) -> Iterator[tuple[int, float]]:
        buffers = self.buffers(row)
        yield -1, float(mechanics.worst(buffers)[0] / buffers.wear["sheath_j_m"][0])
        yield from enumerate(map(float, mechanics.demand_by_edge(buffers)))


def period_ticks(movement) -> int:
    """What is passed at once at most: a step; of work in closed form a period."""
    if int(movement["kind"][0]) != Kind.WORK:
        return STEP_TICKS
    rates = [float(movement[name][0]) for name in ("bounce_hz", "sway_hz")]
    slowest = min((rate for rate in rates if rate > 0), default=1.0)
    return STEP_TICKS + int(np.ceil(1.0 / (slowest * TICK_S)))


def quick(model: ScenarioModel, block):
    """RUN and EDGE rows of the trials, as a comparison has them."""
    played = model.play(block)
    return tuple(
        {name: table[name] for name in table.dtype.names} for table in (played.runs, played.edges)
    )


def slow(model: ScenarioModel, block, run: int) -> dict[tuple[str, str, int], tuple[int, int]]:
    """When one trial wears each third: line, edge ("": in all) and third -> tick and slack."""
    ready = model.ready("only")
    case, values = ready.case, model._values("only", block)
    batch = case.batch(ready.tape, values, TRIALS)
    made = course_of(case, batch, run, values).movements if ready.follows else None
    player = Slow(case)
    play(player, batch, run, varied(case, SEED, run), movements=made)
    found: dict[tuple[str, str, int], tuple[int, int]] = {}
    for (row, edge, k), when in player.found.items():
        name = "" if edge < 0 else case.edge_names[row][edge]
        key = case.line_names[row], name, k
        found[key] = min(found.get(key, when), when)
    return found


def agrees(seed: int) -> int:
    """Hold every mark of every trial to the slow count, and the looks to both; marks compared."""
    model = ScenarioModel.of(load_text(text_of(seed), f"job {seed}"), SEED, edges=True)
    plan = ComparePlan({"only": drawn(model.uncertainties("only"))}, TRIALS, SEED, 1.0)
    block = plan.block(0, TRIALS)
    runs, edges = quick(model, block)
    ok = runs["status"] == OK
    marks = 0
    first = np.full(TRIALS, np.inf)  # of each trial by the slow count
    by_edge: dict[tuple[str, str], np.ndarray] = {}
    slack = STEP_TICKS
    for run in np.flatnonzero(ok).tolist():
        counted = slow(model, block, run)
        for (line, edge, k), (tick, wide) in counted.items():
            slack = max(slack, wide)
            if not edge:
                first[run] = min(first[run], tick * TICK_S) if k == 0 else first[run]
                continue
            here = (edges["run"] == run) & (edges["line"] == line) & (edges["edge"] == edge)
            [marked] = edges[f"{THIRDS[k][0]}_time_s"][here]
            assert abs(round(marked / TICK_S) - tick) <= wide, (seed, run, line, edge, k)
            marks += 1
            if k == 0:
                times = by_edge.setdefault((line, edge), np.full(TRIALS, np.inf))
                times[run] = tick * TICK_S
    told = int(sum(np.isfinite(edges[f"{what}_time_s"]).sum() for what, _ in THIRDS))
    assert told == marks, "a mark that the slow count does not know"
    _looks(runs, edges, ok, first, by_edge, (slack + 1) * TICK_S)
    return marks


def _looks(runs, edges, ok, first, by_edge, slack_s) -> None:
    """The looks are the 5th percentile of the slow count's thirds, and never after the core."""
    found = edge_summaries(edges, runs, {"sections": [], "edge_levels": {}})
    looks = looks_of(runs, ok, found)
    if looks is None:
        return
    _near(looks.first_time_s, first[ok], slack_s)
    for edge in found:
        times = by_edge.get((edge.line, edge.edge), np.full(len(ok), np.inf))
        _near(edge.worn_at[0].time_s, times[ok], slack_s)
    for worn in (looks.worn_at, *(edge.worn_at for edge in found)):
        third, _, core = (one.time_s for one in worn)
        assert core is None or (third is not None and third <= core)
    core_s = looks.worn_at[2].time_s
    assert core_s is None or (looks.first_time_s or 0.0) <= core_s


def _near(told, times, slack_s) -> None:
    """A percentile of times each within a step is within a step; next to "never" it is none."""
    ordered = np.sort(times)
    at = 0.05 * (ordered.size - 1)
    low, high = ordered[int(at)], ordered[min(int(at) + 1, ordered.size - 1)]
    if np.isinf(high):
        assert told is None
    else:
        assert told == pytest.approx(low + (at - int(at)) * (high - low), abs=slack_s)


@pytest.mark.parametrize("seed", [1, 3])
def test_looks_of_whole_jobs_are_those_of_a_slow_count(seed: int) -> None:
    assert "repeat" in text_of(seed)
    assert agrees(seed) > 0  # something was worn


@pytest.mark.long
@pytest.mark.parametrize("seed", range(200))
def test_looks_of_whole_jobs_are_those_of_a_slow_count_at_large(seed: int) -> None:
    agrees(seed)
