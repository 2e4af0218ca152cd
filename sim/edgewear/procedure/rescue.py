"""Rescue as a job: from every work position by pick-off, by a haul and by a lower from above."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from edgewear.errors import EdgewearError, ScenarioError
from edgewear.job.build import words
from edgewear.layout import TICK_S
from edgewear.scenario.models import steps as typed
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.text.quantities import Measured
from edgewear.study.model import plain

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance
    from edgewear.procedure.failures import Depths

AT_WORK = ("work", "swing", "rest")
"""Steps at whose places a rescue is asked for."""

RIGGING = Measured(
    value=180.0, low=60.0, high=600.0, unit="s", typed="180 s", basis="assumed",
    distribution="lognormal", pedigree="assumed",
)  # fmt: skip
"""Time to rig a haul or a lower at the anchor."""

TRIALS = 199
"""Rescues whose times are drawn; the 190th of them in order is the 95th percentile."""

CAREFUL = 0.95
"""Of so many rescues a time is not exceeded."""

BELOW_EDGE_M = 1.0
"""A haul ends so far below the last edge [m]; assumed."""


class Position(NamedTuple):
    """A casualty at one place of work."""

    person: str
    step: int
    depth_m: float


def rescues(scenario: Scenario, option: str, depths: Depths) -> list[dict[str, Any]]:
    """Every way of getting everybody from every place of work, JSON-able.

    Parameters:
        depths: where each person hangs at the end of each step.
    """
    rows = []
    for position in _positions(scenario, depths):
        for method in (_pick_off, _haul, _lower):
            row = _judged(scenario, method(scenario, option, position))
            step = scenario.job[position.person][position.step - 1]
            rows.append(plain({**row, "step_words": words(step)}))
    return rows


def _positions(scenario: Scenario, depths: Depths) -> Iterator[Position]:
    seen = set()
    for person, by_step in depths.items():
        for step, depth_m in by_step.items():
            word = scenario.job[person][step - 1].step
            if word in AT_WORK and (person, round(depth_m, 1)) not in seen:
                seen.add((person, round(depth_m, 1)))
                yield Position(person, step, depth_m)


def _pick_off(scenario: Scenario, option: str, at: Position) -> dict[str, Any]:
    """Somebody comes down their own lines, takes the casualty over and goes down with them."""
    row = _row(at, "pick-off")
    rescuer = next((n for n in scenario.options[option].lines if n != at.person), None)
    if rescuer is None:
        return {**row, "why": "nobody else has lines of their own"}
    first = next((s for s in scenario.job.get(rescuer, ()) if s.step == "cross edge"), None)
    from_m = _begins_m(scenario, first)
    way_m = at.depth_m - from_m
    ground_m = _ground_m(scenario, at)
    steps: list[typed.Step] = [first] if first is not None else []
    if way_m > 0:
        steps.append(typed.Descend(height=_metres(way_m)))
    elif way_m < 0:
        steps.append(typed.Ascend(height=_metres(-way_m)))
    steps += [
        typed.Event(name="reached"),
        typed.TakeOver(person=at.person),
        typed.Event(name="released"),
        typed.Descend(height=_metres(max(ground_m - at.depth_m, 0.1))),
        typed.Event(name="grounded"),
    ]
    job = {at.person: (typed.WaitFor(name="grounded"),), rescuer: tuple(steps)}
    starts = {at.person: at.depth_m, rescuer: from_m}
    return _played(scenario, option, row, job, starts)


def _haul(scenario: Scenario, option: str, at: Position) -> dict[str, Any]:
    """Whoever is at the fixed point above raises the casualty to just below it or the last edge."""
    line = scenario.options[option].lines[at.person].working
    fixed = [scenario.anchors[name].up for name in line.re_anchor]
    held = [-up.value for up in fixed if up is not None and -up.value < at.depth_m]
    up_m = at.depth_m - max([_edge_m(scenario), *held]) - BELOW_EDGE_M
    if up_m <= 0:
        return {**_row(at, "haul"), "why": "the casualty hangs just below the edge already"}
    return _from_above(scenario, option, at, "haul", typed.Haul(height=_metres(up_m)))


def _lower(scenario: Scenario, option: str, at: Position) -> dict[str, Any]:
    """Whoever is at the anchor lowers the casualty to what is below."""
    down_m = max(_ground_m(scenario, at) - at.depth_m, 0.1)
    anchor = scenario.options[option].lines[at.person].working.anchor
    if anchor is not None and not scenario.anchors[anchor].releasable:
        return {**_row(at, "lower"), "why": f"{anchor} is not releasable"}
    return _from_above(scenario, option, at, "lower", typed.Lower(height=_metres(down_m)))


def _from_above(
    scenario: Scenario, option: str, at: Position, method: str, step: typed.Step
) -> dict[str, Any]:
    steps = (
        typed.Rest(for_=RIGGING),
        typed.Event(name="reached"),
        typed.Event(name="released"),
        step,
        typed.Event(name="grounded"),
    )
    others = {n: () for n in scenario.options[option].lines if n != at.person}
    job = {at.person: steps, **others}
    return _played(scenario, option, _row(at, method), job, {at.person: at.depth_m})


def _played(
    scenario: Scenario,
    option: str,
    row: dict[str, Any],
    job: dict[str, tuple[typed.Step, ...]],
    starts_m: dict[str, float],
) -> dict[str, Any]:
    from edgewear.case import compile_case
    from edgewear.engine.run_job import perform

    changed = _starting(scenario, option, starts_m).model_copy(
        update={"job": job, "faults": {}, "when": {}}
    )
    try:
        case = compile_case(changed, option)
        done = perform(changed, case)
    except ScenarioError as error:
        return {**row, "why": "; ".join(problem.message for problem in error.problems)}
    except EdgewearError as error:
        return {**row, "why": str(error)}
    found = _figures(changed, done, row["person"])
    if row["method"] == "pick-off":
        found["hands_n"] = None
    elif row["method"] == "haul" and found["hands_n"] is not None:
        found["advantage"] = _advantage(scenario, row["person"])
        found["hands_n"] /= found["advantage"]
    return {**row, **found, **_careful(scenario, found, max(job.values(), key=len))}


def _advantage(scenario: Scenario, person: str) -> float:
    """Mechanical advantage of the haul that the scenario's own plan has for somebody; else 1."""
    from edgewear.rigging.profile import steps_of

    hauls = [
        s.advantage.value
        for who, steps in scenario.job.items()
        for s in steps_of(steps)
        if s.step == "haul" and (s.person or who) == person
    ]
    return hauls[0] if hauls else 1.0


def _careful(
    scenario: Scenario, found: Mapping[str, Any], steps: tuple[typed.Step, ...]
) -> dict[str, float | None]:
    """Times that 19 of 20 rescues keep to: the helper's steps follow each other, so each adds up.

    Climbs, descents and hauls take what they take; how long the rest takes is drawn, the time to
    react to the call with it.
    """
    import numpy as np

    from edgewear.engine.trial_chance import Drawn

    worlds = [Drawn(0, k) for k in range(TRIALS)]
    react = scenario.times.react
    late_s = np.array([w.value("react", react) - react.value for w in worlds])
    times: dict[str, float | None] = {}
    for number, step in enumerate(steps):
        lasting = _lasting(scenario, step)
        if lasting is not None:
            name = f"how long step {number} takes"
            late_s += [w.value(name, lasting) - lasting.value for w in worlds]
        if step.step == "event" and step.name in EVENTS:
            key = EVENTS[step.name]
            middle_s = found[f"{key}_s"]
            late = float(np.sort(late_s)[int(CAREFUL * (TRIALS + 1)) - 1])
            times[f"{key}_p95_s"] = None if middle_s is None else middle_s + late
    return times


EVENTS = {"reached": "reach", "released": "release", "grounded": "ground"}
"""Event of a rescue's plan -> the time until then."""


def _lasting(scenario: Scenario, step: typed.Step) -> Measured | None:
    """How long a step takes whose time is no matter of physics."""
    if step.step == "rest":
        return step.for_
    if step.step in ("cross edge", "take over"):
        return step.for_ or getattr(scenario.times, step.step.replace(" ", "_"))
    return None


def _figures(scenario: Scenario, done: Performance, person: str) -> dict[str, Any]:
    from edgewear.engine.results.outcome import edge_rows

    times = {e.detail: e.tick * TICK_S for e in done.log if e.what == "event"}
    called_s = scenario.times.react.value
    mass_kg = max(
        (float(buffers.state["mass_kg"][0]) for _, buffers in done.player.pieces()), default=0.0
    )
    hauled = [
        float(buffers.state["anchor_peak_n"][0])
        for row, buffers in done.player.pieces()
        if done.player.case.rigged.sections[row].person == person
    ]
    stopped = [e.detail for e in done.log if e.what in ("stops", "falls", "stopped")]
    return {
        "possible": "grounded" in times,
        "why": "; ".join(stopped),
        "load_kg": mass_kg,
        "hands_n": max(hauled, default=None),
        "reach_s": _after(times, "reached", called_s),
        "release_s": _after(times, "released", called_s),
        "ground_s": _after(times, "grounded", called_s),
        "wear": [
            {
                "line": str(e["line"]),
                "edge": str(e["edge"]),
                "demand": float(e["demand_max"]),
                "peak_n": float(e["peak_tension_n"]),
            }
            for e in edge_rows(done.player)
        ],
    }


def _after(times: dict[str, float], name: str, called_s: float) -> float | None:
    return times[name] + called_s if name in times else None


def _judged(scenario: Scenario, row: dict[str, Any]) -> dict[str, Any]:
    """Hold the times that 19 of 20 keep to against the user's limits; None where there is none."""
    within = {}
    for word in ("reach", "release", "ground"):
        limit, found = getattr(scenario.limits, word), row[f"{word}_p95_s"]
        within[word] = None if limit is None or found is None else found <= limit.value
    return {**row, "within": within}


def _row(at: Position, method: str) -> dict[str, Any]:
    return {
        "person": at.person, "step": at.step, "depth_m": at.depth_m, "method": method,
        "possible": False, "why": "", "load_kg": None, "hands_n": None, "reach_s": None,
        "release_s": None, "ground_s": None, "reach_p95_s": None, "release_p95_s": None,
        "ground_p95_s": None, "advantage": 1.0, "wear": [],
    }  # fmt: skip


def _starting(scenario: Scenario, option: str, starts_m: dict[str, float]) -> Scenario:
    """The scenario with people hanging where a rescue begins."""
    from edgewear.rigging.sections import last_m

    chosen: Option = scenario.options[option]
    people = {
        name: who.model_copy(
            update={"start": _metres(max(starts_m[name] - last_m(scenario, chosen, name), 0.0))}
        )
        if name in starts_m
        else who
        for name, who in chosen.people.items()
    }
    changed = chosen.model_copy(update={"people": people})
    return scenario.model_copy(update={"options": {option: changed}})


def _begins_m(scenario: Scenario, first: typed.Step | None) -> float:
    """Depth at which somebody hangs who comes over an edge to help [m]."""
    from edgewear.rigging.profile import crossed_m
    from edgewear.rigging.survey import middle

    point = middle(scenario.edges[first.edge]) if isinstance(first, typed.CrossEdge) else None
    return _edge_m(scenario) + BELOW_EDGE_M if point is None else crossed_m(point)


def _edge_m(scenario: Scenario) -> float:
    """Depth of the lowest edge [m]; 0 where bends are given directly."""
    starts = [e.start_m for e in scenario.edges.values()]
    return max((-s[2] for s in starts if s is not None), default=0.0)


def _ground_m(scenario: Scenario, at: Position) -> float:
    """Depth of the first thing below the casualty; 10 m further down if none is named."""
    found = [-m.value for m in scenario.below.values() if -m.value > at.depth_m]
    return min(found, default=at.depth_m + 10.0)


def _metres(length_m: float) -> Measured:
    return Measured.exact(length_m, "m")
